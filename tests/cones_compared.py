"""How far cones by the table are from fresh solves at places drawn at random between its ends, twice by a
seed of its own, and how far film and edge alone; then the same of cones with a lapped band. Some two minutes:
``python tests/cones_compared.py``. Needs the extra ``fem``."""

import math

import numpy as np

from balltravel.closures.fem.creeping import resistance
from balltravel.closures.fem.points import solve_cone
from balltravel.closures.fem.section import cone
from balltravel.closures.table.by_table import put_together, seat_and_cage
from balltravel.closures.table.cones import cone_of

PLACES, SEEDS, FINENESS = 60, (7, 11), 0.25
BANDS, BAND_SEED = 12, 3
NEAR = (1.0, 1.0, 3.0)
"""Per cent of Rqq, Rqw and S."""


def even_in_logarithm(chance, low, high):
    return math.exp(chance.uniform(math.log(low), math.log(high)))


def drawn(chance):
    """Half angle, bore, mouth, R/R_c and lift."""
    return (
        chance.uniform(30.0, 55.0),
        1.0 - even_in_logarithm(chance, 0.04, 0.36),
        even_in_logarithm(chance, 0.03, 1.0),
        chance.uniform(0.55, 0.92),
        even_in_logarithm(chance, 0.003, 2.6),
    )


def drawn_with_band(chance):
    """The same and the width of a band that lies inside the cone, over the circle of contact."""
    while True:
        degrees, bore, mouth, ratio, _ = place = drawn(chance)
        width, lift = even_in_logarithm(chance, 0.03, 0.08), even_in_logarithm(chance, 0.01, 0.7)
        check = cone_of(degrees, bore, mouth, ratio)
        beside = min(1.0 - bore, check.mouth_radius - 1.0) / math.sin(check.half_angle)
        if 0.5 * width < 0.9 * beside:
            return (*place[:4], lift, width)


def solve_band(degrees, bore, mouth, ratio, lift, width):
    """Rqq, Rqw, S in radii of the circle of contact."""
    check = cone_of(degrees, bore, mouth, ratio)
    sizes = (check.ball_radius, check.cage_radius, lift, check.mouth_radius, width)
    ball, cage, height, wide, land = (size / bore for size in sizes)
    here = resistance(cone(ball, cage, height, check.half_angle, wide, land), FINENESS)
    return (here.Rqq / bore**3, here.Rqw / bore, here.S * bore)


def told(name, places, solved):
    """Prints how far off film and edge alone are, and how far with the table."""
    for what, law in (("film and edge", put_together), ("table", seat_and_cage)):
        found = []
        for place in places:
            check = cone_of(*place[:4])._replace(land_width=place[5] if len(place) > 5 else 0.0)
            found.append(np.array(law(check, np.array([place[4]])))[:, 0])
        off = 100.0 * np.abs(np.array(found) / np.array(solved) - 1.0)
        for number, column, near in zip(("Rqq", "Rqw", "S"), off.T, NEAR, strict=True):
            print(
                f"{name}, {what}: {number} median {np.median(column):.2f} %, largest {column.max():.2f} %, "
                f"{int((column < near).sum())} of {len(places)} within {near:g} %",
                flush=True,
            )


def main():
    for seed in SEEDS:
        chance = np.random.default_rng(seed)
        places = [drawn(chance) for _ in range(PLACES)]
        told(f"seed {seed}", places, [solve_cone(*place, fineness=FINENESS)[5:8] for place in places])
    chance = np.random.default_rng(BAND_SEED)
    bands = [drawn_with_band(chance) for _ in range(BANDS)]
    told("lapped bands", bands, [solve_band(*place) for place in bands])


if __name__ == "__main__":
    main()
