"""What wear does, as plain text."""

import math
from collections.abc import Sequence

from balltravel.estimate.suction_losses import outlet_load
from balltravel.report.tables import (
    bench,
    bullets,
    column,
    conditions,
    filled,
    number,
    plain,
    rounded,
    table,
    travel_set,
)
from balltravel.scenario.model import Scenario
from balltravel.study.site.stall import Creep
from balltravel.study.site.wear import SEEN, WearReport, WearState, signs
from balltravel.units import from_si, to_text
from balltravel.units.display import decimals_in_use, in_unit
from balltravel.units.systems import unit_in_use

_HEAD = ("state", "gap", "fill", "deliv.", "leak", "lost", "dip", "creep up", "creep down")
_UNITS = ("", "um", "%", "%", "%", "mm", "%", "", "")
"""Metric; those in use stand for them."""
_DIP = _HEAD.index("dip")

_NOTE = """\
gap: gap all round that leaks as much as the worn place; leak: over swept; lost: lost stroke, piston
travel from a reversal until the outlet flows forward{dip}; creep up, creep down: how the piston moves
when it is pushed up or down against a closed outlet; not seen: less than {seen} in a minute (our choice
of what an eye sees){indication}."""

_INDICATION_NOTE = "; ind.: an indication only, outside the validated range"
_DIP_NOTE = "; dip: pressure drop before a tip at changeover (pulsation), over the mean"

QUICK = 60.0
"""Time of a whole stroke [s] up to which creep is told by that time, and not by its speed."""


def creep_in_words(creep: Creep | None, stroke: float) -> str:
    """``not seen``, ``3.7 mm/min``, or ``about 4 s a stroke``; ``stroke`` [m]."""
    if creep is None:
        return "failed"
    if creep.speed < SEEN:
        return "not seen"
    lasts = stroke / creep.speed
    if lasts <= QUICK:
        return f"about {number(lasts, 1 if lasts < 10.0 else 2)} s a stroke"
    unit = unit_in_use("mm/min")
    return f"{number(from_si(creep.speed, 'velocity', unit), 2)} {unit}"


def _row(state: WearState, stroke: float) -> tuple[str, ...]:
    gaps = [in_unit(gap, "length", "um") for gap in state.gaps.values() if gap]
    shown = "-" if not gaps else f"{max(gaps):.3g}"
    ends = (creep_in_words(state.upward, stroke), creep_in_words(state.downward, stroke))
    if state.metrics is None:
        return (state.name, shown, *("-",) * 5, *ends)
    m = state.metrics
    budget = m.loss_budget
    return (
        state.name + (" ind." if state.indication else ""),
        shown,
        rounded(100.0 * m.fill_fraction, 1),
        rounded(100.0 * m.volumetric_efficiency, 1),
        rounded(100.0 * budget.leak / budget.swept, 2),
        rounded(column(m.lost_stroke, "length"), decimals_in_use("mm", 2)),
        "-" if math.isnan(m.pressure_dip) else rounded(100.0 * m.pressure_dip, 1),
        *ends,
    )


def _states_table(states: Sequence[WearState], stroke: float) -> str:
    """All states, a line each, with its legend; without a tip there is no dip to show."""
    lines = [_HEAD, tuple(map(unit_in_use, _UNITS)), *(_row(state, stroke) for state in states)]
    has_dip = any(line[_DIP] != "-" for line in lines[2:])
    shown = [line if has_dip else (*line[:_DIP], *line[_DIP + 1 :]) for line in lines]
    seen = bench(60.0 * SEEN, "length", 2)
    indication = _INDICATION_NOTE if any(state.indication for state in states) else ""
    note = filled(_NOTE.format(seen=seen, dip=_DIP_NOTE if has_dip else "", indication=indication))
    return table(shown[0], shown[1:], range(1, len(shown[0]))) + f"\n\n{note}"


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
            filled(f"{travel_set(scenario)}; each place alone with a gap of {to_text(gap, 'length', 3)}"),
            *_motor_lines(scenario),
            "",
            _states_table(report.states, scenario.lower.stroke),
            *bullets("At stall, in this lower", _stall_lines(report.states)),
            *bullets("How to tell", [report.how_to_tell]),
        ]
    )
