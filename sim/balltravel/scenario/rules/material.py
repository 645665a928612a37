"""What must hold between the keys of a material: a key that does nothing, or tells what readings tell."""

from balltravel.material.flow_laws import ANY_RATE, LAWS
from balltravel.material.model import SAME_TEMPERATURE, MaterialError, MaterialModel, material_model
from balltravel.material.table import Material
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.rules.rule import Fault, Objection
from balltravel.units import UnitError, to_text

PUMPED = (1e-6, 1e7)
"""Viscosities [Pa s] that a material may come to by temperature and age."""


def fitted_by_readings(flow: str, readings: tuple[ViscosityReading, ...]) -> Objection:
    """Readings tell the parameters of a law that is fitted to them."""
    if LAWS[flow].FITTED or not readings:
        return None
    return f'"{flow}" with readings', "a law that is fitted: any other flow", 'flow = "Herschel-Bulkley"'


def growth_told_twice(_doubling: float, readings: tuple[ViscosityReading, ...]) -> Objection:
    """Readings of several ages tell the doubling time."""
    if len({reading.age or 0.0 for reading in readings if reading.state == "worked"}) < 2:
        return None
    allowed = "doubling_time, or readings of several ages"
    return "given although readings of several ages are", allowed, 'doubling_time = "40 min"'


def rest_told_twice(ratio: float, readings: tuple[ViscosityReading, ...]) -> Objection:
    """Rested readings tell the ratio."""
    if ratio == 1.0 or all(reading.state != "rested" for reading in readings):
        return None
    return "given although rested readings are", "rested_ratio, or rested readings", "rested_ratio = 3"


def material_faults(material: Material, in_hose: float | None) -> list[Fault]:
    """What contradicts itself in a material, and what it does not tell of where it is asked for; ``in_hose``:
    its temperature there [K], if another than in the lower."""
    try:
        known = material_model(material)
    except MaterialError as error:
        return [Fault(error.key, error.given, error.allowed, error.example)]
    asked = {"material.temperature": material.temperature, "suction.temperature": in_hose}
    faults = (_asked(known, key, kelvin) for key, kelvin in asked.items() if kelvin is not None)
    return [fault for fault in faults if fault]


def _asked(known: MaterialModel, key: str, kelvin: float) -> Fault | None:
    """The fault of a temperature [K] at which the material is asked for."""
    example = 'temperature_law = "Andrade", activation_energy = "unknown"'
    if known.over_temperature is None and abs(kelvin - known.stated) >= SAME_TEMPERATURE:
        here, there = (to_text(value, "temperature") for value in (kelvin, known.stated))
        allowed = (
            "the same temperature, or a temperature_law with the readings that it needs, or Andrade's with "
            "an activation_energy, which may be unknown"
        )
        return Fault(key, f"{here} given, viscosity stated at {there}", allowed, example)
    try:
        viscosity = known.viscosity_at_any_rate(kelvin) / known.factor
    except UnitError as error:
        return Fault(key, error.given, error.allowed, error.example)
    low, high = PUMPED
    if low <= viscosity <= high:
        return None
    there, *ends = (to_text(value, "viscosity") for value in (viscosity, low, high))
    if known.growth * known.age > 1.0:
        key, example = "material.age", 'age = "20 min"'
    return Fault(key, f"viscosity of {there} at {ANY_RATE:g} 1/s there", " to ".join(ends), example)
