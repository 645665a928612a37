"""What must hold between the keys of a material: a key that does nothing, or tells what readings tell."""

from balltravel.material.viscosity_reading import ViscosityReading

Wrong = tuple[str, str, str] | None
"""What was given, what is allowed, an example."""


def energy_without_law(_energy: float, law: str) -> Wrong:
    """An activation energy does something with Andrade's law alone."""
    if law == "Andrade":
        return None
    allowed = 'activation_energy only with material.temperature_law = "Andrade" (leave the key out)'
    return f'given although material.temperature_law = "{law}"', allowed, 'temperature_law = "Andrade"'


def paste_by_readings(flow: str, readings: tuple[ViscosityReading, ...]) -> Wrong:
    """The law without a least viscosity has no fit of its own."""
    if flow != "shear-thinning" or not readings:
        return None
    return f'"{flow}" with readings', "a law that is fitted: any other flow", 'flow = "Herschel-Bulkley"'


def growth_told_twice(_doubling: float, readings: tuple[ViscosityReading, ...]) -> Wrong:
    """Readings of several ages tell the doubling time."""
    if len({one.age or 0.0 for one in readings if one.state == "worked"}) < 2:
        return None
    allowed = "doubling_time, or readings of several ages"
    return "given although readings of several ages are", allowed, 'doubling_time = "40 min"'


def rest_told_twice(ratio: float, readings: tuple[ViscosityReading, ...]) -> Wrong:
    """Rested readings tell the ratio."""
    if ratio == 1.0 or all(one.state != "rested" for one in readings):
        return None
    return "given although rested readings are", "rested_ratio, or rested readings", "rested_ratio = 3"
