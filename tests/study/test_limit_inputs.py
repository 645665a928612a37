"""The inputs that are varied: each is a key, and what is written for it is read back as that value."""

import pytest

from balltravel.scenario.model import FIELDS
from balltravel.study.limits import find
from balltravel.study.limits.find import tried_value
from balltravel.study.search.inputs import INPUTS, Doubt
from balltravel.study.travel.trials import missed
from balltravel.sweeps.cases import run_case

SETTINGS = ("suction.strainer=none", "inlet_check.leak_gap=5 um", "inlet_check.spring_preload=2 N",
            "piston_check.leak_gap=5 um", "suction.tank_gauge_pressure=20 mbar",
            "lower.piston_packing_gap=20 um", "material.dissolved_gas_fraction=5 %")  # fmt: skip
MOTOR = ("drive.profile=motor", "drive.motor=air", "drive.supply_gauge_pressure=6 bar", "drive.area_ratio=30",
         "drive.free_cycle_rate=60 /min", "outlet.form=tip", "outlet.hose_length=15 m",
         "outlet.hose_diameter=9.5 mm", "outlet.tip_diameter=0.53 mm",
         "outlet.tip_discharge_coefficient=0.8")  # fmt: skip
SITE = ("suction.vessel=cylinder", "suction.vessel_diameter=570 mm", "suction.vessel_depth=850 mm",
        "suction.vessel_level=500 mm", "suction.inlet_above_bottom=900 mm",
        "suction.pickup_above_bottom=30 mm", "suction.altitude=1500 m", "suction.hose_flexing=0.5 %/bar",
        "suction.feed=ram plate", "suction.ram_force=8 kN",
        "suction.ram_plate_diameter=560 mm")  # fmt: skip


FORMS = (("mastic_by_readings", SETTINGS), ("primer", MOTOR), ("primer", SITE))


@pytest.mark.parametrize("one", INPUTS, ids=lambda one: one.key)
def test_what_is_written_of_an_input_is_read_back_as_its_value(story, one):
    assert one.key in FIELDS
    read = [(name, more, story(name, *more)) for name, more in FORMS]
    name, more, scenario = next(form for form in read if one.is_active(form[2]))
    now = one.now(scenario)
    low, high = one.ends(scenario)
    assert low <= now <= high
    value = one.scale.rounded(1.0371 * now)
    again = story(name, *more, *one.settings(scenario, value))
    assert one.now(again) == pytest.approx(value, rel=1e-12)
    # Half a unit of the third digit, at most 0.5 %.
    assert value == pytest.approx(1.0371 * now, rel=5.01e-3, abs=0.51 * one.scale.quantum)
    assert float(f"{value:.3g}") == value or one.key == "inlet_check.cage_diameter"  # four digits


def test_an_input_is_named_once():
    assert len({one.key for one in INPUTS}) == len(INPUTS) == len({one.words for one in INPUTS})


def test_a_doubt_is_a_share_a_factor_or_a_difference():
    assert Doubt("%", 10.0).values(5.0) == pytest.approx((4.5, 5.5))
    assert Doubt("x", 2.0).values(5.0) == (2.5, 10.0)
    assert Doubt("+-", 0.2).values(0.3) == pytest.approx((0.1, 0.5))
    assert Doubt("+", 20.0).values(0.0) == (None, 20.0)


def test_a_least_delivery_is_missed_by_as_much_as_is_missing(story):
    scenario = story("primer", "target.delivery=98 %")
    metrics = run_case(scenario).metrics
    (miss,) = missed(scenario, metrics)
    assert miss.target == "delivery"
    assert miss.shortfall == pytest.approx(1.0 - metrics.volumetric_efficiency / 0.98)
    assert "delivery 97.1 % (target 98 %)" in miss.text
    assert missed(story("primer"), metrics) == []


def test_a_failed_run_is_told_by_how_it_ended(story):
    scenario = story("primer")
    failed = tried_value(None, scenario, run_case(scenario, most_steps=50), ())
    assert failed.fill is None
    assert failed.missed == ("the run failed (too_many_steps)",)


def test_an_input_outside_what_a_shop_can_do_is_told_and_not_passed_over(story):
    """A pail at 2 degC: a shop has 5 degC and more."""
    cold = story("roof_elastomer_from_a_drum", "suction.temperature=2 degC", "material.temperature=20 degC")
    assert "pail's temperature, now 2 degC (5 to 60 degC)" in tuple(find._beyond_shop(cold, INPUTS))
    assert not tuple(find._beyond_shop(story("roof_elastomer_from_a_drum"), INPUTS))
