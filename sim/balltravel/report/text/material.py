"""What was understood of a material as plain text, and the kinds of material."""

import math
import textwrap
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
from balltravel.material.kinds import Kind, Range, as_toml
from balltravel.report.tables import WIDTH, bench, both, bullets, number, plain, table
from balltravel.scenario.model import Scenario
from balltravel.units import from_si, to_text, to_texts

GUESS = "guess"
"""Stands for a band where the rate lies beyond the readings."""

_BAND_NOTE = f"""\
band: {COVERAGE:g} standard uncertainties, about 95 %, by the readings; "-" where nothing tells it.
Worked material."""


def material_text(_: Scenario, found: MaterialReport) -> str:
    """Law, viscosities, cups, shear rates, and what yield, rest and age do."""
    parts = [
        plain(found.title),
        "",
        *_filled(f"{found.law}: {'; '.join(_parameter(one) for one in found.parameters)}."),
        *_filled(_origin(found)),
        *_filled(_temperatures(found)),
        "",
        _viscosities(found.temperatures),
        "",
        *_filled(_BAND_NOTE + (_guess_note(found) or "")),
        "",
        *_cups(found),
        "Shear rates that this lower makes, from a tenth of the piston's full speed to full speed:",
        table(("place", "from", "to"), _places(found), (1, 2)),
        *bullets("Yield stress", list(_yield_lines(found.yields) if found.yields else _no_yield(found))),
        *bullets("Rest and age", list(_rest_lines(found))),
        *bullets("Warnings", found.warnings),
    ]
    return "\n".join(parts)


def _filled(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH)


def _parameter(one: Parameter) -> str:
    name = one.name.replace("_", " ")
    unit = "" if one.unit == "1" else f" {one.unit}"
    if one.value is None:
        return f"{name} not determined by the readings"
    if one.uncertainty is None:
        return f"{name} {number(one.value)}{unit}"
    return f"{name} {with_uncertainty(one.value, one.uncertainty)}{unit}"


def with_uncertainty(value: float, uncertainty: float) -> str:
    """A value to the second digit of its standard uncertainty: ``43.2 +/- 5.3``."""
    decimals = 1 - math.floor(math.log10(uncertainty)) if uncertainty > 0.0 else 6
    shown = (f"{round(one, decimals):.{max(decimals, 0)}f}" for one in (value, uncertainty))
    return " +/- ".join(shown)


def _origin(found: MaterialReport) -> str:
    source = found.source
    where = both(found.stated, "temperature")
    if source is None:
        return f"As stated at {where}; no readings, so nothing is known of how far it holds."
    low, high = (number(rate, 3) for rate in source.rates)
    rates = "" if found.law == "Newtonian" else f", {low} to {high} 1/s"
    some = f"the {source.fitted}" if source.fitted == source.given else f"{source.fitted} of {source.given}"
    return (
        f"Fitted to {some} reading{'s' if source.given > 1 else ''}, at {where}{rates} (+/-: one standard "
        f"uncertainty). {_scatter(source)}"
    )


def _scatter(source: Source) -> str:
    if source.scatter is None:
        return "No more readings than parameters: nothing tells whether the law suits."
    if source.scatter < 0.01:
        return "The readings lie on it."
    widened = ", so all uncertainties are widened by that" if source.widened else ""
    return f"The readings lie off it by {number(source.scatter, 2)} times their stated uncertainty{widened}."


def _temperatures(found: MaterialReport) -> str:
    factor = f" All times the viscosity factor {number(found.factor)}." if found.factor != 1.0 else ""
    there = [
        f"{one.where} {both(one.temperature, 'temperature')}, viscosity times {number(one.ratio, 3)}"
        for one in found.temperatures
        if not math.isclose(one.temperature, found.stated)
    ]
    if not there:
        return f"Lower, tank and hose are at that temperature.{factor}"
    energy = ""
    if found.activation_energy is not None:
        energy = f", activation energy {to_text(found.activation_energy, 'activation energy', 3)}"
    return f"By the law {found.temperature_law}{energy}: {'; '.join(there)}.{factor}"


def _viscosities(columns: tuple[AtTemperature, ...]) -> str:
    head, units = ["shear rate"], ["1/s"]
    for one in columns:
        head += [f"{one.where}, {bench(one.temperature, 'temperature', 3)}", "", ""]
        units += ["Pa.s", "cP", "band"]
    rows = [
        [number(row[0].rate), *(cell for one in row for cell in _cells(one))]
        for row in zip(*(one.viscosities for one in columns), strict=True)
    ]
    return table(head, [units, *rows], range(len(head)))


def _cells(one: Viscosity) -> tuple[str, str, str]:
    band = GUESS if one.beyond else "-" if one.band is None else f"{100.0 * one.band:.2g} %"
    mu = one.viscosity
    return number(mu, 3), number(from_si(mu, "viscosity", "cP"), 3), band


def _guess_note(found: MaterialReport) -> str:
    beyond = any(one.beyond for column in found.temperatures for one in column.viscosities)
    return f" {GUESS}: beyond the shear rates of the readings." if beyond else ""


def _cups(found: MaterialReport) -> Iterator[str]:
    """What a cup and a Krebs instrument would show, where they can."""
    rows = []
    for one in found.temperatures:
        where = f"{one.where}, {bench(one.temperature, 'temperature', 3)}"
        rows += [
            (where, cup.cup, f"about {number(cup.seconds, 2)} s", f"at {number(cup.rate, 2)} 1/s")
            for cup in one.cups
        ]
        if one.krebs is not None:
            rows.append((where, "Krebs units (ASTM D562)", f"about {one.krebs:.0f} KU", ""))
    if not rows:
        yield "No ISO or Ford cup and no Krebs instrument is for it."
    else:
        yield "A bench instrument would show (cups: the shear rate as the cup empties):"
        yield table(("material", "instrument", "reading", ""), rows, (2, 3))
    yield ""


def _places(found: MaterialReport) -> Iterator[tuple[str, str, str]]:
    for one in found.places:
        slow, fast = (number(rate, 2) for rate in (one.slowest, one.fastest))
        yield one.name, ("" if slow == fast else slow), f"{fast} 1/s"


def _yield_lines(found: YieldEffects) -> Iterator[str]:
    for name, holds in (("inlet", found.holds_inlet_ball), ("piston", found.holds_piston_ball)):
        worked, rested, needs = to_texts((*found.in_lower, holds), "stress", 3)
        verdict = "holds the ball up" if found.in_lower[0] >= holds else "lets the ball fall"
        after = ""
        if found.in_lower[1] > found.in_lower[0]:
            after = f", {rested} after a rest {'holds it up' if found.in_lower[1] >= holds else 'too'}"
        yield (
            f"{name} check: {worked} {verdict} in still material{after}; "
            f"{needs} is what it takes to hold it up."
        )
    starts, there = _worked_and_rested(found.starts_hose, "pressure"), both(found.available, "pressure", 3)
    verdict = "so nothing flows" if found.starts_hose[0] >= found.available else "so it flows"
    yield f"The suction hose starts to flow at {starts}; {there} is there, {verdict}."
    bank = _worked_and_rested(found.bank, "length")
    yield (
        f"In the pail a bank of it stands by itself up to {bank} high (an "
        "upper estimate): what lies higher above the inlet end of the hose slides to it, what is lower does "
        "not level."
    )


def _no_yield(found: MaterialReport) -> Iterator[str]:
    if any(one.name == "yield_stress" and one.value is None for one in found.parameters):
        yield "The readings do not determine it: read at lower shear rates to know what it does."


def _worked_and_rested(pair: tuple[float, float], dimension: str) -> str:
    worked, rested = (both(one, dimension, 2) for one in pair)
    return f"{worked}, after a rest {rested}" if pair[1] > pair[0] else worked


def _rest_lines(found: MaterialReport) -> Iterator[str]:
    if found.rested > 1.0:
        yield f"After a rest its viscosity is {number(found.rested, 3)} times that of the worked material."
    if found.doubling_time is not None:
        yield (
            f"Its viscosity doubles in {to_text(found.doubling_time, 'time', 3)}: at an age of "
            f"{to_text(found.age, 'time', 3)} it is {number(found.aged, 3)} times the fresh one (the table "
            "has it in)."
        )


# --- kinds of material


def kind_text(kind: Kind) -> str:
    """The invented example of a kind, to paste into a scenario."""
    return as_toml(kind).rstrip()


def kinds_text(kinds: Mapping[str, Kind]) -> str:
    """The kinds of material with their common ranges, as a table."""
    head = (
        "kind",
        "density",
        "",
        "viscosity at 1 1/s",
        "",
        "at 1000 1/s",
        "",
        "yield",
        "grain",
        "rested",
        "",
    )
    units = ("", "kg/m3", "lb/gal", "Pa.s", "cP", "Pa.s", "cP", "Pa", "um", "over worked", "pot life")
    rows = [units, *(_kind_row(kind) for kind in kinds.values())]
    return "\n".join([table(head, rows, range(1, len(head) - 1)), "", *_filled(_KINDS_NOTE)])


_KINDS_NOTE = """\
Common ranges at 20 degC (68 degF), ready to pump and worked, from common practice and from memory, without a
source: a material may well lie outside. grain: the coarsest. --kind "NAME" prints an invented example of a
kind, to paste into a scenario."""


def _kind_row(kind: Kind) -> tuple[str, ...]:
    pot = kind.pot_life
    return (
        kind.name,
        _range(kind.density, "density", "kg/m3"),
        _range(kind.density, "density", "lb/gal"),
        _range(kind.slow_viscosity, "viscosity", "Pa.s"),
        _range(kind.slow_viscosity, "viscosity", "cP"),
        _range(kind.fast_viscosity, "viscosity", "Pa.s"),
        _range(kind.fast_viscosity, "viscosity", "cP"),
        _range(kind.yield_stress, "stress", "Pa"),
        _range(kind.largest_particle, "length", "um"),
        f"{number(kind.rested_ratio.low)} to {number(kind.rested_ratio.high)}",
        f"{to_text(pot.low, 'time', 2)} to {to_text(pot.high, 'time', 2)}" if pot else "-",
    )


def _range(one: Range, dimension: str, unit: str) -> str:
    return " to ".join(number(from_si(end, dimension, unit), 3) for end in one)
