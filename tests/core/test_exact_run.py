"""Events that the moving piston drives: met at the instant of the state, by hand."""

import pytest

from balltravel.core.events import FLOW, OUTFLOW, PRESSURE, Event

from ..helpers.mid_stroke import control, moving_lower, started
from ..helpers.steps import run_segment


@pytest.fixture(scope="module")
def lower(make_lower):
    return moving_lower(make_lower)


@pytest.mark.parametrize("guard", [FLOW, OUTFLOW, PRESSURE])
def test_a_monitor_that_the_piston_drives_is_met_where_a_fine_run_meets_it(lower, guard):
    """The piston moves: a guard taken at another instant than the state's is another number. The instant at
    which a flow turns or the chamber's pressure passes the atmosphere is that of a run at a thousandth of
    the tolerance."""
    p = lower._replace(outlet_pressure=1.02e5)
    found = []
    for rtol, h in ((1e-6, 2e-4), (1e-9, 2e-6)):
        work, contact = started(
            p, t=0.0, balls=(0.002, 0.0, 0.002, 0.0), pressures=(9.5e4, 1.015e5, 1.0195e5)
        )
        run_segment(p, control(p, rtol=rtol), 0, h, contact, work)
        events = work.events[: int(work.number[1])]
        kind = {FLOW: Event.FLOW_TURNED, OUTFLOW: Event.OUTFLOW_TURNED, PRESSURE: Event.PRESSURE_CROSSED}
        found.append(events[events[:, 0] == kind[guard], 2])
    assert found[0].size == found[1].size > 0
    assert found[0] == pytest.approx(found[1], abs=2e-8)
