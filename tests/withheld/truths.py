"""Choices from 128 draws, judged on truths that they have not seen.

    python tests/withheld/truths.py --picks 20 --truths 300 FOLDER
    python tests/withheld/truths.py --picks 1 --first 500 --truths 128 --truths-seed 90001 OTHER_FOLDER

runs every job and keeps its numbers in FOLDER; ``--read FOLDER`` prints the tables from there.
"""

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from jobs import JOBS, job

from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.travel.recommend import recommend
from balltravel.study.travel.trials import possible_travels
from balltravel.study.verdict import verdict
from balltravel.study.verdict.choice import WORST, Reach, chosen, in_the_worst, regret_95
from balltravel.study.verdict.draws import draw
from balltravel.study.verdict.inputs import Inputs, inputs_of
from balltravel.study.verdict.runs import run_draws

DRAWS = 128
TRUTHS_SEED = 70_001
"""Seed of the truths; that of the wider ones is the next."""

WIDER = 1.5
"""Truths from ranges half as wide again."""


@dataclass(frozen=True)
class Record:
    """Of a job: travels [m], reaches of every set of draws, truths and wider truths, and the place that the
    single run names."""

    travels: np.ndarray
    picks: list[Reach]
    truths: Reach
    wide: Reach
    single: int


def reach_of(inputs: Inputs, count: int, seed: int) -> Reach:
    """What all arrangements reach on so many draws, a power of two or fewer."""
    size = 1 << (count - 1).bit_length()
    runs = run_draws(draw(inputs, size, seed).first(count), [*possible_travels(inputs.scenario)])
    return verdict.reach_of(runs, verdict.counted(runs.draws))


def widened(inputs: Inputs) -> Inputs:
    """The same inputs in ranges half as wide again."""
    drawn = []
    for item in inputs.drawn:
        wide, quantity = item.spread.widened(WIDER), quantity_of(FIELDS[item.key.partition("[")[0]])
        cut = wide.within(quantity.low, quantity.high) if quantity and wide.numbers_only else wide
        drawn.append(replace(item, spread=cut))
    return replace(inputs, drawn=tuple(drawn))


def run(name: str, picks: range, truths: int, seed: int) -> Record:
    """Run a job: sets of draws by their seeds, so many truths by theirs."""
    scenario = job(name)
    inputs = inputs_of(scenario, spreads_of(scenario))
    travels = np.array([arrangement.travel for arrangement in possible_travels(scenario)])
    single = recommend(scenario)
    named = single.recommended or single.best_available
    return Record(
        travels,
        [reach_of(inputs, DRAWS, number) for number in picks],
        reach_of(inputs, truths, seed),
        reach_of(widened(inputs), truths, seed + 1),
        int(np.argmin(np.abs(travels - named.ball_travel))) if named else 0,
    )


def save(record: Record, path: Path) -> None:
    """Keep the numbers of a job."""
    sets = {**{f"pick{i}": pick for i, pick in enumerate(record.picks)}}
    sets |= {"truths": record.truths, "wide": record.wide}
    arrays = {"travels": record.travels, "single": np.array(record.single)}
    for name, reach in sets.items():
        arrays[f"{name}|delivered"] = reach.delivered
        arrays |= {f"{name}|{target}": met for target, met in reach.met.items()}
    np.savez_compressed(path, **arrays)


def load(path: Path) -> Record:
    """The numbers of a job."""
    data = np.load(path)

    def reach(name: str) -> Reach:
        met = {
            key.split("|")[1]: data[key]
            for key in data.files
            if key.startswith(f"{name}|") and not key.endswith("|delivered")
        }
        return Reach(data[f"{name}|delivered"], met)

    picks = sum(key.startswith("pick") and key.endswith("|delivered") for key in data.files)
    every = [reach(f"pick{i}") for i in range(picks)]
    return Record(data["travels"], every, reach("truths"), reach("wide"), int(data["single"]))


def judged(places: list[int], truth: Reach) -> np.ndarray:
    """Mean regret, 95 % regret and avoidable misses, all in % of swept or of 100, over choices."""
    rows = [
        (
            truth.regret[:, place].mean(),
            np.quantile(truth.regret[:, place], 0.95),
            truth.avoidable[:, place].mean(),
        )
        for place in places
    ]
    return 100.0 * np.mean(rows, axis=0)


def as_often(pick: Reach, cost: np.ndarray) -> int:
    """Of those that meet the targets as often as any, within 5 of 100, the one of least cost."""
    chance = pick.meets.mean(axis=0)
    return int(np.argmin(np.where(chance >= chance.max() - 0.05, cost, np.inf)))


def rules(record: Record) -> dict[str, list[int]]:
    """Rule -> places that it names from each set of draws."""
    last, picks = len(record.travels) - 1, record.picks
    return {
        "least cost in the worse half (ours)": [chosen(pick) or 0 for pick in picks],
        "least cost in the worst fifth": [int(np.argmin(in_the_worst(pick, WORST))) for pick in picks],
        "least cost on average": [int(np.argmin(pick.loss.mean(axis=0))) for pick in picks],
        "chance within 5, then least given up in 95": [as_often(pick, regret_95(pick)) for pick in picks],
        "least given up in 95": [int(np.argmin(regret_95(pick))) for pick in picks],
        "most delivered on average": [int(np.argmax(pick.delivery.mean(axis=0))) for pick in picks],
        "most often all targets": [int(np.argmax(pick.meets.mean(axis=0))) for pick in picks],
        "one run, 20 % more viscosity": [record.single],
        "always longest": [last],
        "always shortest": [0],
    }


def table(records: dict[str, Record]) -> str:
    """Rules over all jobs, and each job by the first of them."""
    lines = [
        "| rule | given up on average | in 95 of 100 | worst job | avoidable misses |",
        "|---|---|---|---|---|",
    ]
    for rule in rules(next(iter(records.values()))):
        near = np.array([judged(rules(record)[rule], record.truths) for record in records.values()])
        wide = np.array([judged(rules(record)[rule], record.wide) for record in records.values()])
        mean, far = near.mean(axis=0), wide.mean(axis=0)
        worst = f"{near[:, 1].max():.1f} / {wide[:, 1].max():.1f}"
        cells = [f"{a:.2f} / {b:.2f}" for a, b in zip(mean, far, strict=True)]
        lines.append(f"| {rule} | {cells[0]} | {cells[1]} | {worst} | {cells[2]} |")
    least = float(np.mean([floor(record) for record in records.values()]))
    lines += ["", f"Least that any choice gives up on average: {least:.2f}"]
    lines += [
        "",
        "| job | named [mm] | on average | in 95 | misses | chance said, seen | band | near |",
    ]
    lines.append("|---|---|---|---|---|---|---|---|")
    for name, record in records.items():
        lines.append(f"| {name} | {_row(record)} |")
    return "\n".join(lines)


def floor(record: Record) -> float:
    """The least that any one arrangement gives up on average in all draws and truths of the stated ranges, in
    % of swept: no choice by the ranges alone gives up less."""
    every = np.vstack([reach.regret for reach in (*record.picks, record.truths)])
    return float(100.0 * every.mean(axis=0).min())


def _row(record: Record) -> str:
    places = [chosen(pick) or 0 for pick in record.picks]
    usual = int(np.bincount(places).argmax())
    regret = judged(places, record.truths)
    said = np.array([pick.meets[:, usual].mean() for pick in record.picks])
    seen = record.truths.meets[:, usual].mean()
    bands = [np.quantile(pick.delivery[:, usual], [0.05, 0.95]) for pick in record.picks]
    truth = record.truths.delivery[:, usual]
    covers = np.mean([np.mean((truth >= low) & (truth <= high)) for low, high in bands])
    near = sum(abs(place - usual) <= 1 for place in places)
    travels = ", ".join(f"{1e3 * t:.3g}" for t in sorted({float(record.travels[p]) for p in places}))
    between = f" +- {100 * said.std(ddof=1):.1f}" if len(said) > 1 else ""
    return (
        f"{travels} | {regret[0]:.2f} | {regret[1]:.2f} | {regret[2]:.1f} | "
        f"{100 * said.mean():.1f}{between}, {100 * seen:.1f} | {100 * covers:.0f} % | "
        f"{near} of {len(places)}"
    )


def main() -> None:
    """Run, or read, and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--picks", type=int, default=20)
    parser.add_argument("--truths", type=int, default=300)
    parser.add_argument("--first", type=int, default=0, help="seed of the first set of draws")
    parser.add_argument("--truths-seed", type=int, default=TRUTHS_SEED)
    parser.add_argument("--read", action="store_true")
    parser.add_argument("--job", action="append", default=[])
    given = parser.parse_args()
    given.folder.mkdir(exist_ok=True)
    records = {}
    for number, name in enumerate(JOBS):
        path = given.folder / f"job{number}.npz"
        if given.job and name not in given.job:
            continue
        if not given.read:
            picks = range(given.first, given.first + given.picks)
            save(run(name, picks, given.truths, given.truths_seed), path)
            print(f"{name}: done", flush=True)
        if path.exists():
            records[name] = load(path)
    print(table(records))


if __name__ == "__main__":
    main()
