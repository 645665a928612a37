"""Motions with a closed form: falls with a drag; a bouncing ball whose impacts are located by repeated steps.

Also the rules by which a ball lands, rests and is released (M7).
"""

import math
import re

import numpy as np
import pytest
from scipy.optimize import brentq

from balltravel.core.contact import ON_STOP, SEATED
from balltravel.core.events import FIRST_MONITOR, FLOW, HIGH, HOLD, LOW, reset_sides, rest, triggered
from balltravel.core.records import as_record
from balltravel.core.rosenbrock import (
    STAGES,
    error_norm,
    factorise,
    solve,
    stage_rhs,
    stage_state,
    step_factor,
)
from balltravel.core.workspace import GUARDS, make_contact

BALL = "bouncing ball h0=1 e=0.8 g=9.81"


class Fall:
    """Height and speed under an acceleration that depends on speed alone, stepped by the core's kernels."""

    def __init__(self, acceleration, slope, rtol=1e-10):
        self.acceleration, self.slope, self.rtol = acceleration, slope, rtol
        self.scale = np.ones(2)
        self.matrix, self.order, self.increments = np.empty((2, 2)), np.empty(2), np.zeros((STAGES, 2))

    def rates(self, y):
        return np.array([y[1], self.acceleration(y[1])])

    def step(self, y, h):
        """State after a step and its error norm."""
        jacobian, none, trial = np.array([[0.0, 1.0], [0.0, self.slope(y[1])]]), np.zeros(2), y.copy()
        assert factorise(jacobian, self.scale, h, self.matrix, self.order)
        for stage in range(STAGES):
            stage_state(stage, y, self.increments, trial)
            stage_rhs(stage, h, self.rates(trial), none, self.increments)
            solve(jacobian, self.scale, h, self.matrix, self.order, self.increments[stage])
        last = self.increments[STAGES - 1]
        return trial + last, error_norm(last, y, trial + last, self.scale, np.zeros(y.size), self.rtol)

    def accepted(self, y, h):
        """An accepted step of at most h: its end, its length and the next length."""
        while True:
            after, error = self.step(y, h)
            if error <= 1.0:
                return after, h, h * step_factor(error)
            h *= step_factor(error)

    def run(self, y, end):
        """State at a time."""
        t, h = 0.0, 1e-4 * end
        while t < end:
            whole = t + h >= end
            y, done, longer = self.accepted(y, end - t if whole else h)
            t = end if whole and done >= (end - t) * (1.0 - 1e-12) else t + done
            h = longer
        return y

    def impact(self, y, h):
        """Time and speed at which the height falls to 0: the step that passes it is repeated, shorter, by
        secant and middle in turn."""
        t = 0.0
        while True:
            after, done, longer = self.accepted(y, h)
            if after[0] < 0.0:
                break
            y, t, h = after, t + done, min(longer, 10.0 * h)
        low, high, above, below = 0.0, done, y[0], after[0]
        for round_ in range(100):
            share = above / (above - below) if round_ % 3 < 2 else 0.5
            middle = low + share * (high - low)
            if not low < middle < high:
                break
            after, _ = self.step(y, middle)
            if after[0] < 0.0:
                high, below = middle, after[0]
            else:
                low, above = middle, after[0]
        nearest = low if above < -below else high
        return t + nearest, self.step(y, nearest)[0][1]


def free_fall():
    return Fall(lambda _: -9.81, lambda _: 0.0)


def impacts(count):
    """Times and apexes of a ball let go at height 1 that keeps 0.8 of its speed at every impact."""
    fall, t, y = free_fall(), 0.0, np.array([1.0, 0.0])
    times, apexes = [], []
    for _ in range(count):
        length, speed = fall.impact(y, 0.02 * y[1] if y[1] > 0.0 else 0.05)
        t += length
        times.append(t)
        y = np.array([0.0, -0.8 * speed])
        apexes.append(y[1] ** 2 / (2.0 * 9.81))
    return np.array(times), np.array(apexes)


def test_the_bouncing_ball_meets_the_floor_on_time(table):
    """1e-9 s; the stop after infinitely many impacts is reached to 1e-9 after some ninety."""
    rows = {row["quantity"]: row["value"] for row in table("closed_form_motion.csv") if row["case"] == BALL}
    times, apexes = impacts(100)
    assert times[0] == pytest.approx(rows["first impact s"], abs=1e-9)
    for n in range(2, 7):
        assert times[n - 1] == pytest.approx(rows[f"impact {n} s"], abs=1e-9)
    for n in range(1, 6):
        assert apexes[n - 1] == pytest.approx(rows[f"apex after impact {n} m"], rel=1e-9)
    assert times[-1] == pytest.approx(rows["stop time s"], abs=2e-9)
    assert 1.0 + 2.0 * apexes.sum() == pytest.approx(rows["total path m"], rel=1e-9)


def number(pattern, text):
    return float(re.search(pattern + r"=([0-9.]+)", text).group(1))


def fall_of(case):
    """The fall that a row's name describes; volumes cancel."""
    D, rho_b, rho, added = (number(k, case) for k in ("D", "rp", "rf", "Cm"))
    R, g = D / 2000.0, 9.80665
    volume, mass = 4.0 / 3.0 * math.pi * R**3, 4.0 / 3.0 * math.pi * R**3 * (rho_b + added * rho)
    weight = (rho_b - rho) * volume * g
    if case.startswith("Stokes"):
        drag = 6.0 * math.pi * number("mu", case) * R
        return Fall(lambda w: (weight - drag * w) / mass, lambda _: -drag / mass)
    drag = 0.5 * rho * number("Cd", case) * math.pi * R * R
    return Fall(lambda w: (weight - drag * w * abs(w)) / mass, lambda w: -2.0 * drag * abs(w) / mass)


def test_falls_with_linear_and_quadratic_drag_follow_their_closed_forms(table):
    """1e-8, at a tolerance of 1e-10."""
    rows = [row for row in table("closed_form_motion.csv") if row["case"] != BALL]
    assert len(rows) == 24
    for row in rows:
        end = float(re.search(r"\(([0-9.]+) s\)", row["quantity"]).group(1))
        y = fall_of(row["case"]).run(np.zeros(2), end)
        got = y[0] if row["quantity"].startswith("x") else y[1]
        assert got == pytest.approx(row["value"], rel=1e-8)


def test_an_impact_is_located_with_the_order_of_the_method():
    """A fall with linear drag, height 2 m: fixed steps, five levels, random phases of the impact in its step:
    order 4 within 0.1 in the impact's time (3.97 seen)."""
    g, k, height = 9.81, 5.0, 2.0
    fall = Fall(lambda w: -g - k * w, lambda _: -k, rtol=1e6)
    exact = brentq(lambda t: height - g / k * (t - (1.0 - math.exp(-k * t)) / k), 0.1, 10.0, xtol=1e-15)
    rng = np.random.default_rng(3)
    counts = np.array([8, 16, 32, 64, 128])
    errors = np.zeros(len(counts))
    for phase in rng.uniform(0.0, 1.0, 8):
        errors += np.array([located(fall, height, exact / (n + phase)) - exact for n in counts]) ** 2
    order = -np.polyfit(np.log(counts), 0.5 * np.log(errors), 1)[0]
    print(f"observed order of a located impact {order:.3f}")
    assert order == pytest.approx(4.0, abs=0.1)


def located(fall, height, h):
    """Impact time with steps of exactly h, the last one shortened."""
    t, y = 0.0, np.array([height, 0.0])
    while True:
        after, _ = fall.step(y, h)
        if after[0] < 0.0:
            return t + fall.impact(y, h)[0]
        t, y = t + h, after


@pytest.mark.parametrize(("mode", "holds"), [(SEATED, -1.0), (ON_STOP, 1.0)])
def test_a_ball_that_lands_is_armed_only_if_the_net_force_holds_it_there(mode, holds):
    """Upward forces hold a ball on its stop, downward ones on its seat; either way a hold runs for HOLD
    of the cycle. The other ball is left alone."""
    for force, armed in ((2.0 * holds, 1), (0.0, 1), (-2.0 * holds, 0)):
        contact = as_record(make_contact())
        contact.mode[:], contact.armed[:] = 1, 7
        rest(contact, 1, mode, force, 0.3, 2.0)
        assert list(contact.mode) == [1, mode]
        assert list(contact.armed) == [7, armed]
        assert list(contact.hold) == [0.0, pytest.approx(0.3 + 2.0 * HOLD)]


def test_contact_guards_fall_and_the_others_cross_from_where_they_are():
    """A contact guard that starts below zero is past it at once, a monitor on either change."""
    guard, side = np.ones(GUARDS), np.zeros(GUARDS)
    guard[FLOW] = -1.0
    reset_sides(guard, side)
    assert not triggered(guard, side)
    for k in range(GUARDS):
        moved = guard.copy()
        moved[k] = -moved[k]
        assert triggered(moved, side)
    for k in (LOW, LOW + 1, HIGH, HIGH + 1):
        assert k < FIRST_MONITOR
        below = guard.copy()
        below[k] = -1.0
        reset_sides(below, side)
        assert triggered(below, side)
