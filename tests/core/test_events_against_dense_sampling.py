"""Each event once and in order, against a trajectory sampled 64 times more densely; and what contact does.

The dense run has the same stroke with a 64th of the largest step (see test_order_across_events.py); its rows
are searched for changes of sign without a look at its events.
"""

import math

import numpy as np
from numpy.typing import NDArray

from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.events import FLOW_BAND, HOLD, PRESSURE_BAND, Event
from balltravel.core.parameters import Parameters
from balltravel.core.status import Status
from balltravel.setup.parameters import control_for
from balltravel.setup.runs import Run, run_core

from ..helpers.lowers import column, harmonic, lower, swept

Array = NDArray[np.float64]
Times = dict[tuple[int, int], list[float]]
BALLS = ("inlet", "piston")
DENSER = 64.0
TURNS = {
    (FREE, SEATED): Event.SEATED,
    (FREE, ON_STOP): Event.STOPPED,
    (SEATED, FREE): Event.RELEASED,
    (ON_STOP, FREE): Event.PULLED_OFF,
}
LANDINGS = (Event.SEATED, Event.STOPPED, Event.BOUNCED_ON_SEAT, Event.BOUNCED_ON_STOP)


def random_lower(rng: np.random.Generator, viscosity: float) -> Parameters:
    """Thin or heavy, crank or constant speed, with and without gas, spring and worn seat."""
    rate = rng.uniform(0.3, 0.9)
    ramp, dwell = rng.uniform(0.01, 0.04, 2) / rate
    checks = [
        {
            "spring_preload": rng.choice([0.0, 0.5]),
            "leak_gap": rng.choice([0.0, 1e-5]),
            "ball_density": density,
        }
        for density in rng.choice([3200.0, 7800.0, 14900.0], 2)
    ]
    return lower(
        material={"viscosity": viscosity, "free_gas_fraction": rng.choice([0.0, 0.005, 0.03])},
        inlet_check={"base_travel": rng.uniform(0.002, 0.007), **checks[0]},
        piston_check={"travel": rng.uniform(0.002, 0.007), **checks[1]},
        drive=harmonic(rate)
        if rng.random() < 0.4
        else {"cycle_rate": rate, "ramp_time": ramp, "dwell_time": dwell},
        suction={"hose_length": rng.uniform(0.3, 3.0)},
        outlet={"gauge_pressure": float(10.0 ** rng.uniform(6.0, 7.4))},
    )


def changes(clock: Array, value: Array, band: float, held: NDArray[np.bool_] | None = None) -> list[float]:
    """Where a sampled quantity leaves the band about zero on the other side than before; ``held``: where it
    counts as positive."""
    positive, found = bool(value[0] >= -band), []
    for i, x in enumerate(value):
        if held is not None and held[i]:
            positive = True
        elif (x < -band) if positive else (x > band):
            positive = not positive
            found.append(float(clock[i]))
    return found


def sampled(p: Parameters, run: Run) -> Times:
    """Times at which modes, ball speeds at seat and stop, gaps, flows and the pressure change in the rows,
    but for the last, which is on the clock of the short period."""
    run = run._replace(rows=run.rows[:-1])
    clock, found = column(run, "time"), {}
    flow_band = FLOW_BAND * swept(p) / p.drive.period
    for k, name in enumerate(BALLS):
        mode, w, z = (column(run, f"{name}_{what}") for what in ("mode", "ball_speed", "lift"))
        for (before, after), event in TURNS.items():
            found[event, k] = list(clock[1:][(mode[:-1] == before) & (mode[1:] == after)])
        travel = getattr(p, name).travel
        flying = (mode[:-1] == FREE) & (mode[1:] == FREE)
        up, down = flying & (w[:-1] < 0.0) & (w[1:] > 0.0), flying & (w[:-1] > 0.0) & (w[1:] < 0.0)
        found[Event.BOUNCED_ON_SEAT, k] = list(clock[1:][up & (z[1:] < 1e-9 * travel)])
        found[Event.BOUNCED_ON_STOP, k] = list(clock[1:][down & (z[1:] > (1.0 - 1e-9) * travel)])
        found[Event.GAP_CROSSED, k] = changes(clock, z - getattr(p, name).landing_gap, 0.0)
        flow = column(run, f"{name}_flow")
        found[Event.FLOW_TURNED, k] = changes(clock, flow, flow_band, mode == SEATED)
    found[Event.OUTFLOW_TURNED, 0] = changes(clock, column(run, "outlet_flow"), flow_band)
    above = column(run, "lower_pressure") / p.reference_pressure - 1.0
    found[Event.PRESSURE_CROSSED, 0] = changes(clock, above, PRESSURE_BAND)
    return {key: times for key, times in found.items() if times}


def listed(run: Run) -> Times:
    """Times of the events that the core recorded."""
    found: Times = {}
    for kind, check, time, _ in run.events:
        found.setdefault((Event(int(kind)), int(check)), []).append(float(time))
    return found


def without_hops(found: Times, hold: float) -> Times:
    """The same without the hops of a ball that met seat or stop against its net force: left and met again
    within a hold, whose length is not the same in the dense run."""
    kept = {key: list(times) for key, times in found.items()}
    for leaving, landing in ((Event.RELEASED, Event.SEATED), (Event.PULLED_OFF, Event.STOPPED)):
        for k in range(len(BALLS)):
            for time in list(kept.get((leaving, k), [])):
                landings = kept.get((landing, k), [])
                again = [landed for landed in landings if 0.0 < landed - time < hold]
                if again and any(0.0 <= time - landed < hold for landed in landings):
                    kept[leaving, k].remove(time)
                    kept[landing, k].remove(again[0])
    return {key: times for key, times in kept.items() if times}


def without_dips(found: Times, shortest: float) -> Times:
    """The same without flows that turn and turn back within ``shortest``: a step may pass both at once."""
    kept = dict(found)
    for key in found:
        if key[0] in (Event.FLOW_TURNED, Event.OUTFLOW_TURNED):
            times = list(found[key])
            while times and (close := np.flatnonzero(np.diff(times) < shortest)).size:
                del times[close[0] : close[0] + 2]
            kept[key] = times
    return {key: times for key, times in kept.items() if times}


def without_whispers(found: Times, p: Parameters, run: Run) -> Times:
    """The same without turns of the outlet's flow after which it stays below 1e-5 of the mean flow: at the
    edge of the band within which a sign is not looked at."""
    key = (Event.OUTFLOW_TURNED, 0)
    run = run._replace(rows=run.rows[:-1])
    clock, flow = column(run, "time"), np.abs(column(run, "outlet_flow")) / (swept(p) / p.drive.period)
    times = found.get(key, [])
    ends = [*times[1:], p.drive.period]
    loud = [
        time
        for time, end in zip(times, ends, strict=True)
        if flow[(clock >= time) & (clock <= end)].max(initial=0.0) > 1e-5
    ]
    return {**found, key: loud} if loud else {k: v for k, v in found.items() if k != key}


def test_each_event_is_found_once_and_in_order(within) -> None:
    """Ten random lowers, 0.05 to 30 Pa s: as many of each kind as the samples show, at the same times within
    1e-4 of the cycle (a hold after a landing is a share of the period, 5e-5, and so 64 times shorter in the
    dense run). Events further apart than that are in the same order. What a step may pass over is a flow that
    turns and turns back within it: one is seen, the outlet's at a landing, which is back after a microsecond;
    such dips, of less than 1e-5 of the cycle, are left out. They are marks; no ball depends on them."""
    rng = np.random.default_rng(21)
    worst, count = 0.0, 0
    for viscosity in np.geomspace(0.05, 30.0, 10):
        p = random_lower(rng, float(viscosity))
        T = p.drive.period
        coarse = run_core(p, control_for(p, max_cycles=1))
        short = p._replace(drive=p.drive._replace(period=T / DENSER))
        dense = run_core(short, control_for(p, max_cycles=1))
        assert coarse.status is dense.status is Status.NOT_PERIODIC
        assert len(dense.rows) > 64 / 5e-3
        ours, theirs = (
            without_whispers(without_dips(without_hops(found, HOLD * T), 1e-5 * T), p, run)
            for found, run in ((listed(coarse), coarse), (sampled(p, dense), dense))
        )
        assert {key: len(times) for key, times in ours.items()} == {
            key: len(times) for key, times in theirs.items()
        }, viscosity
        for key, times in ours.items():
            worst = max(worst, float(np.abs(np.array(times) - theirs[key]).max()) / T)
            count += len(times)
        assert (np.diff(coarse.events[:, 2]) >= 0.0).all()
    print(f"{count} events; times apart by {worst:.1e} of the cycle at most")
    within(worst, 2.0 * HOLD)


def test_no_landing_gains_energy_and_no_ball_leaves_its_travel() -> None:
    """Thirty random lowers, 1e-3 to 1e3 Pa s: the speed after a landing is the law's (M7a) share of that
    before, 0 below a Stokes number of 10; every recorded row is within 1e-9 of the travel."""
    rng = np.random.default_rng(22)
    landings, bounced, deepest = 0, 0, 0.0
    for viscosity in np.geomspace(1e-3, 1e3, 30):
        p = random_lower(rng, float(viscosity))
        run = run_core(p, control_for(p, max_cycles=2))
        assert not run.status.failed
        clock = column(run, "time")
        for k, name in enumerate(BALLS):
            check = getattr(p, name)
            w, z = column(run, f"{name}_ball_speed"), column(run, f"{name}_lift") / check.travel
            deepest = max(deepest, -z.min(), z.max() - 1.0)
            mass = check.ball_mass + check.added_mass
            stokes_of = mass / (6.0 * math.pi * viscosity * check.ball_radius**2)
            for _, _, time, speed in run.events[
                (run.events[:, 1] == k) & np.isin(run.events[:, 0], LANDINGS)
            ]:
                rows = np.flatnonzero(clock == time)
                before, after = abs(w[rows[0]]), abs(w[rows[-1]])
                assert before == speed
                St = stokes_of * speed
                kept = 0.97 * math.exp(-35.0 / St) if St >= 10.0 else 0.0
                assert after <= kept * before * (1.0 + 1e-12)
                assert 0.5 * mass * after**2 <= 0.5 * mass * before**2
                landings, bounced = landings + 1, bounced + (after > 0.0)
    print(f"{landings} landings, {bounced} with a rebound; deepest penetration {deepest:.1e} of the travel")
    assert bounced > 20
    assert deepest < 1e-9
