"""The tabulated functions of lift of a check: solves, taken as data (they have no second author).

The spline through them, the loss of the turbulent jet (M5h) and what is made of the liquid's mass (M6b) are
written here a second time.
"""

import math

import numpy as np
from scipy.interpolate import CubicSpline

from balltravel.closures.ball_over_seat import CheckGeometry, rough_gap
from balltravel.closures.families import lift_functions
from balltravel.closures.lift_table import edge_gap
from balltravel.closures.table.beyond_creeping import mass_at

INTERVALS = 240
TABLE_END = 1.02
Z_T_SHARE = 0.02
SHARPNESS = 8
COLUMNS = (
    "G", "alpha", "S", "S_opening", "e", "K1_up", "Kt_up", "Re0_up", "K1_down", "Kt_down", "Re0_down", "K_L",
    "stream", "Mww", "c", "R_c G", "alpha_c", "S_c", "k_e", "epsilon_e", "k_c", "epsilon_c",
)  # fmt: skip
"""The tabulated functions in the order of balltravel.core.parameters, stream (pi^2 Mqq) and mass over rho r^3
and c over rho r. G and R_c G are over gap^2; K_1, K_t times gap^2; K_L times gap; k_e times gap^2: of the gap
with roughness."""


def geometry_of(check):
    """The sizes by which the tables are entered: a plain cage, ball on its axis."""
    return CheckGeometry(
        seat_radius=check.seat_diameter / 2,
        seat_length=check.seat_length,
        ball_radius=check.ball_diameter / 2,
        cage_radius=check.cage_diameter / 2,
        cage_length=check.cage_length,
        discharge_coefficient=check.discharge_coefficient,
        roughness=check.surface_roughness,
        leak_gap=check.leak_gap,
        half_angle=check.seat_half_angle or 0.0,
        mouth_radius=(check.seat_mouth_diameter or 0.0) / 2,
        land_width=check.seat_land_width,
        family="tabulated",
    )


def masses(geometry, r, lift):
    """Mqq, Mqw, Mww of the solves at lifts, lengths in r."""
    R, R_c = geometry.ball_radius, geometry.cage_radius
    return mass_at(R / r, R / R_c, edge_gap(geometry, lift))


def turbulent(K_1, gap, geometry, r, behind):
    """K_t of M5h at gaps over r, not less than K_1; ``behind``: area that the jet spreads to, over A_s.

    The gap's area is pi r L (1 - R^2/L^2) with L = R + gap.
    """
    R = geometry.ball_radius / r
    L = R + gap
    jet = 1 / (geometry.discharge_coefficient * L * (1 - (R / L) ** 2))
    K_t = np.maximum(jet - 1 / behind, 0) ** 2
    return (K_1**SHARPNESS + K_t**SHARPNESS) ** (1 / SHARPNESS)


class LiftData:
    """Splines over lift of COLUMNS, for a check of the scenario."""

    def __init__(self, check, r, travel):
        """``r``: radius of the circle of contact."""
        self.geometry = geometry_of(check)
        cut = math.hypot(check.surface_roughness, check.leak_gap)
        self.z_t = min(Z_T_SHARE * r, cut) if check.seat_half_angle else Z_T_SHARE * r
        u = np.linspace(0.0, math.log(1 + TABLE_END * travel / self.z_t), INTERVALS + 1)
        self.width = u[1]
        spline = CubicSpline(u, self._values(r, self.z_t * np.expm1(u)), axis=1)
        # [interval][column] -> c3, c2, c1, c0 as plain numbers
        self.rows = spline.c.transpose(1, 2, 0).tolist()

    def _values(self, r, lift):
        """Values of COLUMNS at lifts."""
        geometry = self.geometry
        data = dict(zip(COLUMNS, lift_functions(geometry, lift), strict=True))
        gap, beside = rough_gap(geometry, lift), edge_gap(geometry, lift)
        annulus = (geometry.cage_radius**2 - geometry.ball_radius**2) / r**2
        for way, behind in (("up", annulus), ("down", 1.0)):
            K_1 = data["K1_" + way] / gap**2
            data["Kt_" + way] = turbulent(K_1, beside, geometry, r, behind) * gap**2
        m = masses(geometry, r, lift)
        data["stream"], data["Mww"], data["c"] = math.pi**2 * m.Mqq, m.Mww, -m.Mqw
        return np.vstack(list(data.values()))

    def at(self, z):
        """Values of COLUMNS at lift z by name, and slopes by lift of stream and mass.

        Beyond both ends the outermost polynomials go on, down to z = -z_t/2.
        """
        over = 1 + max(z / self.z_t, -0.5)
        u = math.log(over)
        i = min(max(int(u / self.width), 0), INTERVALS - 1)
        d, row = u - i * self.width, self.rows[i]
        found = {
            name: ((c3 * d + c2) * d + c1) * d + c0
            for name, (c3, c2, c1, c0) in zip(COLUMNS, row, strict=True)
        }
        for name in ("stream", "Mww"):
            c3, c2, c1, _ = row[COLUMNS.index(name)]
            found[name + "'"] = ((3 * c3 * d + 2 * c2) * d + c1) / (self.z_t * over)
        return found
