"""Direct solves of a ball over a sharp edge in liquids that thin or have a yield stress, which no fit has
seen. Needs the extra ``fem``."""

from typing import Any, NamedTuple

from balltravel.closures.liquids import Carreau, HerschelBulkley, PowerLaw
from balltravel.closures.section import sharp_edge
from balltravel.closures.steady import NotConvergedError, SteadyFlow
from balltravel.core.rheology import Rheology

from .edge_alone import creeping

FINENESS = 0.3

MOTIONS = {
    "held": (1.0, 0.0),
    "ball alone": (0.0, 1.0),
    "ball with its flow": (1.0, 1.0),
    "ball half as fast as its flow": (1.0, 0.5),
    "ball twice as fast": (0.5, 1.0),
    "against, slow ball": (1.0, -0.5),
    "against, fast ball": (0.5, -1.0),
    "held, a tenth of the flow": (0.1, 0.0),
    "ball with a tenth of the flow": (0.1, 0.1),
}
"""Flow, and alpha times the ball's speed; the liquids' onset is at unit flow, that of the exponent too."""


class Both(NamedTuple):
    """A liquid for the solver, with those on the way to it, and the same for the core."""

    way: tuple[Any, ...]
    rheology: Rheology


def power_law(n, floor):
    return PowerLaw(n, floor), Rheology(floor ** (n - 1.0), n, floor)


def herschel_bulkley(n, rate):
    """Yield stress as large as the viscous stress at a rate, blunted at 3 % of it."""
    ways = tuple(HerschelBulkley(n, rate**n, share * rate) for share in (1.0, 0.15, 0.03))
    blunt = ways[-1].floor
    return Both(ways, Rheology(blunt ** (n - 1.0), n, blunt, 0.0, rate**n, blunt))


def liquids_of(place):
    rate = creeping(place).rate
    solver, core = power_law(0.5, 1e-4 * rate)
    return {
        "power law": Both((solver,), core),
        "Carreau": Both((Carreau(0.4, rate),), Rheology(1.0, 0.4, rate)),
        "Herschel-Bulkley": herschel_bulkley(0.6, rate),
    }


LIQUIDS = ("power law", "Carreau", "Herschel-Bulkley")


class ThinSolves:
    """Solves at a place, each from the one before."""

    def __init__(self, place, fineness=FINENESS):
        self.flow = SteadyFlow(sharp_edge(place.ball, place.ball / place.ratio, place.lift), fineness)
        self.known, self.liquids = creeping(place), liquids_of(place)

    def at(self, name, Q, w, start=None):
        """Pressure drop and force, and the nodes. Raises NotConvergedError."""
        *way, last = self.liquids[name].way
        if start is not None:
            try:
                return self._found(Q, w, last, start, 3)
            except NotConvergedError:
                pass
        for one in way:
            start = self._found(Q, w, one, start, 4)[2]
        return self._found(Q, w, last, start, 4)

    def _found(self, Q, w, liquid, start, fixed_point):
        for more in (1, 3, 10):
            try:
                found = self.flow.solve(
                    Q, w, 0.0, liquid, start, fixed_point=more * fixed_point, most_steps=60
                )
                return found.static - self.flow.straight(Q, liquid), found.force, found.x
            except NotConvergedError as error:
                failed = error
        raise failed

    def motion(self, name, motion):
        """Flow, speed, pressure drop, force of one of MOTIONS."""
        Q, share = MOTIONS[motion]
        w = share / self.known.alpha
        return (Q, w, *self.at(name, Q, w)[:2])

    def carried(self, name):
        """The same with the flow at which no force acts on a ball that moves with alpha w = 1: secants."""
        w = 1.0 / self.known.alpha
        low = 1.0 + self.known.S / (self.known.Rqq * self.known.alpha**2)
        high = 1.1 * low
        x = None
        dp, f_low, x = self.at(name, low, w, x)
        for _ in range(12):
            dp, f_high, x = self.at(name, high, w, x)
            if abs(f_high) < 1e-4 * abs(self.known.alpha * dp) or abs(high - low) < 1e-4 * high:
                break
            step = f_high * (high - low) / (f_high - f_low)
            low, f_low, high = high, f_high, min(max(high - step, 0.3 * high), 3.0 * high)
        return high, w, dp, f_high
