"""What ``sweep`` prints: its cases, one a line."""

from collections.abc import Mapping, Sequence
from itertools import islice, product
from typing import TYPE_CHECKING

from balltravel.report.tables import COLUMN_NOTE, bench_unit, filled, plain, table
from balltravel.report.text.best_travel import best_travel_lines
from balltravel.report.text.simulate import GAUGE
from balltravel.report.text.swept_cells import (
    atmosphere_in,
    columns_of_keys,
    heads_of,
    number_in,
    swept_value,
)
from balltravel.scenario.model import Scenario
from balltravel.setup.outlet import has_tip
from balltravel.sweeps.plan import CASE

if TYPE_CHECKING:
    import xarray as xr

Columns = tuple[tuple[str, str, str], ...]
"""Heads, variables and dimensions."""

MOST_ROWS = 60
"""Rows of a sweep that are printed; more go to a file."""

_SWEEP_COLUMNS: Columns = (
    ("fill", "fill_fraction", "fraction"),
    ("deliv.", "volumetric_efficiency", "fraction"),
    ("in lag", "inlet_closing_lag", "time"),
    ("ball lag", "inlet_ball_lag", "time"),
    ("in back", "inlet_backflow_volume", "volume"),
    ("landing", "inlet_landing_speed", "velocity"),
    ("pis back", "piston_backflow_volume", "volume"),
    ("margin", "vapour_margin", "pressure"),
    ("range", "outside_range", "fraction"),
)


_RATE_AND_TIP: Columns = (("rate", "cycle_rate", "frequency"), ("tip", "spray_pressure", "pressure"))
"""What a motor or a tip makes of a case: its cycle rate, and the mean pressure before the tip, printed as a
gauge has it."""

_TIP_NOTE = "tip: mean gauge pressure before the tip."


def _sweep_columns(scenario: Scenario) -> Columns:
    """Columns of a sweep's table, with what is found where the cycle rate is not given or there is a tip."""
    rate = _RATE_AND_TIP[:1] if scenario.drive.cycle_rate is None else ()
    tip = _RATE_AND_TIP[1:] if has_tip(scenario.outlet) else ()
    return (*_SWEEP_COLUMNS, *rate, *tip)


def _sweep_row(
    point: "xr.Dataset", names: Sequence[str], columns: Columns, meaning: Mapping[int, str], atmosphere: float
) -> tuple[str, ...]:
    place = [swept_value(point[name].attrs["key"], point[name].item()) for name in names]
    travel = [number_in(point, "ball_travel", "length")] if "ball_travel" in point.coords else []
    numbers = [
        number_in(point, name, dimension, atmosphere if name in GAUGE else 0.0)
        for _, name, dimension in columns
    ]
    return (*place, *travel, *numbers, meaning.get(int(point["status"]), "unknown"))


def sweep_text(scenario: Scenario, data: "xr.Dataset") -> str:
    """The first cases of a sweep in a table, one a line, and how many there are; of one over draws its
    combinations."""
    if CASE in data.dims:
        from balltravel.report.text.sampled import sampled_text

        return sampled_text(data)
    dims = [str(dim) for dim in data["status"].dims]
    names = columns_of_keys(data)
    codes, words = data["status"].attrs["flag_values"], data["status"].attrs["flag_meanings"].split()
    meaning = {int(code): word for code, word in zip(codes, words, strict=True)}
    places = product(*(range(data.sizes[dim]) for dim in dims))
    points = [data.isel(dict(zip(dims, place, strict=True))) for place in islice(places, MOST_ROWS)]
    columns = _sweep_columns(scenario)
    rows = [_sweep_row(point, names, columns, meaning, atmosphere_in(scenario, point)) for point in points]
    travel = [("travel", bench_unit("length"))] if "ball_travel" in data.coords else []
    numbers = [(name, bench_unit(dimension)) for name, _, dimension in columns]
    heads = [
        *((name, "") for name in heads_of([data[name].attrs["key"] for name in names])),
        *travel,
        *numbers,
        ("status", ""),
    ]
    lines, said = _silent_left_out([*zip(*heads, strict=True), *rows], _SILENT)
    cases = table(lines[0], lines[1:], range(len(lines[0]) - ("status" in lines[0])), named=len(names))
    hidden = data["status"].size - len(rows)
    more = [f"{hidden} more cases are not printed: --out writes all to a file, --json prints them."]
    tip = [_TIP_NOTE] if has_tip(scenario.outlet) else []
    notes = [*said, filled(COLUMN_NOTE), *tip, *(more if hidden > 0 else [])]
    return "\n".join([plain(data.attrs["title"]), "", cases, "", *notes, *best_travel_lines(data)])


_SILENT = {
    "range": ("0", "No case shown leaves the validated range."),
    "status": ("ok", "The status of every case shown is ok."),
}
"""Column -> the cell with which it says nothing, and the sentence that stands for it where all are that."""


def _silent_left_out(
    lines: Sequence[tuple[str, ...]], silent: Mapping[str, tuple[str, str]]
) -> tuple[list[list[str]], list[str]]:
    """Lines of a table (names, units, cells) without the columns that say nothing, and the sentences for
    those."""
    head, _, *rows = lines
    gone = {
        i: silent[name][1]
        for i, name in enumerate(head)
        if name in silent and all(row[i] == silent[name][0] for row in rows)
    }
    kept = [[cell for i, cell in enumerate(line) if i not in gone] for line in lines]
    return kept, list(gone.values())
