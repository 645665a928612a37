"""What own solves of one check say: its shape, and its functions of lift (docs/closures.md)."""

from typing import NamedTuple


class CheckTable(NamedTuple):
    """Own solves of a check, as a scenario holds them.

    ``digest``: of the shape and of how it was solved; ``contact``: radius of the circle on which the ball
    sits [m]. All else over that radius: ``ball``, ``cage``, and the seat that is nearest: ``half_angle``
    [rad] of a cone from ``bore`` to ``mouth`` with a lapped band of width ``land``, or 0 for an edge.
    ``rows``: lift, Rqq, Rqw, S in creeping flow (viscosity 1) and Mqq, Mqw, Mww of the liquid's inertia
    (density 1), less the straight bores as in the shipped tables; by rising lift.
    """

    digest: str
    contact: float
    ball: float
    cage: float
    half_angle: float
    bore: float
    mouth: float
    land: float
    rows: tuple[tuple[float, ...], ...]
