"""Calibrations of lowers whose truth they do not know: how often the intervals hold it, and what is learnt.

    python tests/withheld/calibrated.py --count 60 FOLDER

draws lowers from the scenario's ranges, runs and reads each with errors, calibrates, and keeps a line of each
in FOLDER, so that the same command goes on where it stopped, with more if ``--count`` is higher;
``--read FOLDER`` prints the tables from there. ``--jobs`` names some of: sound, none, thinning, leaning,
regret. All advance together, so that a run that is ended early has some of each.
"""

import argparse
import json
import math
import os
import sys
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # of small matrices more threads only wait for each other

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent.parent))
from tests.helpers.lowers import scenario as lower
from tests.helpers.synthetic_bench import MOTOR, PRESSURE, TIP, reading

from balltravel.bench.calibrate.calibrate import MISFIT, fit_by
from balltravel.bench.calibrate.expected import Bench, readings_of
from balltravel.bench.calibrate.leaks import leaks_of
from balltravel.bench.calibrate.ranges import learnt_of
from balltravel.bench.calibrate.sampled import samples_of
from balltravel.bench.calibrate.unknowns import unknowns_of
from balltravel.bench.calibrate.written import narrowed, written_of
from balltravel.bench.observed import Condition, Observations
from balltravel.bench.signs import SIGNS, STALL_SIGNS, run_cycles, run_stalls
from balltravel.scenario.model import with_values
from balltravel.scenario.ranges import with_ranges
from balltravel.study.travel.trials import possible_travels
from balltravel.study.verdict.choice import Reach, chosen
from balltravel.study.verdict.draws import draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.record import ALL
from balltravel.study.verdict.runs import run_draws

SETTINGS = ({}, {"drive.supply_gauge_pressure": 8e6})
"""What is set: the supply as in the scenario, and a lower one."""

FEW = ("cycle_rate", "weighed_per_cycle", "tip_pressure", "vacuum_at_inlet")
MORE = tuple(key for key in SIGNS if key != "pounding")
SETS = {"rate, weight, pressure, vacuum": FEW, "all but pounding": MORE}

EXPONENTS = (0.6, 0.7, 0.8, 0.9)
MATCHED = 10.0
"""Shear rate [1/s] at which thinning material is as thick as it is said to be: a usual spindle's."""

DRAWS = 32
"""Draws of a verdict: its first look, for the runs of the arrangements cost most."""

HUGE = 100.0
"""How many times the usual error the control's readings have."""


def job():
    """A lower of 10 Pa s with motor and tip; standard deviations of 25 % of the viscosity and 10 % of the
    hose."""
    made = lower(
        material={"viscosity": 10.0}, drive=MOTOR, outlet=TIP, inlet_check={"base_travel": 2e-3},
        shims={"thicknesses": (0.001, 0.002, 0.004), "below": (2,)},
    )  # fmt: skip
    return with_ranges(
        made,
        {
            "material.viscosity": {"likely": 10.0, "within": "x 1.63"},
            "suction.hose_diameter": {"likely": 0.038, "within": "x 1.22"},
        },
    )


class Truths:
    """Lowers drawn from the ranges of a scenario, and the runs that all calibrations begin with."""

    def __init__(self, workers=1):
        self.scenario, self.workers = job(), workers
        self.unknowns = unknowns_of(self.scenario, SETTINGS)
        self.first = {}

    def drawn(self, rng):
        """A point of the unknowns: a lower."""
        return np.clip(rng.normal(size=len(self.unknowns)), -3.0, 3.0)

    def seen(self, point, rng, changes=None):
        """What is read of a lower; ``changes``: what it has that the scenario does not know of."""
        stroke, conditions = self.scenario.lower.stroke, []
        for number, setting in enumerate(SETTINGS, 1):
            own = {**self.unknowns.changes(point, number), **(changes or {})}
            values = run_cycles(with_values(self.scenario, setting), [own], 1)
            signs = {key: float(column[0]) for key, column in values.items()}
            read = {key: reading(key, signs, rng, stroke) for key in MORE if key in signs}
            conditions.append(Condition(setting, {key: r for key, r in read.items() if r}))
        own = {**self.unknowns.changes(point), **(changes or {})}
        values = run_stalls(self.scenario, [own], PRESSURE, 1)
        signs = {key: float(column[0]) for key, column in values.items()}
        stall = {key: reading(key, signs, rng, stroke) for key in STALL_SIGNS}
        return Observations(tuple(conditions), (), PRESSURE, {key: r for key, r in stall.items() if r})

    def fit(self, observed):
        """The calibration, which shares the runs about the middle of the ranges with all others."""
        bench = Bench(self.unknowns, observed, self.workers)
        bench.known.update(self.first)
        fit, _ = fit_by(bench, readings_of(observed, self.scenario.lower.stroke), observed)
        if not self.first:
            middle = np.zeros(len(self.unknowns))
            near = np.vstack([middle, np.eye(len(middle)) * 0.3])
            kept = {point.tobytes() for point in near}
            self.first = {place: v for place, v in bench.known.items() if place[1] in kept}
        return fit


def only(observed, keys):
    """These signs alone."""
    seen = tuple(
        Condition(each.changes, {key: r for key, r in each.readings.items() if key in keys})
        for each in observed.seen
    )
    return Observations(seen, (), PRESSURE, {key: r for key, r in observed.stall.items() if key in keys})


def told_nothing(observed):
    """The same readings, so badly read that they say nothing."""

    def bad(key, read):
        sign, sd = SIGNS[key], HUGE * SIGNS[key].sd
        value = 1e4 if read.none else read.value
        return replace(read, value=value, none=False, sd=sd * (abs(value) + sign.floor) if sign.share else sd)

    seen = tuple(
        Condition(each.changes, {key: bad(key, r) for key, r in each.readings.items()})
        for each in observed.seen
    )
    return Observations(seen, (), PRESSURE, {key: bad(key, r) for key, r in observed.stall.items()})


def in_short(fit, point):
    """What is kept of a calibration that only has to be warned of."""
    k = [unknown.name for unknown in fit.unknowns.each].index("viscosity")
    off = float((point[k] - fit.posterior.best[k]) / fit.posterior.widths[k])
    return {
        "chi": fit.posterior.chi_square,
        "readings": len(fit.rows),
        "chance": fit.chance,
        "viscosity": off,
    }


def summary(fit, point):
    """What is kept of a calibration."""
    inputs = learnt_of(fit.unknowns, fit.posterior.fitted, samples_of(fit), leaks_of(fit).marginals)
    places = {unknown.name: k for k, unknown in enumerate(fit.unknowns.each)}
    rows = {}
    for item in inputs:
        k = places[item.name]
        true, (_, low, high) = fit.unknowns.each[k].value(float(point[k])), item.after_range
        off = float((point[k] - fit.posterior.best[k]) / fit.posterior.widths[k])
        rows[item.name] = (item.share, item.learnt, low <= true <= high, off)
    return {"chi": fit.posterior.chi_square, "readings": len(fit.rows), "chance": fit.chance,
            "runs": fit.bench.count.done, "inputs": rows}  # fmt: skip


def sound(truths, rng):
    """A lower as the scenario has it, by each set of signs."""
    point = truths.drawn(rng)
    observed = truths.seen(point, rng)
    return {name: summary(truths.fit(only(observed, keys)), point) for name, keys in SETS.items()}


def none(truths, rng):
    """Readings that say nothing."""
    point = truths.drawn(rng)
    return {"control": summary(truths.fit(told_nothing(truths.seen(point, rng))), truths.drawn(rng))}


def thinning(truths, rng):
    """A material that thins, of which the scenario says that it does not."""
    point, made = truths.drawn(rng), {}
    for n in EXPONENTS:
        thick = truths.unknowns.changes(point)["material.viscosity"]
        other = {"material.flow": "power law", "material.thinning_exponent": n,
                 "material.viscosity": thick * MATCHED ** (1.0 - n)}  # fmt: skip
        observed = truths.seen(point, rng, other)
        for name, keys in SETS.items():
            made[f"n = {n}, {name}"] = in_short(truths.fit(only(observed, keys)), point)
    return made


def leaning(truths, rng):
    """Balls that lean, which the scenario has on their axes."""
    point = truths.drawn(rng)
    observed = truths.seen(point, rng, {"closures.ball_position": "touching"})
    return {name: in_short(truths.fit(only(observed, keys)), point) for name, keys in SETS.items()}


def reach_of(scenario, workers, changes=None):
    """What all arrangements reach over a scenario's ranges, or in one lower."""
    inputs = inputs_of(scenario)
    if changes is None:
        runs = run_draws(draw(inputs, DRAWS), [*possible_travels(scenario)], workers=workers)
    else:
        alone = replace(draw(replace(inputs, drawn=()), 1), changes=(changes,),
                        scenarios=(with_values(scenario, changes),))  # fmt: skip
        runs = run_draws(alone, [*possible_travels(scenario)], workers=workers)
    made = [i for i, each in enumerate(runs.draws.scenarios) if each is not None]
    met = {name: flags[made] for name, flags in runs.met.items() if name != ALL}
    return Reach(runs.delivery[made], met)


def regret(truths, rng):
    """What the chosen travel gives up in the true lower, with the ranges before and after."""
    point = truths.drawn(rng)
    fit = truths.fit(truths.seen(point, rng))
    learnt = learnt_of(fit.unknowns, fit.posterior.fitted, samples_of(fit), leaks_of(fit).marginals)
    after = narrowed(truths.scenario, written_of(fit.unknowns, fit.posterior, learnt))
    true = reach_of(truths.scenario, truths.workers, truths.unknowns.changes(point))
    if "before" not in truths.__dict__:
        truths.before = chosen(reach_of(truths.scenario, truths.workers))
    places = {"before": truths.before, "after": chosen(reach_of(after, truths.workers))}
    given_up = {
        name: {"place": place, "regret": float(true.regret[0, place]), "loss": float(true.loss[0, place])}
        for name, place in places.items()
    }
    return {**given_up, "delivered": true.delivery[0].tolist()}


JOBS = {"sound": sound, "none": none, "thinning": thinning, "leaning": leaning, "regret": regret}
SHARE = {"sound": 1.0, "none": 0.1, "thinning": 0.1, "leaning": 0.15, "regret": 0.5}
"""Of how many of the truths each is made."""


def run(folder, count, names, minutes=math.inf, workers=1):
    """Make what is missing in a folder, until so many minutes are over."""
    folder.mkdir(parents=True, exist_ok=True)
    truths, begun = Truths(workers), time.monotonic()
    for reached in range(1, count + 1):
        for name in names:
            for number in range(len(lines_of(folder, name)), math.ceil(SHARE[name] * reached)):
                if time.monotonic() - begun > 60.0 * minutes:
                    return
                rng = np.random.default_rng([sorted(JOBS).index(name), number])
                line = json.dumps(JOBS[name](truths, rng))
                with (folder / f"{name}.jsonl").open("a") as file:
                    file.write(line + "\n")
                print(f"{name} {number + 1} of {math.ceil(SHARE[name] * count)}, "
                      f"{time.monotonic() - begun:.0f} s", file=sys.stderr, flush=True)  # fmt: skip


def lines_of(folder, name):
    path = folder / f"{name}.jsonl"
    return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []


def of_sets(lines):
    sets = defaultdict(list)
    for line in lines:
        for name, each in line.items():
            sets[name].append(each)
    return sets


def read(folder):
    """Print the tables."""
    control = {
        n for line in lines_of(folder, "none") for n, row in line["control"]["inputs"].items() if row[1]
    }
    print(f"learnt by the control ({len(lines_of(folder, 'none'))}): {', '.join(control) or 'nothing'}")
    for name, every in of_sets(lines_of(folder, "sound")).items():
        rows = [row for each in every for row in each["inputs"].values()]
        learnt = [row for row in rows if row[1]]
        named = {name for each in every for name, row in each["inputs"].items() if row[1]}
        print(f"\n{name}: {len(every)} lowers, {np.mean([each['runs'] for each in every]):.0f} runs")
        print(f"in 95 of 100: {_share(row[2] for row in rows)} of all fitted, "
              f"{_share(row[2] for row in learnt)} of learnt; "
              f"misfit {_share(each['chance'] < MISFIT for each in every)}; "
              f"named by the control too: {', '.join(named & control) or 'none'}")  # fmt: skip
        print("| input | width, middle | 90 of 100 below | learnt | in its interval |\n|---|---|---|---|---|")
        by_name = of_sets([each["inputs"] for each in every])
        for n, own in sorted(by_name.items(), key=lambda pair: np.median([row[0] for row in pair[1]])):
            widths = [row[0] for row in own]
            if np.median(widths) < 0.95:
                print(f"| {n} | {np.median(widths):.2f} | {np.quantile(widths, 0.9):.2f} | "
                      f"{_share(row[1] for row in own)} | {_share(row[2] for row in own)} |")  # fmt: skip
    for name in ("thinning", "leaning"):
        for title, every in of_sets(lines_of(folder, name)).items():
            off = [-each["viscosity"] for each in every]
            chi = np.median([each["chi"] for each in every])
            warned = f"{sum(each['chance'] < MISFIT for each in every)} of {len(every)} warned"
            print(f"{name}, {title}: {warned}, chi-square {chi:.0f} of {every[0]['readings']}, "
                  f"viscosity {np.mean(off):+.1f} sd ({np.std(off):.1f})")  # fmt: skip
    regrets = lines_of(folder, "regret")
    for when in ("before", "after") if regrets else ():
        values = {kind: [100.0 * line[when][kind] for line in regrets] for kind in ("regret", "loss")}
        print(f"regret {when}: {np.mean(values['regret']):.2f} % of swept on average, at most "
              f"{max(values['regret']):.2f}; loss with misses {np.mean(values['loss']):.2f} "
              f"({len(regrets)} lowers)")  # fmt: skip


def _share(flags):
    flags = [*flags]
    return f"{np.mean(flags):.2f}" if flags else "-"


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--minutes", type=float, default=math.inf)
    parser.add_argument("--workers", type=int, default=1, help="threads")
    parser.add_argument("--jobs", nargs="+", choices=JOBS, default=[*JOBS])
    parser.add_argument("--read", action="store_true")
    arguments = parser.parse_args()
    if not arguments.read:
        run(arguments.folder, arguments.count, arguments.jobs, arguments.minutes, arguments.workers)
    read(arguments.folder)


if __name__ == "__main__":
    main()
