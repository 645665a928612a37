"""What ``sweep`` prints: its cases, one a line."""

from collections.abc import Mapping, Sequence
from itertools import islice, product
from typing import TYPE_CHECKING, Any

from balltravel.report.tables import COLUMN_NOTE, bench, filled, plain, table
from balltravel.scenario.model import FIELDS, Scenario, quantity_of
from balltravel.setup.outlet import has_tip

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


def _swept_value(key: str, value: Any) -> str:
    quantity = quantity_of(FIELDS[key]) if key in FIELDS else None
    return bench(float(value), quantity.dimension) if quantity and not isinstance(value, str) else str(value)


_RATE_AND_TIP: Columns = (("rate", "cycle_rate", "frequency"), ("tip (abs.)", "spray_pressure", "pressure"))
"""What a motor or a tip makes of a case."""


def _sweep_columns(scenario: Scenario) -> Columns:
    """Columns of a sweep's table, with what is found where the cycle rate is not given or there is a tip."""
    rate = _RATE_AND_TIP[:1] if scenario.drive.cycle_rate is None else ()
    tip = _RATE_AND_TIP[1:] if has_tip(scenario.outlet) else ()
    return (*_SWEEP_COLUMNS, *rate, *tip)


def _sweep_row(
    point: "xr.Dataset", keys: Sequence[str], columns: Columns, meaning: Mapping[int, str]
) -> tuple[str, ...]:
    place = [_swept_value(key, point[key].item()) for key in keys]
    travel = [bench(float(point["ball_travel"]), "length")] if "ball_travel" in point.coords else []
    numbers = [
        bench(float(point[name]), dimension, 3) if name in point else "-" for _, name, dimension in columns
    ]
    return (*place, *travel, *numbers, meaning.get(int(point["status"]), "unknown"))


def sweep_text(scenario: Scenario, data: "xr.Dataset") -> str:
    """The first cases of a sweep in a table, one a line, and how many there are."""
    keys = [str(key) for key in data["status"].dims]
    codes, words = data["status"].attrs["flag_values"], data["status"].attrs["flag_meanings"].split()
    meaning = {int(code): word for code, word in zip(codes, words, strict=True)}
    places = product(*(range(data.sizes[key]) for key in keys))
    points = (data.isel(dict(zip(keys, place, strict=True))) for place in islice(places, MOST_ROWS))
    columns = _sweep_columns(scenario)
    rows = [_sweep_row(point, keys, columns, meaning) for point in points]
    travel = ["travel"] if "ball_travel" in data.coords else []
    head = (*keys, *travel, *(name for name, _, _ in columns), "status")
    lines = [plain(data.attrs["title"]), "", table(head, rows, range(len(head) - 1)), "", filled(COLUMN_NOTE)]
    hidden = data["status"].size - len(rows)
    more = [f"{hidden} more cases: write all to a file with --out, or print them with --json."]
    return "\n".join([*lines, *(more if hidden > 0 else [])])
