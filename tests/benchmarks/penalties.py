"""What the ratios to solvers without events owe to the penalty that they are given, and to the way in which
scipy is given the right-hand side."""

import math
import time
from collections.abc import Callable, Mapping
from functools import partial

from clock import least_of_turns
from precision import Curve, Point, Reference, median, outcome, seconds_at
from problem import MATERIALS, TUNED, Law, Problem, problem_of
from solvers import OWN, PENALTY, Contender, compiled_lsoda, lsoda, scipy_by_penalty
from tables import Table, number

LAWS: Mapping[str, Law] = {
    "as in the tables above": TUNED,
    "in proportion, spring 100 times softer": Law(1e-1, 1e3, 1e-2),
    "in proportion, spring 10 times softer": Law(1e-2, 1e3, 1e-3),
    "in proportion, the same spring": Law(1e-3, 1e3, 1e-4),
    "whole at the touch, spring 10 times softer": Law(1e-2, 0.0, 1e-3),
}
"""Dampers and springs: the first is the rivals' own; the others are what one would write down first."""

TOLERANCES, ERRORS = (1e-4, 1e-5, 1e-6, 1e-7, 1e-8), (1e-5, 1e-6, 1e-7)
LONG = 1.5
"""A case that takes longer [s] ends a contender's curve: tighter ones are not tried, nor is it run again."""


def rivals() -> list[Contender]:
    """Solvers by penalty; the last is scipy as one calls it who hands a record over with every evaluation."""
    listed = [Contender("numbalsoda LSODA", PENALTY, compiled_lsoda)] if lsoda is not None else []
    listed.append(Contender("scipy LSODA", PENALTY, partial(scipy_by_penalty, "LSODA")))
    by_record = partial(scipy_by_penalty, "LSODA", by_address=False)
    return [*listed, Contender("scipy LSODA, record handed over", PENALTY, by_record)]


def _timed(run: Callable[[], float]) -> tuple[float, float]:
    began = time.thread_time()
    value = run()
    return value, time.thread_time() - began


def reference_of(problem: Problem) -> Reference:
    """What is delivered with the penalty, by Radau, and by how much a tight LSODA differs where it does not
    give up."""
    value = outcome(scipy_by_penalty("Radau", problem, 1e-8))
    second = outcome(scipy_by_penalty("LSODA", problem, 1e-10))
    doubt = abs(second / value - 1.0)
    return Reference(value, 0.0 if math.isnan(doubt) else doubt)


def curves_of(problem: Problem, listed: list[Contender], known: list[Reference], rounds: int) -> list[Curve]:
    """All contenders tolerance by tolerance in turn, until they take too long or give up."""
    curves = [Curve(problem.name, contender, []) for contender in listed]
    going = set(range(len(curves)))
    for contender in listed:
        outcome(contender.ready(problem, TOLERANCES[0]))  # compiles
    for tolerance in TOLERANCES:
        ready = {k: curves[k].contender.ready(problem, tolerance) for k in sorted(going)}
        first = {k: _timed(partial(outcome, run)) for k, run in ready.items()}
        quick = {k: ready[k] for k, (value, seconds) in first.items() if value == value and seconds < LONG}
        best = least_of_turns(quick, rounds)
        for k, (value, seconds) in first.items():
            if value == value:
                error = max(abs(value / known[k].value - 1.0), known[k].doubt)
                curves[k].points.append(Point(tolerance, error, best.get(k, seconds)))
        going &= set(quick)
    return curves


def ratios(curves: list[Curve]) -> list[float]:
    """Of each rival (after our own curve, the first): the median over errors of its time over ours."""
    asked = [[seconds_at(curve, error) for error in ERRORS] for curve in curves]
    return [median(theirs / ours for theirs, ours in zip(of, asked[0], strict=True)) for of in asked[1:]]


def penalty_table(rounds: int, laws: Mapping[str, Law] = LAWS) -> Table:
    """Ratios by contact law."""
    listed, rows = [OWN, *rivals()], []
    for name, law in laws.items():
        by_material: list[list[float]] = []
        changes = []
        for material in MATERIALS:
            problem = problem_of(material, law)
            by_events = OWN.ready(problem, 1e-10)()
            penalty = reference_of(problem)
            known = [Reference(by_events, 1e-12), *[penalty] * len(rivals())]
            curves = curves_of(problem, listed, known, rounds)
            by_material.append(ratios(curves))
            changes.append(penalty.value / by_events - 1.0)
        rows.append([name, "delivery changes by", *map(number, changes), number(median(map(abs, changes)))])
        for rival, of in zip(rivals(), zip(*by_material, strict=True), strict=True):
            rows.append([name, rival.name, *map(number, of), number(median(of))])
    return Table(
        "CPU time over this engine's, by the penalty that solvers without events are given",
        ["damper", "solver", *MATERIALS, "median"],
        rows,
        [
            "In proportion: damping grows with the depth. Record handed over: to the compiled right-hand "
            "side at every evaluation, instead of its address. The lower ratios are the fair ones: "
            "nobody has to choose a penalty that makes a solver slow.",
            f"Median over the errors {', '.join(f'{error:.0e}' for error in ERRORS)}, each error against the "
            "same penalty's own reference. A dash: the solver does not come so near, gives up, or takes more "
            f"than {LONG:g} s with looser tolerances.",
        ],
    )
