"""The largest cycle rate at which one arrangement still meets its targets, by the full model."""

from dataclasses import dataclass

from balltravel.cycle.validity import is_indication
from balltravel.scenario.model import Scenario
from balltravel.study.search.inputs import CYCLE_RATE
from balltravel.study.search.walk import Base, Walk, reader_of, walks
from balltravel.study.travel.trials import TargetCheck, missed
from balltravel.units import to_si


@dataclass(frozen=True)
class RateLimit:
    """Cycle rates [1/s] on both sides of the limit: ``holds`` was run and meets what is asked, ``fails`` was
    run and does not, for the reason ``missed``. ``holds`` None: not even the ``lowest`` that was run does;
    ``fails`` None: the ``highest`` does. ``indication``: closures are outside their range at one of them."""

    holds: float | None
    fails: float | None
    missed: str
    lowest: float
    highest: float
    indication: bool


def largest_rate(scenario: Scenario, check: TargetCheck = missed) -> RateLimit | None:
    """The limit that is nearest to the given cycle rate, as ``limits`` finds it: upward where it meets what
    is asked, else downward, and upward where no lower rate does; None where the rate is a result, or has no
    room."""
    if scenario.drive.cycle_rate is None:
        return None
    walked = walks(Base(reader_of(scenario), check=check), CYCLE_RATE)
    return _limit(walked[0], check) if walked else None


def _limit(walked: Walk, check: TargetCheck) -> RateLimit:
    ends = [rate for rate in (walked.holds, walked.fails) if rate is not None]
    return RateLimit(
        _si(walked.holds),
        _si(walked.fails),
        _why(walked, check),
        to_si(f"{min(walked.runs):.10g} /min", "frequency"),
        to_si(f"{max(walked.runs):.10g} /min", "frequency"),
        any(is_indication(walked.runs[rate][1].excursions) for rate in ends),
    )


def _si(rate: float | None) -> float | None:
    """From cycles per minute, as the text that was run."""
    return None if rate is None else to_si(f"{rate:.10g} /min", "frequency")


def _why(walked: Walk, check: TargetCheck) -> str:
    """What is missed on the wrong side, in words; empty where nothing is."""
    if walked.fails is None:
        return ""
    scenario, case = walked.runs[walked.fails]
    if case.metrics is None:
        return f"the run fails ({case.status.name.lower()})"
    return "; ".join(miss.text for miss in check(scenario, case.metrics))
