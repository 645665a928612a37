"""Invented lowers for the tests, and ways to bring one to an exact limit.

A limit is reached by replacing fields of the core's parameters, never by changing the core: the same compiled
kernels run as for a user's scenario.
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import closures_at
from balltravel.closures.lift_table import closure_table
from balltravel.core.events import Event
from balltravel.core.parameters import (
    BACKWARD,
    COUPLING,
    FORWARD,
    LIFT_FORCE,
    MASS,
    STREAM,
    Chamber,
    Check,
    Parameters,
)
from balltravel.core.recording import COLUMNS
from balltravel.scenario.model import Scenario, build
from balltravel.setup.parameters import control_for, core_parameters
from balltravel.setup.runs import Run, run_core

Array = NDArray[np.float64]
Closures = Callable[[Array], tuple[Array, Array, Array, Array]]

INLET, PISTON = 0, 1
STIFF = 1e14
"""Bulk modulus [Pa] of a liquid that does not yield: 1e7 Pa squeeze it by 1e-7."""

_SCENARIO: dict[str, dict[str, Any]] = {
    "material": {"viscosity": 5.0, "flow": "Newtonian", "density": 1250.0, "vapour_pressure": 2300.0},
    "lower": {"bore": 0.048, "rod": 0.034, "stroke": 0.09},
    "inlet_check": {
        "ball_diameter": 0.0294,
        "ball_density": 7800.0,
        "seat_diameter": 0.021,
        "seat_length": 0.01,
        "cage_diameter": 0.0378,
        "cage_length": 0.045,
        "stop": "pins",
        "base_travel": 0.005,
    },
    "piston_check": {
        "ball_diameter": 0.0222,
        "ball_density": 7800.0,
        "seat_diameter": 0.016,
        "seat_length": 0.01,
        "cage_diameter": 0.0285,
        "cage_length": 0.04,
        "stop": "pins",
        "travel": 0.005,
    },
    "shims": {"thicknesses": (0.001,), "below": ()},
    "drive": {"profile": "constant speed", "cycle_rate": 0.5, "ramp_time": 0.03, "dwell_time": 0.04},
    "suction": {"hose_length": 1.5, "hose_diameter": 0.038, "lift": 0.3},
    "outlet": {"gauge_pressure": 1e7},
    "target": {"fill_fraction": 0.9, "landing_speed": 0.5},
}


def scenario(**changes: Mapping[str, Any]) -> Scenario:
    """The invented lower with some keys of some tables changed, SI; None takes a key out."""
    tables: dict[str, Any] = {"title": "an invented lower"}
    for name, table in _SCENARIO.items():
        merged = {**table, **changes.get(name, {})}
        tables[name] = {key: value for key, value in merged.items() if value is not None}
    if "closures" in changes:
        tables["closures"] = dict(changes["closures"])
    return build(tables)


def lower(**changes: Mapping[str, Any]) -> Parameters:
    """Its parameters for the core."""
    return core_parameters(scenario(**changes))


def harmonic(cycle_rate: float) -> dict[str, Any]:
    """A crank drive."""
    return {"profile": "harmonic", "cycle_rate": cycle_rate, "ramp_time": None, "dwell_time": None}


def stiff(p: Parameters, gas: float = 1e-12) -> Parameters:
    """The same with a liquid that does not yield and next to no gas."""
    return p._replace(material=p.material._replace(bulk_modulus=STIFF, gas_fraction=gas))


def steady_port(p: Parameters) -> Parameters:
    """The same with so soft an inlet port that its pressure does not move: a tank right below the check."""
    return p._replace(port=Chamber(p.port.volume, 0.0, 1e-3))


def inertialess(check: Check, left: float = 1e-6) -> Check:
    """A ball without inertia (a share ``left`` of it stays, to divide by), with its weight."""
    return check._replace(ball_mass=left * check.ball_mass, added_mass=0.0, coupling_mass=0.0)


def with_closures(check: Check, closures: Closures) -> Check:
    """The same check with other G/gap^2, alpha, S and K_p gap^2 (gap in seat radii) of lift [m], by the law
    of closed forms: kappa of a freely carried ball, no lift force."""
    table, step = closure_table(check.travel, check.table_origin, closures)
    plain = check._replace(measured_force=0.0)
    return plain._replace(table_step=step, table=table)


def creeping(check: Check) -> Check:
    """The same check without the inertial part of its law."""
    table = check.table.copy()
    table[:, FORWARD : BACKWARD + 3, :] = 0.0
    table[:, LIFT_FORCE, :] = 0.0
    return check._replace(table=table)


def far_from_its_seat(check: Check) -> Check:
    """The same check with the liquid's inertia as far from the seat at every lift."""
    table = check.table.copy()
    table[:, [STREAM, MASS, COUPLING]] = 0.0
    table[:, [STREAM, MASS, COUPLING], 3] = 1.0
    return check._replace(table=table)


def with_travel(check: Check, travel: float, closures: Closures) -> Check:
    """The same check with another travel."""
    return with_closures(check._replace(travel=travel), closures)


def quick(check: Check) -> Check:
    """A check that shuts at once: a hair of travel and a small heavy ball on a small seat keep its backflow
    below 1e-6 of swept."""
    small = 0.2
    geometry = CheckGeometry(
        small * check.seat_radius, 1e-3, small * check.ball_radius, 0.03, 0.03, 0.7, 1e-9
    )
    reduced = check._replace(
        seat_radius=geometry.seat_radius,
        ball_radius=geometry.ball_radius,
        ball_mass=small**3 * check.ball_mass,
        added_mass=small**3 * check.added_mass,
        coupling_mass=0.0,
        landing_gap=0.01 * geometry.seat_radius,
        table_origin=0.02 * geometry.seat_radius,
    )
    return creeping(with_travel(reduced, 2e-4, lambda lift: closures_at(geometry, lift)))


def run_cycles(p: Parameters, cycles: int = 60, rtol: float = 1e-6) -> Run:
    """Run at most ``cycles`` cycles."""
    return run_core(p, control_for(p, rtol, cycles))


def column(run: Run, name: str) -> Array:
    """A column of the recorded rows."""
    return run.rows[:, COLUMNS.index(name)]


def swept(p: Parameters) -> float:
    """Volume that one stroke sweeps [m3]."""
    return p.lower.area * p.drive.stroke


def times(run: Run, event: Event, check: int, after: float = 0.0) -> Array:
    """Times of an event of a check from ``after`` [s] on."""
    e = run.events
    return e[(e[:, 0] == event) & (e[:, 1] == check) & (e[:, 2] >= after), 2]


def at(run: Run, name: str, time: float) -> float:
    """A column's last value at a time that has a row (an event, a kink of the stroke)."""
    rows = np.flatnonzero(column(run, "time") == time)
    assert rows.size, f"no row at {time} s"
    return float(column(run, name)[rows[-1]])


def backflow(run: Run, name: str) -> float:
    """What a cumulative volume loses on its falling branches [m3]."""
    return float(-np.minimum(np.diff(column(run, name)), 0.0).sum())
