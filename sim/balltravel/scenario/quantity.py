"""A quantity of a scenario: its dimension, the limits beyond which a value is surely a slip, an example."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator
from pydantic.fields import FieldInfo

from balltravel.material.viscosity_reading import checked
from balltravel.units import to_text


@dataclass(frozen=True)
class Quantity:
    """Dimension, smallest and largest value accepted [SI], and an example as one writes it in a file."""

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

    def verdict(self, value: float | tuple[float, ...] | None) -> tuple[str, str] | None:
        """What was given and what is allowed, if a value lies outside the limits."""
        numbers = value if isinstance(value, tuple) else () if value is None else (value,)
        for number in numbers:
            if not self.low <= number <= self.high:
                return f"{to_text(number, self.dimension)} given", self.allowed()
        return None


@dataclass(frozen=True)
class Names:
    """The names that a key, or each member of its array, may have."""

    listed: Collection[str]

    @property
    def allowed(self) -> tuple[str, ...]:
        """Those that the list has by now."""
        return tuple(self.listed)

    def verdict(self, value: str | tuple[str, ...] | None) -> tuple[str, str] | None:
        """What was given and what is allowed, if a name is none of them."""
        names = value if isinstance(value, tuple) else () if value is None else (value,)
        for name in names:
            if name not in self.allowed:
                return f'"{name[:80]}" given', ", ".join(f'"{one}"' for one in self.allowed)
        return None


class Table(BaseModel):
    """A table of a scenario; every quantity is held to its limits, every name to its list."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*", mode="after")
    @classmethod
    def _within_limits(cls, value: Any, info: ValidationInfo) -> Any:
        field = cls.model_fields[info.field_name or ""]
        rule = quantity_of(field) or names_of(field)
        verdict = rule and rule.verdict(value)
        if verdict:
            raise ValueError("; allowed: ".join(verdict))
        if info.field_name == "readings":
            return tuple(checked(one) for one in value)
        return value


def quantity_of(field: FieldInfo) -> Quantity | None:
    """The quantity that a field of a table holds, if it holds one."""
    return next((mark for mark in field.metadata if isinstance(mark, Quantity)), None)


def names_of(field: FieldInfo) -> Names | None:
    """The names that a field of a table may have, if it has a list of them."""
    return next((mark for mark in field.metadata if isinstance(mark, Names)), None)


def diameter(example: str) -> Quantity:
    return Quantity("length", 1e-3, 0.5, example)


PassageLength = Annotated[float, Quantity("length", 0.0, 1.0, "10 mm")]
DeadVolume = Annotated[float, Quantity("volume", 1e-9, 1.0, "30 cc")]
Travel = Annotated[float, Quantity("length", 0.0, 0.2, "5 mm")]
Duration = Annotated[float, Quantity("time", 0.0, 50.0, "30 ms")]
Gauge = Annotated[float, Quantity("pressure", -1e5, 1e7, "0 bar")]
