"""A recommendation as plain text: all arrangements in a table, the chosen one in a sentence, and why."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from balltravel.report.tables import (
    RANGES,
    bench,
    both,
    bullets,
    conditions,
    filled,
    number,
    plain,
    rounded,
    shim_names,
    shims_in_words,
    table,
)
from balltravel.scenario.model import Scenario
from balltravel.setup.outlet import has_tip
from balltravel.study.travel.trials import by_nearness
from balltravel.units import from_si, to_text
from balltravel.units.display import against, decimals_in_use, fixed, in_unit
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.study.travel.accuracy import Band
    from balltravel.study.travel.outlet_dip import OutletDip
    from balltravel.study.travel.recommend import Choice, Recommendation, Trial
    from balltravel.study.week.recommend import Week

Column = tuple[str, str, str, str, str, int]

_TRIAL_COLUMNS: tuple[Column, ...] = (
    ("", "fill", "%", "fill_fraction", "fraction", 1),
    ("", "deliv.", "%", "volumetric_efficiency", "fraction", 1),
    ("ball", "lag", "ms", "inlet.ball_lag", "time", 0),
    ("back", "flow", "cc", "inlet.backflow_volume", "volume", 2),
    ("lands", "inlet", "m/s", "inlet.landing_speed", "velocity", 2),
    ("lands", "piston", "m/s", "piston.landing_speed", "velocity", 2),
)
"""Head in two lines, metric unit, metric, dimension, decimals at most."""

_DIP: Column = ("", "dip", "%", "pressure_dip", "fraction", 0)
"""Of an outlet with a tip."""

_TRIAL_NOTE = """\
*: {star}; near: nearest to the targets; 2nd: runner-up; now: the travel set in the scenario. Where
several arrangements give the same travel, one is shown. fill: drawn in (filling); deliv.: delivered;
thicker: delivered at 20 % more viscosity; all over swept. ball lag, backflow: of the inlet check (foot
valve), the lag from flow reversal until its ball seats. lands: landing speed (pounding) of each ball."""

_DIP_NOTE = " dip: pulsation at changeover, of the mean pressure."

_MISSES_NOTE = (
    " misses: targets that are not met; in brackets what refuses nothing: a default target, the landing of "
    "the piston ball."
)

OVERRULED_REASONS = "Reasons of this run, which the verdict overrules"

SAME_DIP = 0.02
"""Difference of dips, of the mean pressure, below which shims are said not to matter (our choice)."""

_HEAVIER_AT = 2
"""Where the column of the delivery in heavier material stands."""


def _columns(scenario: Scenario) -> tuple[Column, ...]:
    return (*_TRIAL_COLUMNS, _DIP) if has_tip(scenario.outlet) else _TRIAL_COLUMNS


def _trial_row(
    trial: "Trial", mark: str, band: "Band", columns: Sequence[Column], landing_target: float
) -> tuple[str, ...]:
    travel = fixed(trial.ball_travel, "length", "mm", 2)
    place = (mark, shim_names(trial.shims_below), travel)
    if trial.metrics is None:
        return (*place, *("-",) * (len(columns) + 1), trial.status.replace("_", " "))
    values = trial.metrics.flat()
    swept = trial.metrics.loss_budget.swept

    def width(name: str, dimension: str) -> float:
        """The band of the chosen one, and of a volume at least its own change over the last cycle."""
        scatter = {"fraction": trial.scatter, "volume": trial.scatter * swept}.get(dimension, 0.0)
        return max(band.values.get(name, 0.0), scatter)

    cells = [
        rounded(
            in_unit(values[name], dimension, unit),
            decimals_in_use(unit, most),
            in_unit(width(name, dimension), dimension, unit),
        )
        for _, _, unit, name, dimension, most in columns
    ]
    if any(words.startswith("landing") for words in (*trial.unmet, *trial.below_default)):
        # 0.505 m/s misses 0.5 m/s, and must not stand there as 0.50.
        place_of = next(i for i, column in enumerate(columns) if column[3] == "inlet.landing_speed")
        cells[place_of] = against(trial.landing, landing_target, "velocity", "m/s", 2)[0]
    thick = "-" if trial.heavier is None else rounded(100.0 * trial.heavier, 1, 100.0 * trial.scatter)
    cells.insert(_HEAVIER_AT, thick)
    return (*place, *cells, misses_of(trial, landing_target))


def misses_of(trial: "Trial", landing_target: float) -> str:
    """What a trial misses in a word each, what refuses nothing in brackets, and what makes its numbers less
    than sure."""
    notes = [words if words.startswith("delivers") else words.split()[0] for words in trial.unmet]
    notes += [f"({words.split()[0]})" for words in trial.below_default]
    if trial.metrics is not None and trial.metrics.piston.landing_speed > landing_target:
        notes.append("(piston)")
    if trial.status == "not_periodic":
        notes.append(f"does not repeat (+-{number(100.0 * trial.scatter, 1)} %)")
    if trial.is_indication:
        notes.append("outside range")
    return ", ".join(notes) or "-"


def _trial_table(scenario: Scenario, recommendation: "Recommendation", star: str) -> str:
    columns = _columns(scenario)
    heads = [[over, name, unit_in_use(unit)] for over, name, unit, *_ in columns]
    heads.insert(_HEAVIER_AT, ["", "thicker", "%"])
    over, names, units = zip(
        *(
            ["", "", ""],
            ["shims", "below", ""],
            ["ball", "travel", unit_in_use("mm")],
            *heads,
            ["", "misses", ""],
        ),
        strict=True,
    )
    rows = [
        _trial_row(
            trial,
            mark_of(recommendation, trial, scenario.inlet_travel),
            recommendation.band,
            columns,
            scenario.target.landing_speed,
        )
        for trial in recommendation.arrangements
    ]
    note = _TRIAL_NOTE.format(star=star) + (_DIP_NOTE if has_tip(scenario.outlet) else "") + _MISSES_NOTE
    return (
        table(over, [names, units, *rows], range(2, 4 + len(columns)), ruled_after=2) + f"\n\n{filled(note)}"
    )


def _band_lines(band: "Band") -> list[str]:
    """How far the chosen one's numbers are those of the equations."""
    if band.missing:
        return [f"Not known: {band.missing}."]
    wide = [
        f"{over} {head} {number(width, 1)} {unit_in_use(unit)}".lstrip()
        for over, head, unit, name, dimension, decimals in _TRIAL_COLUMNS
        if (width := in_unit(band.values[name], dimension, unit))
        >= 0.5 * 10.0 ** -decimals_in_use(unit, decimals)
    ]
    rest = f"less than half the last digit shown of {'all other numbers' if wide else 'every number'}"
    return [
        f"Integration error of this arrangement: {', '.join([*wide, rest])} in the table (details: --json)."
    ]


def shim_positions(scenario: Scenario, choice: "Choice") -> str:
    """Where each shim goes: ``shim 3 (4 mm) below the cage, shims 1 (1 mm) and 2 (2 mm) above it``."""
    all_shims = scenario.shims.thicknesses
    below, above = (shims_in_words(all_shims, shims) for shims in (choice.shims_below, choice.shims_above))
    return f"{below} below the cage, {above} above it: ball travel {both(choice.ball_travel, 'length')}"


def recommended_word(recommendation: "Recommendation") -> str:
    """``Recommended`` without a qualification only where nothing stands against it."""
    if recommendation.indication:
        return "Indication, not a recommendation"
    return "Recommended, with reservations" if recommendation.reservations else "Recommended"


def reservations_head(recommendation: "Recommendation", overruled: bool = False) -> str:
    """Whose they are: where nothing is named, of the arrangement that comes nearest; ``overruled``: of a
    travel that a verdict does not name."""
    alone = recommendation.recommended or recommendation.best_available
    if overruled and alone is not None:
        return f"What stands against {bench(alone.ball_travel, 'length')} in this run"
    if recommendation.recommended or recommendation.best_available:
        return "Before you rely on it"
    nearest = by_nearness(recommendation.arrangements)
    travel = f", at a ball travel of {bench(nearest[0].ball_travel, 'length')}" if nearest else ""
    return f"What decides{travel}"


def recommended_lines(
    scenario: Scenario,
    answer: "Recommendation | Week",
    word: str,
    note: str = "",
    of_all: str = "",
) -> list[str]:
    """Which arrangement is named, of a lower or of its week; ``word``: what it is called; ``note`` stands
    behind one that is only nearest, ``of_all`` where none meets the targets of all materials."""
    if answer.recommended is not None:
        lines = [f"{word}: {shim_positions(scenario, answer.recommended)}."]
    elif answer.best_available is not None:
        lines = [
            f"No arrangement of these shims meets the targets{of_all}: none is recommended.",
            f"Nearest to the targets{note}: {shim_positions(scenario, answer.best_available)}.",
        ]
    else:
        lines = ["Nothing is recommended."]
    if answer.runner_up is not None:
        lines.append(f"Runner-up: {shim_positions(scenario, answer.runner_up)}.")
    return lines


def named_lines(scenario: Scenario, recommendation: "Recommendation") -> list[str]:
    """What is recommended, or the nearest to it, and the runner-up, in the words for how far it holds."""
    note = " (an indication only)" if recommendation.indication else ""
    return recommended_lines(scenario, recommendation, recommended_word(recommendation), note)


def _operating_point(scenario: Scenario, recommendation: "Recommendation") -> list[str]:
    """Cycle rate, pressures and dip of the chosen arrangement, where a motor or a tip makes them."""
    chosen = recommendation.recommended or recommendation.best_available
    metrics = next((trial.metrics for trial in recommendation.arrangements if trial.choice == chosen), None)
    if metrics is None or (scenario.drive.cycle_rate is not None and math.isnan(metrics.spray_pressure)):
        return []
    atmosphere = scenario.suction.barometric_pressure
    rate = number(from_si(metrics.cycle_rate, "frequency", "/min"), 3)
    flow, outlet = (
        both(metrics.delivered_flow, "flow", 3),
        both(metrics.outlet_pressure - atmosphere, "pressure", 3),
    )
    text = f"This arrangement runs at {rate} cycles/min and delivers {flow}; outlet at {outlet}"
    if not math.isnan(metrics.spray_pressure):
        before = both(metrics.spray_pressure - atmosphere, "pressure", 3)
        dip = f"{100.0 * metrics.pressure_dip:.0f} %"
        text += f", {before} before the tip, with a dip (pulsation) of {dip} at changeover"
    return [f"{text} (mean gauge pressures)."]


def _dip_lines(dip: "OutletDip | None") -> list[str]:
    """What decides the dip at changeover: shims or the outlet hose."""
    if dip is None:
        return []
    least, most = (f"{100.0 * value:.0f} %" for value in (dip.least, dip.most))
    hose = (
        f"the give of the outlet hose ({bench(dip.compliance, 'compliance', 3)}): ten times softer the dip "
        f"is {_share(dip.softer)}, ten times stiffer {_share(dip.stiffer)}"
    )
    if dip.most - dip.least < SAME_DIP:
        there = f"{100.0 * dip.chosen:.0f} %"
        return [f"The shims hardly change the dip (pulsation), {there} here. What does is {hose}."]
    return [f"The shims change the dip (pulsation) from {least} to {most}; so does {hose}."]


def _share(value: float | None) -> str:
    return "not known (the run failed)" if value is None else f"{100.0 * value:.0f} %"


def _off_axis_lines(recommendation: "Recommendation") -> list[str]:
    """What drifting balls change."""
    other, chosen = recommendation.off_axis, recommendation.recommended or recommendation.best_available
    if other is None or chosen is None:
        return []
    where = f"where they drift (inlet ball {100.0 * other.inlet_share:.0f} % of the way to its cage)"
    if other.metrics is None:
        return [f"With both balls {where}, the run of this arrangement failed."]
    m = other.metrics
    numbers = f"fill {100.0 * m.fill_fraction:.1f} %, deliv. {100.0 * m.volumetric_efficiency:.1f} %"
    if other.recommended is None:
        end = "no arrangement would be recommended"
    elif other.recommended == recommendation.recommended:
        end = "the recommendation stays the same"
    else:
        end = f"{bench(other.recommended.ball_travel, 'length')} would be recommended"
    return [f"With both balls {where}, this arrangement has {numbers}; {end}."]


def _time_lines(recommendation: "Recommendation") -> list[str]:
    """The first stroke after a break, and how long a mixed material can be pumped."""
    lines, first, life = [], recommendation.first_stroke, recommendation.pot_life
    if first is not None and first.metrics is not None:
        m = first.metrics
        lines.append(
            f"First cycle after a break, from standstill, at {first.ratio:.3g} times the worked viscosity: "
            f"fill {100.0 * m.fill_fraction:.1f} %, deliv. {100.0 * m.volumetric_efficiency:.1f} %."
        )
    elif first is not None:
        ratio = f"{first.ratio:.3g} times the worked viscosity"
        lines.append(f"The first cycle after a break, at {ratio}, could not be run.")
    if life is not None and life.age is None:
        lines.append(f"At the material's present age the targets no longer hold: {life.missed}.")
    elif life is not None and math.isinf(life.age or 0.0):
        lines.append(f"The targets hold at least up to {life.growth:.3g} times the present viscosity.")
    elif life is not None and life.age is not None:
        lines.append(
            f"The targets hold up to an age of {to_text(life.age, 'time', 3)}, at {life.growth:.3g} times "
            f"the viscosity at age 0; then {life.missed}."
        )
    return lines


def _excursion_lines(recommendation: "Recommendation") -> list[str]:
    chosen = recommendation.recommended or recommendation.best_available
    trials = (trial for trial in recommendation.arrangements if chosen is not None and trial.choice == chosen)
    return [str(excursion) for trial in trials for excursion in trial.excursions]


def mark_of(recommendation: "Recommendation", trial: "Trial", fitted: float) -> str:
    """What a row is: chosen, nearest, second, and whether it is the travel that the scenario has now."""
    marks = (
        (recommendation.recommended, "*"),
        (recommendation.best_available, "near"),
        (recommendation.runner_up, "2nd"),
    )
    words = [mark for choice, mark in marks if choice is not None and choice == trial.choice]
    now = ["now"] if math.isclose(trial.ball_travel, fitted, rel_tol=1e-9) else []
    return " ".join(words + now)


def targets_in_words(scenario: Scenario) -> str:
    """What is asked of every arrangement, and what of it nobody set."""
    target = scenario.target
    fill, landing = (
        " (default)" if target.is_default(key) else "" for key in ("fill_fraction", "landing_speed")
    )
    text = (
        f"Target: fill fraction at least {bench(target.fill_fraction, 'fraction')}{fill}, "
        f"landing at most {bench(target.landing_speed, 'velocity')}{landing}"
    )
    return text + (f", delivery at least {bench(target.delivery, 'fraction')}" if target.delivery else "")


def overruled_lines(scenario: Scenario, recommendation: "Recommendation") -> list[str]:
    """What a single run names under a verdict that names another travel: it recommends nothing."""
    return recommended_lines(scenario, recommendation, "This run alone names", " in this run")


def recommendation_text(scenario: Scenario, recommendation: "Recommendation", overruled: bool = False) -> str:
    """The recommendation in a sentence and what stands against it, all arrangements, and why; ``overruled``:
    it stands under a verdict that names another travel."""
    named = overruled_lines if overruled else named_lines
    return "\n".join(
        [
            plain(scenario.title),
            filled(conditions(scenario)),
            filled(targets_in_words(scenario)),
            "",
            *map(filled, named(scenario, recommendation)),
            *bullets(reservations_head(recommendation, overruled), recommendation.reservations),
            "",
            _trial_table(scenario, recommendation, "named by this run" if overruled else "recommended"),
            *bullets("Operating point", _operating_point(scenario, recommendation)),
            *bullets(OVERRULED_REASONS if overruled else "Reasons", recommendation.reasons),
            *bullets("Dip at changeover", _dip_lines(recommendation.outlet_dip)),
            *bullets("Ball off its axis", _off_axis_lines(recommendation)),
            *bullets("Rest and time", _time_lines(recommendation)),
            *bullets("Numerical band", _band_lines(recommendation.band)),
            *bullets(RANGES, _excursion_lines(recommendation)),
            *bullets("Warnings", recommendation.warnings),
        ]
    )
