"""What a sweep's Dataset is asked of its cases: what each misses of the targets."""

import json
from collections.abc import Callable

import numpy as np
import xarray as xr

from balltravel.estimate.cautions import seat_gap
from balltravel.estimate.suction_losses import feed_excess
from balltravel.scenario.arguments import refused
from balltravel.scenario.model import Scenario, ScenarioError, build, with_values
from balltravel.setup.outlet import has_tip
from balltravel.study.travel.trials import DEFAULTS, Asked, Reached, asked_of, is_default, shortfalls
from balltravel.sweeps.values import value_in
from balltravel.units import kind_of

OF_GAP = ("inlet_check.", "shims.")
NOT_OF_FEED = (*OF_GAP, "piston_check.", "target.", "closures.")
ONLY_AT_TIP = ("material.viscosity", "material.viscosity_factor", "drive.cycle_rate")

_EXAMPLE = 'balltravel.sweep(scenario, {"material.viscosity": [1.0, 5.0], "shims.below": [(), (1,)]})'


def scenario_in(data: xr.Dataset) -> Scenario:
    """The scenario that all cases of a sweep start from; raises ScenarioError for what is no sweep."""
    if not isinstance(data, xr.Dataset):
        raise no_sweep(kind_of(data))
    missing = [name for name in ("status", "fill_fraction", "inlet_landing_speed") if name not in data]
    if missing or "scenario_set" not in data.attrs:
        raise no_sweep(f"a Dataset without {next(iter(missing), 'its attributes')} given")
    return build(json.loads(data.attrs["scenario_set"]))


def no_sweep(
    given: str, allowed: str = "a Dataset, as balltravel.sweep makes it", example: str = _EXAMPLE
) -> ScenarioError:
    """The error of a Dataset that does not have what is asked of it."""
    return refused("data", given, allowed, example)


def keys_in(data: xr.Dataset) -> dict[str, str]:
    """Dotted keys that a sweep varies -> their coordinates."""
    return {array.attrs["key"]: str(name) for name, array in data.coords.items() if "key" in array.attrs}


def shortfalls_in(data: xr.Dataset, scenario: Scenario) -> dict[str, xr.DataArray]:
    """How far each case misses each target, over the target; 0 where it meets it, nan where it failed."""
    short = shortfalls(asked_in(data, scenario), reached_in(data, scenario))
    nothing = xr.zeros_like(data["fill_fraction"]).where(data["fill_fraction"].notnull())
    return {name: (by + nothing).transpose(*nothing.dims) for name, by in short.items()}


def counts(target: str, data: xr.Dataset, scenario: Scenario) -> bool:
    """Whether somebody set a target: in the scenario, or by sweeping it. Others refuse nothing."""
    return not is_default(scenario, target) or f"target.{DEFAULTS[target]}" in keys_in(data)


def met_in(data: xr.Dataset, scenario: Scenario) -> dict[str, xr.DataArray]:
    """Which case meets which target, of those that somebody set and those that always hold; a run that failed
    meets none."""
    short = shortfalls_in(data, scenario)
    return {name: by == 0.0 for name, by in short.items() if counts(name, data, scenario)}


def asked_in(data: xr.Dataset, scenario: Scenario) -> Asked:
    """The targets of every case, along the dimensions on which they change."""

    def of_target(key: str) -> bool:
        return key.startswith("target.") or key == "material.largest_particle"

    def asked(name: str) -> xr.DataArray:
        return _along(data, scenario, of_target, lambda one: float(getattr(asked_of(one), name)))

    return Asked(*map(asked, Asked._fields))


def reached_in(data: xr.Dataset, scenario: Scenario) -> Reached:
    """What every case reaches of that."""
    at_tip = has_tip(scenario.outlet) or "outlet.form" in keys_in(data)

    def of_feed(key: str) -> bool:
        return not key.startswith(NOT_OF_FEED) and (at_tip or key not in ONLY_AT_TIP)

    gap = _along(
        data, scenario, lambda key: key.startswith(OF_GAP), lambda s: seat_gap(s.inlet_check, s.inlet_travel)
    )
    feed = _along(data, scenario, of_feed, feed_excess)
    return Reached(
        data["fill_fraction"], data["volumetric_efficiency"], data["inlet_landing_speed"], gap, feed
    )


def _along(
    data: xr.Dataset, scenario: Scenario, counts: Callable[[str], bool], make: Callable[[Scenario], float]
) -> xr.DataArray:
    """A number of the scenario along those dimensions only on whose keys it hangs: a million cases have few
    scenarios that differ in it."""
    keys = {key: name for key, name in keys_in(data).items() if counts(key)}
    arrays = xr.broadcast(*(data[name].reset_coords(drop=True) for name in keys.values()))
    shape, dims = (arrays[0].shape, arrays[0].dims) if arrays else ((), ())
    columns = [array.values.ravel().tolist() for array in arrays]
    try:
        numbers = [
            make(with_values(scenario, {k: value_in(k, v) for k, v in zip(keys, row, strict=True)}))
            for row in (zip(*columns, strict=True) if columns else [()])
        ]
    except ScenarioError:  # these keys go together with others
        if len(keys) == len(keys_in(data)):
            raise
        return _along(data, scenario, lambda _: True, make)
    return xr.DataArray(np.reshape(numbers, shape), dims=dims)
