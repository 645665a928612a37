"""What must hold between the keys of a material: a key that does nothing, or tells what readings tell."""

from balltravel.material.flow_laws import LAWS
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.rules.rule import Objection


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
