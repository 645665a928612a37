"""What a line of a sweep's table is made of."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from balltravel.report.tables import bench, column, number
from balltravel.scenario.model import FIELDS, quantity_of

if TYPE_CHECKING:
    import xarray as xr


def swept_value(key: str, value: Any) -> str:
    """A value of a key, with its unit."""
    quantity = quantity_of(FIELDS[key]) if key in FIELDS else None
    return bench(float(value), quantity.dimension) if quantity and not isinstance(value, str) else str(value)


def heads_of(keys: Sequence[str]) -> list[str]:
    """Keys without their tables, where no two of them then look alike."""
    short = [key.rpartition(".")[2] for key in keys]
    return [name if short.count(name) == 1 else key for name, key in zip(short, keys, strict=True)]


def number_in(point: "xr.Dataset", name: str, dimension: str) -> str:
    """A number in the unit of the bench, which stands above it."""
    if name not in point:
        return "-"
    return number(column(float(point[name]), dimension), 3)
