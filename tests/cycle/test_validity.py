"""Where closures were looked at, and what is said of a cycle that uses them elsewhere."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import SEAT_REYNOLDS
from balltravel.closures.table.beyond_creeping import SOLVED_REYNOLDS
from balltravel.core.contact import FREE, SEATED
from balltravel.core.contents import COMPRESSION, GAS_EXPANSION
from balltravel.core.friction import HOSE_REYNOLDS
from balltravel.cycle.dataset import cycle_of, to_dataset
from balltravel.cycle.motion import variables
from balltravel.cycle.run import run_cycle
from balltravel.cycle.validity import (
    INDICATION_SHARE,
    Excursion,
    check_ranges,
    is_indication,
)
from balltravel.scenario.model import from_result

from ..helpers.motions import motion

COLUMNS = ("inlet_mode", "line_flow", "inlet_lift", "piston_lift", "inlet_flow", "piston_flow")


@pytest.fixture
def rows():
    """A cycle by hand of one second in unequal steps, at rest, 1 bar."""
    time = np.concatenate((np.linspace(0.0, 0.5, 501), np.linspace(0.5, 1.0, 101)))
    quiet = {name: np.zeros(time.size) for name in COLUMNS}
    bar = np.full(time.size, 1e5)
    return {"time": time, **quiet, "lower_pressure": bar, "upper_pressure": bar, "port_pressure": bar}


def ranges(scenario, rows):
    """The columns by hand as a motion, held against all ranges."""
    both = {
        name: np.stack([rows[f"inlet_{column}"], rows.get(f"piston_{column}", 0.0 * rows["time"])], 1)
        for name, column in (("lift", "lift"), ("flow", "flow"), ("contact", "mode"))
    }
    own = {name: rows[name] for name in rows if not name.startswith(("inlet_", "piston_"))}
    return check_ranges(scenario, motion(**own, **both))


def excursions(scenario, rows):
    return ranges(scenario, rows).excursions


def outside(scenario, rows):
    return ranges(scenario, rows).outside


def flow_at(scenario, reynolds, diameter):
    """The flow that has a Reynolds number in a bore."""
    m = scenario.material
    return reynolds * math.pi * m.viscosity * diameter / (4.0 * m.density)


def test_a_cycle_inside_all_ranges_has_no_excursion(story, rows):
    assert excursions(story("primer"), rows) == ()
    assert not outside(story("primer"), rows).any()


def test_the_share_of_the_cycle_is_that_of_its_time_whatever_the_steps(story, rows):
    """A Reynolds number of 480, either way, from 0.3 to 0.6 s of a cycle of one second."""
    scenario = story("primer")
    during = (rows["time"] > 0.3) & (rows["time"] < 0.6)
    flow = flow_at(scenario, 480.0, scenario.piston_check.seat_diameter)
    rows["piston_flow"] = np.where(during, -flow, 0.0)
    (found,) = excursions(scenario, rows)
    assert found.place == "piston check"
    assert found.closure == SOLVED_REYNOLDS.closure
    assert found.share == pytest.approx(0.3, abs=0.01)
    assert found.worst == pytest.approx(480.0, rel=1e-12)
    assert found.limit == 300.0
    assert (outside(scenario, rows) == during).all()
    assert "Reynolds number at the seat above 300 for 30 % of the cycle, up to 480" in str(found)


def test_the_closed_forms_have_a_range_of_their_own(story, rows):
    scenario = story("primer", "closures.resistance=closed form")
    rows["piston_flow"] = np.full(rows["time"].size, flow_at(scenario, 80.0, 0.016))
    (found,) = excursions(scenario, rows)
    assert (found.closure, found.limit) == (SEAT_REYNOLDS.closure, 50.0)


def test_between_laminar_and_turbulent_the_hose_is_outside_and_beyond_it_is_not(story, rows):
    scenario = story("primer")
    diameter = scenario.suction.hose_diameter
    for reynolds, inside in ((1990.0, True), (2600.0, False), (3900.0, False), (1e5, True)):
        rows["line_flow"] = np.full(rows["time"].size, flow_at(scenario, reynolds, diameter))
        found = [one for one in excursions(scenario, rows) if one.closure == HOSE_REYNOLDS.closure]
        assert (not found) == inside
        if found:
            assert found[0].limit == (2000.0 if reynolds < 3000.0 else 4000.0)


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        (
            "inlet_check.seat_diameter=15 mm",
            "inlet check: ball over seat diameter above 1.8 always, up to 1.96",
        ),
        ("piston_check.seat_diameter=21 mm", "piston check: ball over seat diameter below 1.12 always"),
        (
            "inlet_check.cage_diameter=70 mm",
            "inlet check: ball over cage diameter below 0.5 always, down to 0.42",
        ),
        ("material.bulk_modulus=100 MPa", "chambers: pressure over bulk modulus above 0.05"),
        ("suction.hose_roughness=3 mm", "suction line: hose roughness over diameter above 0.05 always"),
        ("closures.resistance=closed form", "inlet check: lift over seat radius above 1.2"),
    ],
)
def test_each_range_is_looked_at(story, setting, words):
    long = ("inlet_check.base_travel=13 mm",) if setting.startswith("closures") else ()
    found = run_cycle(story("primer", setting, *long)).excursions
    assert any(words in str(one) for one in found), [str(one) for one in found]


def test_a_moment_outside_does_not_make_an_indication(story, rows):
    scenario = story("primer")
    flow = flow_at(scenario, 480.0, scenario.inlet_check.seat_diameter)
    for length, expected in ((0.5 * INDICATION_SHARE, False), (2.0 * INDICATION_SHARE, True)):
        rows["inlet_flow"] = np.where(np.abs(rows["time"] - 0.25) < 0.5 * length, flow, 0.0)
        found = excursions(scenario, rows)
        assert found
        assert is_indication(found) == expected


def test_a_cycle_survives_the_way_through_a_dataset(story):
    cycle = run_cycle(story("primer", "inlet_check.seat_diameter=15 mm"))
    assert cycle.excursions
    again = cycle_of(to_dataset(cycle))
    assert (again.scenario, again.status, again.cycles) == (cycle.scenario, cycle.status, cycle.cycles)
    assert (again.metrics, again.excursions) == (cycle.metrics, cycle.excursions)
    assert (again.outside_range == cycle.outside_range).all()
    for name, _ in variables():
        assert np.array_equal(getattr(again.motion, name), getattr(cycle.motion, name)), name


def test_gas_that_swells_what_passes_the_inlet_check_is_told(story, rows):
    """5 % of gas at a mean of 50 kPa, over the vapour's 2 kPa: 0.05 (99.325/48 - 1) = 5.35 %."""
    scenario = story("primer", "material.free_gas_fraction=5 %")
    rows["port_pressure"] = np.full(rows["time"].size, 60e3)
    rows["lower_pressure"] = np.full(rows["time"].size, 40e3)
    during = rows["time"] < 0.2
    rows["inlet_mode"] = np.where(during, FREE, SEATED).astype(float)
    rows["inlet_flow"] = np.full(
        rows["time"].size, flow_at(scenario, 1.0, scenario.inlet_check.seat_diameter)
    )
    (found,) = excursions(scenario, rows)
    assert found.closure == GAS_EXPANSION.closure
    assert found.worst == pytest.approx(0.05 * (99325.0 / 48000.0 - 1.0), rel=1e-9)
    assert found.share == pytest.approx(0.2, abs=0.01)
    rows["inlet_flow"] *= -1.0
    assert excursions(scenario, rows) == ()


def test_the_upper_chambers_pressure_counts_in_the_compression(story, rows):
    scenario = story("primer")
    rows["upper_pressure"] = np.full(rows["time"].size, 0.06 * scenario.material.bulk_modulus)
    (found,) = excursions(scenario, rows)
    assert found.closure == COMPRESSION.closure


def test_a_hundredth_of_the_cycle_makes_an_indication_and_less_does_not():
    def of_share(share):
        return Excursion("inlet check", "c", "q", share, 2.0, 1.0, "b")

    assert is_indication([of_share(0.005), of_share(0.01)])
    assert not is_indication([of_share(0.0099)])


def test_the_outlet_hose_has_the_range_of_the_suction_hose(story, rows):
    """4 rho Q/(pi mu d) of 3000 in a hose of 6.4 mm for three tenths of the cycle, none of it in the range;
    with 8000 the whole hose is turbulent, inside it again."""
    scenario = story("stain_by_air")
    during = (rows["time"] > 0.3) & (rows["time"] < 0.6)
    for reynolds in (3000.0, 8000.0):
        rows["outlet_flow"] = np.where(during, flow_at(scenario, reynolds, 6.4e-3), 0.0)
        found = [one for one in excursions(scenario, rows) if one.place == "outlet hose"]
        assert len(found) == (1 if reynolds < 4000.0 else 0)
        for one in found:
            assert one.closure == HOSE_REYNOLDS.closure
            assert one.worst == pytest.approx(3000.0, rel=1e-9)
            assert one.share == pytest.approx(0.3, abs=0.01)


@pytest.mark.parametrize("below", ["[]", "[1]"])
def test_shims_below_survive_the_way_through_a_result(story, below):
    scenario = story("primer", f"shims.below={below}")
    assert from_result(scenario.model_dump_json()) == scenario
