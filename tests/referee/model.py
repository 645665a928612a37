"""The right-hand side a second time, from docs/model.md alone (M1 to M9). SI, slow and plain."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from referee.closures import Closures, film, tube
from referee.full_law import FullCheck
from referee.motor import DRIVEN, HELD, motor_of
from referee.passages import Line, hose_of, packing_of, tip_of
from referee.rate import pressure_of_outlet, rate_about
from referee.rheology import flow_curve
from referee.stroke import segments

GRAVITY = 9.80665
GAS_FLOOR = 1e-6
FADE = 0.01
OUTLET_DROP = 1e-3
LANDING_GAP = 0.01
SEATED, FREE, ON_STOP = 0, 1, 2
STATES = ("y_p", "y_L", "y_U", "Q_s", "z_i", "w_i", "z_p", "w_p")
VOLUMES = ("V_i", "V_p", "V_o", "V_s", "X", "V_pack", "V_rod", "V_tip")


@dataclass(frozen=True)
class Chamber:
    """M2: contents of port, lower or upper chamber."""

    V_0: float
    A_V: float
    C: float
    phi: float
    beta: float
    U: float

    def u(self, y, x, N=0.0):
        """M2a: pressure above the vapour pressure from the surplus y at piston position x; ``N``: gas out of
        solution (M2b)."""
        M = self.contents(y, x)
        a = (1 - self.phi) * M / self.beta + self.C
        b = y - self.phi * M + a * self.U
        n = (self.phi * M + N) * self.U
        root = math.sqrt(b * b + 4 * a * n)
        return (b + root) / (2 * a) if b >= 0 else 2 * n / (root - b)

    def contents(self, y, x):
        """M: geometric volume and surplus."""
        return self.V_0 + self.A_V * x + y

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
    """What follows from a state: derivatives, pressures, flows, net forces on the balls, and the force on the
    piston of a motor."""

    rates: list
    pressures: tuple
    flows: tuple
    forces: tuple
    push: float = 0.0


class Model:
    """The lower of a scenario as a right-hand side."""

    def __init__(self, scenario, exact=False, tubes=(None, None)):
        lower, suction, material = scenario.lower, scenario.suction, scenario.material
        self.S = lower.stroke
        self.A_c = math.pi * lower.bore**2 / 4
        self.A_rod = math.pi * lower.rod**2 / 4
        self.A_ring = self.A_c - self.A_rod
        self.motor = motor_of(scenario, self.A_c)
        self.f = scenario.drive.cycle_rate or rate_about(scenario, self.motor, self.A_c, self.A_rod)
        self.T = 1 / self.f
        self.segments = [] if self.motor else segments(scenario.drive, self.S)
        self.rho, self.curve = material.density, flow_curve(material, self.f)
        self.p_0, self.p_v = suction.barometric_pressure, material.vapour_pressure
        self.p_out = self.p_0 + pressure_of_outlet(scenario, self.f)
        mean_flow = self.A_c * self.S * self.f
        self.R_out = scenario.outlet.resistance or OUTLET_DROP * self.p_out / mean_flow  # M8
        self.R_out = math.inf if scenario.outlet.form == "closed" else self.R_out
        self.checks = self._checks(scenario, exact, tubes)
        self._suction(suction)
        self._outlet(scenario.outlet)
        self._chambers(lower, suction, material)
        self._packings(lower)
        self.names = self._names()
        self.place = {name: n for n, name in enumerate(self.names)}
        self.moving = len(self.names) - len(VOLUMES)
        self.scales = self._scales(mean_flow)

    def _names(self):
        """The states of this lower, those that feed back first."""
        names = [*STATES]
        names += ["x", "v"] if self.motor else []
        names += ["p_1", "p_2"] if self.motor and self.motor.air else []
        names += ["Q_h", "y_h"] if self.hose else []
        names += ["N_p", "N_L"] if self.c else []
        return [*names, *VOLUMES]

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
        K, size = suction.loss_coefficient, (suction.hose_length, suction.hose_diameter)
        self.line = Line(*size, suction.hose_roughness, self.rho, self.curve, K)
        self.line.add_fittings(suction.fittings)
        if suction.strainer == "holes":
            sizes = suction.strainer_hole_diameter, suction.strainer_thickness
            self.line.strainer = (suction.strainer_holes, *sizes)
        p_t = self.p_0 + suction.tank_gauge_pressure
        self.p_rest = p_t - self.rho * GRAVITY * suction.lift
        self.I = self.rho * (self.line.L / self.line.A + self.checks[0].passage())

    def _outlet(self, outlet):
        """M8a: the outlet's hose and its tip, where there are any."""
        self.hose = self.tip = None
        if outlet.form == "tip":
            self.hose = hose_of(outlet, self.rho, self.curve)
            self.tip = tip_of(outlet, self.rho, self.curve)

    def _chambers(self, lower, suction, material):
        """M2: geometric volumes of port, lower and upper chamber, and of the hose's far half (M8a)."""
        law = (max(material.free_gas_fraction, GAS_FLOOR), material.bulk_modulus, self.p_0 - self.p_v)
        hose = self.hose
        half = (hose.L * hose.A / 2, 0.0, hose.compliance / 2) if hose else (0.0, 0.0, 0.0)
        top = lower.upper_dead_volume + self.A_ring * self.S + half[0]
        self.chambers = (
            Chamber(self.line.A * self.line.L / 2, 0.0, suction.port_compliance, *law),
            Chamber(lower.lower_dead_volume, self.A_c, 0.0, *law),
            Chamber(top, -self.A_ring, half[2], *law),
        )
        self.store = Chamber(*half, *law) if self.hose else None
        self.c, self.tau = material.dissolved_gas_fraction, material.gas_release_time

    def _packings(self, lower):
        """M8c: piston and rod packing, None where tight."""
        liquid = (self.rho, self.curve)
        self.packing = packing_of(lower.bore, lower.piston_packing_gap, lower.piston_packing_length, *liquid)
        self.rod = packing_of(lower.rod, lower.rod_packing_gap, lower.rod_packing_length, *liquid)

    def _scales(self, mean_flow):
        """Natural sizes of the states ("Start, cycles, end"): y, Q_s, z, w, volumes, X."""
        y = [c.scale(self.p_0, self.S) for c in self.chambers]
        balls = [size for c in self.checks for size in (0.01 * c.r, self.S * self.f)]
        swept = self.A_c * self.S
        size = dict(zip(STATES, [*y, mean_flow, *balls], strict=True)) | dict.fromkeys(VOLUMES, swept)
        size |= {"X": self.S, "x": self.S, "v": self.S * self.f, "Q_h": mean_flow}
        size |= {"N_p": self.c * swept, "N_L": self.c * swept}
        size |= {"p_1": self.p_0, "p_2": self.p_0}
        size["y_h"] = self.store.scale(self.p_0, self.S) if self.store else 0.0
        return np.array([size[name] for name in self.names])

    def start(self):
        """The documented Start: bottom dead centre, no flow, both balls seated."""
        p = (self.p_rest, self.p_rest, self.p_out)
        start = dict.fromkeys(self.names, 0.0)
        for name, chamber, q in zip(("y_p", "y_L", "y_U"), self.chambers, p, strict=True):
            start[name] = chamber.surplus(q - self.p_v, 0.0)
        if self.motor and self.motor.air:
            start |= {"p_1": self.p_0, "p_2": self.p_0}
        if self.hose:
            start["y_h"] = self.store.surplus(self.p_out - self.p_v, 0.0)
        return np.array(list(start.values()))

    def following(self, done, t, y):
        """The segment after ``done`` (None: the first one), None after the last."""
        if self.motor:
            return self.motor.following(done, t, (y[self.place["x"]], y[self.place["v"]]))
        n = self.segments.index(done) + 1 if done else 0
        return self.segments[n] if n < len(self.segments) else None

    def over(self, instant, y, segment):
        """Rises through 0 at the end of a segment that does not know when it ends, None of the others."""
        if segment.kind == HELD:
            return segment.way * instant.push
        if segment.kind == DRIVEN:
            return self.motor.until_braked(y[self.place["x"]], y[self.place["v"]], segment.way)
        return None

    def _motor(self, t, y, segment, x, v, pressures):
        """M1b: force on the piston, and the rates of the motor's states."""
        motor, (_, p_L, p_U) = self.motor, pressures
        airs = [y[self.place[name]] for name in ("p_1", "p_2")] if motor.air else ()
        push = motor.force(t, v, airs, segment) + motor.resisted(x, v, segment.way)
        push += p_L * self.A_c - p_U * self.A_ring - self.p_0 * self.A_rod
        rates = [v, push / motor.mass] if segment.kind == DRIVEN else [0.0, 0.0]
        return push, rates + list(motor.air_rates(x, v, airs, segment.way) if motor.air else ())

    def _hose(self, y, p_U):
        """M8a: flows into the outlet's hose and through the tip, and the rates of the hose's states."""
        Q_h, hose = y[self.place["Q_h"]], self.hose
        p_h = self.store.u(y[self.place["y_h"]], 0.0) + self.p_v
        Q_t = self.tip.flow(p_h - self.p_0)
        pushed = p_U - p_h - hose.loss(Q_h)
        return Q_h, Q_t, [pushed * hose.A / (self.rho * hose.L), Q_h - Q_t]

    def _gas(self, y, x, p_p, p_L, flows):
        """M2b: dN/dt of port and lower chamber; ``flows``: through both checks, past the piston packing."""
        gas = [y[self.place[name]] for name in ("N_p", "N_L")]
        M = [chamber.contents(surplus, x) for chamber, surplus in zip(self.chambers, y[:2], strict=False)]
        rates = []
        for N, contents, p in zip(gas, M, (p_p, p_L), strict=True):
            below = (self.p_0 - p) / (self.p_0 - self.p_v)
            e = (below + math.sqrt(below**2 + 1e-6)) / 2
            rates.append((self.c * contents * e - N) / self.tau)
        of_port, of_lower = gas[0] / M[0], gas[1] / M[1]
        Q_i, Q_p, Q_pack = flows
        through_inlet = Q_i * (of_port if Q_i > 0 else of_lower)
        rates[0] -= through_inlet
        rates[1] += through_inlet + (min(Q_pack, 0.0) - max(Q_p, 0.0)) * of_lower
        return rates

    def instant(self, t, y, segment, modes):
        """Everything at time t of the cycle in this segment of the stroke, with these contact modes."""
        driven = segment.kind == DRIVEN
        x, v, a = (y[self.place["x"]], y[self.place["v"]], 0.0) if driven else segment.motion(t)
        gas = (y[self.place["N_p"]], y[self.place["N_L"]], 0.0) if self.c else (0.0, 0.0, 0.0)
        both = zip(self.chambers, y, gas, strict=False)
        p_p, p_L, p_U = (chamber.u(s, x, N) + self.p_v for chamber, s, N in both)
        push, more = self._motor(t, y, segment, x, v, (p_p, p_L, p_U)) if self.motor else (0.0, [])
        a = push / self.motor.mass if driven else a
        inlet, piston = self.checks
        z_i, w_i, z_p, w_p = y[4:8]
        Q_i, F_i = inlet.law(p_p - p_L, z_i, w_i)
        Q_p, F_p = piston.law(p_L - p_U, z_p, w_p)
        Q_s, Q_o, Q_t = y[3], (p_U - self.p_out) / self.R_out, 0.0  # M8
        Q_pack = self.packing.flow(p_U - p_L) if self.packing else 0.0
        Q_rod = self.rod.flow(p_U - self.p_0) if self.rod else 0.0
        if self.hose:
            Q_o, Q_t, of_hose = self._hose(y, p_U)
            more += of_hose
        if self.c:
            more += self._gas(y, x, p_p, p_L, (Q_i, Q_p, Q_pack))
        N_i = inlet.net_force(Q_i, F_i, z_i, w_i, a)
        N_p = piston.net_force(Q_p, F_p, z_p, w_p, a)
        ball_i = (w_i, N_i / inlet.mass(z_i)) if modes[0] == FREE else (0.0, 0.0)
        ball_p = (w_p, N_p / piston.mass(z_p)) if modes[1] == FREE else (0.0, 0.0)
        rates = [
            Q_s - Q_i,  # M3
            Q_i - Q_p + Q_pack - self.A_c * v,
            Q_p - Q_o - Q_pack - Q_rod + self.A_ring * v,
            (self.p_rest - p_p - self.line.loss(Q_s)) / self.I,  # M4
            *ball_i,
            *ball_p,
            *more,
            *(Q_i, Q_p, Q_o, Q_s, v, Q_pack, Q_rod, Q_t),
        ]
        return Instant(rates, (p_p, p_L, p_U), (Q_i, Q_p, Q_o), (N_i, N_p), push)
