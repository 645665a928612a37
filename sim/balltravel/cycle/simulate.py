"""From a scenario to the cycle it settles into: the one seam between people and the compiled core."""

from collections.abc import Mapping
from importlib.metadata import version

import numpy as np
import xarray as xr

from balltravel import __version__
from balltravel.core.events import Event
from balltravel.core.parameters import Array, Parameters
from balltravel.core.recording import COLUMNS
from balltravel.cycle.found_rate import at_found_rate
from balltravel.cycle.validity import excursions, outside, to_json
from balltravel.scenario import model as described
from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS, RTOL, control_for, core_parameters
from balltravel.setup.runs import Run, run_core

_TIME_VARIABLES = {
    "piston_position": ("m", "piston above bottom dead centre"),
    "piston_speed": ("m s-1", "piston speed, upwards positive"),
    "line_flow": ("m3 s-1", "flow in the suction line"),
    "outlet_flow": ("m3 s-1", "flow out of the outlet"),
    "port_pressure": ("Pa", "absolute pressure at the inlet port"),
    "lower_pressure": ("Pa", "absolute pressure in the lower chamber"),
    "upper_pressure": ("Pa", "absolute pressure in the upper chamber"),
    "port_surplus": ("m3", "contents less volume at the inlet port"),
    "lower_surplus": ("m3", "contents less volume of the lower chamber"),
    "upper_surplus": ("m3", "contents less volume of the upper chamber"),
    "delivered_volume": ("m3", "net volume out of the outlet since the cycle began"),
    "line_volume": ("m3", "net volume through the suction line since the cycle began"),
    "position_integral": ("m", "piston position, integrated like the volumes"),
    "packing_volume": ("m3", "net volume past the piston packing, downwards, since the cycle began"),
    "rod_volume": ("m3", "net volume past the rod packing since the cycle began"),
    "sprayed_volume": ("m3", "net volume through the tip since the cycle began"),
    "tip_pressure": ("Pa", "absolute pressure before the tip; 0 without one"),
    "tip_flow": ("m3 s-1", "flow through the tip; 0 without one"),
}

_CHECK_VARIABLES = {
    "lift": ("inlet_lift", "piston_lift", "m", "lift of the ball above its seat"),
    "ball_speed": ("inlet_ball_speed", "piston_ball_speed", "m s-1", "ball speed in its cage, upwards"),
    "flow": ("inlet_flow", "piston_flow", "m3 s-1", "flow through the check, its open direction positive"),
    "passed_volume": ("drawn_volume", "passed_volume", "m3", "net volume through since the cycle began"),
    "contact": ("inlet_mode", "piston_mode", "1", "0 on its seat, 1 free, 2 on its stop"),
}


def _quantity(dims: tuple[str, ...], values: object, units: str, long_name: str) -> xr.Variable:
    return xr.Variable(dims, values, {"units": units, "long_name": long_name})


def _constants(p: Parameters, clock: Array) -> dict[str, xr.Variable]:
    """What the metrics need to know of the lower, beside its motion."""
    both = (p.inlet, p.piston)
    c = ("check",)
    m = p.material
    return {
        "swept_volume": _quantity((), p.lower.area * p.drive.stroke, "m3", "bore area times stroke"),
        "bore_area": _quantity((), p.lower.area, "m2", "bore area"),
        "annulus_area": _quantity((), -p.upper.area, "m2", "bore area less rod area"),
        "stroke": _quantity((), p.drive.stroke, "m", "stroke"),
        "period": _quantity((), clock[-1], "s", "time of a cycle"),
        "top_dead_centre": _quantity((), clock[p.drive.turn], "s", "time of the reversal at the top"),
        "outlet_pressure": _quantity((), p.outlet_pressure, "Pa", "absolute outlet pressure"),
        "barometric_pressure": _quantity((), p.reference_pressure, "Pa", "pressure at which volumes count"),
        "vapour_pressure": _quantity((), m.vapour_pressure, "Pa", "absolute vapour pressure"),
        "travel": _quantity(c, [b.travel for b in both], "m", "ball travel"),
        "landing_gap": _quantity(c, [b.landing_gap for b in both], "m", "lift where landing speed is taken"),
        "moving_mass": _quantity(
            c, [b.ball_mass + b.added_mass for b in both], "kg", "ball with the liquid that it moves"
        ),
    }


def _void_volume(p: Parameters, rows: Mapping[str, Array]) -> Array:
    """Gas and vapour in the lower chamber less the free gas's own volume at the atmosphere [m3] (M2)."""
    contents = p.lower.volume + p.lower.area * rows["piston_position"] + rows["lower_surplus"]
    free = p.material.gas_fraction * contents
    above = p.reference_pressure - p.material.vapour_pressure
    expanded = above / (rows["lower_pressure"] - p.material.vapour_pressure)
    return np.maximum(0.0, (free + rows["lower_gas"]) * expanded - free)


def to_dataset(p: Parameters, result: Run) -> xr.Dataset:
    """The last cycle of a run, SI units, with its events."""
    rows = dict(zip(COLUMNS, result.rows.T, strict=True))
    data = {
        name: _quantity(("time",), rows[name], units, text) for name, (units, text) in _TIME_VARIABLES.items()
    }
    for name, (inlet, piston, units, text) in _CHECK_VARIABLES.items():
        data[name] = _quantity(("time", "check"), np.stack([rows[inlet], rows[piston]], 1), units, text)
    void = _void_volume(p, rows)
    data["void_volume"] = _quantity(("time",), void, "m3", "gas and vapour beyond the free gas's own volume")
    for column, (name, units, text) in enumerate(
        (
            ("event_kind", "1", "kind of event: " + ", ".join(f"{e.value} {e.name}" for e in Event)),
            ("event_check", "1", "0 inlet check, 1 piston check"),
            ("event_time", "s", "time of the event"),
            ("event_value", "1", "speed of the ball [m s-1], or sign after the event"),
        )
    ):
        data[name] = _quantity(("event",), result.events[:, column], units, text)
    coordinates = {
        "time": _quantity(("time",), rows["time"], "s", "time since the reversal at bottom dead centre"),
        "check": xr.Variable(("check",), ["inlet", "piston"]),
    }
    return xr.Dataset({**data, **_constants(p, result.clock)}, coordinates)


def _with_ranges(data: xr.Dataset, scenario: described.Scenario, result: Run) -> xr.Dataset:
    """Add where and how far closures were used outside their range."""
    rows = dict(zip(COLUMNS, result.rows.T, strict=True))
    complete = not result.status.failed
    mask = outside(scenario, rows).astype(np.int8) if complete else np.zeros(len(result.rows), np.int8)
    data["outside_range"] = _quantity(("time",), mask, "1", "1 where a closure is outside its range")
    data.attrs["excursions"] = to_json(excursions(scenario, rows) if complete else ())
    return data


def simulate(
    scenario: described.Scenario,
    rtol: float = RTOL,
    max_cycles: int = MAX_CYCLES,
    most_steps: int = MOST_STEPS,
) -> xr.Dataset:
    """Run a scenario until its cycle repeats, and return that cycle. Where the tip and its pressure are given
    and not the cycle rate, at the rate that is found (``attrs["scenario"]`` has it).

    Dataset over ``time`` [s] (accepted steps, uneven, events twice where something jumps), ``check`` (inlet,
    piston) and ``event``; SI units in the attributes. ``attrs["status"]`` names how the run ended,
    ``attrs["advice"]`` says it in a sentence; a failed run has the rows it got to. ``attrs["excursions"]``:
    closures outside their range (JSON, see validity). rtol: 1e-9 to 1e-3; most_steps: at most 200 000.
    """
    if scenario.outlet.form == "tip at pressure":
        scenario = at_found_rate(scenario)
    p = core_parameters(scenario)
    result = run_core(p, control_for(p, rtol, max_cycles, most_steps))
    data = to_dataset(p, result)
    data.attrs = {
        "Conventions": "CF-1.11",
        "title": scenario.title,
        "source": f"balltravel {__version__}",
        "scenario": scenario.model_dump_json(),
        "status": result.status.name.lower(),
        "status_code": int(result.status),
        "advice": result.status.advice,
        "cycles": result.cycles,
        "delivered_change": result.delivered_change,
        "rtol": rtol,
        "versions": f"numpy {np.__version__}, numba {version('numba')}, xarray {xr.__version__}",
    }
    return _with_ranges(data, scenario, result)
