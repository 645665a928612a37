"""What wear does, as plain text."""

import math
from collections.abc import Sequence

from balltravel.estimate.suction_losses import outlet_load
from balltravel.report.tables import bullets, conditions, filled, plain, table, travel_set
from balltravel.scenario.model import Scenario
from balltravel.study.site.stall import Creep
from balltravel.study.site.wear import WearReport, WearState, signs
from balltravel.units import from_si, to_text

_HEAD = ("state", "gap", "fill", "deliv.", "leak", "lost stroke", "dip", "creep up", "creep down")
_UNITS = ("", "um", "%", "%", "%", "mm", "%", "mm/min", "mm/min")
_NOTE = """\
gap: even gap that leaks as much as the worn place; leak: over swept; lost stroke: piston travel from a
reversal until the outlet flows forward; dip: pressure drop before a tip at changeover (pulsation), over
the mean; creep: piston speed against a closed outlet; through: the piston ran through to the end of its
stroke."""


def _creep(creep: Creep | None) -> str:
    if creep is None:
        return "failed"
    if creep.ran_through:
        return "through"
    return f"{max(6e4 * creep.speed, 0.0):.2f}"


def _row(state: WearState) -> tuple[str, ...]:
    gaps = [from_si(gap, "length", "um") for gap in state.gaps.values() if gap]
    shown = "-" if not gaps else f"{max(gaps):.3g}"
    ends = (_creep(state.upward), _creep(state.downward))
    if state.metrics is None:
        return (state.name, shown, *("-",) * 5, *ends)
    m = state.metrics
    budget = m.loss_budget
    dip = "-" if math.isnan(m.pressure_dip) else f"{100.0 * m.pressure_dip:.1f}"
    return (
        state.name + (" (indication)" if state.indication else ""),
        shown,
        f"{100.0 * m.fill_fraction:.1f}",
        f"{100.0 * m.volumetric_efficiency:.1f}",
        f"{100.0 * budget.leak / budget.swept:.2f}",
        f"{1e3 * m.lost_stroke:.2f}",
        dip,
        *ends,
    )


def _stall_lines(states: Sequence[WearState]) -> list[str]:
    """What each place shows at stall, in this lower."""
    words = {
        (True, True): "creeps on both strokes",
        (True, False): "creeps on the upstroke only",
        (False, True): "creeps on the downstroke only",
        (False, False): "does not creep visibly",
    }
    return [f"{name}: {words[creeps]}." for name, creeps in signs(states).items() if name != "sound"]


def _motor_lines(scenario: Scenario) -> list[str]:
    if scenario.drive.profile == "motor":
        return []
    pressure = to_text(max(outlet_load(scenario), 1e5), "pressure", 3)
    return [f"Creep: with a hydraulic motor assumed to stall at {pressure}, the outlet pressure."]


def wear_text(scenario: Scenario, report: WearReport) -> str:
    """All states of wear in a table, and how to tell one from the other."""
    gap = next(
        gap for state in report.states if state.name == "inlet seat" for gap in state.gaps.values() if gap
    )
    return "\n".join(
        [
            plain(scenario.title),
            filled(conditions(scenario)),
            f"{travel_set(scenario)}; each place alone with a gap of {to_text(gap, 'length', 3)}",
            *_motor_lines(scenario),
            "",
            table(_HEAD, [_UNITS, *(_row(state) for state in report.states)], range(1, len(_HEAD))),
            "",
            filled(_NOTE),
            *bullets("At stall, in this lower", _stall_lines(report.states)),
            *bullets("How to tell", [report.how_to_tell]),
        ]
    )
