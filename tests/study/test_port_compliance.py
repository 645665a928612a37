"""What is assumed of the suction hose's give, and by how much it moves a lower that starves."""

import math
import re

import pytest

from balltravel.scenario.model import with_value, with_values
from balltravel.study.cycle_report import cycle_report
from balltravel.study.travel.port_compliance import PortTry, port_caution, port_tries
from balltravel.study.travel.recommend import recommend
from balltravel.sweeps.cases import run_case


@pytest.fixture
def starving(story):
    """The primer at 12 Pa s, its hose's give left at the default, one arrangement of shims."""
    given = {"suction.port_compliance": None, "material.viscosity": 12.0}
    no_shims = {"shims.thicknesses": (), "shims.below": (), "inlet_check.base_travel": 0.005}
    return with_values(story("primer"), given | no_shims)


def metrics_of(scenario):
    metrics = run_case(scenario).metrics
    assert metrics is not None
    return metrics


def test_the_numbers_are_those_of_the_scenario_with_that_compliance(starving):
    tries = port_tries(starving, metrics_of(starving))
    assert [each.compliance for each in tries] == pytest.approx([1e-11, 1e-10, 1e-9], rel=1e-12)
    for each in tries:
        m = metrics_of(with_value(starving, "suction.port_compliance", each.compliance))
        assert each == PortTry(each.compliance, m.fill_fraction, m.volumetric_efficiency)
    # A store lets the chamber draw at its end what the line brings later.
    fills = [each.fill_fraction for each in tries]
    assert fills == sorted(fills)
    assert fills[-1] - fills[0] > 0.02


def test_simulate_and_recommend_say_what_is_assumed_and_by_how_much_it_moves(starving):
    tries = port_tries(starving, metrics_of(starving))
    (told,) = port_caution(starving, tries)
    assert "10 cc/bar (the default of port_compliance)" in told
    low, own, high = (f"{100.0 * each.volumetric_efficiency:.1f} %" for each in tries)
    assert f"{own} of swept with it, {low} with 1 cc/bar and {high} with 100 cc/bar" in told
    report = cycle_report(starving)
    assert told in report.warnings
    assert report.port == tries
    assert told in recommend(starving).reservations


def test_nothing_is_said_where_it_is_given_or_moves_nothing(starving, story):
    given = with_value(starving, "suction.port_compliance", 1e-10)
    assert port_tries(given, metrics_of(given)) == ()
    rigid = with_value(starving, "suction.line", "rigid")
    assert port_tries(rigid, metrics_of(rigid)) == ()
    full = with_value(starving, "material.viscosity", 4.0)
    assert metrics_of(full).fill_fraction > 0.95
    assert port_tries(full, metrics_of(full)) == ()
    assert port_tries(starving, None) == ()
    # In a close cage the check starves it, and the hose has time enough whatever it gives.
    close = with_values(story("mastic_close_cage"), {"suction.port_compliance": None})
    tries = port_tries(close, metrics_of(close))
    assert max(each.volumetric_efficiency for each in tries) - tries[0].volumetric_efficiency < 0.005
    assert port_caution(close, tries) == ()
    assert not re.search("assumed|port_compliance", " ".join(cycle_report(close).warnings))


def test_a_short_hose_is_tried_as_soft_as_the_rules_take_it(starving):
    """Its default is a tenth of what would leave it empty: ten times that is refused."""
    short = with_values(starving, {"suction.hose_length": 0.05, "material.viscosity": 20.0})
    most = math.pi / 8.0 * 0.038**2 * 0.05 / 101325.0
    assert short.suction.port_compliance == pytest.approx(0.1 * most, rel=1e-12)
    tries = port_tries(short, metrics_of(short))
    assert [each.compliance for each in tries] == pytest.approx([0.01 * most, 0.1 * most, 0.9 * most])
