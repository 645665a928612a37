"""What Python code hands over to the functions of this package, refused in the words that a file or a command
line gets: where, what was given, what is allowed, an example."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from balltravel.scenario.rules.rule import Fault, ScenarioError
from balltravel.scenario.tables import Tables
from balltravel.units import kind_of, shown
from balltravel.units.keys import Quantity, number_error

if TYPE_CHECKING:
    from balltravel.scenario.model import Scenario


def refused(where: str, given: str, allowed: str, example: str) -> ScenarioError:
    """The error of one argument."""
    return ScenarioError([Fault(where, given, allowed, example)])


@dataclass(frozen=True)
class Number:
    """A number that a function or an option takes: its name, its range (both ends included), an example, and
    whether it must be whole."""

    name: str
    low: float
    high: float
    example: str
    whole: bool = True

    def checked(self, value: object) -> Any:
        """The number as Python's own; raises ScenarioError."""
        number = plain(value)
        kinds = (int,) if self.whole else (int, float)
        if isinstance(number, kinds) and not isinstance(number, bool) and self.low <= number <= self.high:
            return number if self.whole else float(number)
        allowed = f"{'a whole number, ' if self.whole else ''}{self.low:g} to {self.high:g}"
        raise refused(self.name, f"{shown(number)} given", allowed, self.example)


def quantity_checked(name: str, value: object, quantity: Quantity) -> float:
    """A quantity [SI] within its limits; raises ScenarioError."""
    number = plain(value)
    error = number_error(quantity, number)
    if error:
        raise refused(name, error.given, error.allowed, error.example)
    return float(number)


WORKERS = Number("workers", 1, 1024, "4")
"""How many threads."""

SEED = Number("seed", 0, 999_999, "1")
"""Where the draws of a verdict begin."""

FEWEST_DRAWS, MOST_DRAWS = 32, 4096


def draws_checked(value: object) -> int:
    """How many draws a verdict takes: a power of two, or 0 for no verdict; raises ScenarioError."""
    number = plain(value)
    if type(number) is int and (
        number == 0 or (number & (number - 1) == 0 and FEWEST_DRAWS <= number <= MOST_DRAWS)
    ):
        return number
    raise refused("draws", f"{shown(number)} given", "32, 64, 128, ... 4096, or 0 (no verdict)", "256")


def plain(value: Any) -> Any:
    """Numbers and arrays of numpy, xarray and their like as Python's own numbers and lists; all else, and
    what a list or tuple holds beside them, as it is."""
    if type(value) in (float, int, str):
        return value
    for turned in ("to_numpy", "tolist"):
        turn = getattr(value, turned, None)
        value = turn() if callable(turn) else value
    if type(value) in (list, tuple):
        return type(value)(plain(item) for item in value)
    return value


def scenario_given(value: object) -> "Scenario":
    """The value if it is a scenario; raises ScenarioError."""
    if isinstance(value, Tables):
        return cast("Scenario", value)
    given = f"{shown(value)} given" if isinstance(value, str) else kind_of(value)
    allowed = "a Scenario, as balltravel.read_scenario makes it from a file"
    raise refused("scenario", given, allowed, 'balltravel.read_scenario("scenarios/primer.toml")')


def table_given(where: str, value: object, example: str) -> dict[str, Any]:
    """A mapping from dotted keys, its values plain; raises ScenarioError."""
    if isinstance(value, Mapping) and all(isinstance(key, str) for key in value):
        return {key: plain(item) for key, item in value.items()}
    keys = [key for key in value if not isinstance(key, str)] if isinstance(value, Mapping) else []
    given = f"the key {keys[0]!r} given" if keys else f"{shown(value)} given"
    raise refused(where, given, "a dictionary whose keys are texts like material.viscosity", example)


def path_given(value: object, example: str = '"scenarios/primer.toml"') -> Path:
    """A path; raises ScenarioError."""
    if isinstance(value, str | os.PathLike) and isinstance(os.fspath(value), str):
        return Path(value)
    raise refused("path", kind_of(value), "the name of a file, as a text or a Path", example)


def settings_given(value: object) -> Sequence[str]:
    """Settings as for --set; raises ScenarioError."""
    if isinstance(value, list | tuple) and all(isinstance(setting, str) for setting in value):
        return value
    allowed = 'a list of texts "table.key=value"'
    raise refused("settings", f"{shown(value)} given", allowed, '["material.viscosity=3500 cP"]')


def progress_given(value: object) -> None:
    """Raises ScenarioError for what cannot be told how far a run is."""
    if value is not None and not callable(value):
        allowed = "None, or a function of (done, total)"
        raise refused("progress", f"{shown(value)} given", allowed, "lambda done, total: print(done, total)")
