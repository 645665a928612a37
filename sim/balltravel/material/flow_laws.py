"""Laws of flow of a material: stress over shear rate.

Plain numpy in SI units, apart from the compiled core, whose own law is `core/rheology.py`. Every law is a
frozen dataclass with ``stress``, ``viscosity`` and ``rate_of``; ``LAWS`` has them by name.
"""

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass, fields
from typing import Any, ClassVar, NamedTuple, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class Allowed(NamedTuple):
    """Unit, least and largest value, and an example of a law's parameter."""

    unit: str
    low: float
    high: float
    example: float


PARAMETERS = {
    "constant": Allowed("Pa s", 1e-12, 1e12, 1.0),
    "consistency": Allowed("Pa s^n", 1e-12, 1e12, 5.0),
    "at_rest": Allowed("Pa s", 1e-12, 1e12, 20.0),
    "plastic": Allowed("Pa s", 1e-12, 1e12, 0.5),
    "least": Allowed("Pa s", 0.0, 1e12, 0.1),
    "onset": Allowed("1/s", 1e-12, 1e12, 2.0),
    "yield_stress": Allowed("Pa", 0.0, 1e12, 20.0),
    "exponent": Allowed("1", 0.05, 2.0, 0.5),
}
BOUNDED_EXPONENT = Allowed("1", 0.0, 1.0, 0.5)  # of a law with a viscosity at rest and a least one


def _refuse(what: str, unit: str, given: object, allowed: str, example: float) -> ValueError:
    return ValueError(f"{what} [{unit}]: got {given!r}, allowed {allowed}, for example {example:g}")


def above_zero(what: str, unit: str, given: ArrayLike, example: float, zero: bool = False) -> Array:
    """The given numbers as an array. Raises ValueError unless all are finite and above 0 (with ``zero``: or
    0)."""
    numbers = np.asarray(given, dtype=np.float64)
    wrong = ~(np.isfinite(numbers) & ((numbers >= 0.0) if zero else (numbers > 0.0)))
    if wrong.any():
        first = float(numbers[wrong].flat[0])
        raise _refuse(what, unit, first, "0 and above" if zero else "above 0", example)
    return numbers


class FlowLaw(ABC):
    """A law of flow whose stress [Pa] rises with the shear rate [1/s].

    Raises ValueError where a parameter is out of its range, `PARAMETERS`.
    """

    NAME: ClassVar[str]
    EXPONENT: ClassVar[Allowed] = PARAMETERS["exponent"]
    yield_stress: float  # [Pa], 0 where none

    @staticmethod
    @abstractmethod
    def curve(rate: Any, parameters: Any) -> Any:
        """Stress [Pa] at rates [1/s] > 0 by the parameters in their order, real or complex, unchecked."""

    @classmethod
    def names(cls) -> tuple[str, ...]:
        """Names of the parameters, in their order."""
        return tuple(entry.name for entry in fields(cast(Any, cls)))

    @property
    def parameters(self) -> tuple[float, ...]:
        """Values of the parameters, in their order."""
        return tuple(float(getattr(self, name)) for name in self.names())

    def __post_init__(self) -> None:
        for name, value in zip(self.names(), self.parameters, strict=True):
            unit, low, high, example = self.EXPONENT if name == "exponent" else PARAMETERS[name]
            if not low <= value <= high:
                raise _refuse(
                    f"{self.NAME}: {name.replace('_', ' ')}", unit, value, f"{low:g} to {high:g}", example
                )

    def stress(self, rate: ArrayLike) -> Array:
        """Stress [Pa] at shear rates [1/s] > 0, in their shape. Raises ValueError at others."""
        return np.asarray(self.curve(above_zero("shear rate", "1/s", rate, 10.0), self.parameters))

    def viscosity(self, rate: ArrayLike) -> Array:
        """Viscosity, stress over rate [Pa s], at shear rates [1/s] > 0. Raises ValueError at others."""
        return np.asarray(self.stress(rate) / np.asarray(rate))

    def slope(self, rate: ArrayLike) -> Array:
        """Slope of the stress over the shear rate [Pa s], to rounding, at shear rates [1/s] > 0."""
        rates = above_zero("shear rate", "1/s", rate, 10.0)
        return np.asarray(np.imag(self.curve(rates * (1.0 + 1e-30j), self.parameters)) / (1e-30 * rates))

    def rate_of(self, stress: ArrayLike) -> Array:
        """Shear rate [1/s] at stresses [Pa] >= 0, in their shape; 0 where the yield stress holds.

        Raises ValueError at other stresses.
        """
        stresses = above_zero("stress", "Pa", stress, 100.0, zero=True)
        rates = np.zeros_like(stresses)
        flows = stresses > self.yield_stress
        rates[flows] = self._inverse(stresses[flows])
        return rates

    @abstractmethod
    def _inverse(self, stress: Array) -> Array:
        """Shear rates at stresses above the yield stress."""


class _WithoutYield(FlowLaw):
    """A material that flows under any stress."""

    yield_stress = 0.0


@dataclass(frozen=True)
class Newtonian(_WithoutYield):
    """stress = constant rate (Newton 1687). ``constant``: the viscosity [Pa s], 1e-12 to 1e12."""

    constant: float
    NAME: ClassVar[str] = "Newtonian"

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        (constant,) = parameters
        return constant * rate

    def _inverse(self, stress: Array) -> Array:
        return stress / self.constant


@dataclass(frozen=True)
class PowerLaw(_WithoutYield):
    """stress = consistency rate^exponent (de Waele 1923, Ostwald 1925).

    ``consistency`` [Pa s^n], 1e-12 to 1e12; ``exponent`` 0.05 to 2, below 1 where the material thins.
    """

    consistency: float
    exponent: float
    NAME: ClassVar[str] = "power law"

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        consistency, exponent = parameters
        return consistency * rate**exponent

    def _inverse(self, stress: Array) -> Array:
        return np.asarray((stress / self.consistency) ** (1.0 / self.exponent))


@dataclass(frozen=True)
class HerschelBulkley(FlowLaw):
    """stress = yield_stress + consistency rate^exponent (Herschel and Bulkley 1926).

    Exponent 1 is Bingham's law (1922), without yield stress it is the power law. ``yield_stress`` [Pa], 0 to
    1e12; ``consistency`` [Pa s^n], 1e-12 to 1e12; ``exponent`` 0.05 to 2.
    """

    yield_stress: float
    consistency: float
    exponent: float
    NAME: ClassVar[str] = "Herschel-Bulkley"

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        yield_stress, consistency, exponent = parameters
        return yield_stress + consistency * rate**exponent

    def _inverse(self, stress: Array) -> Array:
        return np.asarray(((stress - self.yield_stress) / self.consistency) ** (1.0 / self.exponent))


@dataclass(frozen=True)
class Casson(FlowLaw):
    """sqrt(stress) = sqrt(yield_stress) + sqrt(plastic rate) (Casson 1959).

    ``yield_stress`` [Pa], 0 to 1e12; ``plastic``: the viscosity at high rates [Pa s], 1e-12 to 1e12.
    """

    yield_stress: float
    plastic: float
    NAME: ClassVar[str] = "Casson"

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        yield_stress, plastic = parameters
        return (np.sqrt(yield_stress) + np.sqrt(plastic * rate)) ** 2

    def _inverse(self, stress: Array) -> Array:
        # root s - root y as (s - y)/(root s + root y), exact just above the yield stress
        excess = (stress - self.yield_stress) / (np.sqrt(stress) + math.sqrt(self.yield_stress))
        return np.asarray(excess**2 / self.plastic)


class _Bounded(_WithoutYield):
    """Viscosity between that at rest and a least one, which it nears at high rates."""

    EXPONENT = BOUNDED_EXPONENT
    at_rest: float
    least: float
    onset: float
    exponent: float

    def __post_init__(self) -> None:
        super().__post_init__()
        what = f"{self.NAME}: least"
        if self.least > self.at_rest:
            allowed = f"0 to the viscosity at rest, {self.at_rest:g}"
            raise _refuse(what, "Pa s", self.least, allowed, 0.01 * self.at_rest)
        if self.least == 0.0 and self.exponent < PARAMETERS["exponent"].low:
            # such a stress hardly rises with the rate, so that it would tell no rate
            allowed = f"above 0 at an exponent below {PARAMETERS['exponent'].low}"
            raise _refuse(what, "Pa s", self.least, allowed, 0.01 * self.at_rest)

    def _inverse(self, stress: Array) -> Array:
        """By a bracketed root over the logarithm of the rate, 1e-13 of the rate.

        The viscosity is at most that at rest, and at least ``least`` and half the power law above the onset.
        """
        from scipy.optimize.elementwise import find_root

        goal, power = np.log(stress), max(self.exponent, 1e-3)
        with np.errstate(divide="ignore"):
            thinned = np.log(2.0 * stress / self.onset) - np.log(self.at_rest - self.least)
            high = np.fmin(goal - np.log(self.least), math.log(self.onset) + np.fmax(0.0, thinned) / power)
        bracket = (goal - math.log(self.at_rest) - 1e-3, high + 1e-3)

        def missing(log_rate: Array, goal: Array) -> Array:
            with np.errstate(over="ignore"):  # a term of a huge rate goes to 0, as it should
                return np.asarray(np.log(self.curve(np.exp(log_rate), self.parameters)) - goal)

        found = find_root(missing, bracket, args=(goal,), tolerances={"xatol": 2e-14})
        return np.asarray(np.exp(found.x))


@dataclass(frozen=True)
class Carreau(_Bounded):
    """viscosity = least + (at_rest - least) (1 + (rate/onset)^2)^((exponent - 1)/2) (Carreau 1972).

    ``at_rest`` [Pa s], 1e-12 to 1e12; ``least`` [Pa s], 0 to ``at_rest``; ``onset`` [1/s], 1e-12 to 1e12: the
    shear rate about which thinning sets in, one over Carreau's time; ``exponent`` 0 to 1, below 0.05 only
    with a least viscosity. Newtonian at exponent 1.
    """

    at_rest: float
    least: float
    onset: float
    exponent: float
    NAME: ClassVar[str] = "Carreau"

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        at_rest, least, onset, exponent = parameters
        return rate * (least + (at_rest - least) * (1.0 + (rate / onset) ** 2) ** (0.5 * (exponent - 1.0)))


@dataclass(frozen=True)
class Cross(_Bounded):
    """viscosity = least + (at_rest - least)/(1 + (rate/onset)^(1 - exponent)) (Cross 1965).

    ``at_rest`` [Pa s], 1e-12 to 1e12; ``least`` [Pa s], 0 to ``at_rest``; ``onset`` [1/s], 1e-12 to 1e12: the
    shear rate half-way between the two; ``exponent`` of the stress above it, 0 to 1, below 0.05 only with a
    least viscosity. At exponent 1 Newtonian, half-way between the two.
    """

    at_rest: float
    least: float
    onset: float
    exponent: float
    NAME: ClassVar[str] = "Cross"

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        at_rest, least, onset, exponent = parameters
        return rate * (least + (at_rest - least) / (1.0 + (rate / onset) ** (1.0 - exponent)))


LAWS: dict[str, type[FlowLaw]] = {
    law.NAME: law for law in (Newtonian, PowerLaw, HerschelBulkley, Casson, Carreau, Cross)
}


def law_named(kind: str) -> type[FlowLaw]:
    """The law of a name of ``LAWS``. Raises ValueError at another name."""
    if kind not in LAWS:
        raise ValueError(
            f"law of flow: got {kind!r}, allowed {', '.join(LAWS)}, for example 'Herschel-Bulkley'"
        )
    return LAWS[kind]


def points_needed(kind: str) -> int:
    """How many readings at different shear rates a fit needs: as many as the law has parameters."""
    return len(law_named(kind).names())
