"""``balltravel new``: answers drawn at random make a scenario, whatever of them is not known."""

import random

from balltravel.bench.new.make import make
from balltravel.files.draft import Draft
from balltravel.site.ball_materials import BALL_MATERIALS

MATERIALS = (
    "3500 cP", "2 Pa.s to 8 Pa.s", "100 KU at 25 C", "Ford 4, 60 s", "60 s ISO 4 mm",
    "mastic", "stain", "zinc", "lacquer",
)  # fmt: skip


def test_any_sizes_of_a_shop_with_any_of_them_unknown_make_a_scenario():
    """Bores 10 to 200 mm with all that may fit them; make raises where the text is no scenario."""
    rng = random.Random(7)
    for _ in range(300):
        answers = _at_random(rng)
        made = make(Draft(answers), None, "lower.toml", None)
        assert {*made.answered} == {name for name, answer in answers.items() if answer != "?"}


def _at_random(rng):
    unit, size = rng.choice([("mm", 1.0), ("in", 25.4)])

    def length(value):
        return f"{value / size:.4f} {unit}"

    bore = rng.uniform(10.0, 200.0)
    ball = bore * rng.uniform(0.3, 0.9)
    shims = [rng.uniform(0.2, 6.0) for _ in range(rng.randint(0, 4))]
    below = [number for number in range(1, len(shims) + 1) if rng.random() < 0.5]
    travel = sum(shims[number - 1] for number in below) + rng.uniform(0.1, 10.0)
    answers = {
        "bore": length(bore),
        "stroke": length(bore * rng.uniform(0.6, 5.0)),
        "rod": length(bore * rng.uniform(0.25, 0.95)),
        "ball": length(ball),
        "made of": rng.choice([*BALL_MATERIALS, "2.5 SG", "Stainless Steel"]),
        "seat": length(ball * rng.uniform(0.5, 0.95)),
        "cage": length(ball * rng.uniform(1.1, 1.9)),
        "shims": " + ".join(map(length, shims)) or "none",
        "below": " + ".join(map(str, below)) or "none",
        "travel": length(travel),
        "rate": f"{rng.uniform(1.0, 300.0):.3f} /min",
        "hose": length(bore * rng.uniform(0.3, 2.0)),
        "length": f"{rng.uniform(0.05, 20.0):.3f} m",
        "material": rng.choice([*MATERIALS]),
    }
    answers = {name: "?" if rng.random() < 0.4 else answer for name, answer in answers.items()}
    if answers["shims"] in ("?", "none"):
        del answers["below"]
    return answers
