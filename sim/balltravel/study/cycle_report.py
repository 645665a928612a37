"""One cycle with what its user should know beside the numbers."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from balltravel.cycle.found_rate import Progress
from balltravel.cycle.metrics import Metrics
from balltravel.cycle.run import Cycle, run_cycle
from balltravel.estimate.cautions import warnings_for
from balltravel.scenario.model import Scenario
from balltravel.study.travel.dives import dive_caution
from balltravel.study.travel.port_compliance import PortTry, port_caution, port_tries
from balltravel.units import to_text


@dataclass(frozen=True)
class CycleReport:
    """A cycle and its warnings; ``beside``: cycles to draw beside it; ``compared``: one to animate beside
    it, if any; ``port``: what other port compliances
    give where the lower starves and the scenario gives none."""

    cycle: Cycle
    warnings: tuple[str, ...]
    beside: tuple[Cycle, ...] = ()
    port: tuple[PortTry, ...] = ()
    compared: tuple[Cycle, ...] = ()


def cycle_report(
    scenario: Scenario,
    beside: Sequence[Scenario] = (),
    progress: Progress | None = None,
    compared: Sequence[Scenario] = (),
) -> CycleReport:
    """Run a scenario, others beside it and one compared with it; warnings are those of the scenario as it was
    given. ``progress``: see run_cycle."""
    cycle = run_cycle(scenario, progress=progress)
    warnings = warnings_for(scenario, cycle.metrics, cycle.status)
    port = port_tries(scenario, cycle.metrics)
    more = (*dive_caution(scenario, cycle.metrics), *port_caution(scenario, port))
    return CycleReport(
        cycle,
        (*warnings, *_void_in_the_lag(cycle.metrics), *more),
        tuple(run_cycle(other) for other in beside),
        port,
        tuple(run_cycle(other) for other in compared),
    )


def _void_in_the_lag(metrics: Metrics | None) -> Iterator[str]:
    """A void that takes longer to close than the ball does, inside the closing lag."""
    if metrics is None:
        return
    lag, ball_lag = metrics.inlet.closing_lag, metrics.inlet.ball_lag
    void = min(metrics.void_collapse, lag)
    if void > ball_lag:
        whole, of_void, of_ball = (to_text(time, "time", 3) for time in (lag, void, ball_lag))
        yield (
            f"inlet check: the closing lag of {whole} includes {of_void} in which the void (cavitation) "
            f"closes; only the ball lag, {of_ball}, is slow closing."
        )
