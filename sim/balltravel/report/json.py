"""Results in the form of strict JSON: SI units, nothing that JSON does not know."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from balltravel import __version__
from balltravel.estimate.preview import Preview
from balltravel.scenario.model import Scenario, defaults_taken, flat

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.cycle.metrics import Metrics
    from balltravel.files.week import WeekMaterial
    from balltravel.material.kinds import Kind
    from balltravel.study.limits.find import LimitsReport
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.week.recommend import Week


def strict(value: Any) -> Any:
    """The same value in JSON's own types: numpy numbers as plain ones, nan and infinity as null."""
    if isinstance(value, Mapping):
        return {str(key): strict(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [strict(item) for item in value]
    item = value.item() if hasattr(value, "item") else value
    return None if isinstance(item, float) and not math.isfinite(item) else item


def check_dict(scenario: Scenario, found: Preview) -> dict[str, Any]:
    """Scenario with its defaults [SI], the keys that took one, and what follows, ready for JSON."""
    return {
        "scenario": scenario_dict(scenario),
        "defaults_taken": defaults_taken(scenario),
        "derived": asdict(found),
    }


def scenario_dict(scenario: Scenario) -> dict[str, Any]:
    """A scenario with its defaults [SI], ready for JSON."""
    tables: dict[str, Any] = {"title": scenario.title}
    for key, value in flat(scenario).items():
        table, _, name = key.partition(".")
        tables.setdefault(table, {})[name] = value
    return tables


def kind_dict(kind: "Kind") -> dict[str, Any]:
    """A kind of material [SI]: ranges as pairs, the example by the scenario's keys."""
    return asdict(kind)


def recommendation_dict(scenario: Scenario, found: "Recommendation") -> dict[str, Any]:
    """A recommendation [SI] with the scenario that it is for and the version that made it."""
    return {
        "title": scenario.title,
        "version": __version__,
        **found.as_dict(),
        "scenario": scenario_dict(scenario),
    }


def limits_dict(scenario: Scenario, found: "LimitsReport") -> dict[str, Any]:
    """Limits and effects [SI] with the scenario that they are of and the version that made them."""
    return {
        "title": scenario.title,
        "version": __version__,
        **found.as_dict(),
        "scenario": scenario_dict(scenario),
    }


def week_dict(materials: "Sequence[WeekMaterial]", found: "Week") -> dict[str, Any]:
    """A week [SI] with the scenarios that it is for, by material, and the version that made it."""
    from balltravel.study.week.reasons import flush_lines, week_reasons

    return {
        "title": materials[0].scenario.title,
        "version": __version__,
        **found.as_dict(),
        "reasons": [*week_reasons(materials, found), *flush_lines(materials, found)],
        "scenarios": {one.name: scenario_dict(one.scenario) for one in materials},
    }


def simulation_dict(data: "xr.Dataset", metrics: "Metrics | None", warnings: Sequence[str]) -> dict[str, Any]:
    """A cycle's numbers [SI]; the metrics are None when the run failed."""
    numbers = None if metrics is None else asdict(metrics)
    return {
        "title": data.attrs["title"],
        "status": data.attrs["status"],
        "advice": data.attrs["advice"],
        "cycles": int(data.attrs["cycles"]),
        "delivered_change": float(data.attrs["delivered_change"]),
        "metrics": numbers,
        "loss_budget": numbers and numbers["loss_budget"],
        "volume_residual": numbers and numbers["volume_residual"],
        "excursions": json.loads(data.attrs["excursions"]),
        "warnings": list(warnings),
    }


def sweep_dict(data: "xr.Dataset") -> dict[str, Any]:
    """A sweep [SI]: swept values, and every variable as nested lists in the order of ``dims``."""
    dims = [str(dim) for dim in data["status"].dims]
    words = data["status"].attrs["flag_meanings"].split()
    return {
        "title": data.attrs["title"],
        "dims": dims,
        "coordinates": {str(name): _variable(one) for name, one in data.coords.items()},
        "status_meanings": dict(zip(map(str, data["status"].attrs["flag_values"]), words, strict=True)),
        "variables": {str(name): _variable(one) for name, one in data.data_vars.items()},
    }


def _variable(one: "xr.DataArray") -> dict[str, Any]:
    return {
        "units": one.attrs.get("units"),
        "long_name": one.attrs.get("long_name"),
        "dims": [str(dim) for dim in one.dims],
        "values": one.values.tolist(),
    }
