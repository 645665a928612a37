"""Observed order of the step and of the whole core: on closed forms, on a stiff problem, across events.

The largest step of a run is a share of the drive's period. The motion itself is told by the starts of its
segments, so a drive with the same segments and a period 2^k times shorter is the same stroke with steps of at
most 2^-k: with a tolerance that no step misses, the core runs at a fixed step.
"""

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import closures_at
from balltravel.core.events import Event
from balltravel.core.parameters import Check, Parameters
from balltravel.core.recording import COLUMNS
from balltravel.core.status import Status
from balltravel.setup.parameters import control_for
from balltravel.setup.runs import Run, run_core

from ..helpers.lowers import harmonic, lower, with_closures
from .test_rosenbrock import bell, one_step, spiral, swing

Array = NDArray[np.float64]
LEVELS = 2.0 ** np.arange(6)
UNMISSED = 1e12
"""A relative tolerance that every step meets."""

FIRST_STATE, LAST_STATE = COLUMNS.index("port_surplus"), COLUMNS.index("sprayed_volume")
LANDED = (Event.SEATED, Event.STOPPED)
LEFT = (Event.RELEASED, Event.PULLED_OFF)


def slope(x: Array, errors: Array) -> float:
    """Power of x with which errors grow, by least squares in the logarithms."""
    return float(np.polyfit(np.log(x), np.log(errors), 1)[0])


def root_mean_square(errors: list[Array]) -> Array:
    """Over random phases: a single one may cross zero."""
    return np.asarray(np.sqrt(np.mean(np.square(errors), axis=0)))


def end_error(case: tuple[Any, Any], start: float, length: float, h: float, first: float) -> float:
    """Largest error at the end of fixed steps h whose grid begins with a step of ``first`` times h."""
    problem, exact = case
    t, y, end = start, exact(start), start + length
    step = first * h
    while t < end - 1e-12:
        step = min(step, end - t)
        y, _ = one_step(problem, t, y, step)
        t, step = t + step, h
    return float(np.abs(y - exact(end)).max())


@pytest.mark.parametrize(
    ("case", "coarsest"),
    [(swing, 40), (bell, 48), (spiral, 32)],
    ids=lambda c: getattr(c, "__name__", c),
)
def test_the_order_is_four_over_five_halvings_wherever_start_and_grid_lie(
    within, case: Any, coarsest: int
) -> None:
    """Eight random starts, lengths and offsets of the step grid."""
    rng = np.random.default_rng(11)
    phases = rng.uniform((-1.0, 1.5, 0.05), (0.5, 2.5, 1.0), (8, 3))
    steps = 2.0 / coarsest / LEVELS
    errors = [
        np.array([end_error(case(), a, length, h, first) for h in steps]) for a, length, first in phases
    ]
    order = slope(steps, root_mean_square(errors))
    print(f"{case.__name__}: observed order {order:.3f} over {len(LEVELS) - 1} halvings")
    within(order - 4.0, 0.1)


def prothero_robinson(stiffness: float) -> tuple[Any, Any]:
    """y' = -L (y - cos t) - sin t, whose solution is cos t."""
    return (
        (
            lambda t, y: -stiffness * (y - math.cos(t)) - math.sin(t),
            lambda *_: np.array([[-stiffness]]),
            lambda t, _: np.array([-stiffness * math.sin(t) - math.cos(t)]),
        ),
        lambda t: np.array([math.cos(t)]),
    )


@pytest.mark.parametrize("stiffness", [1.0, 1e5, 1e7])
def test_the_order_of_the_stiff_problem_is_told_apart(stiffness: float) -> None:
    """Four where the problem is not stiff; where it is, the error is about 0.01 h/L, order 1.09 in the step.
    Orders of Rosenbrock methods are known to be reduced on this problem, to one in the step unless further
    conditions are met: Hairer and Wanner 1996, section IV.15, and Scholz 1989 (both from memory; Rang 2014,
    Informatikbericht 2014-05, TU Braunschweig, compares methods on it). RODAS was not made to meet them."""
    rng = np.random.default_rng(12)
    phases = rng.uniform((0.2, 1.5, 0.05), (1.2, 2.5, 1.0), (8, 3))
    steps = 0.125 / LEVELS
    case = prothero_robinson(stiffness)
    errors = root_mean_square(
        [np.array([end_error(case, a, n, h, first) for h in steps]) for a, n, first in phases]
    )
    order = slope(steps, errors)
    print(f"L = {stiffness:g}: observed order {order:.3f}, errors times L/h {errors * stiffness / steps}")
    if stiffness < 10.0:
        assert order == pytest.approx(4.0, abs=0.1)
    else:
        assert 0.9 < order < 1.6
        assert (errors < 0.05 * steps / stiffness).all()


def smooth(check: Check, cage_radius: float) -> Check:
    """The check with closures that no step is too long for: gaps no less than a tenth of the seat radius,
    tabulated evenly. The layer next to the seat, which the step's control resolves in earnest, would show in
    place of the order."""
    r = check.seat_radius
    size = CheckGeometry(r, 0.01, check.ball_radius, cage_radius, 0.045, 0.7, 0.1 * r)
    return with_closures(check._replace(table_origin=r), lambda lift: closures_at(size, lift))


def gassy(rng: np.random.Generator) -> Parameters:
    """A random lower that is not stiff: much free gas at low pressure behind a throttled outlet, in material
    heavy enough that no ball bounces. Ramps, travels and pace are random, so that landings and releases fall
    anywhere in their steps."""
    travels, ramp, rate = rng.uniform(0.003, 0.006, 2), rng.uniform(0.02, 0.1), rng.uniform(0.4, 0.6)
    p = lower(
        material={
            "viscosity": float(np.exp(rng.uniform(np.log(5.0), np.log(25.0)))),
            "free_gas_fraction": 0.3,
        },
        inlet_check={"base_travel": travels[0]},
        piston_check={"travel": travels[1]},
        drive={"cycle_rate": rate, "ramp_time": ramp},
        outlet={"gauge_pressure": 2e5, "resistance": 2e9},
    )
    return p._replace(inlet=smooth(p.inlet, 0.0189), piston=smooth(p.piston, 0.01425))


def at_fixed_step(p: Parameters, refinement: float) -> Run:
    """The first cycle with steps of at most 5e-3/refinement of it."""
    finer = p.drive._replace(period=p.drive.period / refinement)
    run = run_core(p._replace(drive=finer), control_for(p, UNMISSED, 1))
    assert run.status is Status.NOT_PERIODIC  # one cycle was asked for
    return run


def contacts(run: Run, kinds: tuple[Event, ...]) -> Array:
    """Kind, check and time of the events of these kinds, ball by ball."""
    e = run.events[np.isin(run.events[:, 0], kinds), :3]
    return np.asarray(e[np.lexsort((e[:, 2], e[:, 1]))])


def time_error(run: Run, exact: Run, kinds: tuple[Event, ...], period: float) -> float:
    """Largest error of the times of these events over the period; both runs must have the same ones."""
    ours, theirs = contacts(run, kinds), contacts(exact, kinds)
    assert ours[:, :2].tolist() == theirs[:, :2].tolist()
    return float(np.abs(ours[:, 2] - theirs[:, 2]).max() / period)


def state_error(p: Parameters, run: Run, exact: Run) -> float:
    """Largest error of the states at the end, in the measure of the tolerance."""
    ours, theirs = (r.rows[-1, FIRST_STATE : LAST_STATE + 1] for r in (run, exact))
    return float((np.abs(ours - theirs) / (control_for(p).scale + np.abs(theirs))).max())


def test_a_cycle_with_landings_and_releases_comes_to_order_four(within) -> None:
    """Through releases, landings, pull-offs and kinks, with inertial losses, ten random lowers: steps of
    T/200 to T/6400 against T/19 400. Seen: 3.86 over all five halvings and 3.95 over the last two at the end
    of the cycle, since the coarsest steps are as long as the pressures' own times; 3.85 in the landing times,
    whose finest are met within the 1e-10 of the travel to which they are located."""
    rng = np.random.default_rng(13)
    landings, ends = [], []
    for _ in range(10):
        p = gassy(rng)
        exact = at_fixed_step(p, 97.0)
        assert len(contacts(exact, LANDED)) >= 3
        assert len(contacts(exact, LEFT)) >= 3
        runs = [at_fixed_step(p, level) for level in LEVELS]
        landings.append(np.array([time_error(run, exact, LANDED, p.drive.period) for run in runs]))
        ends.append(np.array([state_error(p, run, exact) for run in runs]))
    landing, end = root_mean_square(landings), root_mean_square(ends)
    of_landings, of_end = slope(1.0 / LEVELS, landing), slope(1.0 / LEVELS, end)
    last = slope(1.0 / LEVELS[-3:], end[-3:])
    print(f"errors of landing times over T {landing}, order {of_landings:.3f}")
    print(f"errors of the end state {end}, order {of_end:.3f}, over the last two halvings {last:.3f}")
    within(last - 4.0, 0.1)
    within(of_end - 4.0, 0.2)
    within(of_landings - 4.0, 0.3)


TOLERANCES = np.array([1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9])
NEAR_EXACT = 1e-10


def real(rng: np.random.Generator) -> Parameters:
    """A random lower as a user would have it, in material in which no ball bounces for long."""
    travels, rate = rng.uniform(0.002, 0.006, 2), rng.uniform(0.3, 0.8)
    ramp, dwell = rng.uniform(0.01, 0.04, 2) / rate
    profile = {"cycle_rate": rate, "ramp_time": ramp, "dwell_time": dwell}
    return lower(
        material={
            "viscosity": float(np.exp(rng.uniform(np.log(3.0), np.log(20.0)))),
            "free_gas_fraction": rng.choice([0.0, 0.005, 0.03]),
        },
        inlet_check={"base_travel": travels[0]},
        piston_check={"travel": travels[1]},
        drive=harmonic(rate) if rng.random() < 0.3 else profile,
    )


def series(p: Parameters) -> Array:
    """Errors of landing times, of the times a ball leaves, and of the end state, one row a tolerance."""
    exact = run_core(p, control_for(p, NEAR_EXACT, 1))
    assert exact.status is Status.NOT_PERIODIC
    rows = []
    for rtol in TOLERANCES:
        run = run_core(p, control_for(p, rtol, 1))
        times = [time_error(run, exact, kinds, p.drive.period) for kinds in (LANDED, LEFT)]
        rows.append([*times, state_error(p, run, exact)])
    return np.array(rows)


def test_errors_across_events_fall_with_the_tolerance() -> None:
    """Root mean square over ten random lowers as they are, stiff and through their events. Landing times
    fall in proportion to the tolerance. The instants at which a ball leaves seat or stop do so only below
    1e-6: the net force that lets it go is the small difference of pressures that are each known to the
    tolerance of their own size, the outlet's a hundred bar, and the law's third derivative jumps where the
    flow turns, since K_p is another on the way back: 0.66 seen. Looser, the largest step allowed decides, not
    the tolerance."""
    rng = np.random.default_rng(14)
    landing, leaving, end = root_mean_square([series(real(rng)) for _ in range(10)]).T
    print(f"landing times over T {landing}, slope {slope(TOLERANCES, landing):.2f}")
    tight = TOLERANCES <= 1e-6
    print(
        f"leaving times over T {leaving}, slope from 1e-6 on {slope(TOLERANCES[tight], leaving[tight]):.2f}"
    )
    print(f"end state {end}, slope from 1e-6 on {slope(TOLERANCES[tight], end[tight]):.2f}")
    assert slope(TOLERANCES, landing) == pytest.approx(1.0, abs=0.3)
    assert slope(TOLERANCES[tight], leaving[tight]) == pytest.approx(1.0, abs=0.4)
    assert slope(TOLERANCES[tight], end[tight]) == pytest.approx(1.0, abs=0.3)
