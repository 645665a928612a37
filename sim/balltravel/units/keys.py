"""What a key of a scenario may hold and with which others it goes: marks that stand beside it in its table.

A mark names another key of its own table by its name alone (``"profile"``), one of another table by both
(``"outlet.form"``).
"""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator
from pydantic.fields import FieldInfo

from balltravel.units import to_text

Mark = TypeVar("Mark")


@dataclass(frozen=True)
class Quantity:
    """Dimension, smallest and largest value accepted [SI], beyond which a value is surely a slip, and an
    example as one writes it in a file."""

    dimension: str
    low: float
    high: float
    example: str

    def written(self) -> str:
        """The example as TOML: text in quotes, bare numbers and arrays as they are."""
        return (
            self.example if self.example.startswith("[") or " " not in self.example else f'"{self.example}"'
        )

    def allowed(self) -> str:
        """The range in words."""
        return f"{to_text(self.low, self.dimension)} to {to_text(self.high, self.dimension)}"

    def objection(self, value: float | tuple[float, ...] | None) -> tuple[str, str] | None:
        """What was given and what is allowed, if a value lies outside the limits."""
        numbers = value if isinstance(value, tuple) else () if value is None else (value,)
        for number in numbers:
            if not self.low <= number <= self.high:
                return f"{to_text(number, self.dimension)} given", self.allowed()
        return None


def diameter(example: str) -> Quantity:
    """A diameter of a lower's parts or hoses."""
    return Quantity("length", 1e-3, 0.5, example)


@dataclass(frozen=True)
class Names:
    """The names that a key, or each member of its array, may have: a list that may still grow."""

    listed: Collection[str]

    @property
    def allowed(self) -> tuple[str, ...]:
        """Those that the list has by now."""
        return tuple(self.listed)

    def objection(self, value: str | tuple[str, ...] | None) -> tuple[str, str] | None:
        """What was given and what is allowed, if a name is none of them."""
        names = value if isinstance(value, tuple) else () if value is None else (value,)
        for name in names:
            if name not in self.allowed:
                return f'"{name[:80]}" given', ", ".join(f'"{known}"' for known in self.allowed)
        return None


@dataclass(frozen=True)
class NeededWith:
    """The key must be given when ``selector`` has one of the ``choices``, and must not be given otherwise;
    nor with the key ``instead``, which then stands for it, nor when the key ``other`` has one of
    ``excluding``, from which it follows. With a choice in ``free`` it may be given or not.

    ``example``: that of its quantity, unless one is given.
    """

    selector: str
    choices: tuple[str, ...]
    example: str = ""
    instead: str = ""
    other: str = ""
    excluding: tuple[str, ...] = ()
    free: tuple[str, ...] = ()


def only_with(selector: str, *choices: str) -> NeededWith:
    """The key may be given when ``selector`` has one of the ``choices``, and must not be given otherwise."""
    return NeededWith(selector, (), free=choices)


@dataclass(frozen=True)
class InsteadOf:
    """The key and ``source``, from which its value follows, are not given both; one of them must be if it is
    ``required``."""

    source: str
    required: bool = False


@dataclass(frozen=True)
class GivesWayTo:
    """The key goes out of a file where a setting gives the ``other`` one."""

    other: str


@dataclass(frozen=True)
class Silent:
    """The key's default need not be told as taken: it is nothing of the kind, or it acts only where the key
    ``acts_with`` has another value than nothing (0, none)."""

    acts_with: str = ""


@dataclass(frozen=True)
class NotSwept:
    """The key has no place in a sweep: what was tried, what is allowed instead, an example."""

    given: str
    allowed: str
    example: str


class Table(BaseModel):
    """A table of a scenario; every quantity is held to its limits, every name to its list."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*", mode="after")
    @classmethod
    def _within_limits(cls, value: Any, info: ValidationInfo) -> Any:
        field = cls.model_fields[info.field_name or ""]
        limits = quantity_of(field) or names_of(field)
        objection = limits and limits.objection(value)
        if objection:
            raise ValueError("; allowed: ".join(objection))
        return value


def mark_of(field: FieldInfo, kind: type[Mark]) -> Mark | None:
    """The mark of a kind that a field of a table has, if it has one."""
    return next((mark for mark in field.metadata if isinstance(mark, kind)), None)


def quantity_of(field: FieldInfo) -> Quantity | None:
    """The quantity that a field of a table holds, if it holds one."""
    return mark_of(field, Quantity)


def names_of(field: FieldInfo) -> Names | None:
    """The names that a field of a table may have, if it has a list of them."""
    return mark_of(field, Names)
