"""What a rule between the values of a scenario is, and the fault of one that is broken."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from balltravel.units import DIGITS, to_text
from balltravel.units.display import as_written, prose
from balltravel.units.printable import printable

STANDARD_GRAVITY = 9.80665
"""m/s2; 3rd General Conference on Weights and Measures, 1901."""

Values = Mapping[str, Any]
"""Dotted key -> SI value, for example ``{"lower.bore": 0.048}``."""


@dataclass(frozen=True)
class Fault:
    """One fault of a scenario: where, which key, what was given, what is allowed, an example; ``of_model``:
    whether it may well be, and only the closures do not know it; ``meant``: the known key that is near an
    unknown one, if any."""

    key: str
    given: str
    allowed: str
    example: str = ""
    where: str = ""
    line: int = 0
    of_model: bool = False
    meant: str = ""

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        key = f"{self.key}: " if self.key else ""
        example = f"; example: {self.example}" if self.example else ""
        return printable(f"{place}{key}{self.given}; allowed: {self.allowed}{example}")


def _in_units_of_writer(fault: Fault) -> Fault:
    """What is allowed and the example in US units, where they are in use or the value was written in them."""
    with as_written(fault.given):
        return replace(fault, allowed=prose(fault.allowed), example=prose(fault.example))


class ScenarioError(ValueError):
    """A scenario, or what is asked of it, that cannot be; carries all its faults, one line each."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(map(_in_units_of_writer, faults))
        super().__init__("\n".join(str(fault) for fault in self.faults))


Objection = tuple[str, str, str] | None
"""What was given, what is allowed, an example; None when the rule holds."""


@dataclass(frozen=True)
class Rule:
    """A relation between values: ``test`` gets the values of ``keys`` and says what is wrong, or None.

    The fault is reported at ``keys[0]``. ``of_model``: as of a fault.
    """

    keys: tuple[str, ...]
    test: Callable[..., Objection]
    of_model: bool = False

    def fault(self, values: Values) -> Fault | None:
        """The fault, if all values are known and the rule is broken; a default that follows from what is not
        known is nan."""
        known = [values.get(key) for key in self.keys]
        for value in known:
            if value is None or value != value:
                return None
        objection = self.test(*known)
        return objection and Fault(self.keys[0], *objection, of_model=self.of_model)


def in_mm(value: float) -> str:
    """A length that is held against another: with a digit more than otherwise, to see which is larger."""
    return to_text(value, "length", DIGITS + 1)


def smaller(what: str, than: str) -> Callable[[float, float], Objection]:
    """Test: the first length is below the second."""

    def test(value: float, limit: float) -> Objection:
        if value < limit:
            return None
        return (
            f"{in_mm(value)} given",
            f"{what} smaller than {than}, which is {in_mm(limit)}",
            f'"{in_mm(0.7 * limit)}"',
        )

    return test


def larger(what: str, than: str) -> Callable[[float, float], Objection]:
    """Test: the first length is above the second."""

    def test(value: float, limit: float) -> Objection:
        if value > limit:
            return None
        return (
            f"{in_mm(value)} given",
            f"{what} larger than {than}, which is {in_mm(limit)}",
            f'"{in_mm(1.4 * limit)}"',
        )

    return test
