"""The material as interpreted, as plain text, and the kinds of material."""

import math
from collections.abc import Iterator, Mapping

from balltravel.estimate.material_report import (
    COVERAGE,
    AtTemperature,
    MaterialReport,
    Parameter,
    Source,
    Viscosity,
    YieldEffects,
)
from balltravel.material.kinds import ROOM, Kind, Range, as_toml
from balltravel.report.tables import (
    bench,
    bench_unit,
    both,
    bullets,
    column_units,
    filled,
    number,
    plain,
    table,
)
from balltravel.scenario.model import Scenario
from balltravel.units import from_si, to_text, to_texts
from balltravel.units.display import is_foreign
from balltravel.units.systems import STRESS_IN_US, US, in_use, unit_in_use

GUESS = "guess"
"""Stands for a band where the rate lies beyond the readings."""

_BAND_NOTE = f"""\
band: {COVERAGE:g} standard uncertainties, about 95 %, from the readings; "-" where it is unknown.
Viscosities are of worked material."""


def material_text(_: Scenario, report: MaterialReport) -> str:
    """Law, viscosities, cups, shear rates, and what yield, rest and age do."""
    parts = [
        plain(report.title),
        "",
        filled(f"{report.law}: {'; '.join(_parameter(parameter) for parameter in report.parameters)}."),
        filled(_origin(report)),
        filled(_temperatures(report)),
        "",
        _viscosities(report.temperatures),
        "",
        filled(_BAND_NOTE + (_guess_note(report) or "")),
        "",
        *_cups(report),
        "Shear rates that this lower makes, from a tenth of the piston's full speed to full speed:",
        table(("place", "from", "to"), _places(report), (1, 2)),
        *bullets("Yield stress", list(_yield_lines(report.yields) if report.yields else _no_yield(report))),
        *bullets("Rest and age", list(_rest_lines(report))),
        *bullets("Warnings", report.warnings),
    ]
    return "\n".join(parts)


def _parameter(parameter: Parameter) -> str:
    name = parameter.name.replace("_", " ")
    times, shown = _IN_US.get(parameter.unit, (1.0, "")) if in_use.get() == US else (1.0, "")
    unit = "" if parameter.unit == "1" else f" {shown or parameter.unit}"
    if parameter.value is None:
        return f"{name} not determined by the readings"
    if parameter.uncertainty is None:
        return f"{name} {number(times * parameter.value)}{unit}"
    return f"{name} {with_uncertainty(times * parameter.value, times * parameter.uncertainty)}{unit}"


_IN_US = {"Pa s": (1e3, "cP"), "Pa s^n": (10.0, "dyn s^n/cm2"), "Pa": (10.0, STRESS_IN_US)}
"""Unit of a parameter of a law -> by what it becomes the other, which a US data sheet has."""


def with_uncertainty(value: float, uncertainty: float) -> str:
    """A value to the second digit of its standard uncertainty: ``43.2 +/- 5.3``."""
    decimals = 1 - math.floor(math.log10(uncertainty)) if uncertainty > 0.0 else 6
    shown = (f"{round(quantity, decimals):.{max(decimals, 0)}f}" for quantity in (value, uncertainty))
    return " +/- ".join(shown)


def _origin(report: MaterialReport) -> str:
    source = report.source
    stated = both(report.stated, "temperature")
    if source is None:
        return f"As stated at {stated}; no readings, so its accuracy is unknown."
    low, high = (number(rate, 3) for rate in source.rates)
    rates = "" if report.law == "Newtonian" else f", {low} to {high} 1/s"
    readings = (
        f"the {source.fitted}" if source.fitted == source.given else f"{source.fitted} of {source.given}"
    )
    return (
        f"Fitted to {readings} reading{'s' if source.given > 1 else ''}, at {stated}{rates} "
        f"(+/-: one standard uncertainty). {_scatter(source)}"
    )


def _scatter(source: Source) -> str:
    if source.scatter is None:
        return "There are no more readings than parameters, so the fit cannot be checked."
    if source.scatter < 0.01:
        return "The readings lie on the fitted curve."
    widened = ", so all uncertainties are widened by that factor" if source.widened else ""
    times = number(source.scatter, 2)
    return f"The readings deviate from it by {times} times their stated uncertainty{widened}."


def _temperatures(report: MaterialReport) -> str:
    factor = f" All viscosities include the factor {number(report.factor)}." if report.factor != 1.0 else ""
    others = [
        f"{state.where} {both(state.temperature, 'temperature')}, viscosity times {number(state.ratio, 3)}"
        for state in report.temperatures
        if not math.isclose(state.temperature, report.stated)
    ]
    if not others:
        return f"Lower, tank and hose are at that temperature.{factor}"
    energy = ""
    if report.activation_energy is not None:
        energy = f", activation energy {to_text(report.activation_energy, 'activation energy', 3)}"
    return f"Temperature law {report.temperature_law}{energy}: {'; '.join(others)}.{factor}"


def _viscosities(columns: tuple[AtTemperature, ...]) -> str:
    head, units = ["shear rate"], ["1/s"]
    for column in columns:
        named, *rest = (*column_units("viscosity"), "band")
        head += [f"{column.where}, {bench(column.temperature, 'temperature', 3)}", *[""] * len(rest)]
        units += [named, *rest]
    rows = [
        [number(row[0].rate), *(cell for entry in row for cell in _cells(entry))]
        for row in zip(*(column.viscosities for column in columns), strict=True)
    ]
    wide = 1 + len(column_units("viscosity"))
    return table(head, [units, *rows], range(len(head)), apart=range(1, len(head), wide))


def _cells(entry: Viscosity) -> tuple[str, ...]:
    band = GUESS if entry.beyond else "-" if entry.band is None else f"{100.0 * entry.band:.2g} %"
    mu = entry.viscosity
    return *(number(from_si(mu, "viscosity", unit), 3) for unit in column_units("viscosity")), band


def _guess_note(report: MaterialReport) -> str:
    beyond = any(entry.beyond for column in report.temperatures for entry in column.viscosities)
    return f" {GUESS}: beyond the shear rates of the readings." if beyond else ""


def _cups(report: MaterialReport) -> Iterator[str]:
    """What a cup and a Krebs instrument would show, where they can."""
    rows = []
    for state in report.temperatures:
        where = f"{state.where}, {bench(state.temperature, 'temperature', 3)}"
        rows += [
            (where, cup.cup, f"about {number(cup.seconds, 2)} s", f"at {number(cup.rate, 2)} 1/s")
            for cup in state.cups
            if not is_foreign(cup.cup)
        ]
        if state.krebs is not None:
            rows.append((where, "Krebs units (ASTM D562)", f"about {state.krebs:.0f} KU", ""))
    if not rows:
        yield "No ISO or Ford cup and no Krebs instrument suits it."
    else:
        yield "Expected readings of bench instruments (cups: with the shear rate as the cup empties):"
        yield table(("material", "instrument", "reading", ""), rows, (2, 3))
    yield ""


def _places(report: MaterialReport) -> Iterator[tuple[str, str, str]]:
    for place in report.places:
        slow, fast = (number(rate, 2) for rate in (place.slowest, place.fastest))
        yield place.name, ("" if slow == fast else slow), f"{fast} 1/s"


def _yield_lines(effects: YieldEffects) -> Iterator[str]:
    for name, holds in (("inlet", effects.holds_inlet_ball), ("piston", effects.holds_piston_ball)):
        worked, rested, needs = to_texts((*effects.in_lower, holds), "stress", 3)
        verdict = "holds the ball up" if effects.in_lower[0] >= holds else "lets the ball fall"
        after = ""
        if effects.in_lower[1] > effects.in_lower[0]:
            after = f", {rested} after a rest {'holds it up' if effects.in_lower[1] >= holds else 'too'}"
        yield (f"{name} check: {worked} {verdict} in still material{after}; it takes {needs} to hold it up.")
    starts, available = (
        _worked_and_rested(effects.starts_hose, "pressure"),
        both(effects.available, "pressure", 3),
    )
    verdict = "so nothing flows" if effects.starts_hose[0] >= effects.available else "so it flows"
    yield f"The suction hose starts to flow at {starts}; {available} is available, {verdict}."
    bank = _worked_and_rested(effects.bank, "length")
    yield (
        f"In the pail a bank of it stands by itself up to {bank} high (an upper estimate): material higher "
        "than that above the inlet end of the hose slides down to it, lower material does not level out."
    )


def _no_yield(report: MaterialReport) -> Iterator[str]:
    if any(parameter.name == "yield_stress" and parameter.value is None for parameter in report.parameters):
        yield "The readings do not determine it: take readings at lower shear rates to know its effect."


def _worked_and_rested(pair: tuple[float, float], dimension: str) -> str:
    worked, rested = (both(value, dimension, 2) for value in pair)
    return f"{worked}, after a rest {rested}" if pair[1] > pair[0] else worked


def _rest_lines(report: MaterialReport) -> Iterator[str]:
    if report.rested > 1.0:
        yield f"After a rest its viscosity is {number(report.rested, 3)} times that of the worked material."
    if report.doubling_time is not None:
        yield (
            f"Its viscosity doubles in {to_text(report.doubling_time, 'time', 3)}: at an age of "
            f"{to_text(report.age, 'time', 3)} it is {number(report.aged, 3)} times that when fresh "
            "(included in the table)."
        )


# --- kinds of material


def kind_text(kind: Kind) -> str:
    """The invented example of a kind, to paste into a scenario."""
    return as_toml(kind).rstrip()


def kinds_text(kinds: Mapping[str, Kind]) -> str:
    """The kinds of material with their common ranges, as two tables."""
    thick, heavy = column_units("viscosity"), column_units("density")
    rest_of = ("",) * (len(thick) - 1)
    flow = (
        ("kind", "viscosity at 1 1/s", *rest_of, "at 1000 1/s", *rest_of, "yield"),
        ("", *thick, *thick, bench_unit("stress")),
    )
    rest = (
        ("kind", "density", *rest_of, "grain", "rested", "pot life"),
        ("", *heavy, unit_in_use("um"), "over worked", ""),
    )
    tables = [
        table(head, [units, *(cells(kind) for kind in kinds.values())], range(1, len(head)))
        for (head, units), cells in ((flow, _flow_cells), (rest, _rest_cells))
    ]
    return "\n\n".join([*tables, filled(_KINDS_NOTE.format(at=both(ROOM, "temperature")))])


_KINDS_NOTE = """\
Common ranges at {at}, ready to pump and worked, from common practice and from memory, without a
source: a material may lie outside. grain: coarsest particle. --kind "NAME" prints an invented example of a
kind, to paste into a scenario."""


def _flow_cells(kind: Kind) -> tuple[str, ...]:
    return (
        kind.name,
        *(_range(kind.slow_viscosity, "viscosity", unit) for unit in column_units("viscosity")),
        *(_range(kind.fast_viscosity, "viscosity", unit) for unit in column_units("viscosity")),
        _range(kind.yield_stress, "stress", bench_unit("stress")),
    )


def _rest_cells(kind: Kind) -> tuple[str, ...]:
    pot = kind.pot_life
    return (
        kind.name,
        *(_range(kind.density, "density", unit) for unit in column_units("density")),
        _range(kind.largest_particle, "length", unit_in_use("um")),
        f"{number(kind.rested_ratio.low)} to {number(kind.rested_ratio.high)}",
        f"{to_text(pot.low, 'time', 2)} to {to_text(pot.high, 'time', 2)}" if pot else "-",
    )


def _range(span: Range, dimension: str, unit: str) -> str:
    return " to ".join(number(from_si(end, dimension, unit), 3) for end in span)
