"""The right-hand side a second time, from docs/model.md alone (M1 to M9). SI, slow and plain."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from referee.closures import Closures, churchill_ratio, film, tube
from referee.full_law import FullCheck
from referee.rheology import flow_curve

GRAVITY = 9.80665
GAS_FLOOR = 1e-6
FADE = 0.01
OUTLET_DROP = 1e-3
LANDING_GAP = 0.01
SEATED, FREE, ON_STOP = 0, 1, 2
STATES = ("y_p", "y_L", "y_U", "Q_s", "z_i", "w_i", "z_p", "w_p", "V_i", "V_p", "V_o", "V_s", "X")


class Segment(NamedTuple):
    """A stretch of the stroke without kink: x = x0 + v0 s + a0 s^2/2, or the harmonic (omega > 0)."""

    start: float
    end: float
    x0: float
    v0: float
    a0: float
    omega: float
    stroke: float

    def motion(self, t):
        """x, v, a at t of this cycle."""
        if self.omega > 0:
            half, angle = self.stroke / 2, self.omega * t
            cos, sin = math.cos(angle), math.sin(angle)
            return half * (1 - cos), half * self.omega * sin, half * self.omega**2 * cos
        s = t - self.start
        return self.x0 + self.v0 * s + self.a0 * s * s / 2, self.v0 + self.a0 * s, self.a0


def segments(drive, stroke):
    """M1: the segments of a cycle, those of no length left out."""
    T = 1 / drive.cycle_rate
    if drive.profile == "harmonic":
        w = 2 * math.pi / T
        return [Segment(0, T / 2, 0, 0, 0, w, stroke), Segment(T / 2, T, stroke, 0, 0, w, stroke)]
    t_r, t_d = drive.ramp_time, drive.dwell_time
    t_c = T / 2 - t_d - 2 * t_r
    v = stroke / (t_c + t_r)
    parts = ((t_d / 2, 0, 0), (t_r, 0, v / t_r), (t_c, v, 0), (t_r, v, -v / t_r), (t_d / 2, 0, 0))
    found = []
    for begin, base, sign in ((0.0, 0.0, 1), (T / 2, stroke, -1)):
        t, x = begin, base
        for n, (length, v0, a0) in enumerate(parts):
            end = begin + T / 2 if n == 4 else t + length
            if length > 0:
                found.append(Segment(t, end, x, sign * v0, sign * a0, 0.0, stroke))
            x += sign * (v0 * length + a0 * length**2 / 2)
            t = end
    if not t_d:  # the last ramp then ends at the reversal itself
        found = [s._replace(end=T / 2) if abs(s.end - T / 2) < 1e-9 * T else s for s in found]
        found[-1] = found[-1]._replace(end=T)
    return found


@dataclass(frozen=True)
class Chamber:
    """M2: contents of port, lower or upper chamber."""

    V_0: float
    A_V: float
    C: float
    phi: float
    beta: float
    U: float

    def u(self, y, x):
        """M2a: pressure above the vapour pressure from the surplus y at piston position x."""
        M = self.V_0 + self.A_V * x + y
        a = (1 - self.phi) * M / self.beta + self.C
        b = y - self.phi * M + a * self.U
        n = self.phi * M * self.U
        root = math.sqrt(b * b + 4 * a * n)
        return (b + root) / (2 * a) if b >= 0 else 2 * n / (root - b)

    def surplus(self, u, x):
        """The surplus at which the pressure above vapour is u (the Start)."""
        V, U, phi = self.V_0 + self.A_V * x, self.U, self.phi
        M = (V + self.C * (u - U)) / ((1 - phi) * (1 - (u - U) / self.beta) + phi * U / u)
        return M - V

    def scale(self, p_0, stroke):
        """What barometric pressure squeezes out of the chamber at its largest, plus C p_0."""
        largest = self.V_0 + max(self.A_V, 0.0) * stroke
        return largest * p_0 / self.beta + self.C * p_0


class Check:
    """M5 and M6, closed forms: one check with its ball. ``side``: +1 at the inlet, -1 in the piston (M6b)."""

    def __init__(self, check, travel, material, A_c, side, exact, tube_values):
        self.R, self.r, R_c = check.ball_diameter / 2, check.seat_diameter / 2, check.cage_diameter / 2
        self.travel, self.side, self.A_c = travel, side, A_c
        self.mu, self.rho = material.viscosity, material.density
        self.tube = tube_values or tube(self.R / R_c)
        self.closures = Closures(check, travel, self.tube, exact)
        V_b, A_cage = 4 / 3 * math.pi * self.R**3, math.pi * R_c**2
        C_m = self.tube.C_m
        self.V_b, self.A_cage = V_b, A_cage
        self.seat_length, self.cage_length = check.seat_length, check.cage_length
        self.A_s = math.pi * self.r**2
        self.m = check.ball_density * V_b + self.rho * V_b * C_m
        self.c = self.rho * V_b * (1 + C_m) / A_cage
        self.W = (check.ball_density - self.rho) * GRAVITY * V_b
        self.preload, self.rate = check.spring_preload - check.holding_force, check.spring_rate  # M6a
        self.pad = check.stop_pad_diameter / 2 if check.stop == "pad" else 0.0
        self.roughness = check.surface_roughness
        self.landing_gap = min(LANDING_GAP * self.r, travel / 2)

    def law(self, dp, z, w):
        """M5b to M5d: flow and force of the flow on the ball."""
        r, mu = self.r, self.mu
        G, alpha, S, G2Kp = self.closures.at(z)
        D = dp - mu * S * w / (alpha * r)
        B = self.rho / (2 * self.A_s**2) * G2Kp
        k = mu / r**3
        X = 2 * D / (k + math.sqrt(k * k + 4 * B * abs(D)))
        Q = G * X + (alpha + S * G / alpha) * r**2 * w
        F = alpha * r**2 * D + S * G / alpha * r**2 * B * X * abs(X)
        return Q, F

    def mass(self, z):
        """What stands before dw/dt [kg] (M6b)."""
        return self.m - self.A_s * self.c / (1 + (z / (FADE * self.r)) ** 2)

    def passage(self):
        """Inertance over density of the passage (M4)."""
        ball = self.V_b * (1 + self.tube.C_m) / self.A_cage**2
        return self.seat_length / self.A_s + self.cage_length / self.A_cage + ball

    def net_force(self, Q, F, z, w, a):  # noqa: ARG002
        """M6a with M6b: right-hand side of m dw/dt; a is the piston's acceleration."""
        a_f = 0.0 if self.side > 0 else a
        s = (z / (FADE * self.r)) ** 2
        push = self.side * self.c * self.A_c * a * s / (1 + s)
        stop_film = film(z, self.travel, self.R, self.pad, self.roughness) if self.pad else 0.0
        spring = self.preload + self.rate * z
        return F - self.W * (1 + a_f / GRAVITY) - spring - self.mu * stop_film * w + push

    def rebound(self, speed):
        """M7a: speed after the contact at the (positive) speed, 0 for rest."""
        St = self.m * speed / (6 * math.pi * self.mu * self.R**2)
        return 0.0 if St < 10 else 0.97 * math.exp(-35 / St) * speed


class Instant(NamedTuple):
    """What follows from a state: derivatives, pressures, flows, net forces on the balls."""

    rates: list
    pressures: tuple
    flows: tuple
    forces: tuple


class Model:
    """The lower of a scenario as a right-hand side."""

    def __init__(self, scenario, exact=False, tubes=(None, None)):
        lower, suction, material = scenario.lower, scenario.suction, scenario.material
        self.S, self.f = lower.stroke, scenario.drive.cycle_rate
        self.T = 1 / self.f
        self.A_c = math.pi * lower.bore**2 / 4
        self.A_ring = self.A_c - math.pi * lower.rod**2 / 4
        self.rho, self.curve = material.density, flow_curve(material, self.f)
        self.p_0, self.p_v = suction.barometric_pressure, material.vapour_pressure
        self.p_out = self.p_0 + scenario.outlet.gauge_pressure
        mean_flow = self.A_c * self.S * self.f
        self.R_out = scenario.outlet.resistance or OUTLET_DROP * self.p_out / mean_flow  # M8
        self.segments = segments(scenario.drive, self.S)
        self.checks = self._checks(scenario, exact, tubes)
        self._suction(suction)
        self._chambers(lower, suction, material)
        self.scales = self._scales(mean_flow)

    def _checks(self, scenario, exact, tubes):
        """Inlet and piston check by the closures that the scenario asks for."""
        material, piston = scenario.material, scenario.piston_check
        found = ((scenario.inlet_check, scenario.inlet_travel, +1), (piston, piston.travel, -1))
        if scenario.closures.resistance == "tabulated":
            return tuple(FullCheck(c, z, material, self.A_c, n, self.curve) for c, z, n in found)
        both = zip(found, tubes, strict=True)
        return tuple(Check(c, z, material, self.A_c, n, exact, t) for (c, z, n), t in both)

    def _suction(self, suction):
        """M4: inertance and what the laws of friction need."""
        self.d_h, self.L_h = suction.hose_diameter, suction.hose_length
        self.A_h = math.pi * self.d_h**2 / 4
        self.eps, self.K = suction.hose_roughness / self.d_h, suction.loss_coefficient
        p_t = self.p_0 + suction.tank_gauge_pressure
        self.p_rest = p_t - self.rho * GRAVITY * suction.lift
        self.I = self.rho * (self.L_h / self.A_h + self.checks[0].passage())

    def _chambers(self, lower, suction, material):
        """M2: geometric volumes of port, lower and upper chamber."""
        law = (max(material.free_gas_fraction, GAS_FLOOR), material.bulk_modulus, self.p_0 - self.p_v)
        top = lower.upper_dead_volume + self.A_ring * self.S
        self.chambers = (
            Chamber(self.A_h * self.L_h / 2, 0.0, suction.port_compliance, *law),
            Chamber(lower.lower_dead_volume, self.A_c, 0.0, *law),
            Chamber(top, -self.A_ring, 0.0, *law),
        )

    def _scales(self, mean_flow):
        """Natural sizes of the states ("Start, cycles, end"): y, Q_s, z, w, volumes, X."""
        y = [c.scale(self.p_0, self.S) for c in self.chambers]
        balls = [size for c in self.checks for size in (0.01 * c.r, self.S * self.f)]
        return np.array([*y, mean_flow, *balls, *[self.A_c * self.S] * 4, self.S])

    def start(self):
        """The documented Start: bottom dead centre, no flow, both balls seated."""
        p = (self.p_rest, self.p_rest, self.p_out)
        y = [c.surplus(q - self.p_v, 0.0) for c, q in zip(self.chambers, p, strict=True)]
        return np.array([*y, *[0.0] * 10])

    def line_acceleration(self, Q, p_p):
        """M4, M4a, M4b: dQ_s/dt, with the viscosity that the hose sees (M9)."""
        U = abs(Q) / self.A_h
        mu = self.curve.in_pipe(8 * U / self.d_h)
        Re = self.rho * U * self.d_h / mu
        wall = 128 * mu * self.L_h / (math.pi * self.d_h**4) * churchill_ratio(Re, self.eps) * Q
        minor = self.K * self.rho / (2 * self.A_h**2) * Q * abs(Q)
        return (self.p_rest - p_p - wall - minor) / self.I

    def instant(self, t, y, segment, modes):
        """Everything at time t of the cycle in this segment of the stroke, with these contact modes."""
        x, v, a = segment.motion(t)
        p_p, p_L, p_U = (c.u(s, x) + self.p_v for c, s in zip(self.chambers, y, strict=False))
        inlet, piston = self.checks
        z_i, w_i, z_p, w_p = y[4:8]
        Q_i, F_i = inlet.law(p_p - p_L, z_i, w_i)
        Q_p, F_p = piston.law(p_L - p_U, z_p, w_p)
        Q_s, Q_o = y[3], (p_U - self.p_out) / self.R_out  # M8
        N_i = inlet.net_force(Q_i, F_i, z_i, w_i, a)
        N_p = piston.net_force(Q_p, F_p, z_p, w_p, a)
        ball_i = (w_i, N_i / inlet.mass(z_i)) if modes[0] == FREE else (0.0, 0.0)
        ball_p = (w_p, N_p / piston.mass(z_p)) if modes[1] == FREE else (0.0, 0.0)
        rates = [
            Q_s - Q_i,  # M3
            Q_i - Q_p - self.A_c * v,
            Q_p - Q_o + self.A_ring * v,
            self.line_acceleration(Q_s, p_p),
            *ball_i,
            *ball_p,
            *(Q_i, Q_p, Q_o, Q_s, v),
        ]
        return Instant(rates, (p_p, p_L, p_U), (Q_i, Q_p, Q_o), (N_i, N_p))
