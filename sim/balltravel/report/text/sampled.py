"""What ``sweep`` prints of a sweep over draws: how often each combination of the grid meets the targets, and
what it delivers."""

from collections.abc import Sequence
from itertools import islice, product
from typing import TYPE_CHECKING

from balltravel.report.tables import bench_unit, filled, plain, table
from balltravel.report.text.swept_cells import heads_of, number_in, swept_value
from balltravel.report.worth_knowing import of_hundred
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
    numbers = _numbers(data)
    places = islice(product(*(range(data.sizes[dim]) for dim in dims)), MOST_ROWS)
    points = [numbers.isel(dict(zip(dims, place, strict=True))) for place in places]
    travel = [("travel", bench_unit("length"))] if "ball_travel" in numbers else []
    heads = [
        *((name, "") for name in heads_of([data[dim].attrs["key"] for dim in dims])),
        *travel,
        *(("met", "/100"), ("fill %", "50/100")),
        *(("deliv. %", f"{100.0 * share:g}/100") for share in LEVELS),
    ]
    names, units = ([head[i] for head in heads] for i in range(2))
    rows = [_row(point, dims, bool(travel)) for point in points]
    cells = table(names, [units, *rows], range(len(dims), len(heads)), named=len(dims))
    drawn = [name for name, values in data.coords.items() if "key" in values.attrs and CASE in values.dims]
    cases, count = data["status"].size, data.sizes[CASE]
    whole = f"{count} draw{'s' * (count > 1)} of what is not known ({len(drawn)} keys), {cases} cases in all."
    hidden = cases // count - len(rows)
    more = [f"{hidden} more combinations are not printed: --out writes all to a file."] if hidden > 0 else []
    return "\n".join([plain(data.attrs["title"]), filled(whole), "", cells, "", filled(_NOTE), *more])


def _numbers(data: "xr.Dataset") -> "xr.Dataset":
    """What the columns show, over the keys of the grid."""
    import xarray as xr

    delivered = data["volumetric_efficiency"].fillna(0.0)
    shown = {
        "met": chance(data)["chance"].reset_coords(drop=True),
        "fill": data["fill_fraction"].fillna(0.0).median(CASE),
        "delivered": delivered.quantile([*LEVELS], CASE),
    }
    if "ball_travel" in data.coords:
        travel = data["ball_travel"].reset_coords(drop=True)
        shown["ball_travel"] = travel.mean(CASE) if CASE in travel.dims else travel
    return xr.Dataset(shown)


def _row(point: "xr.Dataset", dims: Sequence[str], travels: bool) -> list[str]:
    return [
        *(swept_value(point[dim].attrs["key"], point[dim].item()) for dim in dims),
        *([number_in(point, "ball_travel", "length")] if travels else []),
        of_hundred(float(point["met"])),
        number_in(point, "fill", "fraction"),
        *(f"{100.0 * share:.1f}" for share in point["delivered"].values.tolist()),
    ]
