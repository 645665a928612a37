"""A closing event by the model's law: one ball over its seat under a given flow, lengths in seat radii.

The same event as on the moving mesh (``closing_event``), from the tables and the compiled law (M5, M6).
"""

import math
from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.optimize import brentq

from balltravel.closures.table.beyond_creeping import mass_at, table
from balltravel.closures.table.tabulated import gap_of_lift
from balltravel.core.check import Law, law_at
from balltravel.core.inertia import STILL, Stream
from balltravel.core.lift import place_of
from balltravel.core.liquid import FADE
from balltravel.core.rheology import Rheology

from .boxes import boxed, liquid
from .edge_alone import NO_DENSITY, Place, creeping, edge_check


class Masses:
    """The liquid's inertia over lift, density 1."""

    def __init__(self, ball, ratio, top):
        lifts = np.linspace(0.0, 1.0, 120) ** 2 * top + 1e-4
        known = mass_at(ball, ratio, gap_of_lift(ball, lifts))
        self.qq, self.qw, self.ww = (CubicSpline(lifts, part) for part in known)

    def pushed(self, z, fade):
        """Force on the ball per dQ/dt; below ``fade`` the seat holds the flow (M6b), 0: nowhere."""
        return -float(self.qw(z)) * (z * z / (z * z + fade * fade) if fade else 1.0)

    def moved(self, z, fade):
        """Mass of what goes with the ball, which on its seat takes the stream along."""
        return float(self.ww(z)) + math.pi * (float(self.qw(z)) + self.pushed(z, fade))

    def narrows(self, z, w):
        """How fast the inertia of a stream through the seat grows, N' w."""
        return math.pi**2 * float(self.qq(z, 1)) * w

    def carried(self, z, w, Q, whole):
        """Force of speeds squared on the ball, but for the lift force and what a squeezed stream adds to the
        pressure (M6b); ``whole``: with both, as Lagrange's equations say."""
        past, rate = Q / math.pi - w, self.narrows(z, w)
        held = rate if whole else min(rate, 0.0) if past > 0.0 else 0.0
        return -0.5 * float(self.ww(z, 1)) * w * w + held * past + 0.5 * rate * w


class Path(NamedTuple):
    """Times, lifts, speeds, flows and pressure drops where a chamber yields, and when the ball left its
    stop."""

    time: np.ndarray
    lift: np.ndarray
    speed: np.ndarray
    flow: np.ndarray
    drop: np.ndarray
    left: float


class ByLaw:
    """A case by the law. ``fade``: as in the core, another, or 0 for none; ``massless``: without the liquid's
    mass on the ball; ``whole``: with the check's own flow and its pressure in Lagrange's equations, in place
    of the piston's."""

    def __init__(self, case, fade=FADE, massless=False, whole=False):
        self.case, self.fade, self.massless, self.whole = case, fade, massless, whole
        size = case.size
        self.check = edge_check(size.ball, size.ball / size.cage)
        self.material = liquid(Rheology(case.viscosity), case.density or NO_DENSITY)
        self.masses = Masses(size.ball, size.ball / size.cage, 1.1 * size.stop)
        self.out = boxed(Law())
        self.guess = 0.0
        runs = size.run_in + size.run_out / size.cage**3
        self.straight = 8.0 / math.pi * case.viscosity * runs
        self.inertance = case.density * (size.run_in + size.run_out / size.cage) / math.pi

    def at(self, z, w, dp):
        """The law into ``out``, with what a squeezed stream takes (M6b); flow."""
        z, stream = max(z, 1e-6), STILL
        if not self.whole and not self.massless:
            taken = self.case.density * max(self.masses.narrows(z, w), 0.0) / math.pi**2
            stream = Stream(taken, 0.0, 0.0)
        law_at(self.check, self.material, place_of(self.check, z), z, w, dp, stream, False, self.out)
        return float(self.out.flow)

    def steady(self, z, w, Q):
        """Pressure drop and force at a flow: the root of the law's flow, which rises with the drop."""

        def off(dp):
            return self.at(z, w, dp) - Q

        width = 1e-3 * (1.0 + abs(self.guess))
        while off(self.guess - width) > 0.0 or off(self.guess + width) < 0.0:
            width *= 4.0
        self.guess = brentq(off, self.guess - width, self.guess + width, xtol=1e-11, rtol=1e-12)
        off(self.guess)
        return self.guess, float(self.out.force)

    def passed(self, z, w, P):
        """Flow, and its force on the ball, at a pressure drop from end to end."""

        def off(Q):
            return Q - self.at(z, w, P - self.straight * Q)

        width = 1e-3 * (1.0 + abs(self.guess))
        while off(self.guess - width) > 0.0 or off(self.guess + width) < 0.0:
            width *= 4.0
        self.guess = brentq(off, self.guess - width, self.guess + width, xtol=1e-12, rtol=1e-12)
        off(self.guess)
        return self.guess, float(self.out.force)

    def accelerations(self, t, z, w, Q, P):
        """Of the ball, of the flow through the check (``whole``) and of the pressure drop."""
        case, m = self.case, self.masses
        rho, C, piston = case.density, case.compliance, case.flow(t)
        if self.whole:
            drop, force = self.steady(z, w, Q)
            net = force - case.weight + rho * m.carried(z, w, Q, True)
            off = P - self.straight * Q - drop - rho * w * (float(m.qq(z, 1)) * Q + float(m.qw(z, 1)) * w)
            M = self.inertance + rho * float(m.qq(z)), rho * float(m.qw(z)), case.mass + rho * float(m.ww(z))
            det = M[0] * M[2] - M[1] ** 2
            return (M[0] * net - M[1] * off) / det, (M[2] * off - M[1] * net) / det, (piston - Q) / C
        Q, force = self.passed(z, w, P) if C else (piston, self.steady(z, w, piston)[1])
        net, mass = force - case.weight, case.mass
        if not self.massless and rho:
            net += rho * (m.pushed(z, self.fade) * case.flow.rate(t) + m.carried(z, w, Q, False))
            mass += rho * m.moved(z, self.fade)
        return net / mass, 0.0, (piston - Q) / C if C else 0.0

    def held(self, t, y):
        """Rates on the stop, and the net force on the ball there."""
        case, (z, _, Q, P) = self.case, y
        if not self.whole:
            pull, _, P_t = self.accelerations(t, z, 0.0, Q, P)
            return [0.0, 0.0, 0.0, P_t], pull
        drop, force = self.steady(z, 0.0, Q)
        of_flow, of_both = float(self.masses.qq(z)), float(self.masses.qw(z))
        Q_t = (P - self.straight * Q - drop) / (self.inertance + case.density * of_flow)
        P_t = (case.flow(t) - Q) / case.compliance
        return [0.0, 0.0, Q_t, P_t], force - case.weight - case.density * of_both * Q_t

    def free(self, t, y):
        """Rates under way."""
        return [y[1], *self.accelerations(t, *y)]

    def run(self, longest=1e6):
        """From the start, held on the stop, to the end's lift."""
        case, size = self.case, self.case.size
        Q = case.flow(0.0)
        y, left = [size.stop, 0.0, Q, self.steady(size.stop, 0.0, Q)[0] + self.straight * Q], 0.0
        settings = {"method": "LSODA", "rtol": 1e-8, "atol": 1e-10}

        def leaves(t, y):
            return self.held(t, y)[1]

        def shut(_t, y):
            return y[0] - size.end

        leaves.terminal = shut.terminal = True
        if leaves(0.0, y) > 0.0:
            s = solve_ivp(
                lambda t, y: self.held(t, y)[0], (0.0, longest), y, events=leaves, max_step=0.3, **settings
            )
            left, y = s.t[-1], s.y[:, -1]
        s = solve_ivp(self.free, (left, left + longest), y, events=shut, **settings)
        return Path(s.t, *s.y, left)


class BySolves(ByLaw):
    """A case whose ball on its stop, a place of the shipped table, is pushed by what was solved there for a
    steady flow."""

    def __init__(self, case):
        super().__init__(case)
        size, known = case.size, table("ball_over_edge_inertia", 4)
        place = (size.ball, size.ball / size.cage, size.stop)
        at = [int(np.argmin(abs(axis - x))) for axis, x in zip(known.axes, place, strict=False)]
        assert np.allclose([axis[i] for axis, i in zip(known.axes, at, strict=False)], place)
        back, up = (rows.reshape(-1, 2)[:, 1] for rows in known.values[tuple(at)])
        reynolds = np.array([float(name[3:]) for name in known.names[::2]])
        self.over_creeping = PchipInterpolator(
            np.concatenate([-reynolds[::-1], [0.0], reynolds]), np.concatenate([back[::-1], [1.0], up])
        )
        slow = creeping(Place(*place))
        self.slow = slow.alpha * slow.Rqq * case.viscosity

    def steady(self, _z, _w, Q):
        reynolds = 2.0 * self.case.density * Q / (math.pi * self.case.viscosity)
        return 0.0, self.slow * Q * float(self.over_creeping(reynolds))


def left(law):
    """When nothing holds the ball on its stop any more."""

    def pull(t):
        return law.held(t, (law.case.size.stop, 0.0, 0.0, 0.0))[1]

    times = np.linspace(0.0, law.case.flow.length, 400)
    first = next(i for i, t in enumerate(times) if pull(t) < 0.0)
    return float(brentq(pull, times[first - 1], times[first]))
