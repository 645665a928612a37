"""The best travel of a sweep in a short table, for every combination of its other keys."""

import math
from collections.abc import Sequence
from itertools import product
from typing import TYPE_CHECKING

from balltravel.report.drawings import ARRANGEMENT_KEYS
from balltravel.report.tables import bench_unit, filled, table
from balltravel.report.text.swept_cells import columns_of_keys, heads_of, number_in, swept_value

if TYPE_CHECKING:
    import xarray as xr

MOST_COMBINATIONS = 60
"""Combinations of the other keys that are printed; of more, Python or a figure says the best travel."""

NOTE = (
    "Best travel: of the arrangements run, in the order of recommend, but without its reserve for 20 % more "
    "viscosity, so recommend may name a longer one. targets: those that the scenario or the sweep sets; "
    "missed: no travel run meets them, this one misses them least."
)

NUMBERS = (
    ("travel", "ball_travel", "length"),
    ("fill", "fill_fraction", "fraction"),
    ("deliv.", "volumetric_efficiency", "fraction"),
    ("landing", "inlet_landing_speed", "velocity"),
)


def best_travel_lines(data: "xr.Dataset") -> list[str]:
    """Lines of the table; none where one arrangement was run."""
    dims = [str(dim) for dim in data["status"].dims if data.sizes[dim] > 1]
    over = [dim for dim in dims if data[dim].attrs.get("key") in ARRANGEMENT_KEYS]
    rest = [dim for dim in dims if dim not in over]
    count = math.prod(data.sizes[dim] for dim in rest)
    if not over:
        return []
    if count > MOST_COMBINATIONS:
        return [
            "",
            f"The best travel of {count} combinations: --figure draws it, best_travel in Python has it.",
        ]
    from balltravel.study.swept.best_travel import best_travel

    best = best_travel(data).squeeze()
    places = product(*(range(best.sizes[dim]) for dim in rest))
    points = [best.isel(dict(zip(rest, place, strict=True))) for place in places]
    names = [name for name in columns_of_keys(best) if best[name].dims]
    below = [("below", "")] if "shims_below" in over else []
    numbers = [(head, bench_unit(dimension)) for head, _, dimension in NUMBERS]
    keys = [(head, "") for head in heads_of([best[name].attrs["key"] for name in names])]
    lines = [*zip(*keys, *below, *numbers, ("targets", ""), strict=True)]
    rows = [_row(point, names, bool(below)) for point in points]
    shown = table(lines[0], [*lines[1:], *rows], range(len(lines[0]) - 1), named=len(names))
    return ["", "Best travel", "", shown, "", filled(NOTE)]


def _row(point: "xr.Dataset", names: Sequence[str], below: bool) -> tuple[str, ...]:
    place = [swept_value(point[name].attrs["key"], point[name].item()) for name in names]
    shims = [str(point["shims_below"].item()) or "-"] if below else []
    numbers = [number_in(point, name, dimension) for _, name, dimension in NUMBERS]
    pumps = math.isfinite(float(point["ball_travel"]))
    met = ("met" if int(point["targets_met"]) else "missed") if pumps else "none pumps"
    return (*place, *shims, *numbers, met)
