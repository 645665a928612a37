"""Direct steady solves with inertia of a ball held over a sharp edge. Needs the extra ``fem``."""

from balltravel.closures.fem.points import _onward, with_inertia
from balltravel.closures.fem.steady import NotConvergedError


def loss_and_force(place, way, reynolds, fineness=0.25):
    """Loss of total pressure and force on the held ball over their creeping values, at rising Reynolds
    numbers of the bore as far as steady flows were found; ``way``: 1 from bore to cage, -1 back."""
    flow = with_inertia(*place, way, fineness)
    straight = abs(flow.straight(way))
    base = last = flow.solve(way, 0.0)
    here = 0.0
    for there in reynolds:
        try:
            while here < there:
                last, here = _onward(flow, way, last, here, there)
        except NotConvergedError:
            return
        yield (abs(last.power) - straight) / (abs(base.power) - straight), last.force / base.force
