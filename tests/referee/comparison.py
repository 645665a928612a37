"""The core beside the referee: the second cycle from rest, event by event and volume by volume."""

from typing import Any, NamedTuple

import numpy as np
from referee import solver

from balltravel.core.events import Event
from balltravel.core.recording import COLUMNS
from balltravel.parameters import control_for, core_parameters
from balltravel.scenario import Scenario
from balltravel.simulation import Run, run_core

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
}  # fmt: skip
CHECKS = ("inlet", "piston")

Told = tuple[str, str, float]


class Comparison(NamedTuple):
    """Largest difference of a contact's time over the period, of a closing time, of a volume over swept;
    whether the contacts are the same in the same order; the smallest speed of a contact over S f."""

    contact: float
    closing: float
    volume: float
    same: bool
    gentlest: float
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


def compare(scenario: Scenario, rtol: float = 1e-9, referee_rtol: float = 1e-10) -> Comparison:
    """Run two cycles from rest by both, and compare the second."""
    p = core_parameters(scenario)
    run = run_core(p, control_for(p, rtol, 2, 200_000))
    result = solver.run(scenario, 2, referee_rtol)
    cycle = result.cycles[1]
    mine, other = core_contacts(run), referee_contacts(cycle)
    same = [one[:2] for one in mine] == [one[:2] for one in other]
    pairs = list(zip(mine, other, strict=True)) if same else []
    gaps = [(a[0], abs(a[2] - b[2]) / p.drive.period) for a, b in pairs]
    swept = p.lower.area * p.drive.stroke
    volumes = [abs(run.rows[-1, COLUMNS.index(name)] - cycle.volumes[key]) for key, name in VOLUMES.items()]
    speeds = [e.value for e in cycle.events if e.kind in ("landed", "reached stop", "bounced")]
    return Comparison(
        contact=max((gap for _, gap in gaps), default=np.inf if not same else 0.0),
        closing=max((gap for kind, gap in gaps if kind == "landed"), default=np.inf if not same else 0.0),
        volume=max(volumes) / swept,
        same=same,
        gentlest=min(speeds, default=np.inf) / (p.drive.stroke / p.drive.period),
        core=mine,
        referee=other,
        seconds=sum(one.seconds for one in result.cycles),
    )
