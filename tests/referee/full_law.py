"""The check with tabulated closures a second time (docs/model.md M5, M6, M7, M9), by root search.

The unknown is D = dp - f, the pressure that viscosity takes; the core has the flow in closed form instead.
"""

import math

import numpy as np
from referee.closures import film, tube
from referee.lift_data import LiftData, masses
from scipy.optimize import brentq

GRAVITY = 9.80665
FADE = 0.05
LANDING_GAP = 0.01
HALF_TURBULENT = 1000.0


def root(function, one, other):
    """brentq to round-off; an end where the function is 0 or, by round-off, has the other end's sign."""
    low, high = function(one), function(other)
    if low == 0 or low * high > 0:
        return one
    if high == 0:
        return other
    return brentq(function, one, other, xtol=1e-300, rtol=8.9e-16)


def viscous_drop(dp, per, b, k):
    """D with D + k Y|Y| = dp and Y = per D + b, for k >= 0: what viscosity takes of the pressure drop.

    Y = q/gap. Below a tight seat (per < 0), where only trial points lie, Y = b as at lift 0.
    """
    if per <= 0:
        return dp - k * b * abs(b)

    def loss(D):
        Y = per * D + b
        return k * Y * abs(Y)

    # With Y > 0 at dp the loss there is the largest, and D lies above where Y = 0; else mirrored.
    beyond, none = dp - loss(dp), -b / per
    end = max(beyond, none) if none < dp else min(beyond, none)
    return root(lambda D: D + loss(D) - dp, dp, end)


class FullCheck:
    """One check with its ball. ``side`` is +1 at the inlet, -1 in the piston (M6b)."""

    def __init__(self, check, travel, material, A_c, side, curve, flow):
        """``curve``: a FlowCurve; ``flow``: of the piston at its fastest."""
        self.R, self.R_c = check.ball_diameter / 2, check.cage_diameter / 2
        cone = check.seat_half_angle
        self.r = self.R * math.cos(cone) if cone else check.seat_diameter / 2
        self.travel, self.side, self.A_c = travel, side, A_c
        self.rho, self.curve, self.e_worn = material.density, curve, check.leak_gap
        self.z_0 = math.sqrt(self.R**2 - self.r**2)
        self.data = LiftData(check, self.r, travel, curve, flow)
        self.A_s = math.pi * self.r**2
        self.seat_length, self.cage_length = check.seat_length, check.cage_length
        self.A_bore = math.pi * check.seat_diameter**2 / 4
        V_b = 4 / 3 * math.pi * self.R**3
        self.m_b = check.ball_density * V_b
        self.m_far = self.m_b + self.rho * V_b * tube(self.R / self.R_c).C_m
        self.W = (check.ball_density - self.rho) * GRAVITY * V_b
        self.preload, self.rate = check.spring_preload, check.spring_rate
        self.pad = check.stop_pad_diameter / 2 if check.stop == "pad" else 0.0
        self.roughness = check.surface_roughness
        self.landing_gap = min(LANDING_GAP * self.r, travel / 2)

    def gap(self, z):
        """M5a with the worn seat, over r; below a tight seat negative."""
        L = math.sqrt(self.r**2 + (self.z_0 + z) ** 2)
        gap = z * (2 * self.z_0 + z) / (L + self.R)
        return (math.hypot(gap, self.e_worn) if self.e_worn else gap) / self.r

    # M5 and M9a

    def past(self, at, gap, dp, w, eta):
        """D and Y = q/gap at a viscosity: with K_1 for the Reynolds number, then with K_p (M5h)."""
        r = self.r
        per, b = at["G"] * gap * r**3 / eta, at["e"] * r**2 * w
        way = (
            "up" if per * dp + b >= 0 else "down"
        )  # the sign of Y is that at dp: D lies between there and Y = 0
        K_1, K_t, Re_0 = at["K1_" + way], at["Kt_" + way], at["Re0_" + way]
        head = self.rho / (2 * self.A_s**2)
        D = viscous_drop(dp, per, b, head * K_1)
        Re = 2 * self.rho * abs(gap * (per * D + b)) / (math.pi * r * eta)
        mixed = K_1 + (K_t - K_1) * Re**2 / (Re**2 + HALF_TURBULENT**2)
        D = viscous_drop(dp, per, b, head * mixed * Re / math.hypot(Re, Re_0))
        return D, per * D + b

    def viscosity(self, at, gap, dp, w):
        """The viscosity at the shear rate (M9a) of the ball and of the flow past a ball at rest."""
        if self.curve.newtonian:
            return self.curve.mu
        of_ball = at["k_w"] * w / self.r

        def mismatch(x):
            eta = math.exp(x)
            D, _ = self.past(at, gap, dp, 0.0, eta)
            return x - math.log(self.curve.viscosity(math.hypot(at["kq_G"] * D / eta, of_ball)))

        high = math.log(self.curve.viscosity(0.0))
        low = math.log(self.curve.viscosity(abs(of_ball)))
        while mismatch(low) > 0:
            low -= 3
        return math.exp(root(mismatch, low, high))

    def law(self, dp, z, w):
        """Flow, and force of the flow on the ball."""
        r, gap, at = self.r, self.gap(z), self.data.at(z)
        eta = self.viscosity(at, gap, dp, w)
        D, Y = self.past(at, gap, dp, w, eta)
        alpha, kappa = at["alpha"], at["alpha"] - at["e"] * gap
        S = at["S_opening"] if w > 0 else at["S"]
        y = at["G"] * gap**2 * D * r**3 / eta
        lift_force = self.rho / (2 * self.A_s) * at["K_L"] * gap * Y**2
        F = alpha * r**2 * D + kappa * r**2 * (dp - D) - eta * S * r * w + lift_force
        return y + alpha * r**2 * w, F

    # M6

    def moved(self, z):
        """m of M6b and its slope with lift, and o c."""
        at, reach = self.data.at(z), FADE * self.r
        s = (z / reach) ** 2
        o, slope = s / (1 + s), 2 * z / reach**2 / (1 + s) ** 2
        M = at["M_0"] * (1 - o) + at["Mww"] * o
        M_z = at["M_0'"] * (1 - o) + at["Mww'"] * o + (at["Mww"] - at["M_0"]) * slope
        return self.rho * self.r**3 * M, self.rho * self.r**3 * M_z, o * self.rho * self.r * at["c"]

    def mass(self, z):
        """What stands before dw/dt [kg]."""
        return self.m_b + self.moved(z)[0]

    def net_force(self, F, z, w, a):
        """M6a with M6b: right-hand side of (m_b + m) dw/dt; a is the piston's acceleration."""
        a_f = 0.0 if self.side > 0 else a
        _, m_z, oc = self.moved(z)
        drag = film(z, self.travel, self.R, self.pad, self.roughness) if self.pad else 0.0
        drag *= self.curve.viscosity(abs(w) * self.film_rate(z)) if self.pad else 0.0
        push = self.side * oc * self.A_c * a - m_z * w**2 / 2
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
