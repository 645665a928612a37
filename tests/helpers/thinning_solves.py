"""Direct solves of a ball over a sharp edge in liquids that thin or have a yield stress, which no fit has
seen. Needs the extra ``fem``."""

from balltravel.closures.fem.liquids import Liquid
from balltravel.closures.fem.section import sharp_edge
from balltravel.closures.fem.steady import NotConvergedError, SteadyFlow
from balltravel.material.flow_laws import Carreau, HerschelBulkley, PowerLaw

FINENESS = 0.3


def way_to(row):
    """Liquids for the solver, each from the one before, to that of a row of own_solves_of_thinning.csv."""
    n, onset, tau = (float(row[name]) for name in ("exponent", "onset", "yield_stress"))
    if row["liquid"] == "power law":
        return (Liquid(PowerLaw(1.0, n), onset),)
    if row["liquid"] == "Carreau":
        return (Liquid(Carreau(1.0, 0.0, onset, n), 1e-9),)
    law = HerschelBulkley(tau, 1.0, n)
    return tuple(Liquid(law, more * float(row["blunt"])) for more in (33.0, 5.0, 1.0))


class ThinSolves:
    """Solves at a place, each from the one before."""

    def __init__(self, place, fineness=FINENESS):
        self.flow = SteadyFlow(sharp_edge(place.ball, place.ball / place.ratio, place.lift), fineness)

    def at(self, row, Q, w, start=None):
        """Pressure drop and force, and the nodes, of a row's liquid. Raises NotConvergedError."""
        *way, last = way_to(row)
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
