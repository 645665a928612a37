"""What worn seats and packings do to fill and delivery, the dip at changeover and a stalled piston."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from balltravel.cycle.metrics import Metrics
from balltravel.cycle.validity import is_indication
from balltravel.scenario.arguments import quantity_checked
from balltravel.scenario.model import Scenario, with_values
from balltravel.study.site.stall import Creep, creep_of
from balltravel.sweeps.cases import Progress, run_cases
from balltravel.units.keys import Quantity

PLACES = {
    "inlet seat": "inlet_check.leak_gap",
    "piston seat": "piston_check.leak_gap",
    "piston packing": "lower.piston_packing_gap",
    "rod packing": "lower.rod_packing_gap",
}
"""Where a lower wears, and the key of the even gap that leaks as much."""

GAP = 30e-6
"""Gap that is tried at each place where none is asked for [m] (our choice): a scratch that is felt."""

SEEN = 1e-3 / 60.0
"""Speed of a piston [m/s] below which an eye at the bench does not see it creep: a millimetre in a minute
(our choice)."""

GAPS = Quantity("length", 1e-7, 1e-3, "30 um")
"""Gaps that can be tried: from a tenth of a micrometre (our choice: nothing worn is tighter) to the largest
of a scenario."""

HOW_TO_TELL = (
    "Close the outlet. A piston that creeps on the upstroke only leaks at the piston check or the piston "
    "packing (lower packing); on the downstroke only, at the inlet check (foot valve); on both strokes, at "
    "the rod packing (throat packing), which also shows as a wet gland. Piston check and piston packing look "
    "alike: turn or replace ball and seat first, the cheaper part (all common practice, no source)."
)


@dataclass(frozen=True)
class WearState:
    """A state of wear: the gaps [m] by place, the metrics of its cycle (None if the run failed), whether they
    are an indication only, and the creep of a piston that is pushed up and down against a closed outlet."""

    name: str
    gaps: dict[str, float]
    metrics: Metrics | None
    indication: bool
    upward: Creep | None
    downward: Creep | None


@dataclass(frozen=True)
class WearReport:
    """The lower as it is, sound, and worn at one place after the other."""

    states: tuple[WearState, ...]
    how_to_tell: str = HOW_TO_TELL

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return asdict(self)


def states_of(scenario: Scenario, gap: float) -> dict[str, Scenario]:
    """Scenarios by name: as it is (if it is worn at all), sound, and with a gap [m] at one place alone."""
    sound = with_values(scenario, dict.fromkeys(PLACES.values(), 0.0))
    states = {"sound": sound}
    if any(gaps_of(scenario).values()):
        states = {"as it is": scenario, **states}
    return {**states, **{place: with_values(sound, {key: gap}) for place, key in PLACES.items()}}


def gaps_of(scenario: Scenario) -> dict[str, float]:
    """The gap at each place [m]."""
    tables = (key.split(".") for key in PLACES.values())
    values = [float(getattr(getattr(scenario, table), name)) for table, name in tables]
    return dict(zip(PLACES, values, strict=True))


def wear_report(scenario: Scenario, gap: float = GAP, *, progress: Progress | None = None) -> WearReport:
    """What a gap [m], 0.1 um to 1 mm, at each place does to this lower; raises ScenarioError for another."""
    gap = quantity_checked("gap", gap, GAPS)
    scenarios = states_of(scenario, gap)
    cases = run_cases(tuple(scenarios.values()), progress=progress)
    states = [
        WearState(
            name,
            gaps_of(scenario),
            case.metrics,
            is_indication(case.excursions),
            creep_of(scenario, True),
            creep_of(scenario, False),
        )
        for (name, scenario), case in zip(scenarios.items(), cases, strict=True)
    ]
    return WearReport(tuple(states))


def signs(states: Sequence[WearState]) -> dict[str, tuple[bool, bool]]:
    """Whether the piston creeps upward and downward, more than ten times as fast as in a sound lower."""
    sound = next(state for state in states if state.name == "sound")
    return {
        state.name: (_creeps(state.upward, sound.upward), _creeps(state.downward, sound.downward))
        for state in states
    }


def _creeps(creep: Creep | None, sound: Creep | None) -> bool:
    """Above the creep of a sound lower, and seen."""
    return creep is not None and creep.speed > max(SEEN, 10.0 * (sound.speed if sound else 0.0))
