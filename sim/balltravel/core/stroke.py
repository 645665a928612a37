"""The piston's motion (M1)."""

import math

from balltravel.core.jit import kernel
from balltravel.core.parameters import Drive, pieces

SIXTH = 1.0 / 6.0


@kernel
def motion(drive: Drive, segment: int, t: float) -> tuple[float, float, float, float]:
    """Position [m], speed [m/s], acceleration [m/s2] and jerk [m/s3] at time ``t`` in a segment.

    The segment is named, not looked up: at a kink the two sides differ.
    """
    omega = drive.angular_speed
    if omega > 0.0:
        half = 0.5 * drive.stroke
        sine, cosine = math.sin(omega * t), math.cos(omega * t)
        return (
            half * (1.0 - cosine),
            half * omega * sine,
            half * omega**2 * cosine,
            -half * omega**3 * sine,
        )
    s = t - pieces(drive.start)[segment]
    jerk = pieces(drive.jerk)[segment]
    a = pieces(drive.acceleration)[segment]
    v = pieces(drive.speed)[segment]
    x = pieces(drive.position)[segment] + s * (v + s * (0.5 * a + s * jerk * SIXTH))
    return x, v + s * (a + 0.5 * jerk * s), a + jerk * s, jerk
