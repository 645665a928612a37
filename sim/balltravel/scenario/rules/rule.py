"""What a rule between the values of a scenario is, and the fault of one that is broken."""

from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass
from typing import Any

from balltravel.units import to_text

STANDARD_GRAVITY = 9.80665
"""m/s2; 3rd General Conference on Weights and Measures, 1901."""

Values = Mapping[str, Any]
"""Dotted key -> SI value, for example ``{"lower.bore": 0.048}``."""


@dataclass(frozen=True)
class Fault:
    """One fault of a scenario: where, which key, what was given, what is allowed, an example."""

    key: str
    given: str
    allowed: str
    example: str = ""
    where: str = ""
    line: int = 0

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        key = f"{self.key}: " if self.key else ""
        example = f"; example: {self.example}" if self.example else ""
        text = f"{place}{key}{self.given}; allowed: {self.allowed}{example}"
        return "".join(
            letter if letter.isprintable() else "?" for letter in text
        )  # one line, whatever was given


Verdict = tuple[str, str, str] | None
"""What was given, what is allowed, an example; None when the rule holds."""


@dataclass(frozen=True)
class Rule:
    """A relation between values: ``test`` gets the values of ``keys`` and says what is wrong, or None.

    The fault is reported at ``keys[0]``.
    """

    keys: tuple[str, ...]
    test: Callable[..., Verdict]

    def fault(self, values: Values) -> Fault | None:
        """The fault, if all values are known and the rule is broken; a default that follows from what is not
        known is nan."""
        if any(values.get(key) is None or values[key] != values[key] for key in self.keys):
            return None
        verdict = self.test(*(values[key] for key in self.keys))
        return verdict and Fault(self.keys[0], *verdict)


@dataclass(frozen=True)
class Needed:
    """``key`` must be given when ``selector`` has one of the ``choices``, and must not be given otherwise;
    nor with the key ``instead``, which then stands for it, nor when ``other`` has one of ``excluding``. With
    a choice in ``free`` it may be given or not."""

    key: str
    selector: str
    choices: tuple[str, ...]
    example: str
    instead: str = ""
    other: str = ""
    excluding: tuple[str, ...] = ()
    free: tuple[str, ...] = ()

    def fault(self, values: Values, given: set[str]) -> Fault | None:
        """The fault, if the selector is known and the key's presence does not fit it."""
        chosen, replaced = values.get(self.selector), self.instead in given
        excluded = values.get(self.other) in self.excluding
        wanted = chosen in self.choices and not replaced and not excluded
        if chosen is None or wanted == (self.key in given) or (chosen in self.free and not excluded):
            return None
        name = self.key.split(".")[1]
        written = self.example if self.example.replace(".", "").isdigit() else f'"{self.example}"'
        if self.key in given and excluded:
            told = f'given although {self.other} = "{values[self.other]}", from which it follows'
            return Fault(self.key, told, "leave the key out", f'{self.other.split(".")[1]} = "tip"')
        if self.key in given and chosen in self.choices:
            other = self.instead.split(".")[1]
            return Fault(self.key, f"given although {other} are", f"{name} or {other}", f"{name} = {written}")
        if self.key in given:
            names = " or ".join(f'"{choice}"' for choice in self.choices)
            allowed = f"{name} only with {self.selector} = {names} (leave the key out)"
            example = f'{self.selector.split(".")[1]} = "{self.choices[0]}"'
            return Fault(self.key, f'given although {self.selector} = "{chosen}"', allowed, example)
        allowed = f'it must be given with {self.selector} = "{chosen}"'
        if self.instead:
            allowed += f", or {self.instead}"
        return Fault(self.key, "missing", allowed, f"{name} = {written}")


@dataclass(frozen=True)
class Either:
    """``key`` and ``source``, from which its value follows, are not given both; one of them must be if it is
    ``needed``."""

    key: str
    source: str
    example: str
    needed: bool = False

    def fault(self, given: Set[str]) -> Fault | None:
        """The fault, if both are given, or neither of two of which one is needed."""
        name, other = (key.split(".")[1] for key in (self.key, self.source))
        example = f'{name} = "{self.example}"'
        if self.key in given and self.source in given:
            return Fault(self.key, f"given although {other} is", f"{name} or {other}", example)
        if self.needed and self.key not in given and self.source not in given:
            return Fault(self.key, "missing", f"it must be given, or {other}", example)
        return None


def in_mm(value: float) -> str:
    """A length as it is written to people."""
    return to_text(value, "length")


def smaller(what: str, than: str) -> Callable[[float, float], Verdict]:
    """Test: the first length is below the second."""

    def test(value: float, limit: float) -> Verdict:
        if value < limit:
            return None
        return (
            f"{in_mm(value)} given",
            f"{what} smaller than {than}, which is {in_mm(limit)}",
            f'"{in_mm(0.7 * limit)}"',
        )

    return test


def larger(what: str, than: str) -> Callable[[float, float], Verdict]:
    """Test: the first length is above the second."""

    def test(value: float, limit: float) -> Verdict:
        if value > limit:
            return None
        return (
            f"{in_mm(value)} given",
            f"{what} larger than {than}, which is {in_mm(limit)}",
            f'"{in_mm(1.4 * limit)}"',
        )

    return test
