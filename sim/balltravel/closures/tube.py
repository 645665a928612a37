"""A sphere on the axis of a long round tube: the ball in its cage, far from seat and stop.

Everything depends on the radius ratio lam = R/R_c alone. Set-up code, not a kernel: call it once a
scenario and hand the floats on.
"""

import csv
import math
from functools import cache, lru_cache
from importlib import resources
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.cubic import Cubic, spline
from balltravel.core.ranges import Range

LAMBDA_MIN, LAMBDA_MAX = 0.02, 0.99
ADDED_MASS_LAMBDA_MAX = 0.95

IN_CAGE = Range(
    "ball in its cage", "ball over cage diameter", ((0.5, 0.95),), "own solves, with the seat near"
)

# Bungay and Brenner (1973), coefficients as tabulated by Deen (1987).
_MOVING = (-73 / 60, 77293 / 50400, -22.5083, -5.6117, -0.3363, -1.216, 1.647)
_HELD = (7 / 60, -2227 / 50400, 4.0180, -3.9788, -1.9215, 4.392, 5.006)

# The table gives S where it is the difference of two nearly equal numbers that loses at most this much.
_LARGEST_S_ERROR = 5e-3

# Added-mass coefficient by own axisymmetric finite-element solves (scikit-fem, 48 elements across the
# gap, the last digit settled): liquid at rest, no net flux through the tube.
_ADDED_MASS = (
    (0.05, 0.5001493), (0.10, 0.5011962), (0.20, 0.5096232), (0.30, 0.5329815), (0.40, 0.5806163),
    (0.50, 0.6660413), (0.60, 0.8126573), (0.70, 1.0692552), (0.75, 1.2721450), (0.80, 1.5652904),
    (0.85, 2.0218276), (0.90, 2.8350842), (0.95, 4.7915429),
)  # fmt: skip

# (2/pi) * integral of k^2 K1(k)/I1(k) over k from 0 on (Bessel functions): axial field at the centre of a
# unit dipole, reflected by a tube of unit radius that no liquid crosses.
_DIPOLE_IMAGE = 1.593648344597


class TubeResistance(NamedTuple):
    """Resistance matrix of a sphere in a tube, lengths in cage radii R_c; pure numbers.

    ``dp = mu (Rqq Q/R_c^3 - Rqw w/R_c)`` is the pressure drop on top of the Poiseuille loss of the same
    tube without the ball, over its whole length; ``F = mu (Rqw Q/R_c - Rww R_c w)`` is the force of the
    flow on the ball. ``S = Rww - Rqw^2/Rqq`` resists a ball that moves at dp = 0.
    """

    Rqq: float
    Rqw: float
    Rww: float
    S: float


class _Splines(NamedTuple):
    moving: Cubic
    held: Cubic
    slip: Cubic


def _refuse_outside(lam: float, low: float, high: float) -> None:
    if not low <= lam <= high:
        raise ValueError(
            f"radius ratio ball/cage: got {lam!r}, allowed {low} to {high}, for example 0.7"
            " (a ball of 25 mm in a cage of 36 mm)"
        )


def _bungay_brenner(lam: float, c: tuple[float, ...]) -> float:
    gap = 1.0 - lam
    lubrication = 2.25 * math.pi**2 * math.sqrt(2.0 / gap) / gap**2 * (1.0 + c[0] * gap + c[1] * gap**2)
    return lubrication + sum(coefficient * lam**n for n, coefficient in enumerate(c[2:]))


def moving_wall_factor(lam: float) -> float:
    """Wall factor K1 of a sphere that moves along a tube of still liquid.

    Drag = 6 pi mu R U K1. ``lam``: R/R_c [-], 0.02 to 0.99. Within 0.17 % of own finite-element solves
    over that range. Raises ValueError outside.
    Source: Bungay and Brenner (1973), coefficients of Deen (1987).
    """
    _refuse_outside(lam, LAMBDA_MIN, LAMBDA_MAX)
    return _bungay_brenner(lam, _MOVING) / (6.0 * math.pi)


def held_wall_factor(lam: float) -> float:
    """Wall factor K2 of a sphere held in Poiseuille flow of axial velocity U_max.

    Force = 6 pi mu R U_max K2. ``lam``: R/R_c [-], 0.02 to 0.99. Within 0.17 % of own finite-element
    solves over that range. Raises ValueError outside.
    Source: Bungay and Brenner (1973), coefficients of Deen (1987).
    """
    _refuse_outside(lam, LAMBDA_MIN, LAMBDA_MAX)
    return _bungay_brenner(lam, _HELD) / (12.0 * math.pi)


def _table() -> dict[str, NDArray[np.float64]]:
    """Columns of the finite-element table shipped with the package."""
    text = resources.files(__package__).joinpath("sphere_in_tube.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    return {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}


def _slip_scale(lam: float) -> float:
    """S over its two limits: ``4 pi lam^5`` for lam -> 0, ``4 pi^2 sqrt(2)/sqrt(1 - lam)`` for lam -> 1."""
    return 4.0 * math.pi * lam**5 / math.sqrt(1.0 - lam)


def _fit(table: dict[str, NDArray[np.float64]]) -> _Splines:
    """Splines of what the closed forms leave over; their ends are the exact limits at lam = 0 and 1."""
    lam = table["lambda"]
    ends = np.concatenate(([0.0], lam, [1.0]))

    def excess(factor: NDArray[np.float64], c: tuple[float, ...], pi_s: float) -> Cubic:
        formula = np.array([_bungay_brenner(x, c) / (pi_s * math.pi) for x in lam])
        return spline(ends, np.concatenate(([0.0], np.log(factor / formula), [0.0])))

    good = table["S_unc"] < _LARGEST_S_ERROR
    reduced = np.log(table["S"][good] / np.array([_slip_scale(x) for x in lam[good]]))
    # S comes in powers of sqrt(1 - lam) near the wall, so that is the abscissa (rising: wall first).
    root = np.concatenate(([0.0], np.sqrt(1.0 - lam[good])[::-1], [1.0]))
    values = np.concatenate(([math.log(math.pi * math.sqrt(2.0))], reduced[::-1], [0.0]))
    slip = spline(root, values)
    return _Splines(excess(table["K1"], _MOVING, 6.0), excess(table["K2"], _HELD, 12.0), slip)


@cache
def _splines() -> _Splines:
    return _fit(_table())


def _resistance(lam: float, splines: _Splines) -> TubeResistance:
    Rww = lam * _bungay_brenner(lam, _MOVING) * math.exp(float(splines.moving(lam)))
    Rqw = lam * _bungay_brenner(lam, _HELD) * math.exp(float(splines.held(lam))) / math.pi
    S = _slip_scale(lam) * math.exp(float(splines.slip(math.sqrt(1.0 - lam))))
    return TubeResistance(Rqw**2 / (Rww - S), Rqw, Rww, S)


def tube_resistance(lam: float) -> TubeResistance:
    """Resistance matrix of a sphere on the axis of a tube in creeping flow (M5, far from the seat).

    ``Rww = 6 pi lam K1``, ``Rqw = 12 lam K2``, ``Rqq = Rqw^2/(Rww - S)``. K1 and K2 are Bungay and
    Brenner's times a spline that brings them onto own finite-element solves; S, a difference that loses
    four digits, is interpolated by itself between the solves and its two limits.
    ``lam``: R/R_c [-], 0.02 to 0.99. Raises ValueError outside.
    """
    _refuse_outside(lam, LAMBDA_MIN, LAMBDA_MAX)
    return _resistance(lam, _splines())


@cache
def _added_mass_spline() -> Cubic:
    """ln((2 C_m - 1) sqrt(1 - lam)/lam^3) over sqrt(1 - lam).

    C_m leaves the open-liquid value as lam^3, by the image of the ball's dipole in the tube's wall, and
    ends as ``3 pi sqrt(2)/8/sqrt(1 - lam)``: the kinetic energy of the liquid that the ball squeezes past
    itself at speed w R/(2h) through a narrow gap h.
    """
    lam, coefficient = (np.array(column) for column in zip(*reversed(_ADDED_MASS), strict=True))
    root = np.sqrt(1.0 - lam)
    reduced = np.log((2.0 * coefficient - 1.0) * root / lam**3)
    wall = math.log(0.75 * math.pi * math.sqrt(2.0))
    open_liquid = math.log(1.5 * _DIPOLE_IMAGE)
    ends = np.concatenate(([wall], reduced, [open_liquid]))
    return spline(np.concatenate(([0.0], root, [1.0])), ends)


@lru_cache(maxsize=256)
def added_mass_coefficient(lam: float) -> float:
    """Added mass of a sphere on the axis of a tube of still liquid, over the mass it displaces.

    ``lam``: R/R_c [-], 0 (open liquid: 1/2) to 0.95. Raises ValueError outside.
    Source: own axisymmetric finite-element solves of the potential flow; 1/2 at lam = 0 is exact.
    """
    _refuse_outside(lam, 0.0, ADDED_MASS_LAMBDA_MAX)
    root = math.sqrt(1.0 - lam)
    return 0.5 + 0.5 * lam**3 * math.exp(float(_added_mass_spline()(root))) / root
