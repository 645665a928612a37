"""What fittings of a suction line lose: two-K coefficients by generic names."""

import math
from collections.abc import Sequence
from typing import NamedTuple

INCH = 0.0254
"""Bore [m] over which the size of a fitting counts; it belongs to Hooper's formula."""


class Fitting(NamedTuple):
    """Coefficients of K = laminar/Re + turbulent (1 + 1 inch/bore); ``sized``: whether the bracket counts."""

    laminar: float
    turbulent: float
    sized: bool = True


FITTINGS: dict[str, Fitting] = {
    "elbow 90 screwed": Fitting(800.0, 0.4),
    "elbow 90 flanged": Fitting(800.0, 0.25),
    "elbow 90 long radius": Fitting(800.0, 0.2),
    "elbow 90 mitred": Fitting(1000.0, 1.15),
    "elbow 45": Fitting(500.0, 0.2),
    "elbow 45 long radius": Fitting(500.0, 0.15),
    "return bend": Fitting(1000.0, 0.35),
    "return bend long radius": Fitting(1000.0, 0.3),
    "tee run screwed": Fitting(200.0, 0.1),
    "tee run flanged": Fitting(150.0, 0.05),
    "tee branch screwed": Fitting(500.0, 0.7),
    "tee branch flanged": Fitting(800.0, 0.8),
    "full bore valve": Fitting(300.0, 0.1),
    "ball valve reduced": Fitting(500.0, 0.15),
    "plug valve reduced": Fitting(1000.0, 0.25),
    "globe valve": Fitting(1500.0, 4.0),
    "angle valve": Fitting(1000.0, 2.0),
    "diaphragm valve": Fitting(1000.0, 2.0),
    "butterfly valve": Fitting(800.0, 0.25),
    "swing check valve": Fitting(1500.0, 1.5),
    "lift check valve": Fitting(2000.0, 10.0),
    "tilting disc check valve": Fitting(1000.0, 0.5),
    "sharp entry": Fitting(160.0, 0.5, sized=False),
    "rounded entry": Fitting(160.0, 0.04, sized=False),
    "projecting entry": Fitting(160.0, 1.0, sized=False),
}
"""Hooper (1981) as the open library ``fluids`` tabulates him (``fluids.fittings.Hooper``; its entries named
"Elbow, Used as" and "Elbow, Elbow" are the tees used as elbows: from memory); plain elbows of radius 1 bore,
long ones of 1.5; "full bore" is any gate, ball or plug valve of the line's bore. Entries: laminar part, and
that their size does not count, by Hooper from memory; turbulent 0.5 (sharp), 1 (projecting) and 0.04
(rounded by 0.15 bores or more, Crane's Technical Paper 410 as in ``fluids.entrance_rounded``)."""


class LineLoss(NamedTuple):
    """Of all fittings: laminar resistance over viscosity [1/m3], and turbulent loss coefficient [-]."""

    laminar: float
    turbulent: float


def losses(names: Sequence[str], diameter: float) -> LineLoss:
    """What fittings of these names lose in a line of an inside ``diameter`` [m].

    K1/Re of the velocity head is K1 mu Q/(2 d A): a resistance, whatever the flow. Raises KeyError for a
    name that is not in FITTINGS. Source: Hooper (1981).
    """
    area = math.pi * diameter**2 / 4.0
    fittings = [FITTINGS[name] for name in names]
    laminar = math.fsum(fitting.laminar for fitting in fittings) / (2.0 * diameter * area)
    size = 1.0 + INCH / diameter
    return LineLoss(laminar, math.fsum(f.turbulent * (size if f.sized else 1.0) for f in fittings))
