"""What the largest misses of the law with inertia would change in a recommendation.

``python tests/inertia_missed.py`` prints, for thin materials and for the primer, the travel recommended with
each miss put into the tables, and the largest change of fill, delivery, closing lag and landing speed over
all travels; some minutes.
"""

from pathlib import Path

from helpers.missed_inertia import MISSES, Answer, missed

import balltravel

SCENARIOS = Path(__file__).parents[1] / "scenarios"
THINNING = (
    "material.viscosity=0.416 Pa.s", "material.flow=shear-thinning", "material.thinning_exponent=0.6",
    "material.thinning_onset=0.5 1/s", "material.yield_stress=0 Pa",
)  # fmt: skip
CASES = {
    "stain": ("stain", ()),
    "stain of 0.02 Pa s": ("stain", ("material.viscosity=0.02 Pa.s",)),
    "stain that thins, 0.05 Pa s at 100 1/s": ("stain", THINNING),
    "stain by air": ("stain_by_air", ()),
    "primer": ("primer", ()),
}
HEAD = ("material", "miss", "travel, mm", "fill, %", "delivery, %", "closing lag, ms", "landing, m/s")
COLUMNS = (
    ("fill_fraction", 100.0),
    ("volumetric_efficiency", 100.0),
    ("inlet_closing_lag", 1e3),
    ("inlet_landing_speed", 1.0),
)


def main():
    print(f"| {' | '.join(HEAD)} |\n{'|---' * len(HEAD)}|")
    for name, (file, settings) in CASES.items():
        scenario = balltravel.read_scenario(SCENARIOS / f"{file}.toml", settings)
        plain = Answer(scenario)
        print(f"| {name} | none | {1e3 * plain.travel:.2f} | | | | |", flush=True)
        for miss, change in MISSES.items():
            with missed(change):
                other = Answer(scenario)
            changes = (f"{scale * other.furthest(plain, key):+.3f}" for key, scale in COLUMNS)
            print(f"| {name} | {miss} | {1e3 * other.travel:.2f} | {' | '.join(changes)} |", flush=True)


if __name__ == "__main__":
    main()
