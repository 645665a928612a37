"""What to read next, to tell the first two causes apart: one more sign, or all of them at another setting."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from balltravel.bench.causes import NONE, Cause, Changes
from balltravel.bench.fit import CREEP, Fitted, Model, Row, row_at
from balltravel.bench.runs import Answers, Runner, can_be, unknown_changes
from balltravel.bench.signs import CYCLE_SIGNS, SIGNS, STALL_SIGNS, Array
from balltravel.scenario.model import Scenario, with_values
from balltravel.setup.outlet import has_tip

CLEAR = 2.0
"""Standard deviations by which a test must separate two causes to settle it (our choice)."""

USUAL = ("cycle_rate", "upstroke_time", "downstroke_time", "tip_pressure")
"""Signs that are read at another setting beside those that were read before."""

SLOWER, FASTER = 0.5, 1.5
"""Cycle rates that are tried, over the scenario's (our choice)."""

SMALLER_TIP, WIDER_TIP = 0.7, 1.4
"""Bores of tips that are tried, over the scenario's: half the area and twice as much (our choice)."""

LESS_SUPPLY = 0.6
"""Supply of a motor without a tip, over the scenario's: the way to run it slower (our choice)."""

COUNTS = 0.15
"""Unknowns that move no sign by this share of all that is not known of it are taken not to matter at another
setting either (our choice)."""

SETTING = "other setting"


@dataclass(frozen=True)
class NextTest:
    """The cheapest test that separates the first two causes: how it is made, what is set for it (dotted key,
    SI; nothing where it is one more reading), what either cause would show (its name -> sign -> SI, creep in
    seconds a stroke), the most telling sign first, and by how many standard deviations both are apart.
    ``clear``: whether that settles it."""

    how: str
    changes: Mapping[str, Any]
    outcomes: Mapping[str, Mapping[str, float]]
    apart: float
    clear: bool


@dataclass(frozen=True)
class Setting:
    """Another way to run the pump: in words, and as changes of the scenario."""

    how: str
    changes: Changes


@dataclass(frozen=True)
class Rivals:
    """Two causes that are to be told apart (the empty text is none) in a scenario, with the model of what was
    read and how each cause fits it."""

    scenario: Scenario
    model: Model
    names: tuple[str, str]
    fits: Mapping[str, Fitted]


def back(row: Row, value: float, stroke: float) -> float:
    """A value on a sign's scale in SI again; of creep the time of a stroke."""
    plain = max(math.exp(value) - row.floor, 0.0) if SIGNS[row.key].share else value
    if row.key not in CREEP:
        return float(plain)
    return stroke / plain if plain > 1e-3 * row.floor else math.inf


def further_reading(rivals: Rivals) -> NextTest | None:
    """The cheapest reading not made yet that separates two causes, else the one that does best; None where
    there is none."""
    model = rivals.model
    read = {(row.situation, row.key) for row in model.rows if not row.good}
    places = [("seen 1", key) for key in CYCLE_SIGNS] + [("stall", key) for key in STALL_SIGNS]
    tests: list[tuple[float, NextTest]] = []
    for situation, key in places:
        if (situation, key) not in read and math.isfinite(model.answers[situation].sound[key]):
            further = row_at(key, situation, rivals.scenario.lower.stroke)
            test = _one_more(rivals, further)
            if test is not None:
                tests.append((SIGNS[key].effort, test))
    clear = [(effort, test) for effort, test in tests if test.clear]
    if clear:
        return min(clear, key=lambda each: each[0])[1]
    return max((test for _, test in tests), key=lambda test: test.apart, default=None)


def _one_more(rivals: Rivals, further: Row) -> NextTest | None:
    """What one more reading would be with either cause."""
    wider = Model([*rivals.model.rows, further], rivals.model.answers)
    after = {}
    for name in rivals.names:
        fit, curve = rivals.fits[name], wider.curve(name) if name else None
        if name and (curve is None or len(curve.shares) != len(fit.shares)):
            return None
        there = wider.sound[None, -1:] if curve is None else curve.expected[:, -1:]
        after[name] = _Outcome(rivals.model, wider, fit, there)
    return _test(rivals.scenario, SIGNS[further.key].how, {}, (further,), after)


class _Outcome:
    """What further readings would be with a cause: mean, covariance at a size, and by what is not known of
    the size. ``there`` (n, further readings): expected at each size of a fit. What was read before tells
    something of all that is not known, and so of what is read next."""

    def __init__(self, model: Model, wider: Model, fit: Fitted, there: Array) -> None:
        seen = len(model.rows)
        cross = wider.covariance[seen:, :seen]
        carried = np.linalg.solve(model.covariance, cross.T).T
        errors = np.diag([row.sd**2 for row in wider.rows[seen:]])
        self.given = wider.covariance[seen:, seen:] - carried @ cross.T + 1e-9 * errors
        expected = there + model.off(fit.curve) @ carried.T
        self.mean = fit.weights @ expected
        off = expected - self.mean
        self.by_size = np.asarray((off * fit.weights[:, None]).T @ off)


def _test(
    scenario: Scenario, how: str, changes: Changes, rows: Sequence[Row], after: Mapping[str, _Outcome]
) -> NextTest:
    """The test that these outcomes make."""
    first, second = after.values()
    spread = first.given + 0.5 * (first.by_size + second.by_size)
    off = first.mean - second.mean
    apart = math.sqrt(float(off @ np.linalg.solve(spread, off)))
    telling = np.argsort(-np.abs(off) / np.sqrt(np.diag(spread)))
    stroke = scenario.lower.stroke
    outcomes = {
        name or NONE: {rows[i].key: back(rows[i], float(outcome.mean[i]), stroke) for i in telling}
        for name, outcome in after.items()
    }
    return NextTest(how, changes, outcomes, apart, apart >= CLEAR)


def settings_of(scenario: Scenario) -> tuple[Setting, ...]:
    """Other settings of a scenario, the cheapest first: its cycle rate, another tip, or less supply."""
    drive, outlet = scenario.drive, scenario.outlet
    made = []
    if drive.cycle_rate is not None:
        for name, times in (("half", SLOWER), (f"{FASTER:g} times", FASTER)):
            made.append(Setting(f"{name} the rate", {"drive.cycle_rate": times * drive.cycle_rate}))
    if has_tip(outlet) and outlet.tip_diameter is not None:
        for name, times in (("half", SMALLER_TIP), ("twice", WIDER_TIP)):
            changes = {"outlet.tip_diameter": times * outlet.tip_diameter}
            made.append(Setting(f"a tip of {name} the area", changes))
    elif drive.supply_gauge_pressure is not None:
        changes = {"drive.supply_gauge_pressure": LESS_SUPPLY * drive.supply_gauge_pressure}
        made.append(Setting(f"{LESS_SUPPLY:g} times the motor's supply", changes))
    return tuple(setting for setting in made if can_be(scenario, setting.changes))


def other_setting(rivals: Rivals, causes: Mapping[str, Cause], run: Runner) -> NextTest | None:
    """The cheapest other setting at which the usual signs, read again, separate two causes, else the one that
    does best; None where the scenario has none that runs. Some thirty runs each."""
    best = None
    for setting in settings_of(rivals.scenario):
        test = _at_setting(rivals, causes, run, setting)
        if test is not None and (best is None or test.apart > best.apart):
            best = test
        if best is not None and best.clear:
            return best
    return best


def _at_setting(
    rivals: Rivals, causes: Mapping[str, Cause], run: Runner, setting: Setting
) -> NextTest | None:
    """What the usual signs would be at another setting with either cause, by runs at three sizes of each: one
    that is likely, and one standard deviation away on either side."""
    there, model = with_values(rivals.scenario, setting.changes), rivals.model
    if not {name for name in rivals.names if name} <= causes.keys():
        return None
    sizes = {name: _likely_sizes(rivals.fits[name]) for name in rivals.names if name}
    changes = [
        causes[name].changes(there, causes[name].size(share)) for name in sizes for share in sizes[name]
    ]
    if not all(can_be(there, changed) for changed in changes):
        return None
    counting = _unknowns_that_count(model)
    unknowns = {name: change for name, change in unknown_changes(there).items() if name in counting}
    values = run(there, [{}, *changes, *unknowns.values()])
    keys = _comparable(model, values, 1 + len(changes))
    if not keys:
        return None
    rows = [row_at(key, SETTING, rivals.scenario.lower.stroke) for key in keys]
    answers = {**model.answers, SETTING: _slopes_only(values, list(unknowns), 1 + len(changes))}
    wider = Model([*model.rows, *rows], answers)
    places = {name: [1 + 3 * i, 2 + 3 * i, 3 + 3 * i] for i, name in enumerate(sizes)}
    after = {}
    for name in rivals.names:
        nodes = np.array([[row.scaled(values[row.key][i]) for row in rows] for i in places.get(name, [0])])
        fit = rivals.fits[name]
        after[name] = _Outcome(model, wider, fit, _over_sizes(fit.shares, sizes.get(name), nodes))
    return _test(rivals.scenario, setting.how, setting.changes, rows, after)


def _likely_sizes(fit: Fitted) -> Array:
    """A likely size of a cause, as a share of the largest, and one standard deviation to either side."""
    mean = float(fit.weights @ fit.shares)
    spread = max(math.sqrt(float(fit.weights @ (fit.shares - mean) ** 2)), 0.02)
    return np.clip([mean - spread, mean, mean + spread], 0.01, 1.0)


def _over_sizes(shares: Array, at: Array | None, nodes: Array) -> Array:
    """Readings (n, readings) at all sizes of a fit, by those at three of them; of none as they are."""
    if at is None:
        return nodes
    return np.array([np.interp(shares, at, column) for column in nodes.T]).T


def _unknowns_that_count(model: Model) -> set[str]:
    """Unknowns that move some sign of the pump at work."""
    sound = model.answers["seen 1"].sound
    rows = [row_at(key, "seen 1", math.nan) for key in CYCLE_SIGNS if math.isfinite(sound[key])]
    return Model(rows, model.answers).moving(COUNTS)


def _comparable(model: Model, values: Mapping[str, Array], runs: int) -> list[str]:
    """The usual signs, and those that were read, that the runs of the causes all have."""
    wanted = {*USUAL, *(row.key for row in model.rows)}
    return [key for key, column in values.items() if key in wanted and np.isfinite(column[:runs]).all()]


def _slopes_only(values: Mapping[str, Array], unknowns: Sequence[str], first: int) -> Answers:
    """What the unknowns do to a sound lower; their runs begin at ``first``."""
    moved = {
        name: {key: float(column[first + i]) for key, column in values.items()}
        for i, name in enumerate(unknowns)
    }
    return Answers({key: float(column[0]) for key, column in values.items()}, {}, moved)
