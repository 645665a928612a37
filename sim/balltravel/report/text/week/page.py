"""The week as plain text: its materials, all arrangements by their worst case, the chosen one, and why."""

import math
import textwrap
from collections.abc import Sequence
from string import ascii_uppercase

from balltravel.files.week import WeekMaterial
from balltravel.report.tables import (
    RANGES,
    bench,
    bullets,
    conditions,
    filled,
    number,
    plain,
    rounded,
    shim_names,
    table,
)
from balltravel.report.text.recommend import recommended_lines
from balltravel.report.text.week.verdict import week_verdict_text
from balltravel.study.travel.recommend import VALIDATION_NOTE
from balltravel.study.travel.trials import Trial
from balltravel.study.week.reasons import briefly, flush_lines, per_minute, week_reasons
from balltravel.study.week.recommend import MaterialResult, Week, WorstCase, best_trial
from balltravel.units import from_si
from balltravel.units.display import decimals_in_use, fixed, in_unit
from balltravel.units.printable import WIDTH
from balltravel.units.systems import unit_in_use

_NOTE = """\
*: recommended; near: nearest to the targets; 2nd: runner-up; now: the travel set in the scenario. Where
several arrangements give the same travel, one is shown. least: lowest delivery of all materials except
flushes, over swept; gives up: largest loss of any of them against its own best arrangement, each at its
worst (the lower delivery of now and 20 % more viscosity), over swept; landing: landing speed of the
inlet ball, where it is highest over its target; in: the material that has it."""

_CHOSEN_NOTE = """\
deliv.: delivered over swept; heavier: deliv. at 20 % more viscosity; own best: the best travel for this
material alone; at worst: its lower delivery of both there; gives up: that less the lower delivery of
both here; holds, misses: cycle rates just inside and just outside the limit nearest to the given rate,
both run, at the given viscosity."""


def week_text(materials: Sequence[WeekMaterial], week: Week) -> str:
    """All of a week; ``materials``: those that it was found for."""
    letters = {material.name: letter for material, letter in zip(materials, ascii_uppercase, strict=False)}
    if week.verdict is None:
        return _likely_text(materials, week, letters)
    return "\n".join(
        [
            *week_verdict_text(week.verdict, letters, materials[0].scenario.inlet_travel),
            "",
            _likely_head(week),
            "",
            _likely_text(materials, week, letters),
        ]
    )


def _likely_head(week: Week) -> str:
    """Head of the answer at the likely values, with its travel where that is another."""
    assert week.verdict is not None
    if week.chosen is None or week.chosen == week.verdict.chosen:
        return "At the likely values:"
    travel = bench(week.chosen.ball_travel, "length")
    return f"At the likely values (which alone would name {travel}; the lines above count):"


def _likely_text(materials: Sequence[WeekMaterial], week: Week, letters: dict[str, str]) -> str:
    """The choice at the likely values."""
    first = materials[0].scenario
    chosen = (
        ["", "In this arrangement:", "", *_chosen_tables(materials, week, letters)] if week.chosen else []
    )
    return "\n".join(
        [
            plain(first.title),
            *(line for material in materials for line in _material_lines(material, letters)),
            "",
            _arrangement_table(week, letters, first.inlet_travel),
            "",
            filled(_NOTE),
            "",
            *map(filled, _named(materials, week)),
            *chosen,
            *bullets("Reasons", week_reasons(materials, week)),
            *bullets("Flush", flush_lines(materials, week)),
            *bullets(RANGES, _excursion_lines(week)),
            *bullets("Warnings", [*warning_lines(week), VALIDATION_NOTE]),
        ]
    )


def _material_lines(material: WeekMaterial, letters: dict[str, str]) -> tuple[str, str]:
    target = material.scenario.target
    defaults = {
        key: " (default)" if target.is_default(key) else "" for key in ("fill_fraction", "landing_speed")
    }
    least = f"fill at least {bench(target.fill_fraction, 'fraction')}{defaults['fill_fraction']}, "
    fastest = f"landing at most {bench(target.landing_speed, 'velocity')}{defaults['landing_speed']}"
    asked = fastest if material.flush else least + fastest
    kind = " (flush)" if material.flush else ""
    return (
        filled(f"{letters[material.name]}  {plain(material.name)}{kind}, {asked}:"),
        textwrap.fill(conditions(material.scenario), WIDTH, initial_indent="   ", subsequent_indent="   "),
    )


def _arrangement_table(week: Week, letters: dict[str, str], fitted: float) -> str:
    head = ("", "below", "above", "travel", "least", "in", "gives up", "in", "landing", "in", "not met")
    units = ("", "", "", unit_in_use("mm"), "%", "", "%", "", unit_in_use("m/s"), "", "")
    rows = [_row(week, i, letters, fitted) for i in range(len(week.arrangements))]
    return table(head, [units, *rows], (3, 4, 6, 8))


def _row(week: Week, i: int, letters: dict[str, str], fitted: float) -> tuple[str, ...]:
    row = week.arrangements[i]
    scatter = {result.name: result.arrangements[i].scatter for result in week.materials}

    def cell(value: float | None, name: str | None, percent: bool) -> tuple[str, str]:
        """A share of swept, or a landing speed."""
        if value is None or name is None:
            return "-", ""
        if percent:
            return rounded(100.0 * value, 1, 100.0 * scatter[name]), letters[name]
        return rounded(in_unit(value, "velocity", "m/s"), decimals_in_use("m/s", 2)), letters[name]

    return (
        *(_mark(week, row, fitted), shim_names(row.shims_below), shim_names(row.shims_above)),
        fixed(row.ball_travel, "length", "mm", 2),
        *cell(row.least_delivery, row.least_in, True),
        *cell(row.gives_up, row.gives_up_in, True),
        *cell(row.highest_landing, row.landing_in, False),
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
    words = [mark for choice, mark in marks if choice is not None and choice == row.choice]
    now = ["now"] if math.isclose(row.ball_travel, fitted, rel_tol=1e-9) else []
    return " ".join(words + now)


def _chosen_tables(materials: Sequence[WeekMaterial], week: Week, letters: dict[str, str]) -> list[str]:
    """What each material does in the chosen arrangement, and how fast it may be pumped there."""
    first = ("", "material", "fill", "deliv.", "heavier", "landing", "own best", "at worst", "gives up")
    units = ("", "", "%", "%", "%", unit_in_use("m/s"), unit_in_use("mm"), "%", "%")
    second = ("", "material", "rate", "holds", "misses", "missed")
    rates = ("", "", "/min", "/min", "/min", "")
    names = [(letters[result.name], plain(result.name)) for result in week.materials]
    numbers = [(*name, *_numbers(result)) for name, result in zip(names, week.materials, strict=True)]
    limits = [
        (*name, *_rates(material, result))
        for name, material, result in zip(names, materials, week.materials, strict=True)
    ]
    tables = table(first, [units, *numbers], range(2, 9)), table(second, [rates, *limits], range(2, 5))
    return [tables[0], "", tables[1], "", filled(_CHOSEN_NOTE)]


def _numbers(result: MaterialResult) -> tuple[str, ...]:
    """Fill, delivery, that in heavier material, landing; own travel, what is sure there, what is given up."""
    trial, best = result.there, best_trial(result)
    if trial is None or trial.metrics is None:
        return ("-",) * 7
    fill, landing = trial.metrics.fill_fraction, fixed(trial.landing, "velocity", "m/s", 2)
    cells = [_share(fill, trial), _share(trial.delivery, trial), _share(trial.heavier, trial), landing]
    if best is None or result.gives_up is None:
        return (*cells, "-", "-", "-")
    travel = fixed(best.ball_travel, "length", "mm", 2)
    return (*cells, travel, _share(best.assured, best), _share(result.gives_up, trial))


def _share(value: float | None, trial: Trial) -> str:
    return "-" if value is None else rounded(100.0 * value, 1, 100.0 * trial.scatter)


def _rates(material: WeekMaterial, result: MaterialResult) -> tuple[str, ...]:
    rate, limit, trial = material.scenario.drive.cycle_rate, result.rate, result.there
    if rate is None or limit is None:
        made = trial.metrics.cycle_rate if trial is not None and trial.metrics is not None else math.nan
        return number(from_si(made, "frequency", "/min"), 3), "-", "-", "-"
    asked = per_minute(rate)
    if limit.fails is None and limit.holds is not None:
        return asked, per_minute(limit.holds), "-", "no limit up to there"
    holds, fails = (per_minute(rate) if rate is not None else "-" for rate in (limit.holds, limit.fails))
    none = "" if limit.holds is not None else "none holds in the range searched: "
    return asked, holds, fails, none + briefly(limit.missed)


def _named(materials: Sequence[WeekMaterial], week: Week) -> list[str]:
    flushes = {material.name for material in materials if material.flush}
    note = f" (an indication only with {', '.join(map(plain, week.indication))})" if week.indication else ""
    word = "Indication, not a recommendation" if set(week.indication) - flushes else "Recommended"
    word = f"{word} for the week{note}"
    return recommended_lines(materials[0].scenario, week, word, note, " in all materials")


def _by_material(sentences: Sequence[tuple[str, str]]) -> list[str]:
    """Sentences of (material, sentence), each once, with the materials that it is said of."""
    names: dict[str, list[str]] = {}
    for name, sentence in sentences:
        names.setdefault(sentence, []).append(name)
    return [f"{', '.join(these)}: {sentence}" for sentence, these in names.items()]


def warning_lines(week: Week) -> list[str]:
    """All warnings, each once, with the materials that it is for."""
    return _by_material([(result.name, text) for result in week.materials for text in result.warnings])


def _excursion_lines(week: Week) -> list[str]:
    trials = [(result.name, result.there) for result in week.materials if result.there is not None]
    return _by_material([(name, str(out)) for name, trial in trials for out in trial.excursions])
