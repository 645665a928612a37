"""What the core is told of a lower (M1 to M6), number by number: by hand from the scenario."""

import math

import numpy as np
import pytest

from balltravel.closures.families import closures_at
from balltravel.closures.tube import added_mass_coefficient
from balltravel.core.check import Law, law
from balltravel.core.lift import place_of
from balltravel.core.liquid import inertia_at
from balltravel.core.model import (
    AIR_ABOVE,
    AIR_BELOW,
    GAS_LOWER,
    GAS_PORT,
    OUT_FLOW,
    STORE,
    V,
    X,
)
from balltravel.core.parameters import Narrow
from balltravel.core.records import as_record
from balltravel.core.status import Status
from balltravel.scenario.model import Closures
from balltravel.setup.drive import drive_parameters, trace_segments
from balltravel.setup.outlet import packing
from balltravel.setup.parameters import (
    cage_radius,
    control_for,
    core_parameters,
    full_flow,
    geometry_of,
    strainer_of,
)
from balltravel.setup.runs import run_core

from ..helpers.lowers import harmonic, lower, scenario

GRAVITY, ATMOSPHERE, DENSITY = 9.80665, 101325.0, 1250.0
BORE, ROD, STROKE = 0.048, 0.034, 0.09
PISTON, ROD_AREA = math.pi * BORE**2 / 4.0, math.pi * ROD**2 / 4.0
SWEPT = PISTON * STROKE
HOSE, WIDTH = 1.5, 0.038
HOSE_AREA = math.pi * WIDTH**2 / 4.0
SPRAY = {
    "form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 9.5e-3,
    "tip_diameter": 0.8e-3, "tip_length": 1e-3, "tip_discharge_coefficient": 0.8, "hose_compliance": 4e-12,
}  # fmt: skip
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip
AIR_MOTOR = {**MOTOR, "motor": "air", "supply_gauge_pressure": 6e5, "area_ratio": 25.0}
SPRING = {"spring_preload": 3.0, "spring_rate": 250.0, "leak_gap": 2e-6, "surface_roughness": 4e-6}
PAD = {"stop": "pad", "stop_pad_diameter": 0.012}


def test_a_check_has_the_masses_and_the_weight_of_its_ball():
    """Sphere of 29.4 mm and 7800 kg/m3 in a bore of 37.8 mm; the liquid that it moves, C_a rho V, and the
    pull of its column, rho V (1 + C_a)/A_c."""
    found = lower(inlet_check=SPRING).inlet
    R, Rc = 0.0147, 0.0189
    volume, added = 4.0 / 3.0 * math.pi * R**3, added_mass_coefficient(R / Rc)
    assert (found.seat_radius, found.ball_radius, found.travel) == pytest.approx((0.0105, R, 0.005))
    assert found.ball_mass == pytest.approx(7800.0 * volume, rel=1e-12)
    assert found.added_mass == pytest.approx(DENSITY * volume * added, rel=1e-12)
    assert found.coupling_mass == pytest.approx(
        DENSITY * volume * (1.0 + added) / (math.pi * Rc**2), rel=1e-12
    )
    assert found.net_weight == pytest.approx((7800.0 - DENSITY) * GRAVITY * volume, rel=1e-12)
    assert (found.spring_preload, found.spring_rate) == (3.0, 250.0)
    assert (found.leak_gap, found.roughness, found.pad_radius) == (2e-6, 4e-6, 0.0)
    assert found.landing_gap == pytest.approx(0.01 * 0.0105, rel=1e-12)
    assert found.table_origin == pytest.approx(0.02 * 0.0105, rel=1e-12)
    assert found.measured_force == 1.0


CLOSE = {"seat_diameter": 0.0291, "cage_diameter": 0.031}
"""A seat that the ball hardly covers in a cage that it hardly fits."""


def least_mass(check, lifts=300):
    """Least mass that moves with a ball at all its lifts, over its own."""
    record, travel = as_record(check), check.travel
    at = np.append(0.0, np.geomspace(1e-4, 1.0, lifts) * travel)
    masses = [inertia_at(record, place_of(record, z), z).mass for z in at]
    return 1.0 + min(masses) / check.ball_mass


@pytest.mark.parametrize("closures", ["tabulated", "closed form"])
@pytest.mark.parametrize("density", [500.0, 1300.0, 7800.0])
@pytest.mark.parametrize("sizes", [CLOSE, {"seat_diameter": 0.026}, {"cage_diameter": 0.3}, {}])
def test_the_mass_that_moves_with_a_ball_is_positive_at_every_lift(closures, density, sizes):
    """In a liquid of 3000 kg/m3: at least a quarter of the ball's own."""
    check = lower(
        material={"density": 3000.0},
        inlet_check={"ball_density": density, **sizes},
        closures={"resistance": closures},
    ).inlet
    assert least_mass(check) >= 0.25 * (1.0 - 1e-9)


def test_a_ball_that_floats_in_a_close_cage_is_pushed_less_so_that_it_keeps_a_quarter_of_its_mass():
    """By closed forms, far-field at every lift: c = (m + 3/4 m_b)/A_s. Denser than 0.45 times its liquid it
    has the whole push."""
    volume, added = 4.0 / 3.0 * math.pi * 0.0147**3, added_mass_coefficient(0.0294 / 0.031)
    whole, area = 3000.0 * volume * (1.0 + added) / (math.pi * 0.0155**2), math.pi * 0.01455**2
    for density, expected in ((500.0, 3000.0 * added + 375.0), (1400.0, None)):
        check = lower(
            material={"density": 3000.0},
            inlet_check={"ball_density": density, **CLOSE},
            closures={"resistance": "closed form"},
        ).inlet
        push = whole if expected is None else volume * expected / area
        assert check.coupling_mass == pytest.approx(push, rel=1e-9)


def test_a_travel_of_two_hundredths_of_the_seat_lands_at_its_half():
    """And a hair more at a hundredth of the seat radius."""
    for travel in (1e-4, 2.2e-4):
        s = scenario(inlet_check={"base_travel": travel})
        assert core_parameters(s).inlet.landing_gap == pytest.approx(min(1.05e-4, 0.5 * travel), rel=1e-12)


def test_a_pad_is_half_as_wide_as_its_diameter_and_pins_are_none():
    assert lower(inlet_check=PAD).inlet.pad_radius == pytest.approx(0.006, rel=1e-14)
    assert lower().inlet.pad_radius == 0.0


def test_the_closed_forms_have_no_force_of_their_own():
    assert lower(closures={"resistance": "closed form"}).inlet.measured_force == 0.0


def test_the_table_of_a_check_is_that_of_its_own_travel():
    """At half its travel the law of the core is the closures': one over the conductance is the resistance
    that a slow flow meets, mu Q Rqq/r^3."""
    s = scenario(closures={"resistance": "closed form"})
    p, out = core_parameters(s), as_record(Law())
    for check, told in ((p.inlet, s.inlet_check), (p.piston, s.piston_check)):
        lift, drop, geometry = 0.5 * check.travel, 1e-3, geometry_of(told, s.closures)
        law(as_record(check), as_record(p.material), lift, 0.0, drop, out)
        conductance = closures_at(geometry, np.array([lift]))[0][0] * gap_at(geometry, lift) ** 2
        assert out.flow == pytest.approx(drop * conductance * geometry.seat_radius**3 / 5.0, rel=1e-6)
        assert not check.table.flags.writeable


def gap_at(geometry, lift):
    """Of an edge, with the roughness, over its radius: Pythagoras."""
    r, R = geometry.seat_radius, geometry.ball_radius
    gap = math.hypot(r, math.sqrt(R * R - r * r) + lift) - R
    return math.hypot(gap, geometry.roughness) / r


def test_the_closures_take_half_of_every_diameter():
    s = scenario(inlet_check=SPRING)
    found = geometry_of(s.inlet_check, s.closures)
    assert tuple(found)[:6] == pytest.approx((0.0105, 0.01, 0.0147, 0.0189, 0.045, 0.7))
    assert (found.roughness, found.leak_gap, found.half_angle) == (4e-6, 2e-6, 0.0)
    assert (found.mouth_radius, found.land_width, found.offset) == (0.0, 0.0, 0.0)
    assert found.family == "tabulated"
    aside = geometry_of(s.inlet_check, Closures(ball_position="touching"))
    assert aside.offset == pytest.approx(0.0042, rel=1e-12)
    cone = {"seat": "cone", "seat_half_angle": 0.7, "seat_mouth_diameter": 0.027, "seat_diameter": 0.014}
    found = geometry_of(scenario(inlet_check={**cone, "seat_land_width": 1e-3}).inlet_check)
    assert (found.half_angle, found.mouth_radius, found.land_width) == (0.7, 0.0135, 1e-3)


def test_a_plain_cage_is_its_bore_and_ribs_pass_less_than_their_housing():
    ribs = {"cage": "ribs", "rib_count": 4, "rib_width": 0.006, "cage_diameter": 0.031}
    ribbed = scenario(inlet_check={**ribs, "housing_diameter": 0.042}).inlet_check
    assert cage_radius(scenario().inlet_check) == 0.0189
    assert 0.0155 < cage_radius(ribbed) < 0.021


def test_the_chambers_have_their_dead_volumes_and_grow_with_bore_and_rod():
    p = lower(lower={"lower_dead_volume": 30e-6, "upper_dead_volume": 50e-6})
    assert p.port == pytest.approx((0.5 * HOSE * HOSE_AREA, 0.0, p.port.compliance), rel=1e-12)
    assert p.lower == pytest.approx((30e-6, PISTON, 0.0), rel=1e-12)
    annulus = PISTON - ROD_AREA
    assert p.upper == pytest.approx((50e-6 + annulus * STROKE, -annulus, 0.0), rel=1e-12)
    sprayed = lower(lower={"upper_dead_volume": 50e-6}, outlet=SPRAY).upper
    half = 0.5 * 15.0 * math.pi * 9.5e-3**2 / 4.0
    assert sprayed.volume == pytest.approx(50e-6 + annulus * STROKE + half, rel=1e-12)
    assert sprayed.compliance == pytest.approx(2e-12, rel=1e-12)


def test_outlet_atmosphere_and_gravity_are_those_of_the_scenario():
    p = lower(outlet={"gauge_pressure": 1e7, "resistance": 3e8}, suction={"barometric_pressure": 9e4})
    assert (p.outlet_pressure, p.outlet_resistance) == (1e7 + 9e4, 3e8)
    assert (p.reference_pressure, p.gravity) == (9e4, GRAVITY)
    assert lower(suction={"port_compliance": 3e-10}).port.compliance == 3e-10


def test_worn_packings_are_slits_around_bore_and_rod():
    gaps = {"piston_packing_gap": 5e-5, "rod_packing_gap": 3e-5}
    lengths = {"piston_packing_length": 0.012, "rod_packing_length": 0.02}
    p = lower(lower={**gaps, **lengths})
    assert p.piston_packing == packing(BORE, 5e-5, 0.012, DENSITY)
    assert p.rod_packing == packing(ROD, 3e-5, 0.02, DENSITY)
    assert (lower().piston_packing, lower().rod_packing) == (Narrow(), Narrow())


@pytest.mark.parametrize(
    ("changes", "more"),
    [
        ({}, 0),
        ({"drive": MOTOR}, 1),
        ({"outlet": SPRAY}, 1),
        ({"material": {"dissolved_gas_fraction": 0.01}}, 1),
        ({"material": {"free_gas_fraction": 0.01}}, 0),
    ],
)
def test_motor_hose_and_gas_make_states_that_feed_back(changes, more):
    assert lower(**changes).more == more


def test_the_suction_line_has_the_laws_of_its_hose():
    """Poiseuille's 128 L/(pi d^4), K rho/(2 A^2), rho L/A with the passage of the check beyond it."""
    s = scenario(suction={"loss_coefficient": 1.5, "hose_roughness": 3e-6, "tank_gauge_pressure": 2e5,
                          "feed": "pressure"}, closures={"resistance": "closed form"})  # fmt: skip
    found = core_parameters(s).suction
    assert found.laminar == pytest.approx(128.0 * HOSE / (math.pi * WIDTH**4), rel=1e-12)
    assert found.minor == pytest.approx(1.5 * DENSITY / (2.0 * HOSE_AREA**2), rel=1e-12)
    assert found.pressure == pytest.approx(ATMOSPHERE + 2e5 - DENSITY * GRAVITY * 0.3, rel=1e-12)
    assert found.diameter == WIDTH
    assert found.relative_roughness == pytest.approx(3e-6 / WIDTH, rel=1e-12)
    R, Rc = 0.0147, 0.0189
    seat, cage = math.pi * 0.0105**2, math.pi * Rc**2
    around = 4.0 / 3.0 * math.pi * R**3 * (1.0 + added_mass_coefficient(R / Rc)) / cage
    passage = 0.01 / seat + (0.045 + around) / cage
    assert found.inertance == pytest.approx(DENSITY * (HOSE / HOSE_AREA + passage), rel=1e-12)
    assert (found.strainer, found.strainer_rate, found.fittings) == (0.0, 0.0, 0.0)


def test_a_strainer_is_holes_beside_each_other():
    """Poiseuille's loss over thickness and 3 pi d/16, shared by the holes; 32 Q/(pi d^3) in each."""
    holes = {"strainer": "holes", "strainer_holes": 200, "strainer_hole_diameter": 1.2e-3}
    d, length = 1.2e-3, 8e-4 + 3.0 * math.pi * 1.2e-3 / 16.0
    s = scenario(suction={**holes, "strainer_thickness": 8e-4})
    laminar, rate = 128.0 * length / (math.pi * d**4 * 200), 32.0 / (math.pi * d**3 * 200)
    assert strainer_of(s.suction) == pytest.approx((laminar, rate), rel=1e-12)
    line = core_parameters(s).suction
    assert (line.strainer, line.strainer_rate) == strainer_of(s.suction)


def test_the_material_has_its_numbers_and_never_no_gas_at_all():
    told = {"bulk_modulus": 1.2e9, "free_gas_fraction": 0.02, "dissolved_gas_fraction": 0.03}
    found = lower(material={**told, "gas_release_time": 4.0}).material
    assert (found.density, found.bulk_modulus, found.vapour_pressure) == (DENSITY, 1.2e9, 2300.0)
    assert (found.gas_fraction, found.dissolved, found.release_rate) == (0.02, 0.03, 0.25)
    assert lower(material={"free_gas_fraction": 0.0}).material.gas_fraction == 1e-6


def test_the_full_flow_is_bore_times_the_fastest_piston():
    """At constant speed S/(T/2 - t_d - t_r); a crank's pi S f; a motor's mean, 2 S f."""
    assert full_flow(scenario()) == pytest.approx(SWEPT / (1.0 - 0.03 - 0.04), rel=1e-9)
    assert full_flow(scenario(drive=harmonic(0.5))) == pytest.approx(SWEPT * math.pi * 0.5, rel=1e-12)
    driven = scenario(drive=MOTOR)
    rate = 1.0 / core_parameters(driven).drive.period
    assert full_flow(driven) == pytest.approx(2.0 * SWEPT * rate, rel=1e-12)


def test_errors_are_measured_by_what_each_state_is_in_this_lower():
    """Contents by what the atmosphere squeezes of their volumes, flow by the mean, lifts by a hundredth of
    the seat, speeds by the mean piston speed, volumes by what is swept."""
    p = lower(material={"bulk_modulus": 1.2e9}, suction={"port_compliance": 3e-10})
    squeeze, c = ATMOSPHERE / 1.2e9, control_for(p)
    scale = c.scale
    assert scale[0] == pytest.approx(p.port.volume * squeeze + 3e-10 * ATMOSPHERE, rel=1e-12)
    assert scale[1] == pytest.approx(SWEPT * 0.5, rel=1e-12)
    assert scale[2] == pytest.approx((p.lower.volume + 0.5 * SWEPT) * squeeze, rel=1e-12)
    assert scale[3] == pytest.approx(p.upper.volume * squeeze, rel=1e-12)
    assert scale[4:8] == pytest.approx((1.05e-4, STROKE * 0.5, 0.8e-4, STROKE * 0.5), rel=1e-12)
    assert (scale[8:16] == 1.0).all()
    assert scale[[16, 17, 18, 19, 21, 22, 23]] == pytest.approx(SWEPT, rel=1e-12)
    assert scale[20] == STROKE
    assert (c.end[4], c.end[6]) == (0.005, 0.005)
    assert np.flatnonzero(c.end).tolist() == [4, 6]
    assert (c.rtol, c.max_cycles, c.most_rows, c.periodic_tolerance) == (1e-6, 30, 40_000, 1e-6)
    assert c.counted == 8 + 5


def test_near_a_pad_a_lift_counts_by_the_roughness():
    p = lower(inlet_check={**PAD, "surface_roughness": 4e-6}, piston_check=PAD)
    assert control_for(p).scale[4] == 4e-6
    assert control_for(p).scale[6] == p.piston.roughness
    rough = p._replace(inlet=p.inlet._replace(roughness=1.0))
    assert control_for(rough).scale[4] == pytest.approx(1.05e-4, rel=1e-12)


def test_a_motor_adds_the_pistons_own_place_and_speed_and_air_its_pressures():
    p = lower(drive=MOTOR)
    c = control_for(p)
    assert c.scale[[X, V]] == pytest.approx((0.01 * STROKE, p.motor.free_speed), rel=1e-12)
    assert (c.end[X], c.counted, c.max_cycles) == (STROKE, 8 + 5 + 2, 30)
    assert (c.scale[[AIR_BELOW, AIR_ABOVE]] == 1.0).all()
    air = control_for(lower(drive=AIR_MOTOR))
    assert (air.scale[[AIR_BELOW, AIR_ABOVE]] == ATMOSPHERE).all()
    assert air.counted == 8 + 5 + 4


def test_an_outlet_hose_and_gas_take_four_times_the_cycles_and_states_of_their_own():
    sprayed = lower(material={"bulk_modulus": 1.2e9}, outlet=SPRAY)
    c, store = control_for(sprayed), sprayed.outlet.store
    assert c.scale[OUT_FLOW] == c.scale[1]
    assert c.scale[STORE] == pytest.approx(
        store.volume * ATMOSPHERE / 1.2e9 + store.compliance * ATMOSPHERE, rel=1e-12
    )
    assert (c.counted, c.max_cycles) == (8 + 5 + 3, 120)
    gassy = lower(material={"dissolved_gas_fraction": 0.03})
    c = control_for(gassy)
    assert c.scale[GAS_PORT] == pytest.approx(3e-4 * gassy.port.volume, rel=1e-12)
    assert c.scale[GAS_LOWER] == pytest.approx(3e-4 * (gassy.lower.volume + SWEPT), rel=1e-12)
    assert (c.counted, c.max_cycles) == (8 + 5 + 2, 120)
    assert control_for(lower(), max_cycles=7).max_cycles == 7


def test_each_worn_packing_adds_its_volume():
    """Two packings two, one of either one."""
    worn = lower(lower={"piston_packing_gap": 5e-5, "rod_packing_gap": 3e-5})
    for p, count in (
        (worn, 2), (worn._replace(rod_packing=Narrow()), 1), (worn._replace(piston_packing=Narrow()), 1),
    ):  # fmt: skip
        assert control_for(p).counted == 8 + 5 + count


def test_a_colder_hose_has_its_own_density_and_the_lower_that_of_its_temperature():
    """Thermal expansion 7e-4 1/K between 20 degC of the lower and 5 degC of the hose."""
    warm = {"thermal_expansion": 7e-4, "stated_temperature": 293.15, "temperature": 293.15,
            "temperature_law": "Andrade", "activation_energy": 4e4}  # fmt: skip
    p = lower(material=warm, suction={"temperature": 278.15, "loss_coefficient": 1.5})
    cold = 2.0 * p.suction.minor * HOSE_AREA**2 / 1.5
    assert p.material.density == pytest.approx(DENSITY, rel=1e-12)
    assert cold / DENSITY == pytest.approx(1.0 + 15.0 * 7e-4, rel=2e-4)
    assert p.suction.pressure == pytest.approx(ATMOSPHERE - cold * GRAVITY * 0.3, rel=1e-12)


def drive_of(profile):
    if profile == "trace":
        up = np.linspace(0.0, 1.0, 40)
        rise = up**2 * (3.0 - 2.0 * up)
        trace = np.stack([np.append(up, 1.2 + up), np.append(rise, 1.0 - rise)], 1)
        return trace_segments(trace, STROKE, 2.0)
    return drive_parameters(scenario().drive, STROKE)


COLUMNS = ("start", "position", "speed", "acceleration", "jerk")


@pytest.mark.parametrize("profile", ["constant speed", "trace"])
def test_a_stroke_has_no_more_numbers_than_segments_and_none_behind_them_is_read(profile):
    drive = drive_of(profile)
    sizes = {name: getattr(drive, name).size for name in COLUMNS}
    assert sizes["start"] == drive.segments + 1
    assert {sizes[name] for name in ("position", "speed", "acceleration")} == {drive.segments}
    within = {}
    for name, size in sizes.items():
        longer = np.full(size + 8, np.nan)
        longer[:size] = getattr(drive, name)
        within[name] = longer[:size]
    p = lower()
    runs = [run_core(p._replace(drive=d), control_for(p)) for d in (drive, drive._replace(**within))]
    assert runs[0].status == Status.OK
    assert runs[0].rows.tobytes() == runs[1].rows.tobytes()
