"""Verdicts of the same job by other seeds: do they name about the same travel, and what decides?

    python tests/withheld/seeds.py --seeds 20 FOLDER

runs primer, mastic and a material known by one Krebs reading, each with 128 draws a seed, keeps every seed's
numbers in FOLDER as soon as they are there, and prints a table; what lies there already is not run again.
"""

import argparse
import pickle
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from jobs import JOBS, job

from balltravel.files.read_write import read_scenario
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.travel.trials import possible_travels
from balltravel.study.verdict.choice import Reach, chosen
from balltravel.study.verdict.deciding import OF_FLOW, thicknesses, values_of, what_decides
from balltravel.study.verdict.draws import draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.knowing import Known, saving
from balltravel.study.verdict.runs import run_draws
from balltravel.study.verdict.verdict import counted, made, only, reach_of

DRAWS = 128
MINE = ("primer", "mastic", "primer by Krebs units, cold")
VISCOSITY = "viscosity in the lower"
AS_MUCH = 0.75
"""Share of the largest saving from which an input counts as one that decides most."""

CLEAR = 3.0
"""Times its noise from which on a named input is asked to be the right one."""


@dataclass(frozen=True)
class Seed:
    """Of a seed: travels [m], what is reached in all draws that count, place of the travel that is named;
    ``named``: what decides, with what it saves over its noise, the most first; of the draws that were run
    what each arrangement costs and what every input is (``known``; what makes the viscosity as one)."""

    travels: np.ndarray
    reach: Reach
    place: int
    named: list[tuple[str, float]]
    loss: np.ndarray
    known: dict[str, Known]


def run(name: str, seed: int) -> Seed:
    """One seed of a job."""
    scenario = job(name) if name in JOBS else read_scenario(f"scenarios/{name}.toml")
    runs = run_draws(
        draw(inputs_of(scenario, spreads_of(scenario)), DRAWS, seed), [*possible_travels(scenario)]
    )
    reach, sound = reach_of(runs, counted(runs.draws)), only(runs.draws, made(runs.draws))
    loss, place = reach_of(runs, made(runs.draws)).loss, chosen(reach) or 0
    decides = what_decides(sound, loss, runs.choices, float(loss[:, place].mean()), seed)
    known = {d.key: values_of(sound, d) for d in sound.drawn if not d.key.startswith(OF_FLOW)}
    known |= {candidate.name: candidate.values for candidate in thicknesses(sound)}
    named = [(as_one(each.key), each.saved / each.noise) for each in decides.deciding]
    travels = np.array([choice.ball_travel for choice in runs.choices])
    return Seed(travels, reach, place, named, loss, known)


def as_one(key: str) -> str:
    """An input by what stands for it in the table."""
    return VISCOSITY if key.startswith((*OF_FLOW, VISCOSITY)) else key


def seeds_of(name: str, count: int, folder: Path) -> list[Seed]:
    """All seeds of a job, from the folder where they are there."""
    found = []
    for seed in range(count):
        path, start = folder / f"{name.replace(' ', '_')}-{seed}.pickle", time.monotonic()
        if not path.exists():
            path.write_bytes(pickle.dumps(run(name, seed)))
            print(f"{name}: seed {seed + 1} of {count}, {time.monotonic() - start:.0f} s", flush=True)
        found.append(pickle.loads(path.read_bytes()))
    return found


def savings_of_all(seeds: list[Seed]) -> dict[str, float]:
    """Input -> what knowing it saves in the draws of all seeds together, over swept."""
    loss, best = np.vstack([seed.loss for seed in seeds]), dict[str, float]()
    for key in seeds[0].known:
        saved = saving(loss, np.concatenate([seed.known[key] for seed in seeds])).saved
        best[as_one(key)] = max(saved, best.get(as_one(key), 0.0))
    return best


def row(name: str, seeds: list[Seed]) -> str:
    """A line of the table."""
    places = [chosen(seed.reach) or 0 for seed in seeds]  # by the rule of today, of runs that were kept
    usual = Counter(places).most_common(1)[0][0]
    travels = " ".join(
        f"{1e3 * seeds[0].travels[place]:.3g} ({times})" for place, times in sorted(Counter(places).items())
    )
    near = sum(abs(place - usual) <= 1 for place in places)
    chances = np.array([seed.reach.meets[:, usual].mean() for seed in seeds])
    holds = np.array([seed.reach.holds[:, usual].mean() for seed in seeds])
    saved = savings_of_all(seeds)
    most = max(saved.values())
    asked = [seed.named[0][0] for seed in seeds if seed.named and seed.named[0][1] > CLEAR]
    right = sum(saved[key] >= AS_MUCH * most for key in asked)
    told = Counter(seed.named[0][0] if seed.named else "nothing" for seed in seeds)
    best = sorted(saved, key=lambda key: -saved[key])[:2]
    truth = ", ".join(f"{key} {100.0 * saved[key]:.2f}" for key in best)
    first = ", ".join(f"{key} ({times})" for key, times in told.most_common())
    return (
        f"| {name} | {travels} | {near} of {len(seeds)} | {100 * chances.mean():.1f} +- "
        f"{100 * chances.std(ddof=1):.1f} | {100 * holds.mean():.0f} +- {100 * holds.std(ddof=1):.0f} | "
        f"{truth} | {first} | {right} of {len(asked)} |"
    )


def main() -> None:
    """Run what is not there yet, and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--job", action="append", default=[])
    given = parser.parse_args()
    given.folder.mkdir(exist_ok=True)
    rows = [row(name, seeds_of(name, given.seeds, given.folder)) for name in given.job or MINE]
    print("| job | named [mm] (seeds) | near | chance | holds | saves most, % | named first | right |")
    print("|---|---|---|---|---|---|---|---|")
    print("\n".join(rows))


if __name__ == "__main__":
    main()
