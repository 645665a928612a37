"""What is not known exactly in a scenario: the stated ranges, and the typical ones of all else."""

import math
from collections.abc import Mapping, Set
from dataclasses import replace
from typing import Any

from balltravel.scenario.arguments import scenario_given
from balltravel.scenario.model import FIELDS, Scenario, flat, quantity_of
from balltravel.scenario.tables import INSTEAD, NEEDED, SILENT, TYPICAL, given_keys, replaced_by
from balltravel.units import from_si, in_digits, number_apart, to_text, to_texts
from balltravel.units.display import difference
from balltravel.units.spread import Spread
from balltravel.units.typical import ORIGIN

A_SHARE = 1.3
"""Factor below which a spread is told as a share: within 20 %, but from 3.33 to 7.5."""


def spreads_of(scenario: Scenario) -> dict[str, Spread]:
    """Every key that is not known exactly with its law of chance [SI], in the order of FIELDS: the stated
    range, else the typical one.

    Keys that play no part in the scenario as it stands have none, unless they play one with another of the
    choices that it may have (the onset of thinning where the flow is one of two). A law that reaches beyond
    what its key may hold is cut there: values beyond are drawn at the limit. Raises ScenarioError for what is
    no scenario.
    """
    scenario_given(scenario)
    values, given = flat(scenario), set(given_keys(scenario))
    spreads: dict[str, Spread] = {}
    for key in FIELDS:
        spread = scenario.ranges.get(key) or _typical(key, values, given)
        if spread is not None and not spread.is_exact and _may_act(key, scenario, values, given):
            spreads[key] = _cut(key, spread)
    return spreads


def _typical(key: str, values: Mapping[str, Any], given: Set[str]) -> Spread | None:
    """The typical spread of a key about its value; None where it has none."""
    mark, value = TYPICAL.get(key), values[key]
    if mark is None or value is None or value != value or (mark.of_default and key in given):
        return None
    spread = mark.about(value)
    if mark.kind != "choices":
        return spread
    possible = [choice for choice in mark.choices if choice == value or _can_be(key, choice, values)]
    weights = dict(zip(mark.choices, mark.weights, strict=True)) if mark.weights else {}
    return replace(
        spread, choices=tuple(possible), weights=tuple(weights[choice] for choice in possible if weights)
    )


def _can_be(key: str, choice: str, values: Mapping[str, Any]) -> bool:
    """Whether the keys that go with a choice are to be had."""
    return choice not in dict(TYPICAL[key].companions) or bool(_companions(key, choice, values))


def _companions(key: str, choice: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """Usual values of the keys that go with a choice, by the other sizes of its table; none where it needs
    none, or none fit."""
    make = dict(TYPICAL[key].companions).get(choice) if key in TYPICAL else None
    table = key.split(".")[0]
    own = {name.split(".")[1]: value for name, value in values.items() if name.startswith(f"{table}.")}
    return {f"{table}.{name}": value for name, value in make(own).items()} if make else {}


def _may_act(key: str, scenario: Scenario, values: Mapping[str, Any], given: Set[str]) -> bool:
    """Whether a key plays a part with one of the choices that its selector may have."""
    mark = NEEDED.get(key)
    chosen = scenario.ranges.get(mark.selector) if mark else None
    options = chosen.choices if chosen else ()
    if mark and options and any(_acts(key, {**values, mark.selector: choice}, given) for choice in options):
        return True
    return _acts(key, values, given)


def _acts(key: str, values: Mapping[str, Any], given: Set[str]) -> bool:
    """Whether a key plays a part beside these values."""
    needed, typical = NEEDED.get(key), TYPICAL.get(key)
    if needed:
        wanted = values.get(needed.selector) in (*needed.choices, *needed.free)
        follows = bool(needed.other) and values.get(needed.other) in needed.excluding
        if not wanted or follows or needed.instead in given:
            return False
    if key in INSTEAD and INSTEAD[key].source in given:
        return False
    if SILENT.get(key) and not values.get(SILENT[key]):
        return False
    if typical and typical.acts_with:
        other, choices = typical.acts_with
        return values[other] in choices
    return True


def _cut(key: str, spread: Spread) -> Spread:
    quantity = quantity_of(FIELDS[key])
    return spread.within(quantity.low, quantity.high) if quantity and spread.numbers_only else spread


def changes_of(scenario: Scenario, drawn: Mapping[str, Any]) -> dict[str, Any]:
    """The changes, as ``with_values`` takes them, that give a scenario its drawn values (dotted key -> SI).

    With another choice than the present one come the keys that it needs, at their drawn, their stated or
    their usual value, and those go that it does not have; what is drawn for a key that plays no part then
    is left out.
    """
    present, given = flat(scenario), set(given_keys(scenario))
    values = {**present, **drawn}
    changes = dict(drawn)
    for key, choice in drawn.items():
        if isinstance(choice, str) and choice != present[key]:
            changes |= _with_choice(scenario, key, choice, drawn, values)
    values |= changes
    return {key: value for key, value in changes.items() if value is None or _acts(key, values, given)}


def _with_choice(
    scenario: Scenario, key: str, choice: str, drawn: Mapping[str, Any], values: Mapping[str, Any]
) -> dict[str, Any]:
    """The keys that come and go with another choice."""
    given = set(given_keys(scenario))
    gone = replaced_by({key: choice}) & given
    changes: dict[str, Any] = dict.fromkeys(gone)
    usual = _companions(key, choice, values)
    for other, mark in NEEDED.items():
        fits = mark.selector == key and choice in (*mark.choices, *mark.free)
        if fits and other not in given and other not in drawn:
            stated = scenario.ranges.get(other)
            value = stated.likely if stated else usual.get(other)
            changes |= {other: value} if value is not None else {}
    return changes


def described(spread: Spread, dimension: str = "") -> str:
    """A spread in words: ``2 to 9 Pa.s, likely 5 Pa.s``, ``about 5 Pa.s (3.33 to 7.5)``, ``edge or cone
    (3 to 1)``.

    ``dimension``: of its values; empty for names.
    """
    if spread.law == "choices":
        return _named(spread)
    if spread.law == "scipy":
        shape = ", ".join(f"{name} = {value:.4g}" for name, value in spread.shape)
        text = f"{spread.name} ({shape}; loc and scale in SI)"
    elif spread.law == "exact":
        text = f"exactly {to_text(spread.numbers[0], dimension)}"
    elif spread.law == "normal":
        text = _about(spread, dimension)
    else:
        low, high = _between(spread.ends, dimension)
        likely = "" if spread.law == "even" else f", likely {to_text(spread.likely, dimension)}"
        text = f"{low} to {high}{likely}"
    along = ", in proportion to the density" if spread.follows else ""
    return text + _where_cut(spread, dimension) + along


def _named(spread: Spread) -> str:
    text = (" or " if len(spread.choices) < 3 else ", ").join(spread.choices)
    if len(set(spread.weights)) < 2:
        return text
    least = min(spread.weights)
    return f"{text} ({' to '.join(f'{weight / least:.3g}' for weight in spread.weights)})"


def _between(ends: tuple[float, float], dimension: str) -> tuple[str, str]:
    """Two ends in one unit, which the first does without."""
    low, high = to_texts(ends, dimension)
    return number_apart(low)[0], high


def _tolerance(reach: float, dimension: str, about: str) -> str:
    """A tolerance in the unit of its text, to two digits; inches to a thousandth or as a fraction."""
    number, unit = number_apart(about)
    size = from_si(reach, dimension, unit) if unit else reach
    if "/" in number or not math.isfinite(size):
        return about
    rounded = round(size, 3) if unit == "in" and abs(size) >= THOUSANDTH else in_digits(size, 2)
    return f"{rounded:.10g} {unit}".strip()


THOUSANDTH = 1e-3
"""[in]"""


def _about(spread: Spread, dimension: str) -> str:
    middle, reach = spread.numbers
    text = to_text(middle, dimension)
    if not spread.logarithmic:
        if dimension != "temperature":
            size, about = to_texts((middle, reach), dimension)
            return f"{size} +- {_tolerance(reach, dimension, about)}"
        return f"{text} +- {difference(reach)}"
    if reach < A_SHARE:
        return f"{text} within {100.0 * (reach - 1.0):.3g} %"
    text, *ends = to_texts((middle, middle / reach, middle * reach), dimension)
    low, high = (number_apart(end)[0] for end in ends)
    return f"about {text} ({low} to {high})"


def _where_cut(spread: Spread, dimension: str) -> str:
    """At which limits a law is cut; of a distribution, which mostly has tails without end, it is not told."""
    if not spread.limits or spread.law == "scipy":
        return ""
    (low, high), (least, most) = spread.ends, spread.limits
    cut = [least] * (low < least) + [most] * (high > most)
    return f", cut at {' and '.join(to_text(limit, dimension) for limit in cut)}"


def is_just_written(spread: Spread) -> bool:
    """Whether a range that a scenario holds is but the typical one of a value that goes with another key."""
    return bool(spread.follows) and spread.origin == ORIGIN


def range_in_words(key: str, spread: Spread) -> str:
    """The spread of a key in words; see described."""
    quantity = quantity_of(FIELDS[key])
    return described(spread, quantity.dimension if quantity else "")


IN_THE_FILE = "in the file"
"""Where a value or a range is from that somebody wrote, or `balltravel new` for what nobody knows."""


def origin_of(key: str, spread: Spread) -> str:
    """Where a range is from, in words: the source of a typical one, or that the file has it."""
    if spread.origin == ORIGIN:
        return TYPICAL[key].source if key in TYPICAL else IN_THE_FILE
    return spread.origin or IN_THE_FILE
