"""Motions with a closed form, run by the compiled core itself: bounces, falls and landings in time.

One ball is brought to a closed form by replacing fields of the core's parameters: closures that do not depend
on lift, chambers so soft that no pressure moves, a stroke that stands still or throws the ball. Everything
else, steps, events, modes and rebounds, is what a user's scenario runs through.
"""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.optimize import brentq

from balltravel.closures.families import closures_at
from balltravel.core.events import Event
from balltravel.core.parameters import Chamber, Check, Drive, Parameters
from balltravel.setup.parameters import control_for, geometry_of
from balltravel.setup.runs import Run, run_core

from ..helpers.boxes import with_viscosity
from ..helpers.lowers import (
    INLET,
    PISTON,
    creeping,
    inertialess,
    lower,
    scenario,
    stiff,
    times,
    with_closures,
)

Array = NDArray[np.float64]
DEFAULT, TIGHT = 1e-6, 1e-9
SOFT = 1e3  # m3/Pa: a stroke moves a chamber's pressure by 1e-7 Pa
NEAREST = 1e-10  # of the travel: how near to it a landing is located


def drive_of(lengths: list[float], x: list[float], v: list[float], a: list[float]) -> Drive:
    """A stroke from segments, each with position, speed and acceleration at its start."""
    start = np.concatenate(([0.0], np.cumsum(lengths)))
    columns = (np.array(column) for column in (start, x, v, a))
    return Drive(len(lengths), float(start[-1]), 0.09, 0.0, *columns)


def at_rest(time: float) -> Drive:
    """A piston that does not move."""
    return drive_of([time], [0.0], [0.0], [0.0])


def thrust(pull: float, up: float, ramp: float, rest: float) -> Drive:
    """Up in ``up`` seconds, braked with ``pull`` for ``ramp`` seconds, at rest."""
    v = pull * ramp
    x = 0.5 * v * up
    return drive_of([up, ramp, rest], [0.0, x, x + 0.5 * v * ramp], [0.0, v, 0.0], [v / up, -pull, 0.0])


def isolated(p: Parameters) -> Parameters:
    """All chambers at one pressure that nothing moves."""
    chambers = {
        name: Chamber(chamber.volume, chamber.area, SOFT)
        for name, chamber in (("port", p.port), ("lower", p.lower), ("upper", p.upper))
    }
    return p._replace(outlet_pressure=p.suction.pressure, **chambers)


def linear(check: Check, S: float) -> Check:
    """A check whose ball feels a drag mu S r w at every lift, and no pressure."""

    def closures(lift: Array) -> tuple[Array, Array, Array, Array]:
        one = np.ones_like(lift)
        return 1e-20 * one, 1e-12 * one, S * one, 0.0 * one

    even = check._replace(table_origin=10.0 * check.travel, coupling_mass=0.0)
    return with_closures(even, closures)


def upside_down(check: Check) -> Check:
    """The same with the weight upwards: the ball falls from its seat to its stop."""
    return check._replace(net_weight=-check.net_weight)


def mass(check: Check) -> float:
    return check.ball_mass + check.added_mass


def viscous(p: Parameters, viscosity: float) -> Parameters:
    return with_viscosity(p, viscosity)


def once(p: Parameters, rtol: float) -> Run:
    return run_core(p, control_for(p, rtol, 1))


def bounces(
    start: float, speed: float, g: float, stokes_of: float, bounce: Event, end: Event
) -> list[tuple[Event, float]]:
    """Landings of a ball that meets a wall at ``start`` with ``speed`` and flies without drag: each keeps
    0.97 exp(-35/St) of its speed, St = ``stokes_of`` times it, down to St 10 (M7a)."""
    found = []
    while stokes_of * speed >= 10.0:
        found.append((bounce, start))
        speed *= 0.97 * math.exp(-35.0 / (stokes_of * speed))
        start += 2.0 * speed / g
    return [*found, (end, start)]


def meets(run: Run, check: int, expected: list[tuple[Event, float]]) -> float:
    """The run has these landings and no other; the largest error of their times over them."""
    kinds = {kind for kind, _ in expected}
    e = run.events[(run.events[:, 1] == check) & np.isin(run.events[:, 0], list(kinds))]
    assert e[:, 0].tolist() == [float(kind) for kind, _ in expected]
    clock = np.array([time for _, time in expected])
    return float(np.abs(e[:, 2] / clock - 1.0).max())


@pytest.mark.parametrize("rtol", [DEFAULT, TIGHT])
@pytest.mark.parametrize("viscosity", [0.02, 0.1, 0.5])
def test_a_ball_bounces_on_its_stop_by_the_clock(within, viscosity: float, rtol: float) -> None:
    """3 to some tens of landings; parabolas, which the method meets exactly: what is left is the location of
    each landing within 1e-10 of the travel, which the later and shorter bounces add up."""
    height = 0.05
    p = isolated(lower(inlet_check={"base_travel": height}, material={"viscosity": viscosity}))
    ball = linear(upside_down(p.inlet), 1e-30)
    g = -ball.net_weight / mass(ball)
    stokes_of = mass(ball) / (6.0 * math.pi * viscosity * ball.ball_radius**2)
    speed, first = math.sqrt(2.0 * g * height), math.sqrt(2.0 * height / g)
    expected = bounces(first, speed, g, stokes_of, Event.BOUNCED_ON_STOP, Event.STOPPED)
    run = once(p._replace(inlet=ball, drive=at_rest(1.2 * expected[-1][1])), rtol)
    error = meets(run, INLET, expected)
    print(f"{len(expected)} landings, {viscosity} Pa s, rtol {rtol:g}: error of their times {error:.1e}")
    landed = run.events[np.isin(run.events[:, 0], (Event.BOUNCED_ON_STOP, Event.STOPPED)), 2]
    assert abs(landed[0] - first) <= NEAREST * height / speed
    within(error, NEAREST * len(expected))


@pytest.mark.parametrize("rtol", [DEFAULT, TIGHT])
@pytest.mark.parametrize(
    ("pull", "ramp", "viscosity"), [(40.0, 0.02, 0.3), (25.0, 0.03, 0.1), (60.0, 0.013, 0.05)]
)
def test_a_ball_thrown_off_its_seat_bounces_on_it_by_the_clock(
    within, pull: float, ramp: float, viscosity: float, rtol: float
) -> None:
    """The piston's deceleration lets the ball of the piston check rise (M6a: weight times 1 + a/g), its rest
    lets it fall: two parabolas that meet, and the bounces on the seat."""
    p = isolated(lower(piston_check={"travel": 0.05}, material={"viscosity": viscosity}))
    ball = linear(p.piston, 1e-30)
    g = ball.net_weight / mass(ball)
    w = g * (pull / p.gravity - 1.0) * ramp
    z, up = 0.5 * w * ramp, 0.05
    speed = math.sqrt(w * w + 2.0 * g * z)
    stokes_of = mass(ball) / (6.0 * math.pi * viscosity * ball.ball_radius**2)
    landing = up + ramp + (w + speed) / g
    expected = bounces(landing, speed, g, stokes_of, Event.BOUNCED_ON_SEAT, Event.SEATED)
    drive = thrust(pull, up, ramp, 1.1 * expected[-1][1])
    run = once(p._replace(piston=ball, drive=drive, inlet=p.inlet._replace(net_weight=50.0)), rtol)
    assert times(run, Event.RELEASED, PISTON) == pytest.approx([up], rel=1e-12)
    error = meets(run, PISTON, expected)
    print(f"{len(expected)} landings, {viscosity} Pa s, rtol {rtol:g}: error of their times {error:.1e}")
    within(error, 3.0 * NEAREST * len(expected))  # its apex is a third of the travel or less


@pytest.mark.parametrize(("rtol", "digits"), [(DEFAULT, 7.0), (TIGHT, 9.9)])
def test_a_landing_with_stokes_drag_is_on_time(within, rtol: float, digits: float) -> None:
    """m w' = W' - mu S r w: z = v (t - tau (1 - e^(-t/tau))). From free fall to terminal speed, ten
    viscosities. In a thirtieth of the cycle, so that the tolerance and not the largest step decides. Tight,
    what is left is the location within 1e-10 of the travel: up to 1e-10 of the time."""
    height = 0.03
    p = isolated(lower(inlet_check={"base_travel": height}))
    ball = linear(upside_down(p.inlet), 60.0)
    worst = 0.0
    for viscosity in np.geomspace(0.3, 100.0, 10):
        rate = viscosity * 60.0 * ball.seat_radius / mass(ball)
        v = -ball.net_weight / mass(ball) / rate
        exact = brentq(
            lambda t, v=v, k=rate: v * (t + math.expm1(-k * t) / k) - height,
            1e-3,
            1e3,
            xtol=1e-16,
            rtol=1e-15,
        )
        # No rebound comes before the first landing, and that is what is timed.
        run = once(viscous(p, viscosity)._replace(inlet=ball, drive=at_rest(30.0 * exact)), rtol)
        e = run.events
        landed = e[np.isin(e[:, 0], (Event.STOPPED, Event.BOUNCED_ON_STOP)) & (e[:, 1] == INLET), 2][0]
        worst = max(worst, abs(landed / exact - 1.0))
    print(f"rtol {rtol:g}: landing with Stokes drag off by {worst:.1e} of its time at most")
    within(worst, 10.0**-digits)


@pytest.mark.parametrize(
    ("cycle", "rtol", "allowed"), [(1.3, DEFAULT, 1e-9), (30.0, DEFAULT, 3e-6), (30.0, TIGHT, 3e-9)]
)
@pytest.mark.parametrize("loss", [0.3, 3.0])
def test_a_fall_with_linear_and_quadratic_drag_is_on_time(
    within, loss: float, cycle: float, rtol: float, allowed: float
) -> None:
    """A ball in a closed stiff chamber (Q = 0) feels, by M5, mu Rww r w + rho/2 K_F q^2/A_s with q =
    Rww/Rqw r^2 w: m w' = W' - k w - c w^2, whose fall is (m/c) ln(cosh th + k/D sinh th) - k t/(2 c) with
    D^2 = k^2 + 4 c W' and th = D t/(2 m). A seat worn by its own radius keeps the gap from 0. ``cycle``:
    length of the cycle in falls. In a fall that takes most of a cycle the largest step keeps it right to
    1.3e-10; one that takes a thirtieth is left to the tolerance, in some ten steps: 1.7e-6 at most at the
    default."""
    height, mu, G, S = 0.03, 0.05, 0.1, 5.0
    p = viscous(stiff(lower(inlet_check={"base_travel": height})), mu)
    p = p._replace(port=Chamber(p.port.volume, 0.0, 1e-3), material=p.material._replace(bulk_modulus=1e13))
    ball = upside_down(p.inlet)._replace(leak_gap=p.inlet.seat_radius, coupling_mass=0.0)
    r, R = ball.seat_radius, ball.ball_radius

    def closures(lift: Array) -> tuple[Array, Array, Array, Array]:
        gap = np.hypot(np.sqrt(r * r + (math.sqrt(R * R - r * r) + lift) ** 2) - R, r) / r
        one = np.ones_like(lift)
        return G / gap**2, math.pi * one, S * one, loss * gap**2

    ball = with_closures(ball._replace(table_origin=20.0 * height), closures)
    Rqq, Rqw, W, m, area = 1.0 / G, math.pi / G, -ball.net_weight, mass(ball), math.pi * r * r
    Rww = S + Rqw**2 / Rqq
    k = mu * Rww * r
    c = 0.5 * p.material.density * loss * Rww / (math.pi * Rqw) / area * (Rww / Rqw * r * r) ** 2
    D = math.sqrt(k * k + 4.0 * c * W)

    def fallen(t: float) -> float:
        th = 0.5 * D * t / m
        return m / c * math.log(math.cosh(th) + k / D * math.sinh(th)) - 0.5 * k * t / c

    exact = brentq(lambda t: fallen(t) - height, 1e-4, 10.0, xtol=1e-16, rtol=1e-15)
    tanh = math.tanh(0.5 * D * exact / m)
    run = once(p._replace(inlet=ball, drive=at_rest(cycle * exact)), rtol)
    e = run.events
    (_, _, time, speed), *_ = e[np.isin(e[:, 0], (Event.STOPPED, Event.BOUNCED_ON_STOP)) & (e[:, 1] == INLET)]
    error = abs(time / exact - 1.0)
    print(f"K_p {loss}, a fall in {1 / cycle:.2f} of a cycle, rtol {rtol:g}: time off by {error:.1e}")
    within(error, allowed)
    assert speed == pytest.approx(2.0 * W * tanh / (D + k * tanh), rel=allowed)


@pytest.mark.parametrize(
    ("roughness", "rtol", "allowed"),
    [(2e-4, DEFAULT, 1e-8), (2e-4, TIGHT, 1.2e-10), (2e-6, DEFAULT, 3e-6), (2e-6, TIGHT, 3e-6)],
)
def test_a_creeping_landing_takes_the_integral_of_the_films_resistance(
    within, roughness: float, rtol: float, allowed: float
) -> None:
    """mu S(z) r w = W', no pressure drop and next to no mass: t = mu r/W' times the integral of S from the
    seat to the travel, by quadrature of the closures. Smooth surfaces: what is left (1.3e-6 seen) is the
    table, whose nodes lie further apart near the seat than a roughness of 2 um."""
    travel, mu = 0.005, 20.0
    case = {"base_travel": travel, "surface_roughness": roughness}
    p = isolated(lower(inlet_check=case, material={"viscosity": mu}))
    ball = upside_down(inertialess(creeping(p.inlet), 1e-9))
    size = geometry_of(scenario(inlet_check=case).inlet_check)
    film, _ = quad(
        lambda z: float(closures_at(size, np.array([z]))[2][0]),
        0.0,
        travel,
        epsabs=0.0,
        epsrel=1e-12,
        limit=500,
        points=list(np.geomspace(1e-7, 1e-3, 9)),
    )
    exact = mu * ball.seat_radius * film / -ball.net_weight
    run = once(p._replace(inlet=ball, drive=at_rest(1.5 * exact)), rtol)
    (landed,) = times(run, Event.STOPPED, INLET)
    print(f"roughness {roughness:g}, rtol {rtol:g}: off by {landed / exact - 1.0:.1e}")
    within(landed / exact - 1.0, allowed)
