"""Volumes: what goes in comes out or stays (limit 6)."""

import numpy as np
import pytest

from balltravel.core.parameters import Parameters
from balltravel.core.status import Status
from balltravel.setup.runs import Run

from ..helpers.lowers import backflow, column, harmonic, inertialess, lower, run_cycles, stiff, swept


def imbalance(p: Parameters, run: Run, position: str) -> float:
    """Largest of: delivered less drawn plus change of contents, and line less drawn less change at the port,
    at any instant, over swept."""
    x, contents = column(run, position), column(run, "lower_surplus") + column(run, "upper_surplus")
    inside = contents - contents[0] + (p.lower.area + p.upper.area) * (x - x[0])
    chambers = column(run, "delivered_volume") - column(run, "drawn_volume") + inside
    at_port = column(run, "port_surplus") - column(run, "port_surplus")[0]
    port = column(run, "line_volume") - column(run, "drawn_volume") - at_port
    return float(max(np.abs(chambers).max(), np.abs(port).max()) / swept(p))


CASES = [
    (viscosity, drive) for viscosity in (20.0, 5.0, 0.5, 0.02) for drive in ({}, harmonic(0.5), harmonic(2.0))
]


@pytest.mark.parametrize(("viscosity", "drive"), CASES)
def test_delivered_is_drawn_in_less_change_of_contents(
    within, viscosity: float, drive: dict[str, object]
) -> None:
    p = lower(material={"viscosity": viscosity}, drive=drive)
    run = run_cycles(p, 8)
    assert not run.status.failed
    # Sums of a few thousand increments of linear invariants: round-off alone, 1e-12.
    within(imbalance(p, run, "position_integral"), 1e-12)
    # The piston's own law instead of its integral: the quadrature's error, far below the tolerance.
    within(imbalance(p, run, "piston_position"), 1e-9)


@pytest.mark.parametrize("viscosity", [2.0, 5.0, 10.0])
@pytest.mark.parametrize("drive", [{}, harmonic(0.5)])
def test_a_full_stiff_lower_delivers_swept_less_the_backflow_of_both_checks(
    viscosity: float, drive: dict[str, object]
) -> None:
    p = stiff(lower(material={"viscosity": viscosity}, suction={"tank_gauge_pressure": 9e6}, drive=drive))
    # Balls without inertia: a heavy one, jerked off its seat by a liquid that does not yield, leaves a void.
    p = p._replace(inlet=inertialess(p.inlet), piston=inertialess(p.piston))
    run = run_cycles(p)
    assert run.status is Status.OK
    assert column(run, "lower_pressure").min() > 1e5  # the feed keeps it full
    lost = backflow(run, "drawn_volume") + backflow(run, "passed_volume")
    assert lost > 1e-3 * swept(p)
    delivered = column(run, "delivered_volume")[-1]
    # 2e-6: the periodic tolerance; 1e7 Pa/1e14 Pa and 1e-12 of gas are below it.
    assert delivered / swept(p) == pytest.approx(1.0 - lost / swept(p), abs=2e-6)
