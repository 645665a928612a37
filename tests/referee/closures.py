"""The check's closures a second time, from docs/model.md (M5) and docs/closures.md alone. SI throughout."""

import csv
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from scipy.integrate import quad
from scipy.interpolate import CubicSpline
from scipy.special import i1, k1

DATA = Path(__file__).resolve().parents[1] / "data"
INTERVALS = 240
TABLE_END = 1.02
Z_T_SHARE = 0.02
ALPHA_EDGE = math.pi
RQQ_EDGE = 3.1
S_EDGE = 110.0
LAMINAR_BELOW = 500.0

A = (-73 / 60, 77293 / 50400, -22.5083, -5.6117, -0.3363, -1.216, 1.647)
B = (7 / 60, -2227 / 50400, 4.0180, -3.9788, -1.9215, 4.392, 5.006)


@dataclass(frozen=True)
class Tube:
    """Resistances of a ball in its cage, lengths in cage radii, and its added-mass coefficient."""

    Rqq: float
    Rqw: float
    S: float
    C_m: float


def bungay_brenner(lam, factor, coefficients):
    """The closed form of a wall factor times its factor, 6 pi K1 or 12 pi K2."""
    gap = 1 - lam
    first, second, *rest = coefficients
    narrow = 9 * math.sqrt(2) * math.pi**2 / 4 * gap**-2.5 * (1 + first * gap + second * gap**2)
    return (narrow + sum(c * lam**n for n, c in enumerate(rest))) / factor


def K1_closed(lam):
    """Wall factor of a moving ball, closed form."""
    return bungay_brenner(lam, 6 * math.pi, A)


def K2_closed(lam):
    """Wall factor of a held ball, closed form."""
    return bungay_brenner(lam, 12 * math.pi, B)


def _columns(name):
    with (DATA / name).open() as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}


@cache
def _tube_splines():
    """Splines over lam of the two ratios K/closed form; over sqrt(1 - lam) of ln S and ln C_m, reduced."""
    d = _columns("wall_factor_K1K2.csv")
    lam = d["lambda"]
    ratio1 = CubicSpline(lam, d["K1_FE"] / [K1_closed(x) for x in lam])
    ratio2 = CubicSpline(lam, d["K2_FE"] / [K2_closed(x) for x in lam])
    # Held ball: dp = mu Rqq Q/R_c^3 with Q = pi R_c^2 U_max/2. Moving ball, no flow: |dp| = mu Rqw w/R_c.
    Rqq, Rqw = d["dPextra_R_over_muUmax"] * 2 / math.pi, d["dPmov_R_over_muU"]
    S = 6 * math.pi * lam * d["K1_FE"] - Rqw**2 / Rqq
    used = (lam > 0.199) & (lam < 0.9701)
    reduced = np.log(S[used] * np.sqrt(1 - lam[used]) / (4 * math.pi * lam[used] ** 5))
    slip = _with_limits(lam[used], reduced, 0.0, math.log(math.pi * math.sqrt(2)))

    d = _columns("fe_added_mass_tube.csv")
    lam, C_m = d["lambda"], d["Cm_n48"]
    kappa = 2 / math.pi * quad(lambda k: k**2 * k1(k) / i1(k), 1e-9, 40, epsabs=1e-12)[0]
    reduced = np.log((2 * C_m - 1) * np.sqrt(1 - lam) / lam**3)
    narrow = math.log(3 * math.pi * math.sqrt(2) / 4)
    return ratio1, ratio2, slip, _with_limits(lam, reduced, math.log(1.5 * kappa), narrow)


def _with_limits(lam, values, at_0, at_1):
    """Spline over sqrt(1 - lam) through the values and the two limits."""
    x = np.sqrt(1 - np.concatenate(([1.0], lam[::-1], [0.0])))
    return CubicSpline(x, np.concatenate(([at_1], values[::-1], [at_0])))


def tube(lam):
    """Rww = 6 pi lam K1, Rqw = 12 lam K2, Rqq = Rqw^2/(Rww - S), added mass (closures.md)."""
    ratio1, ratio2, slip, mass = _tube_splines()
    Rww = 6 * math.pi * lam * K1_closed(lam) * float(ratio1(lam))
    Rqw = 12 * lam * K2_closed(lam) * float(ratio2(lam))
    root = math.sqrt(1 - lam)
    S = 4 * math.pi * lam**5 / root * math.exp(float(slip(root)))
    C_m = 0.5 * (1 + lam**3 / root * math.exp(float(mass(root))))
    return Tube(Rqw**2 / (Rww - S), Rqw, S, C_m)


def series(first, second):
    """M5e: two resistances (Rqq, Rqw, S) in series."""
    Rqq1, Rqw1, S1 = first
    Rqq2, Rqw2, S2 = second
    Rqq = Rqq1 + Rqq2
    S = S1 + S2 + Rqq1 * Rqq2 / Rqq * (Rqw1 / Rqq1 - Rqw2 / Rqq2) ** 2
    return Rqq, Rqw1 + Rqw2, S


class Closures:
    """G/gap^2, alpha, S, K_p gap^2 of a check against lift, by the spline or (exact) the closed forms."""

    def __init__(self, check, travel, tube_values, exact=False):
        """``check``: a Check of the scenario; ``tube_values``: a Tube."""
        self.R, self.r, self.R_c = check.ball_diameter / 2, check.seat_diameter / 2, check.cage_diameter / 2
        self.z_0 = math.sqrt(self.R**2 - self.r**2)
        self.e, self.roughness = check.leak_gap, check.surface_roughness
        self.C_d = check.discharge_coefficient
        self.passage = self._passage(check, tube_values)
        self.z_t = Z_T_SHARE * self.r
        self.exact = exact
        s = np.linspace(0.0, math.log(1 + TABLE_END * travel / self.z_t), INTERVALS + 1)
        z = self.z_t * np.expm1(s)
        self.spline = CubicSpline(s, [self.closed(x) for x in z])
        self.width = s[1]
        # The spline's own coefficients as plain numbers: [interval][column] -> c3, c2, c1, c0
        self.rows = self.spline.c.transpose(1, 2, 0).tolist()

    def _passage(self, check, t):
        """M5g: sphere in a tube, in series with the laminar loss of the two bores; lengths in r."""
        r, R_c = self.r, self.R_c
        ball = (t.Rqq * (r / R_c) ** 3, t.Rqw * r / R_c, t.S * R_c / r)
        bores = 8 / math.pi * (check.seat_length / r + check.cage_length / r * (r / R_c) ** 4)
        return series(ball, (bores, 0.0, 0.0)) if bores > 0 else ball

    def _L(self, z):
        return math.sqrt(self.r**2 + (self.z_0 + z) ** 2)

    def gap2(self, z):
        """M5a with the worn seat: (gap^2 + e^2)/r^2."""
        gap = z * (2 * self.z_0 + z) / (self._L(z) + self.R)
        return (gap**2 + self.e**2) / self.r**2

    def closed(self, z):
        """G/gap^2, alpha, S, K_p gap^2 at lift z from their closed forms (M5e to M5h), gap in seat radii.

        G is divided by the gap with roughness (of M5f), for it is finite there; K_p knows no roughness.
        """
        gap2, L = self.gap2(z), self._L(z)
        g2 = gap2 + (self.roughness / self.r) ** 2
        Rqq1 = RQQ_EDGE / g2
        edge = (Rqq1, ALPHA_EDGE * Rqq1, S_EDGE * math.log(1 + 1 / math.sqrt(g2)))  # M5f
        Rqq, Rqw, S = series(edge, self.passage)
        A_s, A_cage = math.pi * self.r**2, math.pi * self.R_c**2
        A_a = math.pi * (self.R_c**2 - self.R**2)
        jet = (1 / (self.C_d * (1 + self.R / L))) ** 2
        expansion = (A_s / A_a * (1 - A_a / A_cage)) ** 2
        return 1 / (Rqq * g2), Rqw / Rqq, S, jet + gap2 * expansion  # M5h

    def splined(self, z):
        """The same from the spline; beyond both ends its outermost polynomials, down to z = -z_t/2."""
        s = math.log(1 + max(z / self.z_t, -0.5))
        i = min(max(int(s / self.width), 0), INTERVALS - 1)
        d = s - i * self.width
        return [((c3 * d + c2) * d + c1) * d + c0 for c3, c2, c1, c0 in self.rows[i]]

    def at(self, z):
        """G, alpha, S, K_p G^2 at lift z."""
        g, alpha, S, k = self.closed(z) if self.exact else self.splined(z)
        gap2 = self.gap2(z)
        return g * gap2, alpha, S, g * g * gap2 * k


def churchill_ratio(Re, eps):
    """f Re/64 by Churchill (1977): exactly 1 below Re 500."""
    if Re < LAMINAR_BELOW:
        return 1.0
    a = (2.457 * math.log(1 / ((7 / Re) ** 0.9 + 0.27 * eps))) ** 16
    b = (37530 / Re) ** 16
    return 8 * ((8 / Re) ** 12 + (a + b) ** -1.5) ** (1 / 12) * Re / 64


def film(z, travel, R, pad_radius, roughness):
    """M7b: D_film of a flat stop [m]."""
    a = pad_radius
    h = math.sqrt((travel - z) ** 2 + roughness**2)
    h_a = h + a**2 / (2 * R)
    return 6 * math.pi * R**2 * (1 / h - 1 / h_a) - 3 * math.pi * R * a**2 / h_a**2
