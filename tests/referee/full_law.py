"""The check with tabulated closures a second time (docs/model.md M5, M6, M7, M9), by root search.

Edge and cage are taken in series, each with its own viscosity, whatever the material is. The unknown is U,
the flow past the edge over gap^2; the core puts the series into one check and has its flow in closed form.
"""

import math
from typing import NamedTuple

import numpy as np
from referee.closures import film, tube
from referee.lift_data import LiftData, masses
from scipy.optimize import brentq

GRAVITY = 9.80665
FADE = 0.01
LANDING_GAP = 0.01
HALF_TURBULENT = 1000.0


SHARE = {"e": 0.819, "c": 0.938}
SHARE_OF_JET = 0.35
FLATTER = 2.5
OF_BALL = {"e": 1.765, "c": 0.998}


class Part(NamedTuple):
    """Edge or cage (M9a): resistance, alpha, S, first shear rate over its flow, second over first, share of
    the first, rate of the ball over w/R. At the edge R and k are times gap^2, and its flow over it."""

    R: float
    alpha: float
    S: float
    k: float
    epsilon: float
    share: float
    of_ball: float


def rising_root(function, step):
    """Root of a rising function, sought from 0 by growing steps > 0, then by brentq to round-off."""
    at_0 = function(0.0)
    if at_0 == 0:
        return 0.0
    one, other = 0.0, math.copysign(step, -at_0)
    while at_0 * function(other) > 0:
        one, other = other, 8 * other
    return brentq(function, one, other, xtol=1e-300, rtol=8.9e-16)


class FullCheck:
    """One check with its ball. ``side`` is +1 at the inlet, -1 in the piston (M6b)."""

    def __init__(self, check, travel, material, A_c, side, curve):
        """``curve``: a FlowCurve."""
        self.R, self.R_c = check.ball_diameter / 2, check.cage_diameter / 2
        cone = check.seat_half_angle
        self.r = self.R * math.cos(cone) if cone else check.seat_diameter / 2
        self.travel, self.side, self.A_c = travel, side, A_c
        self.rho, self.curve, self.e_worn = material.density, curve, check.leak_gap
        self.z_0 = math.sqrt(self.R**2 - self.r**2)
        self.data = LiftData(check, self.r, travel)
        self.A_s = math.pi * self.r**2
        self.seat_length, self.cage_length = check.seat_length, check.cage_length
        self.A_bore = math.pi * check.seat_diameter**2 / 4
        V_b = 4 / 3 * math.pi * self.R**3
        self.m_b = check.ball_density * V_b
        self.m_far = self.m_b + self.rho * V_b * tube(self.R / self.R_c).C_m
        self.W = (check.ball_density - self.rho) * GRAVITY * V_b
        self.preload, self.rate = check.spring_preload - check.holding_force, check.spring_rate  # M6a
        self.pad = check.stop_pad_diameter / 2 if check.stop == "pad" else 0.0
        self.roughness = check.surface_roughness
        self.landing_gap = min(LANDING_GAP * self.r, travel / 2)

    def gap(self, z):
        """M5a with the worn seat, over r; below a tight seat negative."""
        L = math.sqrt(self.r**2 + (self.z_0 + z) ** 2)
        gap = z * (2 * self.z_0 + z) / (L + self.R)
        return (math.hypot(gap, self.e_worn) if self.e_worn else gap) / self.r

    # M5 and M9a

    def parts(self, at, gap, w):
        """Edge and cage: what in series makes the whole that is tabulated."""
        f, R_c = at["R_c G"] * gap**2, at["R_c G"] / at["G"]
        alpha_c, S_c = at["alpha_c"], at["S_c"]
        alpha_e = (at["alpha"] - f * alpha_c) / (1 - f)
        S = at["S_opening"] if w > 0 else at["S"]
        S_e = S - S_c - R_c * (1 - f) * (alpha_e - alpha_c) ** 2
        edge = Part((1 - f) / at["G"], alpha_e, S_e, at["k_e"], at["epsilon_e"], SHARE["e"], OF_BALL["e"])
        return edge, Part(R_c, alpha_c, S_c, at["k_c"], at["epsilon_c"], SHARE["c"], OF_BALL["c"])

    def viscosity(self, part, flow, w):
        """Mean viscosity of a part, at its two shear rates."""
        ball = part.of_ball * w / self.R
        first = self.curve.viscosity(math.hypot(part.k * flow, ball))
        second = self.curve.viscosity(math.hypot(part.epsilon * part.k * flow, ball))
        return part.share * first + (1 - part.share) * second

    def law(self, dp, z, w, moving=True):
        """Flow, and force of the flow on the ball; ``moving``: with what a squeezed stream takes (M6b)."""
        r, gap, at = self.r, self.gap(z), self.data.at(z)
        squeeze = max(self.moved(z)[2] * w, 0.0) / self.A_s**2 if moving else 0.0
        edge, cage = self.parts(at, gap, w)
        kappa = at["alpha"] - at["e"] * gap
        # (alpha_e - kappa)/gap, without the difference of what is nearly the same
        e_edge = at["e"] + at["R_c G"] * gap * (at["alpha"] - cage.alpha) / (1 - at["R_c G"] * gap**2)

        def flows(U):
            """Flow past edge (over gap^2) and cage, Y_i; q/gap. Below a tight seat, where only trial points
            lie, q/gap is as at lift 0: else it would fall with U."""
            past = r**3 * max(gap, 0.0) * U + e_edge * r**2 * w
            return U, gap**2 * U + (edge.alpha - cage.alpha) * w / r, past

        def viscosities(U):
            return tuple(self.viscosity(p, Y, w) for p, Y in zip((edge, cage), flows(U), strict=False))

        def drops(U, K, eta):
            """Pressure taken by edge, cage and inertia; ``K``: K_p gap^2 by the direction of q."""
            Y_e, Y_c, past = flows(U)
            f = self.rho / (2 * self.A_s**2) * K(way_of(past)) * past * abs(past) + squeeze * gap * past
            return eta[0] * edge.R * Y_e, eta[1] * cage.R * Y_c, f

        def way_of(past):
            return "up" if past >= 0 else "down"

        def missing(U, K, eta):
            return sum(drops(U, K, eta)) - dp

        def jet(U):
            return self.viscosity(edge._replace(share=SHARE_OF_JET), flows(U)[0], w)

        def reynolds(U, eta_j):
            return 2 * self.rho * abs(gap * flows(U)[2]) / (math.pi * r * eta_j)

        def short_by(U):
            """The pressure that is missing with the loss at the flow's own Reynolds number (M9a)."""
            eta, eta_j = viscosities(U), jet(U)
            K = lambda way: self.loss(at, gap, way, reynolds(U, eta_j), eta_j / eta[0])  # noqa: E731
            return missing(U, K, eta)

        rest = self.curve.viscosity(0.0) * edge.R
        U = rising_root(short_by, abs(short_by(0.0)) / rest)
        eta, eta_j = viscosities(U), jet(U)
        step = eta[0] * edge.R
        K_1 = lambda way: self.plateau(at, gap, way, eta_j / eta[0])  # noqa: E731
        U = rising_root(lambda U: missing(U, K_1, eta), abs(missing(0.0, K_1, eta)) / step)
        Re = reynolds(U, eta_j)
        K_p = lambda way: self.loss(at, gap, way, Re, eta_j / eta[0])  # noqa: E731
        U = rising_root(lambda U: missing(U, K_p, eta), abs(missing(0.0, K_p, eta)) / step)
        D_e, D_c, f = drops(U, K_p, eta)
        drag = (eta[0] * edge.S + eta[1] * cage.S) * r * w
        lift_force = self.rho / (2 * self.A_s) * at["K_L"] * gap * flows(U)[2] ** 2
        F = r**2 * (edge.alpha * D_e + cage.alpha * D_c + kappa * f) - drag + lift_force
        return r**3 * gap**2 * U + edge.alpha * r**2 * w, F

    def plateau(self, at, gap, way, J):
        """K_1' gap^2 of M9a."""
        K_1 = at["K1_" + way]
        return K_1 * (gap**2 + K_1) / (gap**2 + K_1 + FLATTER * (J - 1) * gap**2)

    def loss(self, at, gap, way, Re, J):
        """K_p gap^2 of M5h at a Reynolds number; ``J``: viscosity of the jet over that at the edge."""
        K_1, K_t = self.plateau(at, gap, way, J), at["Kt_" + way]
        if Re == 0:
            return 0.0
        mixed = K_1 + (K_t - K_1) * Re**2 / (Re**2 + HALF_TURBULENT**2)
        return mixed * Re / math.hypot(Re, at["Re0_" + way])

    # M6

    def moved(self, z):
        """What moves with the ball (M6b), slopes with lift of m and N, and o c."""
        at, s = self.data.at(z), (z / (FADE * self.r)) ** 2
        unit, c = self.rho * self.r**3, self.rho * self.r * at["c"]
        moves = unit * at["Mww"] - self.A_s * c / (1 + s)
        return moves, unit * at["Mww'"], unit * at["stream'"], c * s / (1 + s)

    def mass(self, z):
        """What stands before dw/dt [kg]."""
        return self.m_b + self.moved(z)[0]

    def net_force(self, Q, F, z, w, a):
        """M6a with M6b: right-hand side of m_w dw/dt; a is the piston's acceleration."""
        a_f = 0.0 if self.side > 0 else a
        _, m_z, N_z, oc = self.moved(z)
        drag = film(z, self.travel, self.R, self.pad, self.roughness) if self.pad else 0.0
        drag *= self.curve.viscosity(abs(w) * self.film_rate(z)) if self.pad else 0.0
        U = Q / self.A_s
        push = self.side * oc * self.A_c * a + (N_z - m_z) * w**2 / 2
        push += min(N_z * w, 0.0) * max(U - w, 0.0)
        return F - self.W * (1 + a_f / GRAVITY) - self.preload - self.rate * z - drag * w + push

    def film_rate(self, z):
        """M7b: shear rate in a pad's film over the ball's speed."""
        h = math.hypot(self.travel - z, self.roughness)
        return min(self.pad, math.sqrt(2 * self.R * h)) / h**2

    def rebound(self, speed):
        """M7a: speed after the contact at the (positive) speed, 0 for rest."""
        mu = self.curve.viscosity(speed / self.r)
        St = self.m_far * speed / (6 * math.pi * mu * self.R**2)
        return 0.0 if St < 10 else 0.97 * math.exp(-35 / St) * speed

    def passage(self):
        """Inertance over density of bore, ball on its stop and rest of the cage (M4)."""
        top = self.z_0 + self.travel + self.R
        Mqq = float(masses(self.data.geometry, self.r, np.array([self.travel])).Mqq[0])
        rest = max(self.cage_length - top, 0.0) / (math.pi * self.R_c**2)
        return self.seat_length / self.A_bore + Mqq / self.r + rest
