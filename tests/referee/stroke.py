"""A prescribed stroke a second time (docs/model.md M1): stretches of a cycle without kink, in order."""

import math
from typing import NamedTuple

PRESCRIBED = "prescribed"


class Segment(NamedTuple):
    """A stretch of the stroke without kink: x = x0 + v0 s + a0 s^2/2, or the harmonic (omega > 0).

    Of a motor (motor.py): what it does, its way (+1 up, -1 down) and when its valve has shifted.
    """

    start: float
    end: float
    x0: float
    v0: float
    a0: float
    omega: float
    stroke: float
    kind: str = PRESCRIBED
    way: int = 0
    shifted: float = 0.0

    def motion(self, t):
        """x, v, a at t of this cycle."""
        if self.omega > 0:
            half, angle = self.stroke / 2, self.omega * t
            cos, sin = math.cos(angle), math.sin(angle)
            return half * (1 - cos), half * self.omega * sin, half * self.omega**2 * cos
        s = t - self.start
        return self.x0 + self.v0 * s + self.a0 * s * s / 2, self.v0 + self.a0 * s, self.a0


def segments(drive, stroke):
    """M1: the segments of a prescribed cycle, those of no length left out."""
    T = 1 / drive.cycle_rate
    if drive.profile == "harmonic":
        w = 2 * math.pi / T
        return [Segment(0, T / 2, 0, 0, 0, w, stroke), Segment(T / 2, T, stroke, 0, 0, w, stroke)]
    t_r, t_d = drive.ramp_time, drive.dwell_time
    t_c = T / 2 - t_d - 2 * t_r
    v = stroke / (t_c + t_r)
    parts = ((t_d / 2, 0, 0), (t_r, 0, v / t_r), (t_c, v, 0), (t_r, v, -v / t_r), (t_d / 2, 0, 0))
    found = []
    for begin, base, sign in ((0.0, 0.0, 1), (T / 2, stroke, -1)):
        t, x = begin, base
        for n, (length, v0, a0) in enumerate(parts):
            end = begin + T / 2 if n == 4 else t + length
            if length > 0:
                found.append(Segment(t, end, x, sign * v0, sign * a0, 0.0, stroke))
            x += sign * (v0 * length + a0 * length**2 / 2)
            t = end
    if not t_d:  # the last ramp then ends at the reversal itself
        found = [s._replace(end=T / 2) if abs(s.end - T / 2) < 1e-9 * T else s for s in found]
        found[-1] = found[-1]._replace(end=T)
    return found
