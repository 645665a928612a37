"""Samples of all that is not known in a scenario, for a sweep: the draws that the verdict would take."""

from collections.abc import Collection
from typing import Any, NamedTuple

from balltravel.scenario.arguments import SEED, refused, scenario_given
from balltravel.scenario.changes import with_following
from balltravel.scenario.model import Scenario
from balltravel.scenario.tables import flat, given_keys
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.verdict.draws import Draws, draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.units import shown

MOST_SAMPLES = 65_536
"""Samples of a sweep: more would take minutes to draw and to validate before the first runs."""


class Samples(NamedTuple):
    """``values``: dotted key -> one value a case [SI], None where a case does without the key; ``left_out``:
    how many draws make no scenario."""

    values: dict[str, list[Any]]
    left_out: int


def samples_of(scenario: Scenario, cases: int = 128, seed: int = 0) -> dict[str, list[Any]]:
    """Samples for ``sweep(scenario, samples=...)``, drawn from the ranges of a scenario: dotted key -> one
    value a case [SI], None where a case does without the key.

    Drawn is all that is not known exactly, the same draws as those of ``recommend`` with this ``seed`` (0 to
    999 999). ``cases``: a power of two, 1 to 65 536; draws that make no scenario are left out. Raises
    ScenarioError, also where every value is known exactly.
    """
    return drawn_samples(scenario_given(scenario), samples_checked(cases), SEED.checked(seed)).values


def samples_checked(value: object) -> int:
    """How many samples: a power of two; raises ScenarioError."""
    if type(value) is int and 1 <= value <= MOST_SAMPLES and value & (value - 1) == 0:
        return value
    raise refused("samples", f"{shown(value)} given", f"a power of two, 1 to {MOST_SAMPLES}", "128")


def drawn_samples(scenario: Scenario, cases: int, seed: int, swept: Collection[str] = ()) -> Samples:
    """The same; keys that are ``swept`` are not drawn, for they have values of their own, and nor are those
    that nobody wrote and that follow from them: a dead volume drawn about that of one bore is none of
    another."""
    apart = with_following(scenario, {*given_keys(scenario)}, swept)
    spreads = {key: law for key, law in spreads_of(scenario).items() if key not in apart}
    inputs = inputs_of(scenario, spreads)
    if not inputs.drawn:
        allowed = (
            "a scenario of which something is not known exactly; `balltravel check FILE --ranges` lists it"
        )
        raise refused("samples", "every value is known exactly", allowed, "without samples")
    draws = draw(inputs, cases, seed)
    kept = [i for i, made in enumerate(draws.scenarios) if made is not None]
    if not kept:
        why = next(iter(draws.refused.values()))
        raise refused("samples", f"no draw makes a scenario: {why}", "other ranges", "narrower ones")
    return Samples(_columns(scenario, draws, kept), cases - len(kept))


def _columns(scenario: Scenario, draws: Draws, kept: list[int]) -> dict[str, list[Any]]:
    """A list a key; where a draw leaves a key alone that others change, it has that of the scenario."""
    present, given = flat(scenario), {*given_keys(scenario)}
    keys = dict.fromkeys(key for i in kept for key in draws.changes[i])
    return {
        key: [draws.changes[i].get(key, present[key] if key in given else None) for i in kept] for key in keys
    }
