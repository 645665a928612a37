"""What the give of hose and port, where it is assumed and not known, does to a lower that starves."""

import math
from typing import NamedTuple

from balltravel.cycle.metrics import Metrics
from balltravel.scenario.model import Scenario, defaults_taken, with_value
from balltravel.study.travel.dives import NOTICEABLE, as_it_ran
from balltravel.study.travel.trials import EQUAL_DELIVERY
from balltravel.sweeps.cases import run_cases
from balltravel.units import to_text

FILLS = 0.95
"""Fill fraction from which on the port's compliance moves nothing worth two runs (our choice; measured: less
than 0.3 % of swept from 1 to 5 Pa s)."""

AROUND = 10.0
"""How many times more and less than assumed is tried (our choice): a stiff and a soft hose."""

MOST_OF_PORT = 0.9
"""Share of the port that its wall may give for barometric pressure at most in a try (our choice; the
scenario's rules refuse 1)."""


class PortTry(NamedTuple):
    """A port compliance [m3/Pa], with the fill fraction and the volumetric efficiency that it gives."""

    compliance: float
    fill_fraction: float
    volumetric_efficiency: float


def port_tries(scenario: Scenario, metrics: Metrics | None) -> tuple[PortTry, ...]:
    """A run's numbers between those with a stiffer and with a softer hose, from the stiffest on, where the
    port's compliance is a default, the lower starves and something comes in; else empty. A run that fails is
    left out."""
    if metrics is None or not NOTICEABLE <= metrics.fill_fraction < FILLS:
        return ()
    suction = scenario.suction
    if suction.line == "rigid" or "suction.port_compliance" not in defaults_taken(scenario):
        return ()
    assumed, port = suction.port_compliance, math.pi / 8.0 * suction.hose_diameter**2 * suction.hose_length
    softer = min(AROUND * assumed, MOST_OF_PORT * port / suction.barometric_pressure)
    tried = (assumed / AROUND, softer)
    ran = as_it_ran(scenario, metrics)
    cases = run_cases([with_value(ran, "suction.port_compliance", value) for value in tried])
    results = [(assumed, metrics), *((value, case.metrics) for value, case in zip(tried, cases, strict=True))]
    return tuple(
        sorted(
            PortTry(value, m.fill_fraction, m.volumetric_efficiency) for value, m in results if m is not None
        )
    )


def port_caution(scenario: Scenario, tries: tuple[PortTry, ...]) -> tuple[str, ...]:
    """What is assumed and by how much it moves the delivery; empty where that is not worth a word."""
    delivered = [each.volumetric_efficiency for each in tries]
    if not tries or max(delivered) - min(delivered) < EQUAL_DELIVERY:
        return ()
    assumed = scenario.suction.port_compliance
    others = " and ".join(
        f"{100.0 * each.volumetric_efficiency:.1f} % with {_written(each.compliance)}"
        for each in tries
        if each.compliance != assumed
    )
    own = next(each for each in tries if each.compliance == assumed)
    return (
        f"how far suction hose and port give is not known but assumed: {_written(assumed)} (the default of "
        f"port_compliance). In a lower that starves it matters: the delivery is "
        f"{100.0 * own.volumetric_efficiency:.1f} % of swept with it, {others}. Give hose_flexing or "
        "port_compliance of the real hose.",
    )


def _written(compliance: float) -> str:
    return to_text(compliance, "compliance", 2)
