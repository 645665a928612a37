"""What the choice for a week hangs on: the inputs of each material and those that all of them share."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from balltravel.study.travel.trials import Choice
from balltravel.study.verdict.choice import Array
from balltravel.study.verdict.deciding import MOST_TOLD, WhatDecides, what_decides
from balltravel.study.verdict.draws import OF_MATERIAL, Draws
from balltravel.study.verdict.record import Change, Deciding, Input, Measurement

T = TypeVar("T")
Named = TypeVar("Named", Deciding, Change, Input)
Worth = TypeVar("Worth", Deciding, Change, Measurement)


def week_decides(
    draws: Mapping[str, Draws], loss: Array, choices: Sequence[Choice], total: float, seed: int
) -> WhatDecides:
    """Of the draws of each material, with what each arrangement costs the week in each [draw, arrangement].
    What all materials share is told once; what belongs to one has its name."""
    by_name = {name: what_decides(drawn, loss, choices, total, seed) for name, drawn in draws.items()}
    alone = len(by_name) == 1
    deciding = [_of(name, known, alone) for name, found in by_name.items() for known in found.deciding]
    changes = [_of(name, change, alone) for name, found in by_name.items() for change in found.thresholds]
    measured = [_measured(name, m, alone) for name, found in by_name.items() for m in found.measurements]
    most = [_of(name, found.most, alone) for name, found in by_name.items() if found.most]
    each_has_one = len(most) == len(by_name)  # else one without may well save more
    return WhatDecides(
        _first(_by_worth(deciding), lambda known: known.key),
        _first(_by_worth(changes), lambda change: change.key)[:MOST_TOLD],
        _first(_by_worth(measured), lambda measurement: measurement.what),
        (),
        _by_worth(most)[0] if most and each_has_one else None,
    )


def week_inputs(draws: Mapping[str, Draws]) -> tuple[Input, ...]:
    """What is not known, material by material, for a report; what all share once."""
    named = [_of(name, row, len(draws) == 1) for name, drawn in draws.items() for row in drawn.rows]
    return _first(named, lambda row: row.key)


def _first(parts: Sequence[T], key: Callable[[T], str]) -> tuple[T, ...]:
    """The first of each key."""
    kept: dict[str, T] = {}
    for part in parts:
        kept.setdefault(key(part), part)
    return tuple(kept.values())


def _by_worth(parts: Sequence[Worth]) -> list[Worth]:
    return sorted(parts, key=lambda part: -part.saved)


def _of(name: str, part: Named, alone: bool) -> Named:
    """With the material's name where it is of that material and there are others."""
    if alone or not part.key.startswith(OF_MATERIAL):
        return part
    return replace(part, key=_key(name, part.key), name=f"{part.name} ({name})")


def _measured(name: str, measurement: Measurement, alone: bool) -> Measurement:
    if alone or not any(key.startswith(OF_MATERIAL) for key in measurement.keys):
        return measurement
    keys = tuple(_key(name, key) if key.startswith(OF_MATERIAL) else key for key in measurement.keys)
    return replace(measurement, what=f"{measurement.what} ({name})", keys=keys)


def _key(name: str, key: str) -> str:
    """``deck mastic: material.viscosity``."""
    return f"{name}: {key}"
