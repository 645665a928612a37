"""What a key of a scenario may hold and with which others it goes: marks that stand beside it in its table.

A mark names another key of its own table by its name alone (``"profile"``), one of another table by both
(``"outlet.form"``).
"""

import difflib
import json
import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from numbers import Integral, Real
from typing import Any, Literal, NamedTuple, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator
from pydantic.fields import FieldInfo

from balltravel.units import DIMENSIONS, UnitError, shown, to_si, to_text

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

    def in_si(self) -> str:
        """The example as Python code gives it, in SI."""
        raw = json.loads(self.written())
        numbers = [f"{to_si(item, self.dimension):.6g}" for item in (raw if isinstance(raw, list) else [raw])]
        return f"({', '.join(numbers)})" if isinstance(raw, list) else numbers[0]

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


def choice_error(raw: object, choices: Sequence[str]) -> UnitError:
    """The error of what is none of these names, with the nearest of them."""
    text = raw[:80] if isinstance(raw, str) else ""
    begun = [choice for choice in choices if text and choice.startswith(text)]
    near = begun[:1] or difflib.get_close_matches(text, choices, n=1)
    hint = f' (did you mean "{near[0]}"?)' if near else ""
    allowed = " or ".join(f'"{choice}"' for choice in choices)
    return UnitError(f"{shown(raw)} given{hint}", allowed, f'"{choices[0]}"')


class Table(BaseModel):
    """A table of a scenario; every quantity is held to its limits, every name to its list."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _of_its_kind(cls, value: Any, info: ValidationInfo) -> Any:
        error = _kind_error(cls.model_fields[info.field_name or ""], value)
        if error:
            raise error
        return value

    @field_validator("*", mode="after")
    @classmethod
    def _within_limits(cls, value: Any, info: ValidationInfo) -> Any:
        error = _limits_error(cls.model_fields[info.field_name or ""], value)
        if error:
            raise error
        return value


def value_error(field: FieldInfo, value: Any) -> UnitError | None:
    """What is wrong with a value [SI] of a field by itself, if anything is: not of its kind, beyond its
    limits, none of its names."""
    error = _kind_error(field, value)
    return error or _limits_error(field, tuple(value) if isinstance(value, list) else value)


def _limits_error(field: FieldInfo, value: Any) -> UnitError | None:
    """What is wrong with a value of the right kind."""
    quantity, names = quantity_of(field), names_of(field)
    limits = quantity or names
    objection = limits and limits.objection(value)
    if not objection:
        return None
    return UnitError(*objection, quantity.in_si() if quantity else f'"{names.allowed[0]}"' if names else "")


def _kind_error(field: FieldInfo, value: Any) -> UnitError | None:
    """What is wrong with a value that is not even of its key's kind: pydantic alone would take true for 1 and
    the text "5" for 5."""
    inner, many, quantity, names, literals = _kind_of(field)
    choices = names.allowed if names else literals
    if (value is None and type(None) in inner) or not (quantity or choices or int in inner):
        return None
    if many and not isinstance(value, list | tuple):
        return _not_many(field, value)
    items = value if many else [value]
    if quantity:
        wrong = [item for item in items if not is_number(item)]
        return _not_a_number(quantity, wrong[0], many) if wrong else None
    if int in inner:
        wrong = [item for item in items if isinstance(item, bool) or not isinstance(item, Integral)]
        return UnitError(f"{shown(wrong[0])} given", "whole numbers", "(1, 2)") if wrong else None
    wrong = [item for item in items if item not in choices]
    return choice_error(wrong[0], choices) if wrong else None


class _Kind(NamedTuple):
    """What a key's annotation says: the types in it, whether it is an array, its quantity or its list of
    names, and the choices of a key that has a fixed set of them."""

    inner: tuple[Any, ...]
    many: bool
    quantity: Quantity | None
    names: Names | None
    literals: tuple[str, ...]


_kinds: dict[int, tuple[FieldInfo, _Kind]] = {}


def _kind_of(field: FieldInfo) -> _Kind:
    """The kind of a field, found once: every value of every scenario asks for it."""
    if id(field) not in _kinds:
        inner, origin = get_args(field.annotation), get_origin(field.annotation)
        quantity, names = mark_of(field, Quantity), mark_of(field, Names)
        kind = _Kind(inner, origin is tuple, quantity, names, inner if origin is Literal else ())
        _kinds[id(field)] = field, kind  # the field too, so that no other one gets its id
    return _kinds[id(field)][1]


def _not_many(field: FieldInfo, value: Any) -> UnitError:
    quantity, names = quantity_of(field), names_of(field)
    example = quantity.in_si() if quantity else f'("{names.allowed[0]}",)' if names else "(1, 2)"
    return UnitError(f"{shown(value)} given", "a list or tuple of values", example)


def is_number(value: Any) -> bool:
    """Whether a value is a finite real number."""
    try:
        return isinstance(value, Real) and not isinstance(value, bool) and math.isfinite(value)
    except OverflowError:  # a whole number beyond all floats
        return False


def number_error(quantity: Quantity, value: Any) -> UnitError | None:
    """What is wrong with a number [SI] for a quantity, if anything is."""
    if not is_number(value):
        return _not_a_number(quantity, value, many=False)
    objection = quantity.objection(float(value))
    return UnitError(*objection, quantity.in_si()) if objection else None


def _not_a_number(quantity: Quantity, value: Any, many: bool) -> UnitError:
    si = DIMENSIONS[quantity.dimension].si
    wanted = f"{'numbers' if many else 'a number'}{f' in {si}' if si else ''}"
    return UnitError(f"{shown(value)} given", f"{wanted}, {quantity.allowed()}", quantity.in_si())


def mark_of(field: FieldInfo, kind: type[Mark]) -> Mark | None:
    """The mark of a kind that a field of a table has, if it has one."""
    return next((mark for mark in field.metadata if isinstance(mark, kind)), None)


def quantity_of(field: FieldInfo) -> Quantity | None:
    """The quantity that a field of a table holds, if it holds one."""
    return _kind_of(field).quantity


def names_of(field: FieldInfo) -> Names | None:
    """The names that a field of a table may have, if it has a list of them."""
    return _kind_of(field).names
