"""Of a sweep over arrangements of the shims, the best one for every combination of the other inputs."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from balltravel.study.swept.cases import asked_in, counts, keys_in, no_sweep, scenario_in, shortfalls_in
from balltravel.study.travel.trials import NO_DELIVERY, by_nearness, ranked

ARRANGEMENTS = ("shims_below", "inlet_check_base_travel")
"""Dimensions of which the best is chosen."""

TAKEN_OVER = (
    "ball_travel", "volumetric_efficiency", "fill_fraction", "inlet_landing_speed", "outside_range", "status",
)  # fmt: skip
"""What is told of the chosen case, beside its arrangement."""


KEPT, NOT_KEPT = "with the reserve for heavier material", "no reserve for heavier material"


class Tried(NamedTuple):
    """A case as the order of preference looks at it, and its place among its rivals."""

    place: int
    delivery: float
    assured: float
    landing: float
    ball_travel: float
    shortfall: float

    @property
    def complete(self) -> bool:
        """Whether it was simulated to the end."""
        return self.delivery == self.delivery


def best_travel(data: xr.Dataset, heavier: xr.Dataset | None = None) -> xr.Dataset:
    """The arrangement that ``recommend`` would choose, for every combination of the other inputs of a sweep.

    data: a sweep with ``shims.below`` or ``inlet_check.base_travel`` in its grid. heavier: the same sweep of
    the scenario with 1.2 times its ``material.viscosity_factor``, by which ``recommend`` keeps a reserve;
    without it none is kept. As there, targets that nobody set refuse nothing.

    Returns a Dataset over the other dimensions: the arrangement, ``ball_travel`` [m], its numbers,
    ``targets_met`` (1, or 0: it is the one that misses least of them) and ``shortfall`` (what is missing
    of the targets that were set, each over the target); nan where no arrangement pumps. Raises
    ScenarioError where neither shims nor travel is a dimension.
    """
    scenario = scenario_in(data)
    over = [name for name in ARRANGEMENTS if name in data.dims]
    if not over:
        told = ", ".join(map(str, data["status"].dims)) or "none"
        allowed = "a sweep with shims.below or inlet_check.base_travel in its grid"
        raise no_sweep(f"a Dataset with the dimensions {told} given", allowed)
    rest = [str(dim) for dim in data["status"].dims if dim not in over]
    short = shortfalls_in(data, scenario)
    missing: Any = sum(by for name, by in short.items() if counts(name, data, scenario))
    rows = {
        "delivery": data["volumetric_efficiency"],
        "assured": _assured(data, heavier),
        "landing": data["inlet_landing_speed"],
        "ball_travel": data["ball_travel"],
        "shortfall": missing,
        "feed": short["feed"],
        "landing_target": asked_in(data, scenario).landing,
    }
    flat = {name: _rivals(row, data, rest, over) for name, row in rows.items()}
    chosen = np.array([_chosen(*row) for row in zip(*flat.values(), strict=True)], int)
    best = _told(data, missing, chosen, rest, over)
    return best.assign_attrs(reserve=KEPT if heavier is not None else NOT_KEPT)


def _assured(data: xr.Dataset, heavier: xr.Dataset | None) -> xr.DataArray:
    """The lesser of delivery now and in heavier material, where that was run and did not fail."""
    now = data["volumetric_efficiency"]
    if heavier is None:
        return now
    scenario_in(heavier)
    alike = heavier["status"].dims == data["status"].dims and keys_in(heavier) == keys_in(data)
    if not alike or not all(data[name].equals(heavier[name]) for name in keys_in(data).values()):
        raise no_sweep("heavier: a sweep over other values given", "the same grid and samples as of data")
    return now.copy(data=np.fmin(now.values, heavier["volumetric_efficiency"].values)).where(now.notnull())


def _rivals(row: xr.DataArray, data: xr.Dataset, rest: Sequence[str], over: Sequence[str]) -> NDArray[Any]:
    """An array with a line for each combination of the other inputs, its arrangements in it."""
    whole = row.reset_coords(drop=True).broadcast_like(data["status"]).transpose(*rest, *over)
    return whole.values.reshape(-1, int(np.prod([data.sizes[name] for name in over])))


def _chosen(
    delivery: NDArray[np.float64],
    assured: NDArray[np.float64],
    landing: NDArray[np.float64],
    travel: NDArray[np.float64],
    shortfall: NDArray[np.float64],
    feed: NDArray[np.float64],
    landing_target: NDArray[np.float64],
) -> int:
    """The place of the best of some arrangements; -1 where none pumps by the piston."""
    table = (column.tolist() for column in (delivery, assured, landing, travel, shortfall))
    tried = [Tried(place, *row) for place, row in enumerate(zip(*table, strict=True))]
    meeting = [trial for trial in tried if trial.shortfall == 0.0]
    order = ranked(meeting, float(landing_target[0])) or by_nearness(tried)
    return next((t.place for t in order if t.delivery >= NO_DELIVERY and not feed[t.place] > 0.0), -1)


def _told(
    data: xr.Dataset,
    missing: xr.DataArray,
    chosen: NDArray[np.int_],
    rest: Sequence[str],
    over: Sequence[str],
) -> xr.Dataset:
    """The numbers of the chosen cases over the other inputs."""
    shape, none = tuple(data.sizes[name] for name in rest), chosen < 0

    def picked(row: xr.DataArray) -> NDArray[Any]:
        values = _rivals(row, data, rest, over)[np.arange(chosen.size), np.maximum(chosen, 0)]
        nothing = np.nan if values.dtype.kind == "f" else "" if values.dtype.kind in "UO" else values
        return np.where(none, nothing, values).reshape(shape)

    told = {name: (rest, picked(data[name]), data[name].attrs) for name in (*over, *TAKEN_OVER)}
    about = {"units": "1", "long_name": "missing of the targets that were set, each over the target"}
    told["shortfall"] = (rest, picked(missing), about)
    flags = {"flag_values": np.array([0, 1], np.int8), "flag_meanings": "no yes"}
    met = (told["shortfall"][1] == 0.0).astype(np.int8)
    told["targets_met"] = (rest, met, {**flags, "long_name": "whether it meets the targets that were set"})
    kept = [name for name, values in data.coords.items() if set(values.dims) <= set(rest)]
    return xr.Dataset(told, {name: data.coords[name] for name in kept}, data.attrs)
