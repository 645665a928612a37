"""Values of the signs that a shop sees, in the units in use."""

import math

from balltravel.bench.calibrate.expected import sign_of
from balltravel.report.tables import bench, in_mercury
from balltravel.units import to_text


def sign_text(key: str, value: float) -> str:
    """A value of a sign [SI]; of creep the time of a stroke, without end where nothing creeps. A pressure has
    the bench's unit however small it is, a vacuum at the inlet that of its gauge."""
    if math.isnan(value):
        return "-"
    if math.isinf(value):
        return "none"
    dimension = sign_of(key).quantity.dimension
    vacuum = in_mercury(value) if key == "vacuum_at_inlet" else ""
    return vacuum or (bench if dimension == "pressure" else to_text)(value, dimension, 3)
