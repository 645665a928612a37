"""Of a sweep over cycle rates, the largest rate that meets the targets, for every combination of the
others."""

from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from balltravel.study.swept.cases import asked_in, no_sweep, reached_in, scenario_in, shortfalls_in
from balltravel.study.travel.trials import NO_DELIVERY

RATE = "drive_cycle_rate"

BOUNDED = ("interpolated", "next_rate_failed", "upper_end", "none_meets")
"""What lies above the largest rate that meets the targets: a rate that misses one, between which and it the
limit is interpolated; one whose run failed, or that misses what cannot be interpolated; no rate; or there is
none that meets them."""

LIMITS = ("nothing", "fill", "delivery", "landing", "gap", "pumping", "feed", "failed_run")
"""The target that is missed first above that rate."""

Array = NDArray[Any]


def envelope(data: xr.Dataset) -> xr.Dataset:
    """The largest cycle rate that meets the targets, for every combination of the other inputs of a sweep.

    data: a sweep with ``drive.cycle_rate`` in its grid. Targets are those of the scenario, the default ones
    of fill and landing among them. Between the last rate that meets them and the next one the limit is
    interpolated linearly, where both runs succeeded.

    Returns a Dataset over the other dimensions: ``cycle_rate`` [1/s], nan where no rate meets them;
    ``bounded``: how it was found, or at which end it lies (BOUNDED); ``limited_by``: the target that is
    missed above it (LIMITS); ``all_slower_meet``: whether all slower rates that were run meet the targets
    as well. Raises ScenarioError where the cycle rate is no dimension.
    """
    scenario = scenario_in(data)
    if RATE not in data.dims:
        told = ", ".join(map(str, data["status"].dims)) or "none"
        allowed = "a sweep with drive.cycle_rate in its grid"
        raise no_sweep(f"a Dataset with the dimensions {told} given", allowed)
    data = data.sortby(RATE)
    rest = [str(dim) for dim in data["status"].dims if dim != RATE]

    def along_rate(values: Any) -> Array:
        whole = (values + xr.zeros_like(data["status"], float)).transpose(*rest, RATE)
        return np.asarray(whole.values).reshape(-1, data.sizes[RATE])

    short = {name: along_rate(by) for name, by in shortfalls_in(data, scenario).items()}
    asked, reached = asked_in(data, scenario), reached_in(data, scenario)
    margins = {
        "fill": along_rate(reached.fill - asked.fill),
        "delivery": along_rate(reached.delivery - asked.delivery),
        "landing": along_rate(asked.landing - reached.landing),
        "pumping": along_rate(reached.delivery - NO_DELIVERY),
    }
    return _told(data, rest, _limits(data[RATE].values, short, margins))


def _limits(rates: Array, short: dict[str, Array], margins: dict[str, Array]) -> dict[str, Array]:
    """Limit, how it is bounded and by what, of every line of cases along the rates."""
    lacking = np.sum(list(short.values()), axis=0)  # nan where a run failed, which meets nothing
    meets = lacking == 0.0
    any_meets, top = meets.any(axis=1), rates.size - 1
    last = top - np.argmax(meets[:, ::-1], axis=1)
    above = np.minimum(last + 1, top)
    lines = np.arange(len(meets))
    slower, faster = rates[last], rates[above]
    crossing, by = np.full(len(meets), np.inf), np.zeros(len(meets), np.int8)
    for name, lacks in short.items():
        missed = lacks[lines, above] > 0.0
        if name in margins:
            here, there = margins[name][lines, last], margins[name][lines, above]
            with np.errstate(divide="ignore", invalid="ignore"):
                at = slower + (faster - slower) * here / (here - there)
        else:
            at = slower
        first = missed & (at < crossing)
        crossing, by = np.where(first, at, crossing), np.where(first, LIMITS.index(name), by)
    failed = np.isnan(lacking[lines, above])
    smooth = np.isin(by, [LIMITS.index(name) for name in margins])
    at_end = last == top
    bounded = np.select([~any_meets, at_end, failed | ~smooth], [3, 2, 1], 0)
    by = np.select([at_end | ~any_meets, failed], [0, LIMITS.index("failed_run")], by)
    rate = np.select([~any_meets, bounded == 0], [np.nan, crossing], slower)
    below = np.arange(rates.size) < last[:, None]
    return {
        "cycle_rate": rate,
        "bounded": bounded.astype(np.int8),
        "limited_by": by.astype(np.int8),
        "all_slower_meet": ((meets | ~below).all(axis=1) & any_meets).astype(np.int8),
    }


def _told(data: xr.Dataset, rest: list[str], limits: dict[str, Array]) -> xr.Dataset:
    def flags(meanings: tuple[str, ...]) -> dict[str, Any]:
        return {"flag_values": np.arange(len(meanings), dtype=np.int8), "flag_meanings": " ".join(meanings)}

    about: dict[str, dict[str, Any]] = {
        "cycle_rate": {"units": "s-1", "long_name": "largest cycle rate that meets the targets"},
        "bounded": {**flags(BOUNDED), "long_name": "what bounds the cycle rate"},
        "limited_by": {**flags(LIMITS), "long_name": "target that is missed above it"},
        "all_slower_meet": {**flags(("no", "yes")), "long_name": "whether all slower rates meet the targets"},
    }
    shape = tuple(data.sizes[name] for name in rest)
    told = {name: (rest, values.reshape(shape), about[name]) for name, values in limits.items()}
    kept = [name for name, values in data.coords.items() if set(values.dims) <= set(rest)]
    return xr.Dataset(told, {name: data.coords[name] for name in kept}, data.attrs)
