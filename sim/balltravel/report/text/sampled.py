"""What ``sweep`` prints of a sweep over draws: how often each combination of the grid meets the targets, and
what it delivers."""

from itertools import islice, product
from typing import TYPE_CHECKING

import numpy as np

from balltravel.report.tables import bench_unit, filled, plain, table
from balltravel.report.text.swept_cells import heads_of, number_in, swept_value
from balltravel.report.text.verdict import of_hundred
from balltravel.study.swept.over_samples import chance
from balltravel.sweeps.plan import CASE

if TYPE_CHECKING:
    import xarray as xr

MOST_ROWS = 60
"""Combinations that are printed; more go to a file."""

LEVELS = (0.05, 0.5, 0.95)

_NOTE = """\
Every combination is run on the same draws of all that is not known. met: of 100 draws, those in which every
target that you set is met (without one: in which it pumps); a run that failed meets none and delivers
nothing. fill: in the middle draw. deliv.: what 5, 50 and 95 of 100 draws stay below, over swept. `recommend`
judges the arrangements of the shims; chance and what_decides in Python take what --out keeps."""


def sampled_text(data: "xr.Dataset") -> str:
    """A line a combination of the grid's values, and what the columns mean."""
    dims = [str(dim) for dim in data["status"].dims if dim != CASE]
    drawn = [name for name, values in data.coords.items() if "key" in values.attrs and CASE in values.dims]
    met, numbers = chance(data)["chance"], data["volumetric_efficiency"].fillna(0.0)
    levels = numbers.quantile([*LEVELS], CASE)
    middle = data[["fill_fraction"]].fillna(0.0).median(CASE)
    travel = data["ball_travel"] if "ball_travel" in data.coords else None
    if travel is not None:
        middle = middle.assign_coords(ball_travel=travel.mean(CASE) if CASE in travel.dims else travel)
    shown = [*islice(product(*(range(data.sizes[dim]) for dim in dims)), MOST_ROWS)]
    rows = []
    for place in shown:
        at = dict(zip(dims, place, strict=True))
        point = middle.isel(at)
        rows.append(
            [
                *(swept_value(data[dim].attrs["key"], data[dim].values[k]) for dim, k in at.items()),
                *([number_in(point, "ball_travel", "length")] if travel is not None else []),
                of_hundred(float(met.isel(at))),
                number_in(point, "fill_fraction", "fraction"),
                *(f"{100.0 * share:.1f}" for share in np.atleast_1d(levels.isel(at).values).tolist()),
            ]
        )
    heads = [
        *((name, "") for name in heads_of([data[dim].attrs["key"] for dim in dims])),
        *([("travel", bench_unit("length"))] if travel is not None else []),
        *(("met", "/100"), ("fill %", "50/100")),
        *(("deliv. %", f"{100.0 * share:g}/100") for share in LEVELS),
    ]
    names, units = ([head[i] for head in heads] for i in range(2))
    count = data.sizes[CASE]
    whole = f"{count} draws of what is not known ({len(drawn)} keys), {data['status'].size} cases in all."
    hidden = data["status"].size // count - len(rows)
    more = [f"{hidden} more combinations are not printed: --out writes all to a file."] if hidden > 0 else []
    cells = table(names, [units, *rows], range(len(dims), len(heads)), named=len(dims))
    return "\n".join([plain(data.attrs["title"]), filled(whole), "", cells, "", filled(_NOTE), *more])
