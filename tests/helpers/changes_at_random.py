"""Other values for a scenario's keys, drawn at random: mostly such as a sweep has, some that cannot be."""

import math
from typing import Any, get_args, get_origin

import numpy as np

from balltravel.scenario.model import FIELDS, Scenario, flat, quantity_of
from balltravel.scenario.tables import NOT_SWEPT
from balltravel.units.keys import names_of

SWEPT = tuple(key for key in FIELDS if key not in NOT_SWEPT)
BAD = (True, "5", math.nan, -math.inf, (), [1.0], object, 10**400, "")


def number(rng: np.random.Generator, key: str, now: float | None) -> float:
    """Near the value that the scenario has, or anywhere in the range of the key, its ends included."""
    quantity = quantity_of(FIELDS[key])
    assert quantity is not None
    low, high = quantity.low, quantity.high
    way = rng.random()
    if now and math.isfinite(now) and way < 0.7:
        return float(np.clip(now * rng.uniform(0.9, 1.1), low, high))
    if way < 0.8:
        return float(rng.choice((low, high)))
    if low > 0.0:
        return float(min(high, max(low, math.exp(rng.uniform(math.log(low), math.log(high))))))
    return float(rng.uniform(low, high) * rng.choice((1.0, 1e-3)))


def value(rng: np.random.Generator, key: str, now: Any, faulty: float) -> Any:
    """A value for a key; ``faulty``: share of those of a wrong kind or out of limits."""
    field, quantity, names = FIELDS[key], quantity_of(FIELDS[key]), names_of(FIELDS[key])
    if rng.random() < faulty:
        outside = [quantity.low - 1.0, quantity.high * 2.0] if quantity else ["none such"]
        choices = [*BAD, *outside]
        return choices[rng.integers(len(choices))]
    if get_origin(field.annotation) is tuple:
        count = int(rng.integers(0, 4))
        if quantity:
            return tuple(number(rng, key, None) for _ in range(count))
        if names:
            return [names.allowed[rng.integers(len(names.allowed))] for _ in range(count)]
        return [int(n) for n in rng.permutation(3)[:count] + 1]
    if quantity:
        return as_given(rng, number(rng, key, now))
    choices = names.allowed if names else get_args(field.annotation)
    return choices[rng.integers(len(choices))]


def as_given(rng: np.random.Generator, number: float) -> Any:
    """A number as Python code may give it: now and then numpy's own, or a whole one."""
    way = rng.random()
    if way < 0.1 and number == round(number):
        return int(number)
    return np.float64(number) if way < 0.3 else number


def changes(
    rng: np.random.Generator, scenario: Scenario, keys: tuple[str, ...] = SWEPT, faulty: float = 0.0
) -> dict[str, Any]:
    """Other values for some of the keys, one to five of them; now and then None, which takes a key out."""
    now = flat(scenario)
    chosen = rng.choice(keys, size=int(rng.integers(1, 6)), replace=False)
    return {
        str(key): None if rng.random() < 0.1 else value(rng, str(key), now[str(key)], faulty)
        for key in chosen
    }
