"""Net positive suction head required: what must hold whatever the lower is."""

import math
import re
from collections.abc import Callable
from typing import Any

import pytest

from balltravel.cycle.dataset import simulate
from balltravel.estimate.suction_losses import peak_flow
from balltravel.scenario.model import Scenario, with_choices, with_value, with_values
from balltravel.setup.parameters import core_parameters
from balltravel.study.site.suction_head import (
    LESS_DELIVERY,
    SuctionReport,
    fastest_piston,
    heads_of,
    suction_report,
    vessel_report,
)
from balltravel.sweeps.cases import run_case
from balltravel.units import to_si

from ..helpers.lowers import harmonic, scenario

WEIGHT = 1250.0 * 9.80665


def with_head(s: Scenario, head: float) -> Scenario:
    """The same with another pressure on the surface, so that there is that NPSH available [m]."""
    gauge = s.suction.tank_gauge_pressure + WEIGHT * (head - heads_of(s).available)
    return with_value(s, "suction.tank_gauge_pressure", gauge)


def delivered(s: Scenario) -> float:
    metrics = run_case(s).metrics
    assert metrics is not None
    return metrics.volumetric_efficiency


@pytest.fixture(scope="module", params=[{}, harmonic(0.5)], ids=["constant speed", "harmonic"])
def found(request: pytest.FixtureRequest) -> tuple[Scenario, SuctionReport]:
    s = scenario(drive=request.param)
    return s, suction_report(s)


def kept(s: Scenario) -> float:
    """What underfill, backflow and leaks leave, over swept."""
    metrics = run_case(s).metrics
    assert metrics is not None
    lost = metrics.loss_budget
    gone = lost.underfill + lost.inlet_backflow + lost.piston_backflow + lost.leak
    return 1.0 - gone / lost.swept


def test_with_the_head_required_three_per_cent_more_are_lost(found: tuple[Scenario, SuctionReport]) -> None:
    """1e-3 of swept: the search ends within a thousandth of the pressure; slope some 0.3."""
    s, report = found
    assert report.required.head is not None
    ample = kept(with_head(s, 10.0 * report.required.head))
    at_head = kept(with_head(s, report.required.head))
    # What counts as ample may still gain 0.3 % by twice as much, and it is less than this.
    assert (1.0 - LESS_DELIVERY) * ample - 3e-3 - 1e-3 < at_head < (1.0 - LESS_DELIVERY) * ample + 1e-3
    assert kept(with_head(s, 0.8 * report.required.head)) < at_head - 1e-3
    # It is what is delivered, but for what liquid and gas yield: 0.5 % of gas.
    assert delivered(with_head(s, report.required.head)) == pytest.approx(at_head, abs=0.02)


def with_margin_of_nothing(s: Scenario, report: SuctionReport) -> Scenario:
    """With the pressure on the surface at which what is available is just what is required."""
    assert report.margin is not None
    gauge = s.suction.tank_gauge_pressure - report.margin * report.weight
    return with_choices(s, {"suction.feed": "pressure", "suction.tank_gauge_pressure": gauge})


def stiff(story: Callable[[str], Scenario]) -> Scenario:
    """The primer as a paste that the atmosphere does not bring through the hose."""
    return with_values(
        story("primer"),
        {
            "material.flow": "Herschel-Bulkley",
            "material.viscosity": 200.0,
            "material.thinning_exponent": 0.5,
            "material.yield_stress": 8000.0,
        },
    )


@pytest.mark.parametrize("name", ["putty_needs_a_ram_plate", "stiff primer"])
def test_a_plateau_where_nothing_comes_is_no_ample_suction_pressure(
    name: str, story: Callable[[str], Scenario]
) -> None:
    """Doubling the pressure gains nothing there either, for the yield stress holds it. The head that is found
    is tried: 97 % of what ample pressure keeps; a tenth less pressure and far less comes."""
    s = stiff(story) if name == "stiff primer" else story(name)
    assert delivered(s) == pytest.approx(0.0, abs=1e-4)
    report = suction_report(s)
    assert report.required.ample_delivery is not None
    assert report.required.ample_delivery > 0.9
    assert report.margin is not None
    assert report.margin < 0.0
    just = with_margin_of_nothing(s, report)
    ample = with_value(just, "suction.tank_gauge_pressure", 4.0 * just.suction.tank_gauge_pressure)
    assert kept(just) == pytest.approx((1.0 - LESS_DELIVERY) * kept(ample), abs=3e-3)
    less = with_value(just, "suction.tank_gauge_pressure", 0.9 * just.suction.tank_gauge_pressure)
    assert kept(less) < kept(just) - 0.02


def test_that_no_head_makes_a_lower_deliver_is_said(story: Callable[[str], Scenario]) -> None:
    """4 L/D times the yield stress is 200 bar in the hose alone, twice what any tank may have."""
    hose = {"suction.hose_length": 10.0, "suction.hose_diameter": 0.02, "material.yield_stress": 1e4}
    s = with_values(story("putty_needs_a_ram_plate"), hose)
    required = suction_report(s).required
    assert required.head is None
    assert required.ample_delivery is None
    assert "no head in the searched range makes this lower deliver" in required.why
    # What is named as the highest pressure is the last doubling below the 100 bar of a tank: no delivery.
    highest = re.search(r"even with ([\d.]+ bar) \(gauge\)", required.why)
    assert highest is not None
    gauge = to_si(highest[1], "pressure")
    assert 5e6 < gauge <= 1e7
    fed = with_choices(s, {"suction.feed": "pressure", "suction.tank_gauge_pressure": gauge})
    assert delivered(fed) == pytest.approx(0.0, abs=1e-3)


def test_gas_that_the_pressure_packs_is_no_starving(story: Callable[[str], Scenario]) -> None:
    """The head required tends to that without gas, steadily. Material with 3 % of gas is still drawn in at
    atmospheric pressure within a percent of swept: what is missing of the fill is gas that has expanded."""
    without, *heads = (
        suction_report(with_value(story("primer"), "material.free_gas_fraction", gas)).required.head or 0.0
        for gas in (0.0, 1e-5, 1e-4, 1e-3, 0.01, 0.03)
    )
    assert heads == sorted(heads)
    assert heads[0] == pytest.approx(without, rel=5e-3)
    assert heads[1] == pytest.approx(without, rel=0.03)
    gassy = with_value(story("primer"), "material.free_gas_fraction", 0.03)
    metrics = run_case(gassy).metrics
    assert metrics is not None
    assert metrics.loss_budget.underfill < 0.01 * metrics.loss_budget.swept
    report = suction_report(gassy)
    assert report.margin is not None
    assert report.margin > 1.0
    # What is left of the growth is real: at that head the chamber is short of material by itself.
    assert heads[-1] - without < 2.0
    short = run_case(with_margin_of_nothing(gassy, report)).metrics
    assert short is not None
    assert short.loss_budget.underfill / short.loss_budget.swept == pytest.approx(LESS_DELIVERY, abs=3e-3)
    assert report.required.gas_now == pytest.approx(0.028, abs=0.002)


def test_the_head_required_depends_on_the_lower_and_not_on_how_the_head_is_made(
    found: tuple[Scenario, SuctionReport],
) -> None:
    """By lift or by pressure in the tank: the lower only feels what is left at its port."""
    s, report = found
    lowered = suction_report(with_value(s, "suction.lift", 2.3))
    assert lowered.required.head == pytest.approx(report.required.head, rel=5e-3)
    assert lowered.heads.available == pytest.approx(report.heads.available - 2.0, rel=1e-12)
    pressed = suction_report(with_value(s, "suction.tank_gauge_pressure", 1e5))
    assert pressed.required.head == pytest.approx(report.required.head, rel=5e-3)
    assert report.margin is not None
    assert pressed.margin == pytest.approx(report.margin + 1e5 / WEIGHT, rel=5e-3)


def test_delivery_that_holds_to_the_lowest_pressure_is_told_and_no_number_is_made_up() -> None:
    """A slow lower fed from far above: its surface would boil before it starves."""
    slow = scenario(
        material={"viscosity": 0.1},
        drive={"cycle_rate": 0.02},
        suction={"lift": -8.0, "hose_diameter": 0.05},
    )
    required = suction_report(slow).required
    assert required.head is None
    assert "not reached in range" in required.why
    assert required.ample_delivery is not None


def test_an_outlet_too_low_for_ample_pressure_is_told() -> None:
    report = suction_report(scenario(outlet={"gauge_pressure": 0.0}))
    assert report.required.head is None
    assert "outlet pressure is too low" in report.required.why
    assert (report.margin, report.ratio) == (None, None)


@pytest.mark.parametrize("drive", [{}, harmonic(0.5)], ids=["constant speed", "harmonic"])
def test_the_largest_acceleration_is_that_of_the_motion(drive: dict[str, Any]) -> None:
    """v/ramp at constant speed; S/2 omega^2 with a crank."""
    s = scenario(drive=drive)
    p = core_parameters(s)
    speed = peak_flow(p) / p.lower.area
    expected = 0.09 / 2.0 * math.pi**2 if drive else speed / 0.03
    assert fastest_piston(s, p)[1] == pytest.approx(expected, rel=1e-12)


def test_a_motor_draws_with_the_speed_of_its_upstroke_and_not_of_its_dive() -> None:
    """In a starved chamber the piston falls faster than it rises: without load at most the free speed up."""
    motor = {
        "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
        "area_ratio": 2.5, "free_cycle_rate": 1.0,
    }  # fmt: skip
    s = scenario(material={"viscosity": 20.0}, drive=motor)
    data = simulate(s)
    v, t, x = data.piston_speed.values, data.time.values, data.piston_position.values
    assert -v.min() > 1.1 * v.max()
    # A mean over the ramp time: the way in the middle of the upstroke over its time.
    top = float(data.top_dead_centre)
    middle = (t > 0.4 * top) & (t < 0.6 * top)
    steady = (x[middle][-1] - x[middle][0]) / (t[middle][-1] - t[middle][0])
    speed, acceleration = fastest_piston(s, core_parameters(s))
    assert steady * (1.0 - 1e-9) <= speed < v.max()
    assert speed == pytest.approx(steady, rel=0.05)
    # It comes to that speed within some ramp times, however hard it jumped off.
    assert 0.2 * speed < acceleration * s.drive.ramp_time <= 1.5 * speed


def in_a_drum(level: float, viscosity: float, shape: str = "cylinder") -> Scenario:
    vessel = {
        "vessel": shape,
        "vessel_diameter": 0.57,
        "vessel_depth": 4.0,
        "vessel_level": level,
        "inlet_above_bottom": 5.0,
        "pickup_above_bottom": 0.05,
        "lift": None,
    }
    return scenario(suction=vessel, material={"viscosity": viscosity})


def test_at_the_lowest_level_the_target_fill_just_holds() -> None:
    """5e-3: a thousandth of the depth, 4 mm of 1250 kg/m3."""
    s = in_a_drum(3.0, 5.0)
    found = vessel_report(s)
    assert found is not None
    assert found.fill_full > 0.9 > found.fill_at_pickup
    assert found.lowest_level is not None
    metrics = run_case(with_value(s, "suction.vessel_level", found.lowest_level)).metrics
    assert metrics is not None
    assert metrics.fill_fraction == pytest.approx(0.9, abs=5e-3)


def test_a_vessel_empties_by_what_is_delivered() -> None:
    """Level times surface is the volume of a cycle, and a cone's level falls faster the lower it is."""
    for shape, third in (("cylinder", 1.0), ("cone", 3.0)):
        s = in_a_drum(3.0, 1.0, shape)
        found = vessel_report(s)
        assert found is not None
        across = 0.57 * (1.0 if shape == "cylinder" else 3.0 / 4.0)
        assert found.level_fall * math.pi / 4.0 * across**2 == pytest.approx(found.drawn, rel=1e-12)
        assert found.drawn == pytest.approx(delivered(s) * math.pi / 4.0 * 0.048**2 * 0.09, rel=1e-12)
        left = math.pi / 4.0 * across**2 * 3.0 / third
        pickup = 0.57 * (1.0 if shape == "cylinder" else 0.05 / 4.0)
        left -= math.pi / 4.0 * pickup**2 * 0.05 / third
        assert found.usable_volume == pytest.approx(left, rel=1e-12)
        assert found.cycles_left * found.drawn == pytest.approx(left, rel=1e-12)


def test_no_vessel_no_report_and_levels_that_never_or_always_hold_are_told() -> None:
    assert vessel_report(scenario()) is None
    thin = vessel_report(in_a_drum(3.0, 0.1))
    assert thin is not None
    assert thin.lowest_level == 0.05
    thick = vessel_report(in_a_drum(3.0, 100.0))
    assert thick is not None
    assert thick.lowest_level is None


def test_a_pickup_from_which_the_material_cannot_be_lifted_fills_nothing() -> None:
    s = with_values(in_a_drum(3.9, 0.5), {"suction.inlet_above_bottom": 9.0})
    found = vessel_report(s)
    assert found is not None
    assert found.fill_at_pickup == 0.0
    assert found.lowest_level is not None
    assert found.lowest_level > 9.0 - 101325.0 / WEIGHT
