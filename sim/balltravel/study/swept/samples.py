"""Samples of all that is not known in a scenario, for a sweep: the draws that the verdict would take."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from balltravel.files.swept import MOST_CASES
from balltravel.scenario.arguments import SEED, refused, scenario_given
from balltravel.scenario.changes import with_following
from balltravel.scenario.model import Scenario, ScenarioError, with_values
from balltravel.scenario.tables import flat, given_keys
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.verdict.draws import ALONE, OF_MACHINE, Draws, draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.sweeps.plan import Plan
from balltravel.sweeps.with_density import DENSITY, VISCOSITY, is_kinematic_in, written_kinematic
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


def drawn_samples(
    scenario: Scenario, cases: int, seed: int, grid: Mapping[str, Any] | None = None
) -> Samples:
    """The same beside a ``grid``, as ``sweep`` takes it. Its keys are not drawn, for they have values of
    their own, and nor are those that nobody wrote and that follow from them: a dead volume drawn about that
    of one bore is none of another. A draw must make a scenario with every size of the grid: the angle of a
    cone ends where the ball touches the cone in all of its bores.
    """
    swept, beside = {*(grid or {})}, _sizes(scenario, grid or {})
    scenario = _with_widest_seats(scenario, beside)
    apart = with_following(scenario, {*given_keys(scenario)}, swept)
    spreads = {key: law for key, law in spreads_of(scenario).items() if key not in apart}
    inputs = inputs_of(scenario, spreads)
    if not inputs.drawn:
        allowed = (
            "a scenario of which something is not known exactly; `balltravel check FILE --ranges` lists it"
        )
        raise refused("samples", "every value is known exactly", allowed, "without samples")
    draws = draw(inputs, cases, seed, beside=beside)
    kept = [i for i, made in enumerate(draws.scenarios) if made is not None]
    if not kept:
        why = next(iter(draws.refused.values()))
        raise refused("samples", f"no draw makes a scenario: {why}", "other ranges", "narrower ones")
    columns = _columns(scenario, draws, kept)
    if DENSITY in swept and VISCOSITY in columns and is_kinematic_in(scenario):
        at = scenario.material.density
        columns[VISCOSITY] = [written_kinematic(viscosity, at) for viscosity in columns[VISCOSITY]]
    return Samples(columns, cases - len(kept))


def _sizes(scenario: Scenario, grid: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    """All combinations of a grid's sizes of the lower; raises ScenarioError for one that cannot be whatever
    is drawn."""
    sizes = {key: values for key, values in grid.items() if key.startswith(OF_MACHINE)}
    return Plan(scenario, sizes).changes(0, MOST_CASES) if sizes else ALONE


def _with_widest_seats(scenario: Scenario, beside: Sequence[Mapping[str, Any]]) -> Scenario:
    """The scenario with the widest seats of a grid, so that a cone that is made up for a seat of which nobody
    knows the form holds the ball in all of them."""
    widest = {key: max(sizes[key] for sizes in beside) for key in beside[0] if key.endswith("seat_diameter")}
    try:
        return with_values(scenario, widest)
    except ScenarioError:  # only with other sizes of the grid
        return scenario


def _columns(scenario: Scenario, draws: Draws, kept: list[int]) -> dict[str, list[Any]]:
    """A list a key; where a draw leaves a key alone that others change, it has that of the scenario."""
    present, given = flat(scenario), {*given_keys(scenario)}
    keys = dict.fromkeys(key for i in kept for key in draws.changes[i])
    return {
        key: [draws.changes[i].get(key, present[key] if key in given else None) for i in kept] for key in keys
    }
