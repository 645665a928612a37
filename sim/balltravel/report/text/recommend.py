"""A recommendation as plain text: all arrangements in a table, the chosen one in a sentence, and why."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from balltravel.report.tables import (
    COLUMN_NOTE,
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
    table,
)
from balltravel.scenario.model import Scenario
from balltravel.units import from_si, to_text

if TYPE_CHECKING:
    from balltravel.study.travel.accuracy import Band
    from balltravel.study.travel.recommend import Choice, Recommendation, Trial

_TRIAL_COLUMNS: tuple[tuple[str, str, str, str, int], ...] = (
    ("fill", "%", "fill_fraction", "fraction", 1),
    ("deliv.", "%", "volumetric_efficiency", "fraction", 1),
    ("in lag", "ms", "inlet.closing_lag", "time", 0),
    ("ball lag", "ms", "inlet.ball_lag", "time", 0),
    ("in back", "cc", "inlet.backflow_volume", "volume", 2),
    ("landing", "m/s", "inlet.landing_speed", "velocity", 2),
    ("pis back", "cc", "piston.backflow_volume", "volume", 2),
    ("margin", "bar", "vapour_margin", "pressure", 3),
)
"""Head, unit, metric, dimension, decimals at most."""

_TRIAL_NOTE = """\
*: recommended; near: nearest to the targets; 2nd: runner-up; now: the travel set in the scenario. Where
several arrangements give the same travel, one is shown. heavier: deliv. at 20 % more viscosity."""

_HEAVIER_AT = 2
"""Where the column of the delivery in heavier material stands."""


def _trial_row(trial: "Trial", mark: str, band: "Band") -> tuple[str, ...]:
    travel = f"{from_si(trial.ball_travel, 'length', 'mm'):.2f}"
    place = (mark, shim_names(trial.shims_below), shim_names(trial.shims_above), travel)
    if trial.metrics is None:
        return (*place, *("-",) * (len(_TRIAL_COLUMNS) + 2), trial.status)
    values = trial.metrics.flat()
    swept = trial.metrics.loss_budget.swept

    def width(name: str, dimension: str) -> float:
        """The band of the chosen one, and of a volume at least its own change over the last cycle."""
        scatter = {"fraction": trial.scatter, "volume": trial.scatter * swept}.get(dimension, 0.0)
        return max(band.values.get(name, 0.0), scatter)

    cells = [
        rounded(
            from_si(values[name], dimension, unit), most, from_si(width(name, dimension), dimension, unit)
        )
        for _, unit, name, dimension, most in _TRIAL_COLUMNS
    ]
    thick = "-" if trial.heavier is None else rounded(100.0 * trial.heavier, 1, 100.0 * trial.scatter)
    cells.insert(_HEAVIER_AT, thick)
    share = max((excursion.share for excursion in trial.excursions if excursion.counts), default=0.0)
    out = f"{100.0 * share:.0f} %" if share else "-"
    notes = [words.split(" (")[0] for words in trial.unmet]
    if trial.status == "not_periodic":
        notes.append(f"does not repeat (+-{number(100.0 * trial.scatter, 1)} %)")
    return (*place, *cells, out, ", ".join(notes) or "-")


def _trial_table(recommendation: "Recommendation", fitted: float) -> str:
    names, units = [column[0] for column in _TRIAL_COLUMNS], [column[1] for column in _TRIAL_COLUMNS]
    names.insert(_HEAVIER_AT, "heavier")
    units.insert(_HEAVIER_AT, "%")
    head = ("", "below", "above", "travel", *names, "range", "not met")
    unit_row = ("", "", "", "mm", *units, "", "")
    rows = [
        _trial_row(trial, _mark(recommendation, trial, fitted), recommendation.band)
        for trial in recommendation.arrangements
    ]
    return (
        table(head, [unit_row, *rows], range(3, 6 + len(_TRIAL_COLUMNS)))
        + f"\n\n{filled(_TRIAL_NOTE)}\n{filled(COLUMN_NOTE)}"
    )


def _band_lines(band: "Band") -> list[str]:
    """How far the chosen one's numbers are those of the equations."""
    if band.missing:
        return [f"Not known: {band.missing}."]
    wide = [
        f"{head} {number(width, 1)} {unit}"
        for head, unit, name, dimension, decimals in _TRIAL_COLUMNS
        if (width := from_si(band.values[name], dimension, unit)) >= 0.5 * 10.0**-decimals
    ]
    rest = f"less than half the last digit shown of {'all other numbers' if wide else 'every number'}"
    return [
        f"Integration error of this arrangement: {', '.join([*wide, rest])} in the table (details: --json)."
    ]


def shim_positions(scenario: Scenario, choice: "Choice") -> str:
    """Where each shim goes: ``shim 3 (4 mm) below the cage, shims 1 (1 mm) and 2 (2 mm) above it``."""

    def named(numbers: Sequence[int]) -> str:
        each = [f"{n} ({bench(scenario.shims.thicknesses[n - 1], 'length')})" for n in numbers]
        if not each:
            return "no shim"
        last = f" and {each[-1]}" if len(each) > 1 else each[0]
        return f"shim{'s' * (len(each) > 1)} {', '.join(each[:-1])}{last}"

    below, above = named(choice.shims_below), named(choice.shims_above)
    return f"{below} below the cage, {above} above it: ball travel {both(choice.ball_travel, 'length')}"


def _recommended_lines(scenario: Scenario, recommendation: "Recommendation") -> list[str]:
    if recommendation.recommended is not None:
        word = "Indication, not a recommendation" if recommendation.indication else "Recommended"
        lines = [f"{word}: {shim_positions(scenario, recommendation.recommended)}."]
    elif recommendation.best_available is not None:
        note = " (an indication only)" if recommendation.indication else ""
        nearest = shim_positions(scenario, recommendation.best_available)
        lines = [
            "No arrangement of these shims meets the targets: none is recommended.",
            f"Nearest to the targets{note}: {nearest}.",
        ]
    else:
        lines = ["Nothing is recommended."]
    if recommendation.runner_up is not None:
        lines.append(f"Runner-up: {shim_positions(scenario, recommendation.runner_up)}.")
    return lines


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


def _off_axis_lines(recommendation: "Recommendation") -> list[str]:
    """The other end of the band between a centred ball and one that touches seat or cage."""
    other, chosen = recommendation.off_axis, recommendation.recommended or recommendation.best_available
    if other is None or chosen is None:
        return []
    if other.metrics is None:
        return ["With both balls touching seat or cage, the run of this arrangement failed."]
    m = other.metrics
    numbers = (
        f"fill {100.0 * m.fill_fraction:.1f} %, deliv. {100.0 * m.volumetric_efficiency:.1f} %, "
        f"in lag {1e3 * m.inlet.closing_lag:.0f} ms, in back {1e6 * m.inlet.backflow_volume:.2f} cc, "
        f"landing {m.inlet.landing_speed:.2f} m/s"
    )
    if other.recommended is None:
        end = "no arrangement would be recommended"
    elif other.recommended == recommendation.recommended:
        end = "the recommendation stays the same"
    else:
        end = f"{bench(other.recommended.ball_travel, 'length')} would be recommended"
    where = "touching seat or cage instead of centred (more material passes them)"
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


def _mark(recommendation: "Recommendation", trial: "Trial", fitted: float) -> str:
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
    """What is asked of every arrangement."""
    target = scenario.target
    text = (
        f"Target: fill fraction at least {bench(target.fill_fraction, 'fraction')}, "
        f"landing of the inlet ball at most {bench(target.landing_speed, 'velocity')}"
    )
    return text + (f", delivery at least {bench(target.delivery, 'fraction')}" if target.delivery else "")


def recommendation_text(scenario: Scenario, recommendation: "Recommendation") -> str:
    """All arrangements, the recommendation in a sentence, and why."""
    return "\n".join(
        [
            plain(scenario.title),
            filled(conditions(scenario)),
            filled(targets_in_words(scenario)),
            "",
            _trial_table(recommendation, scenario.inlet_travel),
            "",
            *map(filled, _recommended_lines(scenario, recommendation)),
            *bullets("Operating point", _operating_point(scenario, recommendation)),
            *bullets("Reasons", recommendation.reasons),
            *bullets("Ball off its axis", _off_axis_lines(recommendation)),
            *bullets("Rest and time", _time_lines(recommendation)),
            *bullets("Numerical band", _band_lines(recommendation.band)),
            *bullets(RANGES, _excursion_lines(recommendation)),
            *bullets("Warnings", recommendation.warnings),
        ]
    )
