"""The first minutes: what to look and listen for in this job, what matters most in it first."""

from typing import NamedTuple

from balltravel.cycle.metrics import Metrics
from balltravel.report.tables import bench, in_mercury
from balltravel.report.text.card.record import Sign
from balltravel.scenario.model import Scenario
from balltravel.study.travel.trials import Trial

MATTERS = 0.5
"""Weight from which on a sign is on the list (our choice)."""

FEWEST, MOST = 3, 5
"""Rows beside that of creep, which is always there: a lower that was open can leak."""

LATE = 0.02
"""Backflow through the inlet check, of swept, that somebody notices (our choice)."""

THICKER = 0.05
"""Delivery lost at a fifth more viscosity, of swept, that somebody notices (our choice)."""

HIGH_VACUUM = 0.5
"""Share of the pressure on the tank that the way to the inlet may take (our choice)."""

CREEP = Sign(
    "Outlet closed, and the rod still creeps",
    "Creeps up: piston ball, its seat or the lower packing leaks. Creeps down: the foot valve leaks. Both "
    "ways: upper (throat) packing.",
    "Stroke it some times with the outlet open, to wash dirt off a seat; then close and look again. If it "
    "stays, open that part.",
)
"""Common practice, no source; `balltravel wear` has the sizes."""


class Weighed(NamedTuple):
    """A sign and how much it matters here: 1 is where it is noticed."""

    weight: float
    sign: Sign


def watch_list(scenario: Scenario, trial: Trial | None) -> tuple[Sign, ...]:
    """The signs that matter, the weightiest first, creep last."""
    if trial is None or trial.metrics is None:
        return (CREEP,)
    rows = sorted(_weighed(scenario, trial, trial.metrics), key=lambda row: -row.weight)
    count = sum(row.weight >= MATTERS for row in rows)
    return (*(row.sign for row in rows[: min(MOST, max(FEWEST, count))]), CREEP)


def _weighed(scenario: Scenario, trial: Trial, m: Metrics) -> list[Weighed]:
    return [
        Weighed(_starving(scenario, trial, m), Sign(
            "Fewer cc a cycle than above; knock early in the downstroke",
            "It starves: the material does not get past the ball, or to it.",
            "Slow down, warm the material, clean strainer and hose, look for air. Then: longer travel.",
        )),
        Weighed(m.loss_budget.inlet_backflow / m.loss_budget.swept / LATE, Sign(
            "Spray or pressure dips as the rod turns down; fewer cc a cycle",
            "The intake ball seats late, hangs, or has dirt on its seat.",
            "If only this turn dips: clean ball, seat and cage. Then: shorter travel.",
        )),
        Weighed(
            max(m.inlet.landing_speed, m.piston.landing_speed) / scenario.target.landing_speed,
            _pounding(scenario, m),
        ),
        Weighed(_vacuum(scenario, m), Sign(
            f"Vacuum at the inlet far above {_vacuum_there(m)} (mean of the upstroke)",
            "The way to the inlet is choked, or the material is thicker or colder than in the file.",
            "Strainer, kinks, a hose that sucks flat, a lid without vent; then warm it or slow down.",
        )),
        Weighed(_air(scenario), Sign(
            "Bubbles at the outlet, rate rises, pump jumps",
            "Air drawn in at a joint or from an empty pail, or stirred in.",
            "Stop before it runs dry. Tighten the suction side, fill up, let the material rest.",
        )),
    ]  # fmt: skip


def _starving(scenario: Scenario, trial: Trial, m: Metrics) -> float:
    lacking = (1.0 - m.fill_fraction) / (1.0 - scenario.target.fill_fraction)
    lost = 0.0 if trial.heavier is None else (trial.delivery - trial.heavier) / THICKER
    return max(lacking, lost)


def _pounding(scenario: Scenario, m: Metrics) -> Sign:
    which = "intake" if m.inlet.landing_speed >= m.piston.landing_speed else "piston"
    limit = bench(scenario.target.landing_speed, "velocity", 3)
    speed = bench(max(m.inlet.landing_speed, m.piston.landing_speed), "velocity", 3)
    return Sign(
        "Hard knock at each turn",
        f"A ball pounds its seat: here the {which} ball lands faster, at {speed} (target at most {limit}).",
        "Slow down. If it was quiet before: look for air, an empty pail, a broken stop.",
    )


def _vacuum(scenario: Scenario, m: Metrics) -> float:
    suction = scenario.suction
    there = suction.barometric_pressure + suction.tank_gauge_pressure
    return max(0.0, -m.inlet_gauge_pressure) / there / HIGH_VACUUM


def _vacuum_there(m: Metrics) -> str:
    vacuum = max(0.0, -m.inlet_gauge_pressure)
    return in_mercury(vacuum) or bench(vacuum, "pressure", 3)


def _air(scenario: Scenario) -> float:
    """A line that sucks can draw air in."""
    return 0.4 if scenario.suction.tank_gauge_pressure > 0.0 else 0.6
