"""Net positive suction head available, against worked examples."""

import math
import re
from pathlib import Path

import pytest

from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import with_values
from balltravel.study.site.suction_head import Heads, heads_of
from balltravel.units import from_si, to_si

STAIN = Path(__file__).parents[2] / "scenarios" / "stain.toml"
G = 9.80665


def water_rows(table):
    rows = [row for row in table("npsha.csv") if row["case"].startswith("water")]
    assert len(rows) == 3
    return [
        (row, {key: float(x) for key, x in re.findall(r"(\w+)=(-?[\d.]+)", row["inputs"])}) for row in rows
    ]


def test_the_worked_example_in_feet(table, agree):
    """1e-3: its constants have three digits."""
    row = table("npsha.csv")[0]
    assert row["inputs"] == "P=5 psig+1 atm; Pv=0.256 psi; rho=62.364 lb/ft3; static -25 ft; loss 6 ft"
    weight = G * to_si("62.364 lb/ft3", "density")
    heads = Heads(
        surface=(to_si("5 psi", "pressure") + 101325.0) / weight,
        static=to_si("-25 ft", "length"),
        hose=to_si("6 ft", "length"),
        fittings=0.0,
        strainer=0.0,
        acceleration=0.0,
        vapour=to_si("0.256 psi", "pressure") / weight,
        velocity=1.0,
    )
    agree(from_si(heads.available, "length", "ft"), row["NPSHa"], rel=1e-3)


def test_water_at_three_temperatures(table, agree):
    """1e-6: seven digits are given."""
    for row, given in water_rows(table):
        weight = G * given["rho"]
        heads = Heads(
            given["Pa"] / weight, given["z"], given["hf"], 0.0, 0.0, given["ha"], given["pv"] / weight, 1.0
        )
        agree(heads.available, row["NPSHa"], rel=1e-6)


def test_a_scenario_of_water_has_the_heads_of_the_worked_cases_but_for_its_own_losses(table, agree):
    """1e-3, the own vapour pressure's; losses of 0.9 m and 0.6 m are put back as given."""
    for row, given in water_rows(table):
        celsius = float(re.search(r"\d+", row["case"])[0])
        scenario = with_values(
            read_scenario(STAIN, ("material.solvent=water",)),
            {
                "material.temperature": celsius + 273.15,
                "material.density": given["rho"],
                "suction.lift": -given["z"],
                "suction.barometric_pressure": given["Pa"],
            },
        )
        heads = heads_of(scenario)
        agree(heads.available + heads.losses - given["hf"] - given["ha"], row["NPSHa"], rel=1e-3)


def test_acceleration_head_of_a_crank_is_the_textbooks_with_the_exact_coefficient(agree):
    """h_a = L V n C/g with C = 2 pi^2/60 (n in 1/min), V the mean velocity in the line over a cycle."""
    scenario = read_scenario(STAIN, ("drive.profile=harmonic",))
    s, lower = scenario.suction, scenario.lower
    rate = scenario.drive.cycle_rate
    V = (lower.bore / s.hose_diameter) ** 2 * lower.stroke * rate
    expected = s.hose_length * V * (60.0 * rate) * (2.0 * math.pi**2 / 60.0) / G
    agree(heads_of(scenario).acceleration, expected, rel=1e-12)


def test_acceleration_head_of_a_ramp_is_that_of_its_speed_over_its_time(agree):
    """v = S/(T/2 - dwell - ramp) and a = v/ramp."""
    scenario = read_scenario(STAIN)
    s, lower, drive = scenario.suction, scenario.lower, scenario.drive
    speed = lower.stroke / (0.5 / drive.cycle_rate - drive.dwell_time - drive.ramp_time)
    expected = s.hose_length * (lower.bore / s.hose_diameter) ** 2 * speed / drive.ramp_time / G
    agree(heads_of(scenario).acceleration, expected, rel=1e-12)


def test_heads_of_losses_add_up_to_the_lines_own():
    from balltravel.estimate.suction_losses import suction_losses

    holes = ("strainer_holes=50", "strainer_hole_diameter=4 mm", "strainer_thickness=2 mm")
    settings = ("suction.strainer=holes", *(f"suction.{one}" for one in holes))
    scenario = read_scenario(STAIN, (*settings, 'suction.fittings=["globe valve", "sharp entry"]'))
    heads, weight = heads_of(scenario), G * scenario.material.density
    whole = suction_losses(scenario).hose
    assert weight * (heads.hose + heads.fittings + heads.strainer) == pytest.approx(whole, rel=1e-12)
    assert min(heads.hose, heads.fittings, heads.strainer) > 0.0
