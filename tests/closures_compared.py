"""How far recommendations differ between the table of solves and the closed forms: 50 seeded random lowers.

``python tests/closures_compared.py`` prints a table; some minutes. The lowers are those of
tests/physics/test_heavier_material_needs_longer_travel.py, with three shims and four viscosities.
"""

import argparse
import importlib.util
import sys
from collections import Counter
from pathlib import Path

import numpy as np

from balltravel import recommend, with_value, with_values

HOME = Path(__file__).parent / "physics" / "test_heavier_material_needs_longer_travel.py"
VISCOSITIES = (0.3, 1.0, 3.0, 10.0)
SHIMS = (0.04, 0.08, 0.16)
"""Over the seat diameter, above a base travel of 0.06: travels of 0.06 to 0.34."""


def lowers(count):
    """The seeded lowers, with shims."""
    spec = importlib.util.spec_from_file_location("lowers", HOME)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    rng = np.random.default_rng(20)
    for _ in range(count):
        lower = module.plausible_lower(rng)
        seat = lower.inlet_check.seat_diameter
        shims = {"shims.thicknesses": tuple(s * seat for s in SHIMS), "inlet_check.base_travel": 0.06 * seat}
        yield with_values(lower, shims)


def differences(lower, viscosity):
    """Steps of travel between both recommendations, and the largest differences over the travels."""
    s = with_value(lower, "material.viscosity", viscosity)
    table, closed = (
        recommend(with_value(s, "closures.resistance", c), draws=0) for c in ("tabulated", "closed form")
    )
    named = [found.recommended or found.best_available for found in (table, closed)]
    travels = [round(one.ball_travel, 9) for one in table.arrangements]
    steps = None
    if None not in named:
        steps = travels.index(round(named[1].ball_travel, 9)) - travels.index(round(named[0].ball_travel, 9))
    both = [
        (a.metrics, b.metrics)
        for a, b in zip(table.arrangements, closed.arrangements, strict=True)
        if a.metrics and b.metrics
    ]
    fill = max(abs(a.fill_fraction - b.fill_fraction) for a, b in both)
    lag = max(abs(a.inlet.closing_lag - b.inlet.closing_lag) for a, b in both)
    back = max(abs(a.inlet.backflow_volume / b.inlet.backflow_volume - 1.0) for a, b in both)
    return steps, bool(table.recommended) == bool(closed.recommended), fill, lag, back


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", type=int, nargs="?", default=50, help="how many lowers, 50 by default")
    count = parser.parse_args().count
    found = {mu: [] for mu in VISCOSITIES}
    for number, lower in enumerate(lowers(count), 1):
        for mu in VISCOSITIES:
            found[mu].append(differences(lower, mu))
        print(f"\r{number} of {count} lowers", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    head = ("viscosity", "same travel", "one step", "more", "met by one alone", "fill, median", "worst")
    print(f"| {' | '.join((*head, 'closing lag, worst', 'backflow, median'))} |\n{'|---' * 9}|")
    for mu, rows in found.items():
        steps = Counter(min(abs(row[0]), 2) if row[0] is not None else 2 for row in rows)
        unlike = sum(not row[1] for row in rows)
        fill, lag, back = (np.array([row[k] for row in rows]) for k in (2, 3, 4))
        print(
            f"| {mu:g} Pa s | {steps[0]} | {steps[1]} | {steps[2]} | {unlike} "
            f"| {100 * np.median(fill):.2f} % "
            f"| {100 * fill.max():.1f} % | {1e3 * lag.max():.0f} ms | {100 * np.median(back):.0f} % |"
        )


if __name__ == "__main__":
    main()
