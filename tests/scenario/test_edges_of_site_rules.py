"""Rules of drive, suction and outlet: where each begins to refuse, and that the example it gives is taken."""

import math

import pytest

from balltravel.scenario.model import ScenarioError
from balltravel.units import to_si

from ..helpers.lowers import scenario

GRAVITY, ATMOSPHERE, DENSITY = 9.80665, 101325.0, 1250.0
HAIR = 1e-6
ANDRADE = {"temperature_law": "Andrade", "activation_energy": 4e4, "stated_temperature": 293.15}
DRUM = {"vessel": "cylinder", "vessel_diameter": 0.57, "vessel_depth": 0.85, "vessel_level": 0.5,
        "inlet_above_bottom": 0.9, "pickup_above_bottom": 0.03, "lift": None}  # fmt: skip
SPRAY = {"form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 9.5e-3,
         "tip_diameter": 0.8e-3, "tip_discharge_coefficient": 0.8}  # fmt: skip
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 0.5, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip


def refusal(**changes):
    """The only fault of the invented lower so changed."""
    with pytest.raises(ScenarioError) as caught:
        scenario(**changes)
    (fault,) = caught.value.faults
    return fault


def refused(**changes):
    """Keys of all faults."""
    with pytest.raises(ScenarioError) as caught:
        scenario(**changes)
    return {fault.key for fault in caught.value.faults}


def of_example(fault, dimension):
    return to_si(fault.example.strip('"'), dimension)


def limit_in(fault, dimension):
    """The number after the colon of what is allowed."""
    return to_si(fault.allowed.rpartition(": ")[2], dimension)


@pytest.mark.parametrize("drive", [{}, MOTOR])
def test_two_ramps_and_the_dwell_leave_some_of_half_a_cycle(drive):
    """Half of two seconds; a tenth of a half is the example."""
    scenario(drive={**drive, "ramp_time": 0.4, "dwell_time": 0.2 - HAIR})
    fault = refusal(drive={**drive, "ramp_time": 0.4, "dwell_time": 0.2})
    assert fault.key == "drive.dwell_time"
    assert (fault.given, fault.allowed) == (
        "two ramps and the dwell take 1 s", "less than half a cycle, which is 1 s",
    )  # fmt: skip
    assert fault.example == 'ramp_time = "100 ms" and dwell_time = "100 ms"'


def test_a_piston_takes_a_time_to_change_its_speed():
    scenario(drive={"ramp_time": 1e-4})
    assert refusal(drive={"ramp_time": 0.0}).example == '"30 ms"'
    assert refused(drive={**MOTOR, "ramp_time": 0.0}) == {"drive.ramp_time"}
    scenario(drive={"profile": "harmonic", "ramp_time": None, "dwell_time": None})


@pytest.mark.parametrize(
    "suction", [{"lift": 0.5}, {"lift": -0.5}, {"lift": -0.5, "tank_gauge_pressure": 2e4}]
)
def test_a_material_boils_from_the_lowest_pressure_at_rest_on(suction):
    """Of the tank's, the atmosphere and what is left at the inlet port; a twentieth of it is the example."""
    gauge = suction.get("tank_gauge_pressure", 0.0)
    lowest = ATMOSPHERE - max(DENSITY * GRAVITY * suction["lift"] - gauge, 0.0)
    scenario(material={"vapour_pressure": lowest * (1.0 - HAIR)}, suction=suction)
    fault = refusal(material={"vapour_pressure": lowest * (1.0 + HAIR)}, suction=suction)
    assert fault.key == "material.vapour_pressure"
    assert limit_in(fault, "pressure") == pytest.approx(lowest, rel=5e-3)
    assert of_example(fault, "pressure") == pytest.approx(0.05 * lowest, rel=5e-3)


def test_the_tanks_pressure_carries_the_column_up_to_the_inlet():
    """(p + gauge)/(rho g); three tenths of it are the example, and nothing is said of boiling."""
    for gauge in (0.0, -5e4):
        feed = {"feed": "pressure", "tank_gauge_pressure": gauge} if gauge else {}
        highest = (ATMOSPHERE + gauge) / (DENSITY * GRAVITY)
        scenario(material={"vapour_pressure": 0.0}, suction={**feed, "lift": highest * (1.0 - 1e-3)})
        fault = refusal(suction={**feed, "lift": highest * (1.0 + HAIR)})
        assert fault.key == "suction.lift"
        assert limit_in(fault, "length") == pytest.approx(highest, rel=1e-2)
        assert of_example(fault, "length") == pytest.approx(0.3 * highest, rel=4e-2)


def test_a_port_gives_less_than_half_its_hose_holds():
    """For the atmosphere's pressure; a tenth of that is the example."""
    limit = 0.5 * math.pi / 4.0 * 0.038**2 * 1.5 / ATMOSPHERE
    scenario(suction={"port_compliance": limit * (1.0 - HAIR)})
    fault = refusal(suction={"port_compliance": limit * (1.0 + HAIR)})
    assert fault.key == "suction.port_compliance"
    assert limit_in(fault, "compliance") == pytest.approx(limit, rel=1e-2)
    assert of_example(fault, "compliance") == pytest.approx(0.1 * limit, rel=1e-2)


def test_an_outlet_hose_gives_less_than_it_holds():
    """And a ten-thousandth of that is the example."""
    limit = math.pi / 4.0 * 9.5e-3**2 * 15.0 / ATMOSPHERE
    scenario(outlet={**SPRAY, "hose_compliance": limit * (1.0 - HAIR)})
    fault = refusal(outlet={**SPRAY, "hose_compliance": limit * (1.0 + HAIR)})
    assert fault.key == "outlet.hose_compliance"
    assert limit_in(fault, "compliance") == pytest.approx(limit, rel=1e-2)
    assert of_example(fault, "compliance") == pytest.approx(1e-4 * limit, rel=1e-2)


def test_a_liquid_bears_a_fifth_of_its_bulk_modulus_at_outlet_and_tank():
    for outlet, tank in ((2e7, 0.0), (9e6, 1e7)):
        fed = {"feed": "pressure", "tank_gauge_pressure": tank} if tank else {}
        changes, least = {"outlet": {"gauge_pressure": outlet}, "suction": fed}, 5.0 * max(outlet, tank)
        scenario(**changes, material={"bulk_modulus": least})
        fault = refusal(**changes, material={"bulk_modulus": least * (1.0 - HAIR)})
        assert fault.key == "material.bulk_modulus"
        assert "at least 5 times" in fault.allowed
        assert limit_in(fault, "pressure") == pytest.approx(least, rel=1e-2)
        assert of_example(fault, "pressure") == 1.5e9


def test_a_solvent_is_liquid_where_its_vapour_pressure_is_known_and_below_the_pressure_there():
    """Water boils in a tank at 100 degC; in the hose at its own temperature."""
    water = {"solvent": "water", "vapour_pressure": None, **ANDRADE, "temperature": 293.15}
    scenario(material=water, suction={"temperature": 313.15})
    fault = refusal(material=water, suction={"temperature": 374.15})
    assert fault.key == "suction.temperature"
    assert fault.given.startswith("101 degC, a vapour pressure of ")
    assert "a vapour pressure less than the absolute pressure" in fault.allowed
    assert fault.example == '"20 degC"'
    assert refused(material=water, suction={"temperature": 265.0}) == {"suction.temperature"}
    assert refused(material={**water, "temperature": 265.0}) >= {"material.temperature"}


def test_an_open_tank_has_no_pressure_of_its_own():
    scenario(suction={"feed": "open", "tank_gauge_pressure": 0.0})
    for gauge in (1.0, -1.0):
        fault = refusal(suction={"feed": "open", "tank_gauge_pressure": gauge})
        assert (fault.key, fault.example) == ("suction.tank_gauge_pressure", '"0 bar"')


def test_a_rigid_line_does_not_flex_and_gives_a_cubic_centimetre_a_bar_at_most():
    scenario(suction={"hose_flexing": 5e-8})
    fault = refusal(suction={"line": "rigid", "hose_flexing": 5e-8})
    assert (fault.key, fault.example) == ("suction.hose_flexing", 'line = "hose"')
    scenario(suction={"line": "rigid", "port_compliance": 1e-11})
    scenario(suction={"line": "hose", "port_compliance": 2e-11})
    fault = refusal(suction={"line": "rigid", "port_compliance": 1e-11 * (1.0 + HAIR)})
    assert fault.key == "suction.port_compliance"
    assert "at most 1 cc/bar" in fault.allowed
    assert of_example(fault, "compliance") == pytest.approx(1e-15)


def test_a_vessel_is_filled_from_the_hoses_end_to_its_brim():
    scenario(suction={**DRUM, "vessel_level": 0.85})
    fault = refusal(suction={**DRUM, "vessel_level": 0.85 * (1.0 + HAIR)})
    assert (fault.key, fault.example) == ("suction.vessel_level", '"595 mm"')
    assert "850 mm" in fault.allowed
    scenario(suction={**DRUM, "vessel_level": 0.03})
    fault = refusal(suction={**DRUM, "vessel_level": 0.03 * (1.0 - HAIR)})
    assert (fault.key, fault.example) == ("suction.vessel_level", '"45 mm"')
    assert "30 mm: below it the hose draws air" in fault.allowed


def test_a_trace_is_looked_at_where_it_drives_the_piston():
    up = [(0.1 * i, 0.01 * i) for i in range(6)]
    good = (*up, *((0.5 + 0.1 * i, 0.05 - 0.01 * i) for i in range(1, 6)))
    told = {"profile": "trace", "cycle_rate": None, "ramp_time": None, "dwell_time": None}
    scenario(drive={**told, "trace": good})
    assert refused(drive={**told, "trace": (*good[:4], good[2], *good[5:])}) == {"drive.trace"}


def test_a_motor_finds_its_pressure_and_alone_may_push_against_a_closed_outlet():
    tip = {**SPRAY, "form": "tip at pressure", "gauge_pressure": 1e7}
    scenario(outlet=tip, drive={"cycle_rate": None})
    scenario(outlet=SPRAY, drive=MOTOR)
    fault = refusal(outlet=tip, drive=MOTOR)
    assert (fault.key, fault.example) == ("outlet.form", '"tip"')
    closed = {"form": "closed", "gauge_pressure": None}
    scenario(outlet=closed, drive=MOTOR)
    fault = refusal(outlet=closed)
    assert (fault.key, fault.example) == ("outlet.form", '"tip"')
    scenario(drive=MOTOR)


def test_a_resistance_belongs_to_a_fixed_pressure():
    scenario(outlet={"resistance": 1e9})
    assert refused(outlet={**SPRAY, "resistance": 1e9}) == {"outlet.resistance"}
