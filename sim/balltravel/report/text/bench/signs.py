"""Values of the signs that a shop sees, in the units in use."""

import math

from balltravel.bench.calibrate.expected import sign_of
from balltravel.bench.signs import LEAST_WEEP
from balltravel.report.tables import bench, in_mercury, number
from balltravel.units import from_si, to_text


def seen_text(key: str, value: float, none_in: float | None) -> str:
    """A value that was read [SI]; of a creep that nobody saw for how long [s]: ``none in 5 min``."""
    return sign_text(key, value) if none_in is None else f"none in {to_text(none_in, 'time', 3)}"


def sign_text(key: str, value: float) -> str:
    """A value of a sign [SI]; of creep the time of a stroke, without end where nothing creeps. A pressure has
    the bench's unit however small it is, a vacuum at the inlet that of its gauge, a weep cc an hour, and none
    below what anybody can collect."""
    if math.isnan(value):
        return "-"
    if math.isinf(value):
        return "none"
    if key == "gland_weep":
        return "none" if value < LEAST_WEEP else f"{number(from_si(value, 'flow', 'cc/h'), 3)} cc/h"
    dimension = sign_of(key).quantity.dimension
    vacuum = in_mercury(value) if key == "vacuum_at_inlet" else ""
    return vacuum or (bench if dimension == "pressure" else to_text)(value, dimension, 3)
