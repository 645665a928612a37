"""What a line of a sweep's table is made of."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from balltravel.report.tables import bench, column, number
from balltravel.scenario.model import FIELDS, Scenario, quantity_of, with_values
from balltravel.sweeps.values import READINGS, value_in
from balltravel.units import to_text

if TYPE_CHECKING:
    import xarray as xr


def swept_value(key: str, value: Any) -> str:
    """A value of a key, with its unit."""
    quantity = quantity_of(FIELDS[key]) if key in FIELDS else None
    if not quantity or isinstance(value, str):
        return str(value)
    of_places = quantity.dimension == "length" and quantity.high >= SITE
    return (to_text if of_places else bench)(float(value), quantity.dimension)


SITE = 10.0
"""Longest value [m] that a key of a site may have at least: hoses and altitudes are told in metres."""


def columns_of_keys(data: "xr.Dataset") -> list[str]:
    """The coordinates of a sweep's keys that are told in a line; readings go with the density, which is."""
    keys = {str(name): values.attrs.get("key", READINGS) for name, values in data.coords.items()}
    return [name for name, key in keys.items() if key != READINGS]


def heads_of(keys: Sequence[str]) -> list[str]:
    """Keys without their tables, where no two of them then look alike."""
    short = [key.rpartition(".")[2] for key in keys]
    return [name if short.count(name) == 1 else key for name, key in zip(short, keys, strict=True)]


def number_in(point: "xr.Dataset", name: str, dimension: str, above: float = 0.0) -> str:
    """A number in the unit of the bench, which stands above it; of a pressure what it is ``above`` [SI]."""
    if name not in point:
        return "-"
    return number(column(float(point[name]) - above, dimension), 3)


def atmosphere_in(scenario: Scenario, point: "xr.Dataset") -> float:
    """The barometric pressure of a case [Pa]."""
    here = {values.attrs.get("key"): values.item() for values in point.coords.values()}
    told = {key: here[key] for key in ("suction.altitude", "suction.barometric_pressure") if key in here}
    changes = {key: value_in(key, label) for key, label in told.items()}
    return with_values(scenario, changes).suction.barometric_pressure
