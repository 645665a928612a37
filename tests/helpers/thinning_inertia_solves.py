"""Direct steady solves with inertia of liquids that thin or have a yield stress, past a ball held over a
sharp edge. Needs the extra ``fem``."""

import math

from balltravel.closures.fem.liquids import Liquid
from balltravel.closures.fem.points import _patient, with_inertia
from balltravel.closures.fem.steady import NotConvergedError
from balltravel.material.flow_laws import Carreau, HerschelBulkley, Newtonian, PowerLaw

FINENESS = 0.3
FIRST_STEP, LEAST_STEP, MORE = 10.0, 2.0, 1.6
"""Steps of the Reynolds number: the first, the least before a flow counts as not found, and growth."""


def way_to(row):
    """Liquids for the solver, each from the one before, to that of a row."""
    viscosity, n, onset, tau = (float(row[k]) for k in ("viscosity", "exponent", "onset", "yield_stress"))
    if row["liquid"] == "Newtonian":
        return (Liquid(Newtonian(viscosity)),)
    if row["liquid"] == "power law":
        return (Liquid(PowerLaw(viscosity * onset ** (1.0 - n), n), onset),)
    if row["liquid"] == "Carreau":
        return (Liquid(Carreau(viscosity, 0.0, onset, n), 1e-9),)
    law = HerschelBulkley(tau, viscosity * onset ** (1.0 - n), n)
    return tuple(Liquid(law, more * float(row["blunt"])) for more in (33.0, 5.0, 1.0))


class HeldFlow:
    """Unit flow past the ball at a place; ``way``: 1 from bore to cage, -1 back."""

    def __init__(self, place, way, fineness=FINENESS):
        self.flow, self.way = with_inertia(*place, way, fineness), way
        self.start = self.flow.solve(way, 0.0)

    def rising(self, row, reynolds):
        """Reynolds number, loss of total pressure and force along the flow in the liquid of a row, from
        creeping flow on as far as steady flows are found; the numbers are of a viscosity of 1."""
        for liquid in way_to(row):
            last = _patient(self.flow, self.way, 0.0, liquid, self.start.x)
            self.start = last
        straight = abs(self.flow.straight(self.way, liquid))
        yield 0.0, abs(last.power) - straight, self.way * last.force
        known, step = [(0.0, last.x)], FIRST_STEP
        for there in reynolds:
            while known[-1][0] < there:
                step = min(step, there - known[-1][0])
                try:
                    last = self._next(known, step, liquid)
                except NotConvergedError:
                    step *= 0.5
                    if step < LEAST_STEP:
                        return
                    continue
                known = [known[-1], (known[-1][0] + step, last.x)]
                step = max(FIRST_STEP, step * (MORE if last.steps < 8 else 1.0))
            yield there, abs(last.power) - straight, self.way * last.force

    def _next(self, known, step, liquid):
        """The flow at a higher Reynolds number, from where the last two lead."""
        here, x = known[-1]
        if len(known) > 1:
            x = x + (x - known[0][1]) * step / (here - known[0][0])
        density = 0.5 * math.pi * (here + step)
        return self.flow.solve(
            self.way, 0.0, density=density, liquid=liquid, start=x, fixed_point=2, most_steps=12
        )
