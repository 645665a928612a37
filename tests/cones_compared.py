"""How far cones by the table are from fresh solves at places drawn at random between its ends, and how far
film and edge alone: ``python tests/cones_compared.py``, half a minute. Needs the extra ``fem``."""

import math

import numpy as np

from balltravel.closures.fem.points import solve_cone
from balltravel.closures.table.by_table import put_together, seat_and_cage
from balltravel.closures.table.cones import cone_of

PLACES, SEED, FINENESS = 60, 7, 0.25


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


def main():
    chance = np.random.default_rng(SEED)
    places = [drawn(chance) for _ in range(PLACES)]
    solved = np.array([solve_cone(*place, fineness=FINENESS)[5:8] for place in places])
    for what, law in (("film and edge", put_together), ("table", seat_and_cage)):
        found = [np.array(law(cone_of(*p[:4]), np.array(p[4:])))[:, 0] for p in places]
        off = 100.0 * np.abs(np.array(found) / solved - 1.0)
        for name, column, near in zip(("Rqq", "Rqw", "S"), off.T, (1.0, 1.0, 3.0), strict=True):
            within = int((column < near).sum())
            print(
                f"{what}: {name} median {np.median(column):.2f} %, largest {column.max():.1f} %, "
                f"{within} of {PLACES} within {near:g} %"
            )


if __name__ == "__main__":
    main()
