"""What a scenario's material is taken for: its law of flow, what temperature, rest and time after mixing do
to it, and how well each is known (M9)."""

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from balltravel.material.flow_fits import Fitted, fit
from balltravel.material.flow_laws import ANY_RATE, LAWS, FlowLaw, Newtonian
from balltravel.material.table import NO_LAW, Material
from balltravel.material.temperature_laws import LAWS_OF_TEMPERATURE, Andrade, TemperatureLaw, density_at
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.units import UnitError

Array = NDArray[np.float64]

SAME_TEMPERATURE = 0.5
"""Readings nearer than this [K] count as taken at one temperature."""

NUDGE = 1e-4
"""Relative step of a viscosity by which its weight in a law of temperature is found."""

MOST_GROWN = 500.0
"""ln of a growth that is refused anyway and still has a number."""


class MaterialError(UnitError):
    """Keys of a material that contradict each other: at which key, what was given, what is allowed."""

    def __init__(self, key: str, given: str, allowed: str, example: str) -> None:
        self.key = key
        super().__init__(given, allowed, example)


class Anchor(NamedTuple):
    """What readings say of a temperature [K]: viscosity [Pa s] at 10 1/s, relative standard uncertainty of
    the readings there, 0 where the law itself was fitted; and how the law's own unknowns ``pull`` at the
    logarithm of that viscosity (``Fitted.sway``)."""

    temperature: float
    viscosity: float
    uncertainty: float
    pull: tuple[float, ...] = ()


@dataclass(frozen=True)
class MaterialModel:
    """``law`` of the worked, fresh material at the ``stated`` temperature [K]; ``fitted`` where it is from
    readings; over temperature by ``over_temperature``, if anything is known; ``rested``: viscosity of the
    rested over that of the worked material; ``growth`` of ln viscosity with time after mixing [1/s];
    ``density`` as ``weighed`` at a temperature [K] of its own."""

    law: FlowLaw
    stated: float
    fitted: Fitted | None
    over_temperature: TemperatureLaw | None
    rested: float
    growth: float
    density: float
    weighed: float
    expansion: float
    factor: float
    age: float
    anchors: tuple[Anchor, ...] = ()

    def ratio(self, temperature: float) -> float:
        """Viscosity at a temperature [K] over that at the stated one. Raises ReadingError."""
        if self.over_temperature is None or temperature == self.stated:
            return 1.0
        ratio = self.over_temperature.ratio(temperature, self.stated)
        if self.over_temperature.KINEMATIC:
            ratio *= self.density_at(temperature) / self.density_at(self.stated)
        return ratio

    def density_at(self, temperature: float) -> float:
        """Density [kg/m3] at a temperature [K]."""
        return density_at(temperature, self.density, self.weighed, self.expansion)

    def scale(self, temperature: float) -> float:
        """What the law is multiplied with at a temperature [K], at the material's age."""
        grown = math.exp(min(self.growth * self.age, MOST_GROWN))
        return self.factor * self.ratio(temperature) * grown

    def viscosity(self, rate: ArrayLike, temperature: float) -> Array:
        """Viscosity [Pa s] of the worked material at shear rates [1/s] > 0 and a temperature [K]."""
        return np.asarray(self.scale(temperature) * self.law.viscosity(rate))

    def viscosity_at_any_rate(self, temperature: float) -> float:
        """Viscosity [Pa s] at 10 1/s, where one stands for the law, and a temperature [K]."""
        return self.scale(temperature) * self.anchors[0].viscosity

    def nominal_viscosity(self, temperature: float) -> float:
        """The viscosity [Pa s] by which a material is named at a temperature [K]: at 10 1/s, or at rest where
        it is stated at rest."""
        return self.scale(temperature) * self.law.nominal_viscosity

    @property
    def key_stated(self) -> str:
        """Where the value of the key ``viscosity`` holds: ``at 1 1/s``, ``at rest``; of a Newtonian material
        empty."""
        where = {"consistency": "at 1 1/s", "at_rest": "at rest", "plastic": "at high shear rates"}
        return next((where[name] for name in self.law.names() if name in where), "")

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
        for weight, anchor in zip(weights, self.anchors, strict=True):
            sway = sway + weight * np.array(anchor.pull)
        own = math.hypot(
            *(weight * anchor.uncertainty for weight, anchor in zip(weights, self.anchors, strict=True))
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
        points = [anchor[:2] for anchor in self.anchors]

        def log_ratio(i: int, step: float) -> float:
            nudged = [(kelvin, mu * step if j == i else mu) for j, (kelvin, mu) in enumerate(points)]
            return math.log(_through(nudged, type(law), self).ratio(temperature, self.stated))

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


def _rate(reading: ViscosityReading) -> float:
    """Its shear rate [1/s]; of a Newtonian material, which may do without, any."""
    return ANY_RATE if reading.shear_rate is None else reading.shear_rate


def _by_temperature(
    readings: list[ViscosityReading], stated: float
) -> list[tuple[float, list[ViscosityReading]]]:
    """Readings in groups of one temperature [K], the largest first; one without says the stated one."""
    groups: list[tuple[float, list[ViscosityReading]]] = []
    for reading in readings:
        kelvin = stated if reading.temperature is None else reading.temperature
        for at, members in groups:
            if abs(at - kelvin) < SAME_TEMPERATURE:
                members.append(reading)
                break
        else:
            groups.append((kelvin, [reading]))
    return sorted(groups, key=lambda group: -len(group[1]))


def _fit(kind: str, readings: list[ViscosityReading]) -> Fitted:
    """The law through worked, fresh readings of one temperature. Raises MaterialError."""
    try:
        return fit(
            kind,
            [_rate(reading) for reading in readings],
            [reading.viscosity for reading in readings],
            [reading.relative_uncertainty for reading in readings],
            of="viscosity",
        )
    except ValueError as error:
        many = f"{len(readings)} reading{'s' * (len(readings) > 1)}"
        raise _fault(many, f"readings that {kind} can be fitted to: {error}") from None


def _fault(given: str, allowed: str, key: str = "material.readings") -> MaterialError:
    examples = {
        "material.temperature_law": 'temperature_law = "Andrade", activation_energy = "40 kJ/mol"',
        "material.activation_energy": 'temperature_law = "Andrade"',
        "material.age": 'doubling_time = "40 min"',
    }
    example = examples.get(key, 'readings = [{ shear_rate = "10 1/s", viscosity = "12 Pa.s" }]')
    return MaterialError(key, given, allowed, example)


def _mean_ratio(law: FlowLaw, readings: list[ViscosityReading]) -> float:
    """Mean of readings over what a law says at their rates, in the logarithm, by their uncertainties."""
    over = [math.log(reading.viscosity / float(law.viscosity(_rate(reading)))) for reading in readings]
    weights = [reading.relative_uncertainty**-2 for reading in readings]
    return math.exp(float(np.average(over, weights=weights)))


def _age(reading: ViscosityReading) -> float:
    return reading.age or 0.0


def _off(known: MaterialModel, reading: ViscosityReading, first: float) -> float:
    """Logarithm of a reading over what is known of it already; ``first``: age of the law's readings [s]."""
    kelvin = known.weighed if reading.temperature is None else reading.temperature
    try:
        told = float(known.law.viscosity(_rate(reading))) * known.ratio(kelvin)
    except UnitError as error:
        raise _fault(error.given, error.allowed) from None
    return math.log(reading.viscosity / told) - known.growth * (_age(reading) - first)


def _growth(known: MaterialModel, first: float, aged: list[ViscosityReading]) -> float:
    """Rate of growth [1/s] through readings of other ages: ln viscosity is straight in the age."""
    off = np.array([_off(known, reading, first) for reading in aged])
    after = np.array([_age(reading) - first for reading in aged])
    weight = np.array([reading.relative_uncertainty for reading in aged]) ** -2
    rate = float(np.sum(weight * after * off) / np.sum(weight * after**2))
    if rate <= 0.0:
        raise _fault("a viscosity that falls with age", "one that grows after mixing, or no age")
    return rate


def _rested(known: MaterialModel, first: float, still: list[ViscosityReading]) -> float:
    """Mean ratio of the rested readings to the worked material."""
    weights = [reading.relative_uncertainty**-2 for reading in still]
    ratio = math.exp(float(np.average([_off(known, reading, first) for reading in still], weights=weights)))
    if ratio < 1.0:
        raise _fault("a rested material thinner than the worked one", "rested readings above the worked")
    return ratio


def _anchor(fitted: Fitted, kelvin: float, readings: list[ViscosityReading]) -> Anchor:
    """What readings at another temperature [K] than the law's say of it, each at its own shear rate."""
    viscosity = float(fitted.law.viscosity(ANY_RATE)) * _mean_ratio(fitted.law, readings)
    weights = np.array([reading.relative_uncertainty for reading in readings]) ** -2
    there = np.average(fitted.sway([_rate(reading) for reading in readings]), axis=0, weights=weights)
    pull = fitted.sway(ANY_RATE) - there
    return Anchor(kelvin, viscosity, float(np.sum(weights)) ** -0.5, tuple(pull.tolist()))


def of_the_law(m: Material) -> tuple[ViscosityReading, ...]:
    """The readings that the law was fitted to: worked, freshest, of the temperature that has most."""
    return tuple(_freshest(m)[0][1]) if m.readings else ()


def _through(
    points: list[tuple[float, float]], law: type[TemperatureLaw], known: MaterialModel
) -> TemperatureLaw:
    """A law through temperatures [K] and viscosities [Pa s]. Raises ReadingError."""
    if law.KINEMATIC:
        points = [(kelvin, mu / known.density_at(kelvin)) for kelvin, mu in points]
    return law.from_readings(points)


def _over_temperature(m: Material, known: MaterialModel) -> TemperatureLaw:
    """The law through viscosities [Pa s] at temperatures [K]. Raises MaterialError."""
    key, law = "material.temperature_law", LAWS_OF_TEMPERATURE[m.temperature_law]
    points = [anchor[:2] for anchor in known.anchors]
    by_energy = law is Andrade and m.activation_energy is not None
    if by_energy and len(points) > 1:
        tell = "activation_energy, or readings at two temperatures, which tell it"
        raise _fault(
            "given although readings at several temperatures are", tell, "material.activation_energy"
        )
    if len(points) != law.READINGS and not by_energy:
        given = "one temperature" if len(points) == 1 else f"readings at {len(points)} temperatures"
        allowed = f'readings at {law.READINGS} temperatures with "{law.NAME}"'
        raise _fault(given, f"{allowed}, or Andrade with activation_energy", key)
    try:
        if m.activation_energy is not None:
            return Andrade.from_energy(*points[0], m.activation_energy)
        return _through(points, law, known)
    except UnitError as error:
        raise _fault(error.given, error.allowed, key) from None


def is_newtonian(m: Material) -> bool:
    """Whether the viscosity of a material is the same at every shear rate."""
    return LAWS[m.flow] is Newtonian


def stated_temperature(m: Material) -> float:
    """Temperature [K] at which a material's keys hold: that in the lower unless one is given."""
    return m.temperature if m.stated_temperature is None else m.stated_temperature


@lru_cache(maxsize=1024)
def material_model(m: Material) -> MaterialModel:
    """What a material is taken for. Raises MaterialError where its readings contradict it or each other."""
    stated = stated_temperature(m)
    growth = math.log(2.0) / m.doubling_time if m.doubling_time else 0.0
    worked = [reading for reading in m.readings if reading.state == "worked"]
    still = [reading for reading in m.readings if reading.state == "rested"]
    first = min(map(_age, worked), default=0.0)
    aged = [reading for reading in worked if _age(reading) > first]
    if m.age > 0.0 and not growth and not aged:
        raise _fault(
            "given although nothing grows", "age with doubling_time or aged readings", "material.age"
        )
    if m.readings:
        (at, members), *others = _freshest(m)
        fitted = _fit(m.flow, members)
        law: FlowLaw = fitted.law
        pull = tuple(fitted.sway(ANY_RATE).tolist())
        anchors = [Anchor(at, float(law.viscosity(ANY_RATE)), 0.0, pull)]
        anchors += [_anchor(fitted, kelvin, there) for kelvin, there in others]
    else:
        kind = LAWS[m.flow]
        fitted, law = None, kind.from_keys({key: getattr(m, key) for key in kind.asked_keys()})
        anchors = [Anchor(stated, float(law.viscosity(ANY_RATE)), 0.0)]
    known = MaterialModel(
        law, anchors[0].temperature, fitted, None, m.rested_ratio, growth, m.density, stated,
        m.thermal_expansion, m.viscosity_factor, m.age, tuple(anchors),
    )  # fmt: skip
    if m.temperature_law != NO_LAW:
        known = replace(known, over_temperature=_over_temperature(m, known))
    if aged:
        known = replace(known, growth=_growth(known, first, aged))
    if still:
        known = replace(known, rested=_rested(known, first, still))
    return known


def _freshest(m: Material) -> list[tuple[float, list[ViscosityReading]]]:
    """Worked, freshest readings by temperature [K], the largest group first. Raises MaterialError."""
    worked = [reading for reading in m.readings if reading.state == "worked"]
    if not worked:
        raise _fault("no reading of the worked material", 'at least one with state = "worked"')
    if m.flow != Newtonian.NAME and any(reading.shear_rate is None for reading in m.readings):
        raise _fault("a reading whose shear rate nobody knows", 'shear_rate with each, or flow = "Newtonian"')
    stated = stated_temperature(m)
    if m.temperature_law == NO_LAW and len(_by_temperature(list(m.readings), stated)) > 1:
        *most, last = (f'"{name}"' for name in LAWS_OF_TEMPERATURE)
        wanted = f"temperature_law = {', '.join(most)} or {last}"
        raise _fault("readings at several temperatures", wanted, "material.temperature_law")
    first = min(map(_age, worked))
    return _by_temperature([reading for reading in worked if _age(reading) == first], stated)
