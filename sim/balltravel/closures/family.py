"""What a family of closures is: one way to find all that a run asks of a check."""

from collections.abc import Callable
from typing import NamedTuple

from balltravel.closures.ball_over_seat import Array, CheckGeometry
from balltravel.closures.resistance import Matrix
from balltravel.core.ranges import Range

Resistance = Callable[[CheckGeometry, Array, bool], Matrix]
"""Of a check at lifts [m], lengths in its contact radius; True: of a ball that leaves its seat (M5i)."""


class Family(NamedTuple):
    """A way to compute a check, by the name that ``closures.resistance`` has for it.

    ``seat_and_cage``: resistance of the seat and the ball in its cage; ``whole``: with the bores' laminar
    loss; ``lift_functions``: all functions of lift (FUNCTIONS, lifts) in the order of the core's parameters;
    ``inertance``: of the passage over density with the ball at a lift [1/m]; ``lifts``, ``reynolds``: where
    it was looked at, lift over seat radius and Reynolds number in the seat bore; ``solved``: whether solves
    stand behind it at these lifts; ``flows``: the laws of flow that it knows, None for every one;
    ``measured_force``: whether kappa and the lift force are its own (``core.parameters.Check``).
    """

    name: str
    seat_and_cage: Resistance
    whole: Resistance
    lift_functions: Callable[[CheckGeometry, Array], Array]
    inertance: Callable[[CheckGeometry, float], float]
    lifts: Range
    reynolds: Range
    solved: Callable[[CheckGeometry, Array], bool]
    flows: tuple[str, ...] | None
    measured_force: bool
