"""What is drawn of a material, beside its keys: the readings as they were read, the law of flow by how well
it fits them, thinning where nothing tells it, and an activation energy where a temperature is drawn."""

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from balltravel.closures.families import FAMILIES
from balltravel.material.flow_fits import Fitted, fit
from balltravel.material.flow_laws import ANY_RATE, Newtonian, PowerLaw
from balltravel.material.model import material_model, of_the_law
from balltravel.material.table import NO_LAW, Material
from balltravel.material.temperature_laws import Andrade
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.model import Scenario
from balltravel.scenario.tables import TYPICAL
from balltravel.units.spread import SURE, Spread

FLOW, EXPONENT, VISCOSITY = "material.flow", "material.thinning_exponent", "material.viscosity"
CLOSURES, DENSITY = "closures.resistance", "material.density"
READINGS, ENERGY, LAW_OVER_T = "material.readings", "material.activation_energy", "material.temperature_law"

THINNING = Spread("even", (0.6, 1.0), origin="nothing tells how it thins; our choice, no source")
"""Exponent of a material that is known at one shear rate and of which nobody says how it flows."""

BY_DEFAULT = (Newtonian.NAME, PowerLaw.NAME)
"""Laws that are tried with readings of which nobody says how the material flows (our choice)."""

REFUTED = 1e-3
"""A law of less weight than this is not drawn (our choice)."""

APART = 10.0
"""How many times the rate of a reading the other one is taken at that stands for a drawn exponent."""


class Laws(NamedTuple):
    """Laws of flow that readings leave, their weights (sum 1), what is to be told of the others, and how many
    times their stated uncertainty the readings lie off the law that fits best (at least 1)."""

    names: tuple[str, ...]
    weights: tuple[float, ...]
    notes: tuple[str, ...]
    scatter: float

    @property
    def spread(self) -> Spread:
        """A law of chance for the law of flow."""
        origin = "how well each law fits the readings"
        return Spread("choices", choices=self.names, weights=self.weights, origin=origin)


def reading_key(number: int) -> str:
    """The name of a reading, counted from 1, as an input."""
    return f"{READINGS}[{number}]"


def of_material(
    scenario: Scenario, spreads: Mapping[str, Spread]
) -> tuple[dict[str, Spread], tuple[str, ...]]:
    """What is drawn of a material beside its keys, by name, and what is to be told of it. ``spreads``: those
    of keys; that of the law of flow is replaced by the result's."""
    m, drawn, notes = scenario.material, dict[str, Spread](), tuple[str, ...]()
    unsaid = "flow" not in m.model_fields_set and FLOW not in spreads and _may_thin(scenario, spreads)
    few = unsaid and _rates(of_the_law(m)) <= 1
    if m.readings:
        asked = spreads[FLOW].choices if FLOW in spreads else BY_DEFAULT if unsaid and not few else (m.flow,)
        laws = laws_of(m, asked)
        drawn |= _of_readings(m, laws.scatter)
        if len(asked) > 1:
            drawn[FLOW], notes = laws.spread, laws.notes
    if few:
        drawn[EXPONENT] = THINNING
    unknown = TYPICAL[ENERGY].of_unknown()
    if unknown and m.temperature_law == NO_LAW and _moves_from_stated(scenario, spreads):
        drawn[ENERGY] = unknown
    return drawn, notes


def _may_thin(scenario: Scenario, spreads: Mapping[str, Spread]) -> bool:
    """Whether the closures know thinning material, each of those that may be drawn."""
    names = spreads[CLOSURES].choices if CLOSURES in spreads else (scenario.closures.resistance,)
    flows = [FAMILIES[name].flows for name in names]
    return all(known is None or PowerLaw.NAME in known for known in flows)


def _rates(readings: Sequence[ViscosityReading]) -> int:
    """At how many shear rates there are readings."""
    return len({_rate(reading) for reading in readings})


def _rate(reading: ViscosityReading) -> float:
    return ANY_RATE if reading.shear_rate is None else reading.shear_rate


def _of_readings(m: Material, scatter: float) -> dict[str, Spread]:
    """Each reading with its own uncertainty; those of the law's own temperature lie ``scatter`` times as far
    off as stated."""
    own = of_the_law(m)
    factors = [
        math.exp(SURE * reading.relative_uncertainty * (scatter if reading in own else 1.0))
        for reading in m.readings
    ]
    return {
        reading_key(i): Spread("normal", (reading.viscosity, factor), True, origin=_BY_READING)
        for i, (reading, factor) in enumerate(zip(m.readings, factors, strict=True), 1)
    }


_BY_READING = "uncertainty of the reading"


def laws_of(m: Material, asked: Sequence[str]) -> Laws:
    """Weights of laws of flow by the worked, fresh readings of one temperature: exp(-BIC/2), with chi-square
    over the scatter of the best law, if that is above 1, as their uncertainties are widened by it too.

    A law without a fit drops out, unless it is the only one.
    """
    readings, fits, notes = of_the_law(m), dict[str, Fitted](), list[str]()
    columns = ([_rate(r) for r in readings], [r.viscosity for r in readings])
    sigma = [reading.relative_uncertainty for reading in readings]
    for name in dict.fromkeys(asked):
        try:
            fits[name] = fit(name, *columns, sigma, of="viscosity")
        except ValueError as error:
            notes.append(f"{name} is left out: {error}")
    if not fits:
        return Laws((m.flow,), (1.0,), tuple(notes), 1.0)
    logs = np.log(columns[1])
    chi2 = {
        name: float(np.sum(((np.log(fitted.law.viscosity(columns[0])) - logs) / sigma) ** 2))
        for name, fitted in fits.items()
    }
    scatter = max(1.0, min((f.scatter for f in fits.values() if f.scatter is not None), default=1.0))
    bic = [
        chi2[name] / scatter**2 + len(fitted.law.names()) * math.log(len(readings))
        for name, fitted in fits.items()
    ]
    shares = np.exp(-0.5 * (np.array(bic) - min(bic)))
    weights = dict(zip(fits, (shares / shares.sum()).tolist(), strict=True))
    kept = {name: weight for name, weight in weights.items() if weight >= REFUTED}
    notes += [f"{name} is left out: the readings refute it" for name in fits if name not in kept]
    whole = sum(kept.values())
    return Laws(tuple(kept), tuple(weight / whole for weight in kept.values()), tuple(notes), scatter)


def _moves_from_stated(scenario: Scenario, spreads: Mapping[str, Spread]) -> bool:
    """Whether a drawn temperature leaves that at which the viscosity is stated."""
    m = scenario.material
    fixed = m.stated_temperature is not None or any(r.temperature is not None for r in m.readings)
    in_lower = "material.temperature" in spreads and (fixed or scenario.suction.temperature is not None)
    return in_lower or bool({"suction.temperature", "material.stated_temperature"} & spreads.keys())


def by_keys(scenario: Scenario, values: Mapping[str, Any]) -> dict[str, Any]:
    """Drawn values (key of an input -> SI value) by the keys of a scenario: readings as the tuple of all (of
    kinematic ones times the drawn density), an activation energy with its law, and an exponent
    that nobody stated as a power law."""
    m = scenario.material
    denser = values.get(DENSITY, m.density) / m.density
    own = {key: value for key, value in values.items() if not key.startswith(READINGS)}
    readings = tuple(
        reading._replace(
            viscosity=values.get(reading_key(i), reading.viscosity) * (denser if reading.kinematic else 1.0)
        )
        for i, reading in enumerate(m.readings, 1)
    )
    if readings != m.readings:
        own[READINGS] = readings
    if ENERGY in own and m.temperature_law == NO_LAW:
        own[LAW_OVER_T] = Andrade.NAME
    if EXPONENT in own and "flow" not in m.model_fields_set and FLOW not in own:
        own |= _thinning(m, readings, own.get(VISCOSITY, m.viscosity), own.pop(EXPONENT))
    return own


def _thinning(
    m: Material, readings: tuple[ViscosityReading, ...], viscosity: float | None, exponent: float
) -> dict[str, Any]:
    """A power law of an exponent through what is known at one shear rate; without one at 10 1/s, where one
    viscosity stands for a law (our choice). Exponent 1 is what the scenario has: Newtonian.

    Readings get another one beside each, at ten times its rate, as the exponent has it, so that rested and
    aged ones and those of other temperatures keep their meaning.
    """
    if exponent == 1.0:
        return {}
    if viscosity is not None:
        at_one = viscosity * ANY_RATE ** (1.0 - exponent)
        return {FLOW: PowerLaw.NAME, VISCOSITY: at_one, EXPONENT: exponent}
    own = of_the_law(m)
    rated = [reading._replace(shear_rate=_rate(reading)) for reading in readings]
    beside = [
        reading._replace(
            shear_rate=APART * _rate(reading), viscosity=reading.viscosity * APART ** (exponent - 1.0)
        )
        for reading, measured in zip(rated, m.readings, strict=True)
        if measured in own
    ]
    return {FLOW: PowerLaw.NAME, READINGS: (*rated, *beside)}


def apparent_viscosity(scenario: Scenario, rate: float) -> float:
    """Viscosity [Pa s] that a measurement in the lower would tell, at a shear rate [1/s]."""
    return float(material_model(scenario.material).viscosity(rate, scenario.material.temperature))
