"""Of a sweep over samples: how often each arrangement meets the targets, and which key decides."""

from collections.abc import Sequence
from functools import reduce
from operator import and_
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from balltravel.scenario.arguments import SEED
from balltravel.study.swept.best_travel import ARRANGEMENTS
from balltravel.study.swept.cases import keys_in, met_in, no_sweep, scenario_in
from balltravel.study.verdict.choice import Reach
from balltravel.study.verdict.deciding import counts, worthwhile_cut
from balltravel.study.verdict.knowing import Known, Saving, saving
from balltravel.study.verdict.thresholds import Threshold
from balltravel.sweeps.plan import CASE
from balltravel.sweeps.values import READINGS

Array = NDArray[np.float64]

NO_SAMPLES = "a sweep with samples of one key or more"

EXAMPLE = 'sweep(scenario, {"shims.below": [(), (1,)]}, samples=balltravel.samples_of(scenario, 64))'


def chance(data: xr.Dataset) -> xr.Dataset:
    """How often the targets are met: the share of the samples, by arrangement and whatever else is swept.

    data: a sweep with ``samples``; a key of its grid that has one value is a scalar coordinate of the
    result. Targets that nobody set refuse nothing; a run that failed meets none.

    Returns a Dataset over the other dimensions: ``chance``, that all targets are met, from 0 to 1; and
    ``sampling_error``, its standard deviation by the number of samples had they been drawn at random (Sobol
    points err by less). It is 0 where all or none meet them, which of few samples is not sure. Raises
    ScenarioError where there are no samples.
    """
    scenario = scenario_in(data)
    if CASE not in data.dims:
        raise _refused(data, NO_SAMPLES)
    data = _without_single_values(data)
    met = reduce(and_, met_in(data, scenario).values())
    share = met.mean(CASE)
    error = (share * (1.0 - share) / data.sizes[CASE]) ** 0.5
    told = {
        "chance": share.assign_attrs(units="1", long_name="share of the samples that meet the targets"),
        "sampling_error": error.assign_attrs(units="1", long_name="standard deviation of that share"),
    }
    return xr.Dataset(told, attrs={**data.attrs, "samples": data.sizes[CASE]})


def what_decides(data: xr.Dataset, seed: int = 0) -> xr.Dataset:
    """On which sampled key the choice of the arrangement hangs: what it would save to know each.

    data: a sweep with ``samples`` along ``case``, and ``shims.below`` or ``inlet_check.base_travel`` alone in
    its grid, beside keys of one value. What an arrangement costs in a sample is what it delivers less than
    the best one, over swept, and 8 % where it misses a target that another meets, as in the verdict of
    ``recommend``. ``seed``, 0 to 999 999: of the orders and resamples by which chance is judged.

    Returns a Dataset over the ``key``, the one that saves most first: ``saved`` on average, over swept, and
    the ``noise`` that chance alone would show in 95 of 100; ``decides``: 1 where it is twice its noise
    and 0.25 % of swept at least, else 0; ``at``: above which value [SI] another arrangement is better, with
    ``low`` and ``high``, between which that lies in 90 of 100 resamples; and the arrangements ``below`` and
    ``above`` it; nan, and empty, where a key does not decide, has no such value, or has names. Raises
    ScenarioError for another sweep.
    """
    scenario, number = scenario_in(data), SEED.checked(seed)
    data = _without_single_values(data)
    over = [name for name in ARRANGEMENTS if name in data.dims]
    if CASE not in data.dims or len(over) != 1 or len(data["status"].dims) != 2:
        raise _refused(
            data, f"{NO_SAMPLES}, and in its grid several values of {' or '.join(ARRANGEMENTS)} alone"
        )
    data = data.isel({over[0]: np.argsort(_travels(data), kind="stable")})
    rows = {name: met.transpose(CASE, *over).values for name, met in met_in(data, scenario).items()}
    loss = Reach(data["volumetric_efficiency"].transpose(CASE, *over).values, rows).loss
    sampled = {key: name for key, name in keys_in(data).items() if data[name].dims == (CASE,)}
    known = {key: _known(data[name]) for key, name in sampled.items() if key != READINGS}
    savings = {key: saving(loss, values, number) for key, values in known.items()}
    order = sorted(known, key=lambda key: -savings[key].saved)
    cuts = [_cut(known[key], savings[key], loss, number) for key in order]
    return (
        _told([savings[key] for key in order], cuts, data[over[0]])
        .assign_coords(key=("key", np.array(order), {"long_name": "sampled key"}))
        .assign_attrs(data.attrs)
    )


def _without_single_values(data: xr.Dataset) -> xr.Dataset:
    """The sweep with a key of one value as a scalar coordinate; samples and arrangements stay as they are."""
    kept = (CASE, *ARRANGEMENTS)
    return data.squeeze([dim for dim in data["status"].dims if dim not in kept and data.sizes[dim] == 1])


def _refused(data: xr.Dataset, allowed: str) -> Exception:
    told = ", ".join(map(str, data["status"].dims)) or "none"
    return no_sweep(f"a Dataset with the dimensions {told} given", allowed, EXAMPLE)


def _known(samples: xr.DataArray) -> Known:
    """Numbers, or names, one a sample."""
    return np.asarray(samples.values, np.float64 if samples.dtype.kind in "iuf" else object)


def _travels(data: xr.Dataset) -> Array:
    """The ball travel of each arrangement [m], by the mean of all samples where it is drawn too."""
    travel = data["ball_travel"]
    return np.asarray(travel.mean(CASE).values if CASE in travel.dims else travel.values)


def _cut(x: Known, found: Saving, loss: Array, seed: int) -> Threshold | None:
    """Above which value another arrangement is better, of numbers that decide."""
    if x.dtype == object or not counts(found):
        return None
    return worthwhile_cut(np.asarray(x, np.float64), found, loss, seed)


def _told(
    savings: Sequence[Saving], cuts: Sequence[Threshold | None], arrangements: xr.DataArray
) -> xr.Dataset:
    """A line a key."""
    labels = arrangements.values
    none: Any = "" if labels.dtype.kind in "UO" else np.nan

    def of_cuts(name: str) -> Array:
        return np.array([np.nan if cut is None else getattr(cut, name) for cut in cuts])

    def arrangement(name: str) -> NDArray[Any]:
        return np.array([none if cut is None else labels[getattr(cut, name)] for cut in cuts])

    def words(about: str, **more: Any) -> dict[str, Any]:
        return {"long_name": about, **more}

    flags = {"flag_values": np.array([0, 1], np.int8), "flag_meanings": "no yes"}
    better = "better arrangement"
    told: dict[str, tuple[Any, dict[str, Any]]] = {
        "saved": ([s.saved for s in savings], words("saved on average by knowing it, over swept", units="1")),
        "noise": ([s.noise for s in savings], words("what chance alone would show", units="1")),
        "decides": (np.array([counts(s) for s in savings], np.int8), words("whether it decides", **flags)),
        "at": (of_cuts("at"), words("value above which another arrangement is better, in SI units")),
        "low": (of_cuts("low"), words("5 of 100 resamples have it below")),
        "high": (of_cuts("high"), words("5 of 100 resamples have it above")),
        "below": (arrangement("below"), words(f"{better} below that value")),
        "above": (arrangement("above"), words(f"{better} above that value")),
    }
    return xr.Dataset({name: ("key", values, about) for name, (values, about) in told.items()})
