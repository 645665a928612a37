"""Work and precision: CPU time of a case over the error of what it delivers, for all solvers."""

import math
import statistics
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from clock import least_of_turns
from problem import MATERIALS, Problem, problem_of
from solvers import (
    EVENTS,
    OWN,
    PENALTY,
    Contender,
    GivesUpError,
    Ready,
    contenders,
    scipy_by_events,
    scipy_by_penalty,
)
from tables import Table, number

TOLERANCES = (1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9)
ERRORS = (1e-5, 1e-6, 1e-7, 1e-8, 1e-9)
"""Errors at which costs are compared."""


class Point(NamedTuple):
    """A case at a tolerance: the error of the volume delivered, relative, and CPU time [s]."""

    tolerance: float
    error: float
    seconds: float


class Curve(NamedTuple):
    """A contender with one material, from the loosest tolerance to the tightest that it managed."""

    material: str
    contender: Contender
    points: list[Point]


class Reference(NamedTuple):
    """What a material delivers, over swept, with a kind of contact, and by how much a second solver differs,
    relatively: errors below that are not told apart."""

    value: float
    doubt: float


def outcome(ready: Ready) -> float:
    """What a case delivers; nan where the solver gives up."""
    try:
        return ready()
    except GivesUpError:
        return math.nan


def references(problem: Problem) -> dict[str, Reference]:
    """Of each kind of contact by another solver than the one that is judged: scipy's Radau from event to
    event, held against this engine; scipy's Radau with the penalty, held against scipy's LSODA."""
    by_events = outcome(scipy_by_events("Radau", problem, 1e-10))
    by_penalty = outcome(scipy_by_penalty("Radau", problem, 1e-8))
    second = {
        EVENTS: OWN.ready(problem, 1e-11)(),
        PENALTY: outcome(scipy_by_penalty("LSODA", problem, 1e-10)),
    }
    values = {EVENTS: by_events, PENALTY: by_penalty}
    return {contact: Reference(v, abs(second[contact] / v - 1.0)) for contact, v in values.items()}


def curves_of(problem: Problem, known: dict[str, Reference], rounds: int) -> list[Curve]:
    """All contenders with a material, tolerance by tolerance side by side."""
    curves = [Curve(problem.name, contender, []) for contender in contenders()]
    for tolerance in TOLERANCES:
        ready = {k: curve.contender.ready(problem, tolerance) for k, curve in enumerate(curves)}
        values = {k: outcome(run) for k, run in ready.items()}
        sound = {k: run for k, run in ready.items() if not math.isnan(values[k])}
        for k, seconds in least_of_turns(sound, rounds).items():
            reference = known[curves[k].contender.contact]
            error = max(abs(values[k] / reference.value - 1.0), reference.doubt)
            curves[k].points.append(Point(tolerance, error, seconds))
    return curves


def seconds_at(curve: Curve, error: float) -> float:
    """CPU time for a case that is no further off than ``error``, interpolated in the logarithms.

    An error counts as no less than those at tighter tolerances: being near by chance is no merit. Where the
    loosest run is nearer than asked for, its time counts; nan where the tightest is not near enough.
    """
    errors = np.maximum.accumulate([point.error for point in reversed(curve.points)])
    times = [point.seconds for point in reversed(curve.points)]
    if not times or error < errors[0]:
        return math.nan
    # Of runs with the same error the cheapest.
    cheapest = {math.log(e): math.log(t) for e, t in zip(errors, times, strict=True)}
    return math.exp(np.interp(math.log(error), list(cheapest), list(cheapest.values())))


def ratios(curves: Sequence[Curve], rival: Contender, error: float) -> list[float]:
    """A rival's CPU time over ours at an equal error, of each material; nan where one does not get there."""
    cost = {(curve.material, curve.contender.label): seconds_at(curve, error) for curve in curves}
    return [cost[material, rival.label] / cost[material, OWN.label] for material in MATERIALS]


def median(values: Iterable[float]) -> float:
    """Of those that are numbers; nan for none."""
    there = [value for value in values if not math.isnan(value)]
    return statistics.median(there) if there else math.nan


def measured(rounds: int) -> tuple[list[Curve], dict[str, dict[str, Reference]]]:
    """All curves, and the references by material and contact."""
    curves, known = [], {}
    for name in MATERIALS:
        problem = problem_of(name)
        known[name] = references(problem)
        curves += curves_of(problem, known[name], rounds)
    return curves, known


def ratio_table(curves: Sequence[Curve]) -> Table:
    """CPU time at equal error over this engine's."""
    rows = []
    for rival in contenders()[1:]:
        every = []
        for error in ERRORS:
            values = ratios(curves, rival, error)
            every += values
            rows.append([rival.label, number(error), *map(number, values), number(median(values))])
        rows.append([rival.label, "all", *[""] * len(MATERIALS), number(median(every))])
    return Table(
        "CPU time of a case at equal error, over this engine's",
        ["solver, contact", "error", *MATERIALS, "median"],
        rows,
        ["A dash: the solver does not come so near with tolerances down to 1e-9, or gives up."],
    )


def point_table(curves: Sequence[Curve]) -> Table:
    """Error and CPU time at every tolerance."""
    rows = []
    for curve in curves:
        by_tolerance = {point.tolerance: point for point in curve.points}
        cells = [
            f"{number(by_tolerance[tol].error)}; {number(1e3 * by_tolerance[tol].seconds)}"
            if tol in by_tolerance
            else "-"
            for tol in TOLERANCES[::2]
        ]
        rows.append([f"{curve.material}: {curve.contender.label}", *cells])
    heads = [f"tolerance {tolerance:.0e}" for tolerance in TOLERANCES[::2]]
    return Table("Error of the volume delivered, and CPU time of a case [ms]", ["", *heads], rows)


def reference_table(known: dict[str, dict[str, Reference]]) -> Table:
    """What is delivered with each contact, and how sure that is."""
    rows = []
    for material, of in known.items():
        events, penalty = of[EVENTS], of[PENALTY]
        change = penalty.value / events.value - 1.0
        rows.append(
            [material, f"{events.value:.9f}", number(events.doubt), number(change), number(penalty.doubt)]
        )
    return Table(
        "References: volume delivered over swept volume",
        ["", "by events", "second solver differs by", "penalty changes it by", "second solver differs by"],
        rows,
        [
            "Second solver: this engine at 1e-11 against scipy's Radau at 1e-10 from event to event; scipy's "
            "LSODA at 1e-10 against scipy's Radau at 1e-8 with the penalty. Relative numbers; errors below "
            "them are not told apart."
        ],
    )
