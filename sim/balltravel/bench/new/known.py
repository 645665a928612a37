"""What was answered of a lower, as what fills in the rest looks at it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from balltravel.bench.new.answers import likely, unit_in
from balltravel.bench.new.blanks import BLANKS, BY_NAME
from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.units import from_si

OURS = "(our choice, no source)"

INCHES = ("in", "ft", '"', "inch", "inches", "feet", "thou", "mil", "mils")


@dataclass(frozen=True)
class Known:
    """What was answered: the file's value of each blank, None where it is not known or not asked yet; and
    whether sizes that are filled in are written in inches."""

    raw: Mapping[str, Any]
    inches: bool

    def likely(self, name: str) -> float | None:
        """The likely size [SI] of a blank."""
        raw = self.raw.get(name)
        return None if raw is None else float(likely(BY_NAME[name].key, raw))

    def text(self, size: float) -> str:
        """A length as it is written in this file."""
        return self.exact(size, 3)

    def exact(self, size: float, digits: int = 6) -> str:
        """The same with more digits: a difference of sizes, without what round-off leaves."""
        unit = "in" if self.inches else "mm"
        return f"{from_si(round(size, 9), 'length', unit):.{digits}g} {unit}"

    def span(self, key: str, low: float, middle: float, high: float) -> dict[str, str]:
        """A range of a key as a file has it, within what the key may be."""
        quantity = quantity_of(FIELDS[key])
        assert quantity is not None
        sizes = (min(max(size, quantity.low), quantity.high) for size in (low, middle, high))
        return dict(zip(("low", "likely", "high"), map(self.text, sizes), strict=True))


def in_inches(typed: Mapping[str, str]) -> bool | None:
    """Whether a shop writes inches, by the first length that it typed with a unit; None without one."""
    lengths = [blank.name for blank in BLANKS if blank.units[1] == "in"]
    units = [unit_in(typed[name].rpartition(" to ")[2]) for name in lengths if name in typed]
    return next((unit in INCHES for unit in units if unit), None)
