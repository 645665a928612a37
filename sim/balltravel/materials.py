"""What a scenario's material is taken for: its law of flow, what temperature, rest and time after mixing do
to it, and how well each is known (M9)."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple, Protocol

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

NUDGE = 1e-4
"""Relative step of a viscosity by which its weight in a law of temperature is found."""

TemperatureLaw = Andrade | Vogel | Walther
LAWS_OF_TEMPERATURE: dict[str, type[TemperatureLaw]] = {
    "Andrade": Andrade,
    "Vogel": Vogel,
    "ASTM D341": Walther,
}


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


class Anchor(NamedTuple):
    """What readings say of a temperature [K]: viscosity [Pa s] at 10 1/s, relative standard uncertainty of
    the readings there, 0 where the law itself was fitted; and how the law's own unknowns ``pull`` at the
    logarithm of that viscosity (``Fitted.sway``)."""

    temperature: float
    viscosity: float
    uncertainty: float
    pull: tuple[float, ...] = ()


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
    anchors: tuple[Anchor, ...] = ()

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

    def band(self, rate: ArrayLike, temperature: float) -> Array | None:
        """Relative standard uncertainty of the viscosity at shear rates [1/s] > 0 and a temperature [K], by
        the readings; None where they tell none: no readings, or a temperature law by a stated energy.

        Factor, growth and the form of the law of temperature count as exact; to first order in the readings'
        errors.
        """
        if self.fitted is None:
            return None
        sway = self.fitted.sway(rate)
        weights = self._weights(temperature)
        if weights is None:
            return None
        for weight, one in zip(weights, self.anchors, strict=True):
            sway = sway + weight * np.array(one.pull)
        own = math.hypot(
            *(weight * one.uncertainty for weight, one in zip(weights, self.anchors, strict=True))
        )
        return np.asarray(np.hypot(np.linalg.norm(sway, axis=-1), own))

    def _weights(self, temperature: float) -> tuple[float, ...] | None:
        """Slopes of ln ratio at a temperature [K] over the logarithm of each anchor's viscosity; None where
        there is but one anchor to a law, or a hair moves it out of its range."""
        law = self.over_temperature
        if law is None or temperature == self.stated:
            return (0.0,) * len(self.anchors)
        if len(self.anchors) < 2:
            return None
        points = [one[:2] for one in self.anchors]

        def log_ratio(i: int, step: float) -> float:
            nudged = [(kelvin, mu * step if j == i else mu) for j, (kelvin, mu) in enumerate(points)]
            return math.log(_through(nudged, type(law), self.density).ratio(temperature, self.stated))

        try:
            return tuple(
                (log_ratio(i, 1.0 + NUDGE) - log_ratio(i, 1.0 - NUDGE)) / (2.0 * NUDGE)
                for i in range(len(points))
            )
        except UnitError:  # at the very end of the law's range
            return None

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


def _anchor(fitted: Fitted, kelvin: float, readings: list[Told]) -> Anchor:
    """What readings at another temperature [K] than the law's say of it, each at its own shear rate."""
    rates = [10.0 if one.shear_rate is None else one.shear_rate for one in readings]
    viscosity = float(fitted.law.viscosity(10.0)) * _mean_ratio(fitted.law, readings)
    own = math.hypot(*(one.relative_uncertainty for one in readings)) / len(readings)
    pull = fitted.sway(10.0) - np.mean(fitted.sway(rates), axis=0)
    return Anchor(kelvin, viscosity, own, tuple(pull.tolist()))


def of_the_law(m: Material) -> tuple[Told, ...]:
    """The readings that the law was fitted to: worked, freshest, of the temperature that has most."""
    if not m.readings:
        return ()
    return tuple(_freshest(m)[0][1])


def _freshest(m: Material) -> list[tuple[float, list[Told]]]:
    """Worked, freshest readings by temperature [K], the largest group first. Raises MaterialError."""
    worked = [one for one in m.readings if one.state == "worked"]
    if not worked:
        raise _fault("no reading of the worked material", 'at least one with state = "worked"')
    first = min(one.age or 0.0 for one in worked)
    stated = m.temperature if m.stated_temperature is None else m.stated_temperature
    return _by_temperature(tuple(one for one in worked if (one.age or 0.0) == first), stated)


def _through(points: list[tuple[float, float]], law: type[TemperatureLaw], density: float) -> TemperatureLaw:
    """A law through temperatures [K] and viscosities [Pa s]. Raises ReadingError."""
    if law is Walther:
        # The density falls by so little that its ratio is that of the viscosities it is given with.
        return Walther.from_readings([(kelvin, mu / density) for kelvin, mu in points])
    return law.from_readings(points)


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
        return _through(points, LAWS_OF_TEMPERATURE[m.temperature_law], m.density)
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
        anchors = [Anchor(stated, float(law.viscosity(10.0)), 0.0)]
    else:
        (stated, members), *others = _freshest(m)
        first = members[0].age or 0.0
        fitted = _fit(m.flow, members)
        law = fitted.law
        anchors = [Anchor(stated, float(law.viscosity(10.0)), 0.0, tuple(fitted.sway(10.0).tolist()))]
        anchors += [_anchor(fitted, kelvin, there) for kelvin, there in others]
        aged = [one for one in m.readings if one.state == "worked" and (one.age or 0.0) > first]
        growth = _growth(law, first, aged) if aged else growth
        still = [one for one in m.readings if one.state == "rested"]
        rested = _mean_ratio(law, still) if still else rested
        if rested < 1.0:
            raise _fault("a rested material thinner than the worked one", "rested readings above the worked")
    over = _over_temperature(m, stated, [one[:2] for one in anchors])
    if over is None and len(anchors) > 1:
        wanted = 'temperature_law = "Andrade", "Vogel" or "ASTM D341"'
        raise _fault("readings at several temperatures", wanted, "material.temperature_law")
    return Understood(
        law,
        stated,
        fitted,
        over,
        rested,
        growth,
        m.density,
        m.thermal_expansion,
        m.viscosity_factor,
        m.age,
        tuple(anchors),
    )
