"""What a scenario's material is taken for: its law of flow, what temperature, rest and time after mixing do
to it, and how well each is known (M9)."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from balltravel.flow_fits import Fitted, fit
from balltravel.flow_laws import Carreau, Casson, Cross, FlowLaw, HerschelBulkley, Newtonian, PowerLaw
from balltravel.temperature_laws import Andrade, Vogel, Walther, density_at
from balltravel.told_readings import Told
from balltravel.units import UnitError

Array = NDArray[np.float64]

SAME_TEMPERATURE = 0.5
"""Readings nearer than this [K] count as taken at one temperature."""

TemperatureLaw = Andrade | Vogel | Walther


class MaterialError(UnitError):
    """Keys of a material that contradict each other: at which key, what was given, what is allowed."""

    def __init__(self, key: str, given: str, allowed: str, example: str) -> None:
        self.key = key
        super().__init__(given, allowed, example)


class Material(Protocol):
    """The keys of a scenario's [material] that are asked for here, in SI."""

    @property
    def flow(self) -> str: ...
    @property
    def viscosity(self) -> float | None: ...
    @property
    def thinning_exponent(self) -> float | None: ...
    @property
    def thinning_onset(self) -> float | None: ...
    @property
    def least_viscosity(self) -> float | None: ...
    @property
    def yield_stress(self) -> float | None: ...
    @property
    def readings(self) -> tuple[Told, ...]: ...
    @property
    def temperature(self) -> float: ...
    @property
    def stated_temperature(self) -> float | None: ...
    @property
    def temperature_law(self) -> str: ...
    @property
    def activation_energy(self) -> float | None: ...
    @property
    def thermal_expansion(self) -> float: ...
    @property
    def density(self) -> float: ...
    @property
    def rested_ratio(self) -> float: ...
    @property
    def doubling_time(self) -> float | None: ...
    @property
    def age(self) -> float: ...
    @property
    def viscosity_factor(self) -> float: ...


@dataclass(frozen=True)
class PasteThatThins:
    """``flow = "shear-thinning"``: a Carreau liquid of viscosity ``at_rest`` without a least viscosity, with
    a yield stress."""

    at_rest: float
    onset: float
    exponent: float
    yield_stress: float

    def viscosity(self, rate: ArrayLike) -> Array:
        """Viscosity [Pa s] at shear rates [1/s] > 0."""
        rates = np.asarray(rate, dtype=np.float64)
        thin = self.at_rest * (1.0 + (rates / self.onset) ** 2) ** (0.5 * (self.exponent - 1.0))
        return np.asarray(thin + self.yield_stress / rates)


@dataclass(frozen=True)
class Understood:
    """``law`` of the worked, fresh material at the ``stated`` temperature [K]; ``fitted`` where it is from
    readings; over temperature by ``over_temperature``, if anything is known; ``rested``: viscosity of the
    rested over that of the worked material; ``growth`` of ln viscosity with time after mixing [1/s]."""

    law: FlowLaw | PasteThatThins
    stated: float
    fitted: Fitted | None
    over_temperature: TemperatureLaw | None
    rested: float
    growth: float
    density: float
    expansion: float
    factor: float
    age: float

    def ratio(self, temperature: float) -> float:
        """Viscosity at a temperature [K] over that at the stated one. Raises ReadingError."""
        if self.over_temperature is None or temperature == self.stated:
            return 1.0
        ratio = self.over_temperature.ratio(temperature, self.stated)
        if isinstance(self.over_temperature, Walther):
            ratio *= self.density_at(temperature) / self.density
        return ratio

    def density_at(self, temperature: float) -> float:
        """Density [kg/m3] at a temperature [K]."""
        return density_at(temperature, self.density, self.stated, self.expansion)

    def scale(self, temperature: float) -> float:
        """What the law is multiplied with at a temperature [K], at the material's age."""
        return self.factor * self.ratio(temperature) * math.exp(self.growth * self.age)

    def viscosity(self, rate: ArrayLike, temperature: float) -> Array:
        """Viscosity [Pa s] of the worked material at shear rates [1/s] > 0 and a temperature [K]."""
        return np.asarray(self.scale(temperature) * self.law.viscosity(rate))

    def yield_stress(self, temperature: float) -> float:
        """Yield stress [Pa] at a temperature [K]: it is taken to follow the viscosity."""
        return self.scale(temperature) * self.law.yield_stress

    @property
    def newtonian(self) -> bool:
        """Whether the viscosity is the same at every shear rate."""
        return isinstance(self.law, Newtonian)


def _given_law(m: Material) -> FlowLaw | PasteThatThins:
    """The law by its own keys."""
    viscosity, n = m.viscosity or math.nan, m.thinning_exponent or 1.0
    tau, onset, least = m.yield_stress or 0.0, m.thinning_onset or 1.0, m.least_viscosity or 0.0
    if m.flow == "shear-thinning":
        return PasteThatThins(viscosity, onset, n, tau)
    laws: dict[str, FlowLaw] = {"Newtonian": Newtonian(viscosity)}
    if m.flow == "power law":
        laws[m.flow] = PowerLaw(viscosity, n)
    elif m.flow == "Herschel-Bulkley":
        laws[m.flow] = HerschelBulkley(tau, viscosity, n)
    elif m.flow == "Casson":
        laws[m.flow] = Casson(tau, viscosity)
    elif m.flow == "Carreau":
        laws[m.flow] = Carreau(viscosity, least, onset, n)
    elif m.flow == "Cross":
        laws[m.flow] = Cross(viscosity, least, onset, n)
    return laws[m.flow]


def _by_temperature(readings: tuple[Told, ...], stated: float) -> list[tuple[float, list[Told]]]:
    """Readings in groups of one temperature [K], the largest first; one without says the stated one."""
    groups: list[tuple[float, list[Told]]] = []
    for one in readings:
        kelvin = stated if one.temperature is None else one.temperature
        for at, members in groups:
            if abs(at - kelvin) < SAME_TEMPERATURE:
                members.append(one)
                break
        else:
            groups.append((kelvin, [one]))
    return sorted(groups, key=lambda group: -len(group[1]))


def _fit(kind: str, readings: list[Told]) -> Fitted:
    """The law through worked, fresh readings of one temperature. Raises MaterialError."""
    rates = [10.0 if one.shear_rate is None else one.shear_rate for one in readings]
    if kind != "Newtonian" and any(one.shear_rate is None for one in readings):
        raise _fault("a reading whose shear rate nobody knows", 'shear_rate with each, or flow = "Newtonian"')
    try:
        return fit(
            kind,
            rates,
            [one.viscosity for one in readings],
            [one.relative_uncertainty for one in readings],
            of="viscosity",
        )
    except ValueError as error:
        raise _fault(f"{len(readings)} readings", f"readings that {kind} can be fitted to: {error}") from None


def _fault(given: str, allowed: str, key: str = "material.readings") -> MaterialError:
    examples = {"material.temperature_law": 'temperature_law = "Andrade"'}
    example = examples.get(key, 'readings = [{ shear_rate = "10 1/s", viscosity = "12 Pa.s" }]')
    return MaterialError(key, given, allowed, example)


def _mean_ratio(law: FlowLaw, readings: list[Told]) -> float:
    """Mean of readings over what a law says at their rates, in the logarithm."""
    over = [one.viscosity / float(law.viscosity(one.shear_rate or 10.0)) for one in readings]
    return math.exp(float(np.mean(np.log(over))))


def _growth(law: FlowLaw, first: float, aged: list[Told]) -> float:
    """Rate of growth [1/s] through readings of other ages, exponential; ``first``: age of the law's."""
    slopes = [
        math.log(one.viscosity / float(law.viscosity(one.shear_rate or 10.0))) / ((one.age or 0.0) - first)
        for one in aged
    ]
    rate = float(np.mean(slopes))
    if rate <= 0.0:
        raise _fault("a viscosity that falls with age", "one that grows after mixing, or no age")
    return rate


def _over_temperature(m: Material, stated: float, points: list[tuple[float, float]]) -> TemperatureLaw | None:
    """The law through relative viscosities at temperatures. Raises MaterialError."""
    if m.temperature_law == "none":
        return None
    try:
        if len(points) == 1:
            if m.activation_energy is None or m.temperature_law != "Andrade":
                wanted = "readings at two temperatures (three for Vogel), or Andrade with activation_energy"
                raise _fault("one temperature", wanted, "material.temperature_law")
            return Andrade.from_energy(stated, points[0][1], m.activation_energy)
        if m.temperature_law == "Andrade":
            return Andrade.from_readings(points)
        if m.temperature_law == "Vogel":
            return Vogel.from_readings(points)
        # The density falls by so little that its ratio is that of the viscosities it is given with.
        return Walther.from_readings([(kelvin, mu / m.density) for kelvin, mu in points])
    except UnitError as error:
        raise _fault(error.given, error.allowed, "material.temperature_law") from None


@lru_cache(maxsize=256)
def understand(m: Material) -> Understood:
    """What a material is taken for. Raises MaterialError where its readings contradict it or each other."""
    stated = m.temperature if m.stated_temperature is None else m.stated_temperature
    growth = math.log(2.0) / m.doubling_time if m.doubling_time else 0.0
    rested, fitted = m.rested_ratio, None
    if not m.readings:
        law = _given_law(m)
        points = [(stated, float(law.viscosity(10.0)))]
    else:
        worked = [one for one in m.readings if one.state == "worked"]
        ages = sorted({one.age or 0.0 for one in worked}) or [0.0]
        fresh = [one for one in worked if (one.age or 0.0) == ages[0]]
        if not fresh:
            raise _fault("no reading of the worked material", 'at least one with state = "worked"')
        groups = _by_temperature(tuple(fresh), stated)
        stated = groups[0][0]
        fitted = _fit(m.flow, groups[0][1])
        law = fitted.law
        at_ten = float(law.viscosity(10.0))
        points = [(kelvin, at_ten * _mean_ratio(law, members)) for kelvin, members in groups]
        points[0] = (stated, at_ten)
        aged = [one for one in worked if (one.age or 0.0) > ages[0]]
        growth = _growth(law, ages[0], aged) if aged else growth
        still = [one for one in m.readings if one.state == "rested"]
        rested = _mean_ratio(law, still) if still else rested
        if rested < 1.0:
            raise _fault("a rested material thinner than the worked one", "rested readings above the worked")
    over = _over_temperature(m, stated, points)
    if over is None and len(points) > 1:
        wanted = 'temperature_law = "Andrade", "Vogel" or "ASTM D341"'
        raise _fault("readings at several temperatures", wanted, "material.temperature_law")
    return Understood(
        law, stated, fitted, over, rested, growth, m.density, m.thermal_expansion, m.viscosity_factor, m.age
    )
