"""What somebody saw at the bench: readings, the settings at which they were read, and a stall."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from balltravel.units import to_text

SEEN, GOOD_DAY, STALL, GOOD_STALL, BALL_FALL = "seen", "good_day", "stall", "good_stall", "ball_fall"


@dataclass(frozen=True)
class Reading:
    """A value that was read [SI] and how well: the standard deviation [SI] that its ``within`` says, None
    where the usual one of its sign holds. ``none``: nothing was seen for so long [s], in place of a value."""

    value: float
    sd: float | None = None
    none: bool = False


@dataclass(frozen=True)
class Condition:
    """The pump at work as it was seen: what was set other than in the scenario (dotted key -> SI), readings
    by the name of their sign, and when."""

    changes: Mapping[str, Any]
    readings: Mapping[str, Reading]
    day: date | None = None


@dataclass(frozen=True)
class Observations:
    """A file of observations. ``stall_pressure``: gauge [Pa], None where no stall was tried, and
    ``stall_pressure_from`` what tells it where nobody read it; ``good_stall``: the same stall on a good day;
    ``ball_fall``: its keys, which calibration takes [SI] and diagnosis does not."""

    seen: tuple[Condition, ...]
    good_days: tuple[Condition, ...] = ()
    stall_pressure: float | None = None
    stall: Mapping[str, Reading] = field(default_factory=dict)
    ball_fall: Mapping[str, Any] = field(default_factory=dict)
    stall_pressure_from: str = ""
    good_stall: Mapping[str, Reading] = field(default_factory=dict)

    @property
    def notes(self) -> list[str]:
        """What was taken for what nobody read."""
        if not self.stall_pressure_from:
            return []
        pressure = to_text(self.stall_pressure or 0.0, "pressure")
        return [f"pressure of the stall: not given, taken as {pressure}, {self.stall_pressure_from}"]
