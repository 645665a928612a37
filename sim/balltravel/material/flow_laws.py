"""Laws of flow of a material: stress over shear rate.

Plain numpy in SI units, apart from the compiled core, which knows a law by its table (`core/rheology.py`).
Every law is a frozen dataclass with ``stress``, ``viscosity`` and ``rate_of``; ``LAWS`` has them by name.
"""

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Any, ClassVar, NamedTuple, Self, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

ANY_RATE = 10.0
"""Shear rate [1/s] at which one viscosity stands for a law (our choice)."""


class Parameter(NamedTuple):
    """Unit, least and largest value, and an example of a law's parameter; the key of [material] that gives
    it, and what that key says."""

    unit: str
    low: float
    high: float
    example: float
    key: str
    says: str


PARAMETERS = {
    "constant": Parameter("Pa s", 1e-12, 1e12, 1.0, "viscosity", "at every shear rate"),
    "consistency": Parameter(
        "Pa s^n", 1e-12, 1e12, 5.0, "viscosity", "the consistency: the viscosity at 1 1/s"
    ),
    "at_rest": Parameter("Pa s", 1e-12, 1e12, 20.0, "viscosity", "at rest"),
    "plastic": Parameter(
        "Pa s", 1e-12, 1e12, 0.5, "viscosity", "the plastic one, which it nears at high shear rates"
    ),
    "least": Parameter("Pa s", 0.0, 1e12, 0.1, "least_viscosity", "which it nears at high shear rates"),
    "onset": Parameter(
        "1/s", 1e-12, 1e12, 2.0, "thinning_onset", "shear rate at which the viscosity begins to fall"
    ),
    "yield_stress": Parameter("Pa", 0.0, 1e12, 20.0, "yield_stress", "below it the material does not flow"),
    "exponent": Parameter(
        "1",
        0.05,
        2.0,
        0.5,
        "thinning_exponent",
        "far above the onset stress grows as the rate to this power",
    ),
}
BOUNDED_EXPONENT = PARAMETERS["exponent"]._replace(low=0.0, high=1.0)  # between two viscosities


def _refuse(what: str, unit: str, given: object, allowed: str, example: float) -> ValueError:
    return ValueError(f"{what} [{unit}]: got {given!r}, allowed {allowed}, for example {example:g}")


def above_zero(what: str, unit: str, given: ArrayLike, example: float, zero: bool = False) -> Array:
    """The given numbers as an array. Raises ValueError unless all are finite and above 0 (with ``zero``: or
    0)."""
    numbers = np.asarray(given, dtype=np.float64)
    if type(given) is float and 0.0 < given < math.inf:
        return numbers
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
    FITTED: ClassVar[bool] = True  # to readings, by `flow_fits.fit`
    STATED: ClassVar[str] = f"at {ANY_RATE:g} 1/s"  # where ``nominal_viscosity`` holds
    SAYS: ClassVar[dict[str, str]] = {}  # of parameters by which a key says another thing than `PARAMETERS`
    EXPONENT: ClassVar[Parameter] = PARAMETERS["exponent"]
    yield_stress: float  # [Pa], 0 where none

    @staticmethod
    @abstractmethod
    def curve(rate: Any, parameters: Any) -> Any:
        """Stress [Pa] at rates [1/s] > 0 by the parameters in their order, real or complex, unchecked."""

    @classmethod
    @cache
    def names(cls) -> tuple[str, ...]:
        """Names of the parameters, in their order."""
        return tuple(entry.name for entry in fields(cast(Any, cls)))

    @classmethod
    @cache
    def asked_keys(cls) -> dict[str, str]:
        """The keys of [material] that give the parameters, in their order, and what each says."""
        return {PARAMETERS[name].key: cls.SAYS.get(name, PARAMETERS[name].says) for name in cls.names()}

    @classmethod
    def from_keys(cls, values: Mapping[str, Any]) -> Self:
        """The law by values [SI] of the keys of [material]. Raises ValueError where one lacks."""
        given = (values.get(PARAMETERS[name].key) for name in cls.names())
        built: Self = cast(Any, cls)(*(math.nan if value is None else value for value in given))
        return built

    @property
    def parameters(self) -> tuple[float, ...]:
        """Values of the parameters, in their order."""
        return tuple(float(getattr(self, name)) for name in self.names())

    @property
    def nominal_viscosity(self) -> float:
        """The viscosity [Pa s] by which a material of this law is named."""
        return float(self.viscosity(ANY_RATE))

    def label(self, _written: Callable[[float], str]) -> str:
        """How the law is told beside that viscosity, numbers as they are ``written``."""
        return self.NAME

    def __post_init__(self) -> None:
        for name, value in zip(self.names(), self.parameters, strict=True):
            unit, low, high, example, *_ = self.EXPONENT if name == "exponent" else PARAMETERS[name]
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
    SAYS: ClassVar[dict[str, str]] = {"exponent": "the stress grows as the shear rate to this power"}

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
    SAYS: ClassVar[dict[str, str]] = {
        "consistency": "the consistency: at 1 1/s, without the yield stress",
        "exponent": "the stress above yield grows as the rate to this power",
    }

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

        root = find_root(missing, bracket, args=(goal,), tolerances={"xatol": 2e-14})
        return np.asarray(np.exp(root.x))


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
    SAYS: ClassVar[dict[str, str]] = {"onset": "shear rate half-way between the two viscosities"}

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        at_rest, least, onset, exponent = parameters
        return rate * (least + (at_rest - least) / (1.0 + (rate / onset) ** (1.0 - exponent)))


@dataclass(frozen=True)
class ThinningPaste(FlowLaw):
    """viscosity = at_rest (1 + (rate/onset)^2)^((exponent - 1)/2) + yield_stress/rate.

    Carreau's law without a least viscosity, above a yield stress (our choice): for a material that is known
    by how thick it stands and how it thins, not by readings, so no fit is made of it. ``at_rest`` [Pa s],
    1e-12 to 1e12, without the yield stress; ``onset`` [1/s], 1e-12 to 1e12; ``exponent`` 0.05 to 1;
    ``yield_stress`` [Pa], 0 to 1e12.
    """

    at_rest: float
    onset: float
    exponent: float
    yield_stress: float
    NAME: ClassVar[str] = "shear-thinning"
    FITTED: ClassVar[bool] = False
    STATED: ClassVar[str] = "at rest, thinning"
    EXPONENT: ClassVar[Parameter] = PARAMETERS["exponent"]._replace(high=1.0)

    @staticmethod
    def curve(rate: Any, parameters: Any) -> Any:
        at_rest, onset, exponent, yield_stress = parameters
        return rate * _thinned(rate, at_rest, onset, exponent) + yield_stress

    def viscosity(self, rate: ArrayLike) -> Array:
        """As of every law, without the rounding of a stress."""
        rates = above_zero("shear rate", "1/s", rate, 10.0)
        thin = _thinned(rates, self.at_rest, self.onset, self.exponent)
        return np.asarray(thin + self.yield_stress / rates)

    @property
    def nominal_viscosity(self) -> float:
        return self.at_rest

    def label(self, written: Callable[[float], str]) -> str:
        return f"n {written(self.exponent)} from {written(self.onset)} 1/s on"

    def _inverse(self, stress: Array) -> Array:
        """By Carreau's law, of what the yield stress leaves."""
        above = Carreau(self.at_rest, 0.0, self.onset, self.exponent)
        return above.rate_of(stress - self.yield_stress)


def _thinned(rate: Any, at_rest: float, onset: float, exponent: float) -> Any:
    """Carreau's viscosity [Pa s] without a least one, at rates [1/s]."""
    return at_rest * (1.0 + (rate / onset) ** 2) ** (0.5 * (exponent - 1.0))


LAWS: dict[str, type[FlowLaw]] = {
    law.NAME: law for law in (Newtonian, PowerLaw, HerschelBulkley, Casson, Carreau, Cross, ThinningPaste)
}


def fitted_law(kind: str) -> type[FlowLaw]:
    """The law of a name of ``LAWS`` that is fitted to readings. Raises ValueError at another name."""
    fitted = [name for name, law in LAWS.items() if law.FITTED]
    if kind not in fitted:
        allowed = ", ".join(fitted)
        raise ValueError(f"law of flow: got {kind!r}, allowed {allowed}, for example 'Herschel-Bulkley'")
    return LAWS[kind]


def points_needed(kind: str) -> int:
    """How many readings at different shear rates a fit needs: as many as the law has parameters."""
    return len(fitted_law(kind).names())
