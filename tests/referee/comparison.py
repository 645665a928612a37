"""The core beside the referee: the second cycle from rest, event by event and volume by volume."""

from typing import Any, NamedTuple

import numpy as np
from referee import solver

from balltravel.core.contact import FREE
from balltravel.core.events import Event
from balltravel.core.recording import COLUMNS
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import RTOL, control_for, core_parameters
from balltravel.setup.runs import Run, run_core

CONTACTS = {
    Event.SEATED: "landed",
    Event.STOPPED: "reached stop",
    Event.RELEASED: "released",
    Event.PULLED_OFF: "left stop",
    Event.BOUNCED_ON_SEAT: "bounced",
    Event.BOUNCED_ON_STOP: "bounced",
}
VOLUMES = {
    "V_i": "drawn_volume", "V_p": "passed_volume", "V_o": "delivered_volume", "V_s": "line_volume",
    "V_pack": "packing_volume", "V_rod": "rod_volume", "V_tip": "sprayed_volume",
}  # fmt: skip
CHECKS = ("inlet", "piston")

NEAR_MISS, NEUTRAL = 1e-3, 0.1
"""A ball that turns back within this share of its travel before seat or stop only just missed it; a ball
whose density differs by less than this share from the material's is nearly neutral."""

Told = tuple[str, str, float]


class Comparison(NamedTuple):
    """Largest difference of a contact's time (or of when a segment of the stroke ends, which with a motor is
    a result) over the period, of a closing time, of a volume over swept; whether the contacts are the same in
    the same order; the first and third once more at the core's usual tolerance; the smallest speed of a
    contact over S f; how often a ball just missed seat or stop; how many balls are nearly neutral."""

    contact: float
    closing: float
    volume: float
    same: bool
    usual_contact: float
    usual_volume: float
    gentlest: float
    near_misses: int
    nearly_neutral: int
    core: list[Told]
    referee: list[Told]
    seconds: float


def core_contacts(run: Run) -> list[Told]:
    """What happened to the balls, by the core: (what, check, time)."""
    told = [(Event(int(e[0])), CHECKS[int(e[1])], float(e[2])) for e in run.events]
    return [(CONTACTS[kind], check, time) for kind, check, time in told if kind in CONTACTS]


def referee_contacts(cycle: Any) -> list[Told]:
    """The same by the referee."""
    return [(e.kind, e.check, e.time) for e in cycle.events if e.kind in CONTACTS.values()]


def near_misses(run: Run, travels: tuple[float, float]) -> int:
    """Turns of a free ball just before seat or stop: where a small error could make or unmake a contact."""
    found = 0
    for check, travel in zip(CHECKS, travels, strict=True):
        lift, speed, mode = (
            run.rows[:, COLUMNS.index(f"{check}_{what}")] for what in ("lift", "ball_speed", "mode")
        )
        free = (mode[:-1] == FREE) & (mode[1:] == FREE)
        turns = free & (speed[:-1] * speed[1:] < 0.0)
        nearest = np.minimum(np.minimum(lift[:-1], lift[1:]), travel - np.maximum(lift[:-1], lift[1:]))
        # A bounce turns the ball at the wall itself: there both rows lie on it.
        found += int(np.count_nonzero(turns & (nearest < NEAR_MISS * travel) & (nearest > 1e-9 * travel)))
    return found


def nearly_neutral(scenario: Scenario) -> int:
    """Balls that hardly weigh anything in the material."""
    rho = scenario.material.density
    balls = (scenario.inlet_check.ball_density, scenario.piston_check.ball_density)
    return sum(abs(ball - rho) < NEUTRAL * rho for ball in balls)


def clock_of(run: Run) -> Any:
    """When the segments of the stroke began and the last one ended, those of no length left out."""
    return run.clock[np.append(np.diff(run.clock) > 0.0, True)]


def beside(run: Run, cycle: Any, swept: float) -> tuple[float, float, float, bool]:
    """Largest difference of a contact's or a segment's time and of a closing time over the period, of a
    volume over swept; whether the contacts are the same in the same order (else both times are infinite)."""
    period = cycle.clock[-1]
    mine, other = core_contacts(run), referee_contacts(cycle)
    same = [one[:2] for one in mine] == [one[:2] for one in other]
    pairs = list(zip(mine, other, strict=True)) if same else []
    gaps = [(a[0], abs(a[2] - b[2]) / period) for a, b in pairs]
    volumes = [abs(run.rows[-1, COLUMNS.index(name)] - cycle.volumes[key]) for key, name in VOLUMES.items()]
    nothing = 0.0 if same else np.inf
    clock = np.abs(clock_of(run) - cycle.clock).max() / period
    contact = max([clock, *(gap for _, gap in gaps)], default=nothing) if same else np.inf
    closing = max((gap for kind, gap in gaps if kind == "landed"), default=nothing)
    return contact, closing, max(volumes) / swept, same


def compare(scenario: Scenario, rtol: float = 1e-9, referee_rtol: float = 1e-10) -> Comparison:
    """Run two cycles from rest by both, and compare the second."""
    p = core_parameters(scenario)
    swept, period = p.lower.area * p.drive.stroke, p.drive.period
    run, usual = (
        run_core(p, control_for(p, tolerance, 2, 200_000)._replace(max_cycles=2))
        for tolerance in (rtol, RTOL)
    )
    result = solver.run(scenario, 2, referee_rtol)
    cycle = result.cycles[1]
    contact, closing, volume, same = beside(run, cycle, swept)
    usual_contact, _, usual_volume, _ = beside(usual, cycle, swept)
    speeds = [e.value for e in cycle.events if e.kind in ("landed", "reached stop", "bounced")]
    return Comparison(
        contact=contact,
        closing=closing,
        volume=volume,
        same=same,
        usual_contact=usual_contact,
        usual_volume=usual_volume,
        gentlest=min(speeds, default=np.inf) / (p.drive.stroke / period),
        near_misses=near_misses(run, (p.inlet.travel, p.piston.travel)),
        nearly_neutral=nearly_neutral(scenario),
        core=core_contacts(run),
        referee=referee_contacts(cycle),
        seconds=sum(one.seconds for one in result.cycles),
    )


def verdict(within: Any, name: str, compared: Comparison) -> None:
    """Print how near both are; fails beyond 1e-6 of period and swept, or where the contacts differ."""
    print(
        f"{name}: contacts {compared.contact:.1e} of the period, volumes {compared.volume:.1e} of swept; "
        f"at the usual tolerance {compared.usual_contact:.1e}, {compared.usual_volume:.1e}; "
        f"gentlest contact {compared.gentlest:.1e}, near misses {compared.near_misses}, "
        f"nearly neutral {compared.nearly_neutral}"
    )
    assert compared.same, (compared.core, compared.referee)
    within([compared.contact, compared.volume], 1e-6)
