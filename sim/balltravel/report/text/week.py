"""The week as plain text: its materials, all arrangements by their worst case, the chosen one, and why."""

import math
from collections.abc import Sequence
from string import ascii_uppercase

from balltravel.files.week import WeekMaterial
from balltravel.report.tables import (
    RANGES,
    bench,
    bullets,
    conditions,
    number,
    plain,
    rounded,
    shim_names,
    table,
)
from balltravel.report.text.recommend import placed
from balltravel.study.travel.recommend import HONESTY
from balltravel.study.travel.trials import Trial
from balltravel.study.week.reasons import briefly, flush_lines, per_minute, week_reasons
from balltravel.study.week.recommend import MaterialInWeek, Week, WorstCase, own_trial
from balltravel.units import from_si

_NOTE = """\
*: recommended; near: nearest to the targets; 2nd: runner-up; now: the travel that the scenario has. Of shims
that make the same travel one arrangement is shown. least: least delivery of all materials but the flushes,
over swept; gives up: most that one of them is sure of less than in its own best arrangement, over swept
(sure: the lesser delivery at its viscosity and at 20 % more); landing: of the inlet ball, the one that is
fastest over its target."""

_THERE_NOTE = """\
deliv.: delivered over swept; heavier: that at 20 % more viscosity; own best: the travel that it would have by
itself, and what it is sure of there, the lesser of both; gives up: that less the lesser of both here; holds,
misses: cycle rates on both sides of the limit nearest to the given one, both run, at the given viscosity."""


def week_text(materials: Sequence[WeekMaterial], week: Week) -> str:
    """All of a week; ``materials``: those that it was found for."""
    letters = {one.name: letter for one, letter in zip(materials, ascii_uppercase, strict=False)}
    first = materials[0].scenario
    there = ["", "In that arrangement:", "", _there_table(materials, week, letters)] if week.named else []
    return "\n".join(
        [
            plain(first.title),
            *(line for one in materials for line in _material_lines(one, letters)),
            "",
            _arrangement_table(week, letters, first.inlet_travel),
            "",
            _NOTE,
            "",
            *_verdict(materials, week),
            *there,
            *bullets("Reasons", week_reasons(materials, week)),
            *bullets("Flush", flush_lines(materials, week)),
            *bullets(RANGES, _excursion_lines(week)),
            *bullets("Warnings", [*warning_lines(week), HONESTY]),
        ]
    )


def _material_lines(one: WeekMaterial, letters: dict[str, str]) -> tuple[str, str]:
    target = one.scenario.target
    fill = "" if one.flush else f"fill at least {bench(target.fill_fraction, 'fraction')}, "
    asked = f"{fill}landing at most {bench(target.landing_speed, 'velocity')}"
    kind = " (flush)" if one.flush else ""
    return f"{letters[one.name]}  {plain(one.name)}{kind}, {asked}:", f"   {conditions(one.scenario)}"


def _arrangement_table(week: Week, letters: dict[str, str], fitted: float) -> str:
    head = ("", "below", "above", "travel", "least", "in", "gives up", "in", "landing", "in", "not met")
    units = ("", "", "", "mm", "%", "", "%", "", "m/s", "", "")
    rows = [_row(week, i, letters, fitted) for i in range(len(week.arrangements))]
    return table(head, [units, *rows], (3, 4, 6, 8))


def _row(week: Week, i: int, letters: dict[str, str], fitted: float) -> tuple[str, ...]:
    row = week.arrangements[i]
    scatter = {one.name: one.arrangements[i].scatter for one in week.materials}

    def cell(value: float | None, name: str | None, decimals: int, percent: bool) -> tuple[str, str]:
        if value is None or name is None:
            return "-", ""
        band = 100.0 * scatter[name] if percent else 0.0
        return rounded(100.0 * value if percent else value, decimals, band), letters[name]

    return (
        *(_mark(week, row, fitted), shim_names(row.shims_below), shim_names(row.shims_above)),
        f"{from_si(row.ball_travel, 'length', 'mm'):.2f}",
        *cell(row.least_delivery, row.least_in, 1, True),
        *cell(row.gives_up, row.gives_up_in, 1, True),
        *cell(row.highest_landing, row.landing_in, 2, False),
        _not_met(row, letters),
    )


def _not_met(row: WorstCase, letters: dict[str, str]) -> str:
    parts = [
        f"{letter} {', '.join(m.text.split(' (')[0] for m in row.unmet if m.material == name)}"
        for name, letter in letters.items()
        if any(m.material == name for m in row.unmet)
    ]
    return "; ".join(parts) or "-"


def _mark(week: Week, row: WorstCase, fitted: float) -> str:
    marks = ((week.recommended, "*"), (week.best_available, "near"), (week.runner_up, "2nd"))
    here = [mark for one, mark in marks if one is not None and one == row.choice]
    now = ["now"] if math.isclose(row.ball_travel, fitted, rel_tol=1e-9) else []
    return " ".join(here + now)


def _there_table(materials: Sequence[WeekMaterial], week: Week, letters: dict[str, str]) -> str:
    head = ("", "material", "fill", "deliv.", "heavier", "landing", "own best", "sure", "gives up", "rate",
            "holds", "misses", "missed")  # fmt: skip
    units = ("", "", "%", "%", "%", "m/s", "mm", "%", "%", "/min", "/min", "/min", "")
    rows = [
        (letters[one.name], plain(one.name), *_numbers(one), *_rates(given, one))
        for given, one in zip(materials, week.materials, strict=True)
    ]
    return table(head, [units, *rows], range(2, 12)) + f"\n\n{_THERE_NOTE}"


def _numbers(one: MaterialInWeek) -> tuple[str, ...]:
    """Fill, delivery, that in heavier material, landing; own travel, what is sure there, what is given up."""
    there, own = one.there, own_trial(one)
    if there is None or there.metrics is None:
        return ("-",) * 7
    fill, landing = there.metrics.fill_fraction, f"{there.landing:.2f}"
    cells = [_share(fill, there), _share(there.delivery, there), _share(there.heavier, there), landing]
    if own is None or one.gives_up is None:
        return (*cells, "-", "-", "-")
    travel = f"{from_si(own.ball_travel, 'length', 'mm'):.2f}"
    return (*cells, travel, _share(own.assured, own), _share(one.gives_up, there))


def _share(value: float | None, trial: Trial) -> str:
    return "-" if value is None else rounded(100.0 * value, 1, 100.0 * trial.scatter)


def _rates(given: WeekMaterial, one: MaterialInWeek) -> tuple[str, ...]:
    rate, limit, there = given.scenario.drive.cycle_rate, one.rate, one.there
    if rate is None or limit is None:
        made = there.metrics.cycle_rate if there is not None and there.metrics is not None else math.nan
        return number(from_si(made, "frequency", "/min"), 3), "-", "-", "-"
    asked = per_minute(rate)
    if limit.fails is None and limit.holds is not None:
        return asked, per_minute(limit.holds), "-", "no limit up to there"
    holds, fails = (per_minute(rate) if rate is not None else "-" for rate in (limit.holds, limit.fails))
    none = "" if limit.holds is not None else "none holds in the range looked at: "
    return asked, holds, fails, none + briefly(limit.missed)


def _verdict(materials: Sequence[WeekMaterial], week: Week) -> list[str]:
    first, flushes = materials[0].scenario, {one.name for one in materials if one.flush}
    note = f" (an indication with {', '.join(map(plain, week.indication))})" if week.indication else ""
    if week.recommended is not None:
        word = "Indication, not a recommendation" if set(week.indication) - flushes else "Recommended"
        lines = [f"{word} for the week{note}: {placed(first, week.recommended)}."]
    elif week.best_available is not None:
        lines = [
            "No arrangement of these shims meets the targets in all materials: none is recommended.",
            f"The nearest, which does not meet them{note}: {placed(first, week.best_available)}.",
        ]
    else:
        lines = ["Nothing is recommended."]
    if week.runner_up is not None:
        lines.append(f"Runner-up: {placed(first, week.runner_up)}.")
    return lines


def _by_material(said: Sequence[tuple[str, str]]) -> list[str]:
    """Sentences of (material, sentence), each once, with the materials that it is said of."""
    names: dict[str, list[str]] = {}
    for name, sentence in said:
        names.setdefault(sentence, []).append(name)
    return [f"{', '.join(these)}: {sentence}" for sentence, these in names.items()]


def warning_lines(week: Week) -> list[str]:
    """All warnings, each once, with the materials that it is for."""
    return _by_material([(one.name, text) for one in week.materials for text in one.warnings])


def _excursion_lines(week: Week) -> list[str]:
    trials = [(one.name, one.there) for one in week.materials if one.there is not None]
    return _by_material([(name, str(out)) for name, there in trials for out in there.excursions])
