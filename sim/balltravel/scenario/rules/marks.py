"""The faults of keys that are given, or missing, beside others: what the marks of their fields say."""

from collections.abc import Iterator, Set

from balltravel.scenario.rules.rule import Fault, Values
from balltravel.scenario.tables import INSTEAD, NEEDED, example_of
from balltravel.units.keys import InsteadOf, NeededWith


def faults_of_marks(values: Values, given: Set[str]) -> Iterator[Fault]:
    """The faults of all keys whose presence does not fit the others."""
    yield from filter(None, (needed_fault(key, mark, values, given) for key, mark in NEEDED.items()))
    yield from filter(None, (instead_fault(key, mark, given) for key, mark in INSTEAD.items()))


def needed_fault(key: str, mark: NeededWith, values: Values, given: Set[str]) -> Fault | None:
    """The fault, if the selector is known and the key's presence does not fit it."""
    chosen, replaced = values.get(mark.selector), mark.instead in given
    excluded = values.get(mark.other) in mark.excluding
    wanted = chosen in mark.choices and not replaced and not excluded
    if chosen is None or wanted == (key in given) or (chosen in mark.free and not excluded):
        return None
    name = _name(key)
    written = mark.example if mark.example.replace(".", "").isdigit() else f'"{mark.example}"'
    if key in given and excluded:
        told = f'given although {mark.other} = "{values[mark.other]}", from which it follows'
        return Fault(key, told, "leave the key out", f'{_name(mark.other)} = "tip"')
    if key in given and chosen in mark.choices:
        other = _name(mark.instead)
        return Fault(key, f"given although {other} are", f"{name} or {other}", f"{name} = {written}")
    if key in given:
        choices = mark.choices or mark.free
        names = " or ".join(f'"{choice}"' for choice in choices)
        allowed = f"{name} only with {mark.selector} = {names} (leave the key out)"
        example = f'{_name(mark.selector)} = "{choices[0]}"'
        return Fault(key, f'given although {mark.selector} = "{chosen}"', allowed, example)
    allowed = f'it must be given with {mark.selector} = "{chosen}"'
    if mark.instead:
        allowed += f", or {mark.instead}"
    return Fault(key, "missing", allowed, f"{name} = {written}")


def instead_fault(key: str, mark: InsteadOf, given: Set[str]) -> Fault | None:
    """The fault, if both are given, or neither of two of which one is required."""
    name, other = _name(key), _name(mark.source)
    if key in given and mark.source in given:
        return Fault(key, f"given although {other} is", f"{name} or {other}", example_of(key))
    if mark.required and key not in given and mark.source not in given:
        return Fault(key, "missing", f"it must be given, or {other}", example_of(key))
    return None


def _name(key: str) -> str:
    """The key without its table."""
    return key.split(".")[1]
