"""Whether a range can be one: of a key that can have any, with numbers and names that the key can have."""

import math
from collections.abc import Iterator, Mapping
from typing import Literal, get_args, get_origin

import numpy as np
from pydantic.fields import FieldInfo

from balltravel.scenario.rules.rule import Fault
from balltravel.scenario.tables import FIELDS, FILES, example_of
from balltravel.units import shown, to_text
from balltravel.units.keys import Quantity, choice_error, is_number, names_of, quantity_of
from balltravel.units.spread import LAWS, Spread

EXAMPLE = 'viscosity = { low = "2 Pa.s", likely = "5 Pa.s", high = "9 Pa.s" }'
COUNTS = {"exact": 1, "even": 2, "triangle": 3, "normal": 2, "choices": 0, "scipy": 0}
"""How many numbers a law has."""


def range_faults(ranges: Mapping[str, Spread]) -> list[Fault]:
    """The faults of all stated ranges."""
    return [fault for key, spread in ranges.items() for fault in faults_of(key, spread)]


def choices_of(key: str) -> tuple[str, ...]:
    """The names that a key may have, of which it has one; none of any other key."""
    field = FIELDS[key]
    if get_origin(field.annotation) is tuple:
        return ()
    names = names_of(field)
    literal = get_args(field.annotation) if get_origin(field.annotation) is Literal else ()
    return names.allowed if names else literal


def example_range(key: str) -> str:
    """A range as one writes it for a key that has numbers."""
    quantity = quantity_of(FIELDS[key])
    if quantity is None:
        return EXAMPLE
    within = "2 K" if quantity.dimension == "temperature" else "10 %"
    return f'{key.split(".")[1]} = {{ likely = {quantity.written()}, within = "{within}" }}'


def no_range(key: str) -> Fault | None:
    """The fault of a range on a key that can have none, and why; None for one that can."""
    example = EXAMPLE
    if key == "title":
        return Fault(key, "a range given", "a title is text", 'title = "One lower, primer"')
    if key not in FIELDS:
        return Fault(key, "a range of an unknown key", "a key of a scenario", "material.viscosity")
    if key == "material.readings":
        allowed = "an array of readings, whose own uncertainty is their range"
        return Fault(key, "a range given", allowed, 'uncertainty = "10 %", in a reading')
    if key in FILES:
        allowed = "the name of a file" + ("; its rate can have a range" if key == "drive.trace" else "")
        return Fault(key, "a range given", allowed, example)
    if get_origin(FIELDS[key].annotation) is tuple:
        allowed = "an array of values that are known (the base travel can have a range)"
        return Fault(key, "a range given", allowed, 'base_travel = { likely = "2 mm", within = "0.1 mm" }')
    if key.startswith("target."):
        return Fault(key, "a range given", "one value: a target is what you want", example_of(key))
    return None


def faults_of(key: str, spread: Spread) -> Iterator[Fault]:
    """What is wrong with a law of chance for a key."""
    none = no_range(key)
    if none:
        yield none
    elif spread.law not in LAWS or len(spread.numbers) != COUNTS[spread.law]:
        given = f'the law "{spread.law[:40]}" with {len(spread.numbers)} numbers given'
        yield Fault(key, given, " or ".join(f'"{law}"' for law in LAWS), example_range(key))
    elif spread.law == "choices":
        yield from _of_names(key, spread)
    else:
        yield from _of_numbers(key, FIELDS[key], spread)


def _of_names(key: str, spread: Spread) -> Iterator[Fault]:
    choices = choices_of(key)
    if not choices:
        yield Fault(key, "several names given", "a value, or low and high", example_range(key))
        return
    wrong = [name for name in spread.choices if name not in choices]
    for error in (choice_error(name, choices) for name in wrong):
        yield Fault(key, error.given, error.allowed, f"[{error.example}]")
    weights = spread.weights
    twice = not wrong and len(set(spread.choices)) < len(spread.choices)
    if not spread.choices or twice:
        yield Fault(
            key, f"{shown(list(spread.choices))} given", "one or more names, each once", _names(choices)
        )
    if weights and (len(weights) != len(spread.choices) or min(weights) < 0.0 or not sum(weights) > 0.0):
        yield Fault(key, "weights given that do not fit", "a weight of 0 or more for each name", "(3, 1)")


def _names(choices: tuple[str, ...]) -> str:
    return shown(list(choices[:2]))


def _of_numbers(key: str, field: FieldInfo, spread: Spread) -> Iterator[Fault]:
    quantity = quantity_of(field)
    if quantity is None:
        yield Fault(key, "a range of numbers given", "a name, or several", _names(choices_of(key)))
        return
    wrong = [number for number in spread.numbers if not is_number(number)]
    if wrong:
        given, allowed = f"{shown(wrong[0])} given", f"numbers from {quantity.allowed()}"
        yield Fault(key, given, allowed, example_range(key))
        return
    if spread.law == "normal":
        yield from _of_reach(key, quantity, spread)
    elif spread.law == "scipy":
        yield from _of_distribution(key, quantity, spread)
    else:
        yield from _of_ends(key, quantity, spread)


def _of_ends(key: str, quantity: Quantity, spread: Spread) -> Iterator[Fault]:
    names = ("low", "likely", "high") if spread.law == "triangle" else ("low", "high")
    texts = [to_text(number, quantity.dimension) for number in spread.numbers]
    for name, number in zip(names, spread.numbers, strict=False):
        objection = quantity.objection(number)
        if objection:
            yield Fault(key, f"{objection[0]} as {name}", objection[1], quantity.written())
    if list(spread.numbers) != sorted(spread.numbers):
        allowed = " <= ".join(names)
        given = f"{', '.join(texts)} given as {', '.join(names)}"
        yield Fault(key, given, allowed, example_range(key))
    elif spread.logarithmic and spread.numbers[0] <= 0.0:
        given = f"{texts[0]} given as low of a logarithm"
        yield Fault(key, given, "more than zero", example_range(key))


def _of_reach(key: str, quantity: Quantity, spread: Spread) -> Iterator[Fault]:
    likely, reach = spread.numbers
    dimension = quantity.dimension
    objection = quantity.objection(likely)
    if objection:
        yield Fault(key, f"{objection[0]} as likely", objection[1], quantity.written())
    if spread.logarithmic:
        if likely <= 0.0:
            given = f"a share or a factor of {to_text(likely, dimension)} given"
            yield Fault(key, given, "an amount: zero and less have no share", 'within = "0.1 m"')
        if reach < 1.0:
            yield Fault(key, f"within a factor of {reach:.4g} given", "a factor above 1", 'within = "x 1.5"')
        return
    if reach < 0.0:
        given = f"within {to_text(reach, dimension)} given"
        yield Fault(key, given, "an amount above zero", 'within = "0.05 mm"')
        return
    for end in (likely - reach, likely + reach):
        beyond = None if objection else quantity.objection(end)
        if beyond:
            yield Fault(
                key, f"{to_text(end, dimension)} is within the range given", beyond[1], "a smaller one"
            )


def _of_distribution(key: str, quantity: Quantity, spread: Spread) -> Iterator[Fault]:
    example = '{ distribution = "lognorm", s = 0.3, scale = "5 Pa.s" }'
    try:
        with np.errstate(all="ignore"):
            inner = [float(value) for value in spread.at((0.05, 0.5, 0.95))]
    except Exception as error:  # unknown, or wrong parameters: scipy raises many kinds
        reason = str(error).splitlines()[0][:80] if str(error) else "it cannot be"
        yield Fault(key, f'"{spread.name[:40]}": {reason}', "a continuous one of scipy.stats", example)
        return
    if not all(map(math.isfinite, inner)):
        given = f'parameters that "{spread.name}" cannot have'
        yield Fault(key, given, "parameters as in scipy.stats", example)
        return
    for share, value in zip((5, 50, 95), inner, strict=True):
        objection = quantity.objection(value)
        if objection:
            given = f"{share} of 100 values lie below {to_text(value, quantity.dimension)}"
            yield Fault(key, given, objection[1], example)
            return
