"""The cases of a plan as one Dataset."""

from datetime import UTC, datetime
from typing import Any

import numpy as np
import xarray as xr

from balltravel.cycle.dataset import provenance
from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.scenario.shims import travel_of
from balltravel.sweeps.columns import Columns, schema
from balltravel.sweeps.plan import CASE, Plan, keyword
from balltravel.sweeps.values import Values, cf_units, label_of
from balltravel.sweeps.with_density import DENSITY
from balltravel.units import DIMENSIONS

TRAVEL_KEYS = ("inlet_check.base_travel", "shims.thicknesses", "shims.below")


def to_dataset(plan: Plan, columns: Columns, rtol: float) -> xr.Dataset:
    """Columns in the order of the plan's cases as one Dataset over its dimensions; a case that failed is nan
    and says so in ``status`` and ``error``."""
    variables = {
        name: xr.Variable(plan.dims, columns[name].reshape(plan.shape), attributes)
        for name, _, attributes in schema()
    }
    return frame_of(plan, rtol).assign(variables)


def frame_of(plan: Plan, rtol: float) -> xr.Dataset:
    """The Dataset of a plan before it has numbers: coordinates and attributes."""
    return xr.Dataset(coords=_coordinates(plan), attrs=_attributes(plan, rtol))


def _coordinates(plan: Plan) -> dict[str, xr.Variable]:
    """The keys as keywords, and the ball travel where it varies."""
    coordinates = {keyword(key): _coordinate((CASE,), key, values) for key, values in plan.samples.items()}
    coordinates |= {keyword(key): _coordinate((keyword(key),), key, v) for key, v in plan.grid.items()}
    coordinates |= {keyword(key): _with_density(plan, key) for key in plan.with_density}
    part = plan.only(TRAVEL_KEYS)
    if part.dims:
        travels = np.array([_travel(plan, changes) for changes in part.changes(0, len(part))])
        about = {"units": "m", "long_name": "ball travel of the inlet check"}
        coordinates["ball_travel"] = xr.Variable(part.dims, travels.reshape(part.shape), about)
    return coordinates


def _with_density(plan: Plan, key: str) -> xr.Variable:
    """The values of a key that goes with the density of each case."""
    part = plan.only((key, DENSITY))
    values = tuple(changes[key] for changes in part.changes(0, len(part)))
    return _coordinate(part.dims, key, values, part.shape)


def _coordinate(
    dims: tuple[str, ...], key: str, values: Values, shape: tuple[int, ...] = (-1,)
) -> xr.Variable:
    """A key's values along dimensions, by the CF conventions, its dotted name in the attribute ``key``."""
    quantity = quantity_of(FIELDS[key])
    attributes = {"key": key, "long_name": key.replace(".", " ").replace("_", " ")}
    if quantity is not None:
        attributes["units"] = cf_units(DIMENSIONS[quantity.dimension].si)
    if not isinstance(values, np.ndarray):
        values = np.array([label_of(value, quantity is not None) for value in values])
    return xr.Variable(dims, values.reshape(shape), attributes)


def _travel(plan: Plan, changes: dict[str, Any]) -> float:
    of = plan.scenario
    given = (of.inlet_check.base_travel, of.shims.thicknesses, of.shims.below)
    return travel_of(*(changes.get(key, value) for key, value in zip(TRAVEL_KEYS, given, strict=True)))


def _attributes(plan: Plan, rtol: float) -> dict[str, Any]:
    """What the result was made of, when and by which versions. ``scenario_set`` has what was set of the
    scenario, without defaults, so that each case can be made again."""
    return {
        **provenance(plan.scenario, rtol),
        "scenario_set": plan.scenario.model_dump_json(exclude_unset=True),
        "date_created": datetime.now(UTC).isoformat(timespec="seconds"),
        "digest": plan.digest(),
    }
