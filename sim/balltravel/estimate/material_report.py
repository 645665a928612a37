"""What was understood of a scenario's material, in numbers: law, viscosities with their bands, what a cup
would show, the shear rates of the lower, what yield, rest and age do."""

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass

from balltravel.core.roots import root
from balltravel.estimate.cautions import reading_cautions, stress_that_holds
from balltravel.estimate.shear_rates import ShearedPlace, places
from balltravel.estimate.suction_losses import available_pressure, yield_in_hose
from balltravel.material.cups import CUPS, FORD, ISO, Cup, Family
from balltravel.material.flow_laws import PARAMETERS
from balltravel.material.instruments import KREBS_SHEAR_RATE, krebs_units
from balltravel.material.model import MaterialModel, material_model, of_the_law
from balltravel.material.readings import ReadingError, bore_shear_rate
from balltravel.material.temperature_laws import GAS_CONSTANT, Andrade
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.model import Scenario
from balltravel.scenario.rules.all import STANDARD_GRAVITY

RATES = (1.0, 10.0, 100.0, 1000.0, 10000.0)
"""Shear rates [1/s] at which viscosities are told."""

COVERAGE = 2.0
"""Standard uncertainties of a band that is told: about 95 % where errors are normal."""


@dataclass(frozen=True)
class Parameter:
    """Of the law, in the unit named: standard ``uncertainty`` where it is fitted; no ``value`` where the
    readings do not determine it."""

    name: str
    unit: str
    value: float | None
    uncertainty: float | None


@dataclass(frozen=True)
class Source:
    """Readings that the law was fitted to and their shear rates [1/s]; scatter over stated uncertainty, None
    without spare readings; whether the uncertainties were widened by it; all readings that were given."""

    fitted: int
    given: int
    rates: tuple[float, float]
    scatter: float | None
    widened: bool


@dataclass(frozen=True)
class Viscosity:
    """At a ``rate`` [1/s]: Pa s, relative ``band`` (two standard uncertainties; None where nothing tells
    it), and whether the rate lies beyond those of the readings, where no band holds."""

    rate: float
    viscosity: float
    band: float | None
    beyond: bool


@dataclass(frozen=True)
class CupTime:
    """A cup, the seconds in which it empties, and the shear rate [1/s] at which it then flows."""

    cup: str
    seconds: float
    rate: float


@dataclass(frozen=True)
class AtTemperature:
    """Worked material, at its age: where, temperature [K], viscosity over that at the stated temperature,
    density [kg/m3], viscosities, cups that fit, Krebs units where in their range."""

    where: str
    temperature: float
    ratio: float
    density: float
    viscosities: tuple[Viscosity, ...]
    cups: tuple[CupTime, ...]
    krebs: float | None


@dataclass(frozen=True)
class YieldEffects:
    """Yield stress [Pa] in lower and in tank; pressure that starts the hose [Pa]; height [m] at which a bank
    stands by itself in the tank: each of worked and of rested material. Yield stresses that hold the balls
    [Pa]; pressure there is to start the hose [Pa]."""

    in_lower: tuple[float, float]
    in_tank: tuple[float, float]
    starts_hose: tuple[float, float]
    bank: tuple[float, float]
    holds_inlet_ball: float
    holds_piston_ball: float
    available: float


@dataclass(frozen=True)
class Shown:
    """A reading moved to the lower's temperature and the material's age: shear rate [1/s], viscosity [Pa s],
    relative standard uncertainty, whether the law was fitted to it, its temperature [K], worked or rested."""

    rate: float
    viscosity: float
    uncertainty: float
    fitted: bool
    temperature: float
    state: str


@dataclass(frozen=True)
class MaterialReport:
    """What ``balltravel material`` tells.

    ``parameters`` of the ``law`` hold at the ``stated`` temperature [K], before ``factor`` and age;
    ``activation_energy`` [J/mol] of Andrade's law. ``rested`` over worked viscosity; ``doubling_time`` [s],
    None where it does not grow; ``yields``: None without a yield stress that is known; ``aged``: viscosity
    after ``age`` [s] over the fresh one.
    """

    title: str
    law: str
    parameters: tuple[Parameter, ...]
    source: Source | None
    stated: float
    temperature_law: str
    activation_energy: float | None
    factor: float
    temperatures: tuple[AtTemperature, ...]
    places: tuple[ShearedPlace, ...]
    yields: YieldEffects | None
    rested: float
    doubling_time: float | None
    age: float
    aged: float
    readings: tuple[Shown, ...]
    warnings: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """In SI, ready for JSON; the places as tables."""
        return {**asdict(self), "places": [place._asdict() for place in self.places]}


def material_report(scenario: Scenario) -> MaterialReport:
    """What was understood of a scenario's material, and what of it the lower needs."""
    m = scenario.material
    known = material_model(m)
    law = known.over_temperature
    hose = m.temperature if scenario.suction.temperature is None else scenario.suction.temperature
    kelvins = {"lower": m.temperature, "tank and hose": hose, "stated": known.stated}
    told = dict[str, float]()
    for where, kelvin in kelvins.items():
        if not any(math.isclose(kelvin, other) for other in told.values()):
            told[where] = kelvin
    return MaterialReport(
        title=scenario.title,
        law=m.flow,
        parameters=tuple(_parameters(known)),
        source=_source(known, len(m.readings)),
        stated=known.stated,
        temperature_law=m.temperature_law,
        activation_energy=law.B * GAS_CONSTANT if isinstance(law, Andrade) else None,
        factor=known.factor,
        temperatures=tuple(_at(known, where, kelvin) for where, kelvin in told.items()),
        places=places(scenario),
        yields=_yields(scenario, known, hose) if _yields_at_all(known) else None,
        rested=known.rested,
        doubling_time=math.log(2.0) / known.growth if known.growth > 0.0 else None,
        age=known.age,
        aged=math.exp(known.growth * known.age),
        readings=tuple(_shown(scenario, known)),
        warnings=tuple(reading_cautions(scenario)),
    )


def _parameters(known: MaterialModel) -> Iterator[Parameter]:
    fitted = known.fitted
    for name, value in vars(known.law).items():
        unit = PARAMETERS[name].unit
        if fitted is None:
            yield Parameter(name, unit, value, None)
        elif name in fitted.undetermined:
            yield Parameter(name, unit, None, None)
        else:
            yield Parameter(name, unit, value, fitted.uncertainties[name])


def _source(known: MaterialModel, given: int) -> Source | None:
    fitted = known.fitted
    if fitted is None:
        return None
    return Source(fitted.readings, given, fitted.rates, fitted.scatter, fitted.widened)


def _at(known: MaterialModel, where: str, kelvin: float) -> AtTemperature:
    density = known.density_at(kelvin)
    mu = known.viscosity(RATES, kelvin)
    band = known.band(RATES, kelvin)
    # One viscosity at all rates needs no readings there.
    low, high = (0.0, math.inf) if known.fitted is None or known.newtonian else known.fitted.rates
    rows = []
    for i, rate in enumerate(RATES):
        beyond = not low <= rate <= high
        told = None if band is None or beyond else COVERAGE * float(band[i])
        rows.append(Viscosity(rate, float(mu[i]), told, beyond))
    return AtTemperature(
        where=where,
        temperature=kelvin,
        ratio=known.ratio(kelvin),
        density=density,
        viscosities=tuple(rows),
        cups=tuple(filter(None, (cup_of(known, kelvin, family) for family in (ISO, FORD)))),
        krebs=_krebs(float(known.viscosity(KREBS_SHEAR_RATE, kelvin))),
    )


def cup_of(known: MaterialModel, kelvin: float, family: Family) -> CupTime | None:
    """The cup of a family that a material empties nearest to the middle of its range, None where none fits.

    The seconds t at which the cup's formula gives the viscosity that the material has at the shear rate of
    the cup emptied in t. An estimate where the material thins: the formulas are those of Newtonian liquids.
    """
    times = [(cup, _seconds(known, kelvin, cup)) for cup in CUPS.values() if cup.family == family]
    fitting = [(cup, seconds) for cup, seconds in times if seconds is not None]
    if not fitting:
        return None
    cup, seconds = min(fitting, key=lambda pair: abs(math.log(pair[1] ** 2 / math.prod(pair[0].seconds))))
    return CupTime(cup.full_name, seconds, _rate_in(cup, seconds))


def _rate_in(cup: Cup, seconds: float) -> float:
    return bore_shear_rate(cup.family.volume, cup.diameter or math.nan, seconds)


def _seconds(known: MaterialModel, kelvin: float, cup: Cup) -> float | None:
    density = known.density_at(kelvin)

    def excess(seconds: float) -> float:
        own = float(known.viscosity(_rate_in(cup, seconds), kelvin)) / density
        return cup.viscosity_at(seconds) - own

    shortest, longest = cup.seconds
    if not excess(shortest) <= 0.0 <= excess(longest):
        return None
    return float(root(excess, shortest, longest, xtol=1e-9))


def _krebs(viscosity: float) -> float | None:
    try:
        return krebs_units(viscosity)
    except ReadingError:
        return None


def bank_height(stress: float, density: float) -> float:
    """Height [m] up to which a vertical bank of a yield stress [Pa] and a density [kg/m3] stands by itself.

    4 tau_y/(rho g): Rankine's critical height of a purely cohesive soil (Terzaghi 1943, from memory), with
    the yield stress as its cohesion. An upper estimate: a bank that cracks or creeps stands lower.
    """
    return 4.0 * stress / (density * STANDARD_GRAVITY)


def _yields_at_all(known: MaterialModel) -> bool:
    """Whether there is a yield stress that is known."""
    unknown = known.fitted is not None and "yield_stress" in known.fitted.undetermined
    return known.law.yield_stress > 0.0 and not unknown


def _yields(scenario: Scenario, known: MaterialModel, hose: float) -> YieldEffects:
    def both(worked: float) -> tuple[float, float]:
        return worked, known.rested * worked

    tau = known.yield_stress(hose)
    return YieldEffects(
        in_lower=both(known.yield_stress(scenario.material.temperature)),
        in_tank=both(tau),
        starts_hose=both(yield_in_hose(scenario)),
        bank=both(bank_height(tau, known.density_at(hose))),
        holds_inlet_ball=stress_that_holds(scenario, scenario.inlet_check),
        holds_piston_ball=stress_that_holds(scenario, scenario.piston_check),
        available=available_pressure(scenario),
    )


def _shown(scenario: Scenario, known: MaterialModel) -> Iterator[Shown]:
    """Readings whose shear rate is known, as they would be in the lower, but for their rest."""
    m = scenario.material
    fitted = of_the_law(m)
    first = fitted[0].age or 0.0 if fitted else 0.0

    def moved(reading: ViscosityReading) -> float:
        own = _temperature_of(reading, m.stated_temperature or m.temperature)
        fresh = math.exp(known.growth * ((reading.age or 0.0) - first))
        return reading.viscosity * known.scale(m.temperature) / (known.ratio(own) * fresh)

    for reading in m.readings:
        if reading.shear_rate is not None:
            yield Shown(
                reading.shear_rate,
                moved(reading),
                reading.relative_uncertainty,
                reading in fitted,
                _temperature_of(reading, m.stated_temperature or m.temperature),
                reading.state,
            )


def _temperature_of(reading: ViscosityReading, stated: float) -> float:
    return stated if reading.temperature is None else reading.temperature
