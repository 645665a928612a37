"""The number at which each warning begins, from both sides, and the numbers that it tells, by hand."""

import math

import pytest

from balltravel.closures.passages import off_axis_gain
from balltravel.estimate.cautions import ball_top, seat_gap, stress_that_holds, warnings_for
from balltravel.scenario.model import with_value

from ..helpers.lowers import scenario as invented
from ..helpers.metrics_by_hand import SWEPT, budget, check, metrics

HAIR = 1e-6
GRAVITY, ATMOSPHERE = 9.80665, 101325.0
PASTE = {"flow": "Herschel-Bulkley", "viscosity": 8.0, "thinning_exponent": 0.5, "yield_stress": 20.0}
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip
CONE = {"seat": "cone", "seat_half_angle": math.radians(42.0), "seat_mouth_diameter": 0.027,
        "seat_diameter": 0.014}  # fmt: skip


def scenario(**changes):
    """The invented lower whose port gives as one says; nothing is to be said of it."""
    suction = {"port_compliance": 1e-10} | changes.pop("suction", {})
    return invented(suction=suction, **changes)


def said(s, m=None):
    return " | ".join(warnings_for(s, m))


def test_a_sound_lower_and_a_sound_cycle_leave_nothing_to_say():
    assert warnings_for(scenario(), metrics()) == ()


@pytest.mark.parametrize("name", ["inlet", "piston"])
def test_a_ball_floats_at_the_density_of_the_material_and_nearly_below_a_twentieth_above(name):
    """1250 kg/m3; 5 % of the ball's density are left at 1250/0.95."""
    for density, words in (
        (1250.0, "is no denser"), (1251.0, "nearly floats"), (1250.0 / 0.95 * (1.0 - HAIR), "nearly floats"),
        (1250.0 / 0.95 * (1.0 + HAIR), ""),
    ):  # fmt: skip
        found = said(scenario(**{f"{name}_check": {"ball_density": density}}))
        assert f"{name} check: the ball {words}" in found if words else found == ""


def test_a_ball_of_four_fifths_of_its_cage_passes_more_at_its_side():
    for cage, told in ((0.0294 / 0.8 * (1.0 - HAIR), True), (0.0294 / 0.8 * (1.0 + HAIR), False)):
        assert ("in such a close cage" in said(scenario(inlet_check={"cage_diameter": cage}))) is told
    close = scenario(inlet_check={"cage_diameter": 0.034})
    gain = off_axis_gain(0.0147, 0.017, 0.0023)
    assert f"(ball over bore 0.86) up to {gain:.1f} times" in said(close)
    assert said(scenario(inlet_check={"cage_diameter": 0.034}, closures={"ball_position": "touching"})) == ""


def test_a_cone_is_told_of_as_a_cone():
    assert "inlet check: on a cone" in said(scenario(inlet_check=CONE))


def test_a_particle_of_a_third_of_the_clearance_or_of_the_gap_is_told():
    """Clearance (37.8 - 29.4)/2 mm of the inlet check; gap of a circle over an edge of the piston check."""
    clearance = 0.5 * (0.0378 - 0.0294)
    centre = math.sqrt(0.0111**2 - 0.008**2) + 0.005
    gap = math.hypot(0.008, centre) - 0.0111
    assert gap < clearance
    for limit, words in (
        (clearance, "inlet check: the ball guide"),
        (gap, "piston check: the gap at full travel"),
    ):
        for share, told in ((1.0 - HAIR, False), (1.0 + HAIR, True)):
            found = said(scenario(material={"largest_particle": limit / 3.0 * share}))
            assert (words in found) is told


def test_a_ball_is_out_of_its_cage_when_its_top_is():
    top = math.sqrt(0.0147**2 - 0.0105**2) + 0.005 + 0.0147
    for length, told in ((top * (1.0 - HAIR), True), (top * (1.0 + HAIR), False)):
        assert ("protrudes from its cage" in said(scenario(inlet_check={"cage_length": length}))) is told


def test_gap_and_top_on_a_cone():
    """The ball touches at d cos(half angle)/2, and leaves the cone by z sin(half angle)."""
    found, half = scenario(inlet_check=CONE).inlet_check, math.radians(42.0)
    assert seat_gap(found, 0.004) == pytest.approx(0.004 * math.sin(half), rel=1e-12)
    height = 0.0147 * math.sin(half)
    assert ball_top(found, 0.004) == pytest.approx(height + 0.004 + 0.0147, rel=1e-12)


def test_a_default_of_the_port_is_told_from_one_pascal_second_on_and_of_a_hose_alone():
    for viscosity, told in ((1.0 - HAIR, False), (1.0, True)):
        s = with_value(scenario(material={"viscosity": viscosity}), "suction.port_compliance", None)
        assert ("port_compliance is the default" in said(s)) is told
    assert said(scenario(suction={"line": "rigid", "port_compliance": None})) == ""


def test_a_feed_holds_both_checks_open_from_the_outlets_pressure_on():
    """1 bar over the outlet's and what the lift takes; it tells by how much."""
    at_rest = 1250.0 * GRAVITY * 0.3
    for above, told in ((-0.5, False), (0.5, True)):
        s = scenario(outlet={"gauge_pressure": 1e5},
                     suction={"feed": "pressure", "tank_gauge_pressure": 1e5 + at_rest + above})  # fmt: skip
        assert ("holds both checks open" in said(s)) is told
    s = scenario(outlet={"gauge_pressure": 1e5},
                 suction={"feed": "pressure", "tank_gauge_pressure": 1e5 + at_rest + 23456.0})  # fmt: skip
    assert "the feed's pressure is 23.5 kPa above" in said(s)


def test_a_material_that_thins_is_known_less_where_its_yield_stress_rules():
    """0.3 of the stress in the seat's bore, tau_y + K rate^n at a rate of Q/r^3."""
    rate = math.pi / 4.0 * 0.048**2 * 0.09 / 0.93 / 0.0105**3
    for share, told in ((0.29, False), (0.31, True)):
        flowing = 8.0 * rate**0.5
        stress = share / (1.0 - share) * flowing
        found = said(scenario(material={**PASTE, "yield_stress": stress}))
        assert "the pressure drop of a check is known within some 10 %" in found
        assert ("because its yield stress dominates" in found) is told
    assert "the material thins" not in said(scenario())


def test_a_yield_stress_that_the_suction_cannot_push_through_the_hose_lets_nothing_flow():
    """4 L tau/d of 1.5 m and 38 mm against the atmosphere less the lift and the vapour's 2300 Pa."""
    there = ATMOSPHERE - 1250.0 * GRAVITY * 0.3 - 2300.0
    limit = there * 0.038 / (4.0 * 1.5)
    for share, told in ((1.0 - HAIR, False), (1.0 + HAIR, True)):
        found = said(scenario(material={**PASTE, "yield_stress": limit * share}))
        assert ("nothing flows" in found) is told
    found = said(scenario(material={**PASTE, "yield_stress": 1.1 * limit}))
    assert (
        f"takes {1.1 * there / 1e5:.3g} bar in the suction hose, but only {there / 1e5:.3g} bar is available"
        in found
    )


def test_a_yield_stress_holds_the_ball_up_from_the_one_that_balances_its_weight_on():
    light = {"ball_density": 1400.0}
    s = scenario(material=PASTE, inlet_check=light)
    limit = stress_that_holds(s, s.inlet_check)
    heavier = scenario(material=PASTE, inlet_check={"ball_density": 1550.0})
    assert stress_that_holds(heavier, heavier.inlet_check) == pytest.approx(2.0 * limit, rel=1e-9)
    for share, told in ((1.0 - 1e-4, False), (1.0 + 1e-4, True)):
        found = said(scenario(material={**PASTE, "yield_stress": limit * share}, inlet_check=light))
        assert ("inlet check: a yield stress of" in found) is told
    afloat = said(scenario(material=PASTE, inlet_check={"ball_density": 1250.0}))
    assert "holds the ball up" not in afloat


def test_a_held_ball_in_a_wide_cage_is_that_of_the_published_criterion():
    """tau_y = 0.143 F/(2 pi R^2) in open liquid (Beris, Tsamopoulos, Armstrong and Brown 1985): 2 % at a
    cage of ten
    balls."""
    s = scenario(material=PASTE, inlet_check={"ball_diameter": 0.01, "seat_diameter": 0.007,
                                              "cage_diameter": 0.1})  # fmt: skip
    weight = (7800.0 - 1250.0) * GRAVITY * math.pi / 6.0 * 0.01**3
    assert stress_that_holds(s, s.inlet_check) == pytest.approx(
        0.143 * weight / (2.0 * math.pi * 0.005**2), rel=0.02
    )


def test_a_preload_is_told_where_the_ball_never_lifts_and_there_is_one():
    """3 N on a seat of 21 mm: 8661 Pa."""
    still = metrics(inlet=check(flags=("never_lifts",)))
    sprung = scenario(inlet_check={"spring_preload": 3.0})
    needed = 3.0 / (math.pi / 4.0 * 0.021**2)
    there = ATMOSPHERE - 1250.0 * GRAVITY * 0.3 - 2300.0
    found = said(sprung, still)
    assert f"preload alone needs {needed / 1e3:.3g} kPa" in found
    assert f"{there / 1e3:.3g} kPa is available" in found
    assert "preload" not in said(sprung, metrics())
    assert "preload" in said(scenario(inlet_check={"spring_preload": 0.5}), still)
    assert "preload" not in said(scenario(), still)
    held = said(scenario(inlet_check={"spring_preload": 3.0, "holding_force": 1.0}), still)
    assert (
        f"preload alone, less the force that holds the ball up, needs {2 / 3 * needed / 1e3:.3g} kPa" in held
    )
    assert "preload" not in said(scenario(inlet_check={"spring_preload": 3.0, "holding_force": 3.0}), still)


def test_a_piston_jumps_from_one_and_a_half_times_its_free_speed_on():
    """S/(T/2 - t_d - t_r) of a rate of 1/s without load."""
    free = 0.09 / (0.5 - 0.04 - 0.03)
    for share, told in ((1.5 * (1.0 - HAIR), False), (1.5 * (1.0 + HAIR), True)):
        found = said(scenario(drive=MOTOR), metrics(piston_speed=share * free))
        assert ("the piston jumps" in found) is told
    assert "2.0 times its speed without load" in said(scenario(drive=MOTOR), metrics(piston_speed=2.0 * free))
    assert said(scenario(), metrics(piston_speed=100.0)) == ""


TIP = {"form": "tip at pressure", "gauge_pressure": 1e7, "hose_length": 15.0, "hose_diameter": 9.5e-3,
       "tip_diameter": 0.8e-3, "tip_discharge_coefficient": 0.8}  # fmt: skip


def test_a_pressure_at_the_tip_is_missed_from_a_hundredth_of_its_absolute_value_on():
    s, allowed = scenario(outlet=TIP, drive={"cycle_rate": None}), 0.01 * (1e7 + ATMOSPHERE)
    for side in (-1.0, 1.0):
        for share, told in ((1.0 - HAIR, False), (1.0 + HAIR, True)):
            made = 1e7 + ATMOSPHERE + side * share * allowed
            assert ("at any cycle rate" in said(s, metrics(outlet_pressure=made))) is told
    found = said(s, metrics(outlet_pressure=5e6 + ATMOSPHERE, cycle_rate=0.4))
    assert "hold 100 bar at this tip at any cycle rate: the numbers are for 50 bar, at 24 cycles/min" in found
    assert said(scenario(), metrics(outlet_pressure=1.0)) == ""


def test_a_trace_that_runs_back_by_two_thousandths_of_its_stroke_is_noisy():
    for back, told in ((1.9e-3, False), (2.1e-3, True)):
        up = ((0.0, 0.01), (0.2, 0.03), (0.4, 0.05), (0.5, 0.05 - back * 0.09), (0.8, 0.08), (1.0, 0.1))
        trace = (*up, (1.3, 0.07), (1.6, 0.04), (1.8, 0.02), (2.0, 0.01))
        s = scenario(drive={"profile": "trace", "trace": trace, "ramp_time": None, "dwell_time": None})
        found = said(s, metrics())
        assert ("the measured piston runs back" in found) is told
    assert "up to 0.21 % of the stroke" in found


@pytest.mark.parametrize(("share", "told"), [(0.02 * (1.0 - HAIR), False), (0.02 * (1.0 + HAIR), True)])
def test_a_leak_is_told_from_a_fiftieth_on(share, told):
    assert ("leak 2 % of swept" in said(scenario(), metrics(loss_budget=budget(leak=share * SWEPT)))) is told


def test_more_back_than_delivered_is_less_than_nothing_delivered():
    for delivered, told in ((0.0, False), (-1e-9, True)):
        found = said(scenario(), metrics(loss_budget=budget(delivered=delivered)))
        assert ("more runs back from the outlet" in found) is told


def test_the_piston_balls_landing_is_held_against_the_target_of_half_a_metre_a_second():
    for speed, told in ((0.5, False), (0.5004, True)):
        found = said(scenario(), metrics(piston=check(landing_speed=speed)))
        assert ("its ball lands at 0.5004 m/s, above the target of 0.5 m/s" in found) is told


def test_flags_are_of_their_own_check():
    found = warnings_for(scenario(), metrics(piston=check(flags=("never_seats",))))
    assert [words.split(":")[0] for words in found] == ["piston check"]


def test_a_port_is_near_vapour_pressure_within_a_twentieth_of_the_atmosphere():
    near = 2300.0 + 0.05 * ATMOSPHERE
    for pressure, told in ((near, False), (near - 0.01, True)):
        found = said(scenario(), metrics(lowest_port_pressure=pressure))
        assert ("the suction line itself cavitates" in found) is told


def read_at(*pairs, uncertainty=0.05):
    """A material by readings: viscosity [Pa s] at shear rates [1/s]."""
    from balltravel.material.viscosity_reading import ViscosityReading

    return tuple(ViscosityReading(mu, rate, None, uncertainty, "a rheometer", "worked", None)
                 for rate, mu in pairs)  # fmt: skip


def of_readings(law, *pairs, uncertainty=0.05):
    return scenario(
        material={"viscosity": None, "flow": law, "readings": read_at(*pairs, uncertainty=uncertainty)}
    )


def power(exponent):
    return [(rate, 5.0 * rate ** (exponent - 1.0)) for rate in (0.001, 0.1, 10.0, 1e3, 1e6)]


@pytest.mark.parametrize(
    ("exponent", "words"),
    [(0.29, "the fitted exponent is 0.29, outside 0.3 to 1"), (0.31, ""), (0.99, ""),
     (1.019, "the fitted exponent is 1.02, outside 0.3 to 1"),
     (1.0004, "the fitted exponent is 1.0004, outside"), (0.2998, "is 0.2998, outside"),
     (1.021, "thickens under shear (exponent 1.02)"), (1.3, "thickens under shear (exponent 1.30)")],
)  # fmt: skip
def test_an_exponent_of_readings_is_solved_from_three_tenths_to_one(exponent, words):
    found = said(of_readings("power law", *power(exponent)))
    assert words in found
    assert ("outside" in found or "thickens" in found) is bool(words)
    assert ("the material thins" in found) is (exponent <= 1.0)


def test_readings_off_their_law_by_three_times_their_scatter_are_told():
    """A Newtonian liquid read at two rates a factor apart: the more, the wider."""
    wide = [(1.0, 4.0), (10.0, 6.0), (100.0, 4.0), (1000.0, 6.0)]
    assert "deviate from the flow law (power law)" in said(of_readings("power law", *wide, uncertainty=0.01))
    assert "lie off" not in said(of_readings("power law", *wide, uncertainty=0.2))


def test_places_that_the_readings_do_not_reach_are_named_and_others_not():
    """8 U/d of 0.175 l/s in a hose of 38 mm is 32 1/s at full speed and 3 at a tenth of it."""
    narrow = [(rate, 5.0 * rate**-0.5) for rate in (1.0, 10.0, 50.0)]
    found = said(of_readings("power law", *narrow))
    assert "the readings reach from 1 to 50 1/s" in found
    assert "There the flow law is extrapolated" in found
    assert "inlet check: seat bore" in found
    assert "suction hose" not in found
    everywhere = said(of_readings("power law", *power(0.5)))
    assert "the readings reach" not in everywhere


def test_a_temperature_far_from_the_readings_is_a_guess_in_the_lower_and_in_the_hose():
    """One viscosity at 20 degC with an activation energy is trusted over 20 K to either side."""
    law = {"temperature_law": "Andrade", "activation_energy": 4e4, "stated_temperature": 293.15}
    for kelvin, told in ((312.9, False), (314.0, True)):
        found = said(scenario(material={**law, "temperature": kelvin}))
        assert ("in the lower is far" in found) is told
        found = said(scenario(material={**law, "temperature": 293.15}, suction={"temperature": kelvin}))
        assert ("in tank and hose is far" in found) is told
