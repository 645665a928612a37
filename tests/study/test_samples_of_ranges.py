"""Samples that a sweep draws from the ranges of a scenario: the draws of the verdict, each a case that can be
made again from its coordinates."""

from pathlib import Path

import numpy as np
import pytest

import balltravel
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import ScenarioError, flat, with_values
from balltravel.study.swept.cases import keys_in
from balltravel.study.verdict.draws import draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.sweeps.plan import Plan
from balltravel.sweeps.values import value_in
from balltravel.units import to_si

PRIMER = Path(__file__).parents[2] / "scenarios" / "primer.toml"
ZINC = PRIMER.with_name("zinc_primer_light_ball.toml")
READINGS = (
    "material.flow=['power law', 'Newtonian']",
    "material.readings=[{ shear_rate = '4 1/s', viscosity = '7 Pa.s' }, "
    "{ shear_rate = '40 1/s', viscosity = '5 Pa.s', uncertainty = '15 %' }]",
)


def made_of(scenario, samples):
    """The scenario of every case."""
    plan = Plan(scenario, {"shims.below": [(2,)]}, samples)
    return [with_values(scenario, changes) for changes in plan.changes(0, len(plan))]


@pytest.mark.parametrize("settings", [(), READINGS], ids=["viscosity", "readings"])
def test_each_case_is_a_draw_of_the_verdict(settings):
    scenario = read_scenario(PRIMER, [*settings, "shims.below=[2]"])
    draws = [made for made in draw(inputs_of(scenario), 32, seed=3).scenarios if made is not None]
    cases = made_of(scenario, balltravel.samples_of(scenario, 32, seed=3))
    assert [flat(case) for case in cases] == [flat(made) for made in draws]


def test_a_case_with_drawn_readings_is_made_again_from_its_coordinates_alone():
    scenario = read_scenario(PRIMER, READINGS)
    samples = balltravel.samples_of(scenario, 4)
    data = balltravel.sweep(scenario, {"shims.below": [(2,)]}, samples=samples)
    assert balltravel.chance(data).chance.shape == (1,)
    assert "material.readings" not in balltravel.what_decides(data).key.values
    for case, made in enumerate(made_of(scenario, samples)):
        point = data.isel(case=case, shims_below=0)
        again = {key: value_in(key, point[name].item()) for key, name in keys_in(data).items()}
        assert flat(with_values(scenario, again)) == flat(made)


def test_a_key_of_the_grid_is_not_drawn():
    from balltravel.study.swept.samples import drawn_samples

    scenario = read_scenario(PRIMER)
    grid = {"material.viscosity": [1.0, 5.0]}
    whole, rest = (drawn_samples(scenario, 8, 0, swept).values for swept in (None, grid))
    assert whole.keys() - rest.keys() == {"material.viscosity"}
    assert all(whole[key] == values for key, values in rest.items())


def test_a_draw_of_a_lower_that_cannot_be_is_left_out_and_counted():
    from balltravel.study.swept.samples import drawn_samples

    seat = "inlet_check.seat_diameter={ likely = '28.5 mm', within = '0.8 mm' }"
    scenario = read_scenario(PRIMER, ["inlet_check.seat=edge", seat])
    found = drawn_samples(scenario, 32, 0)
    assert 0 < found.left_out < 32
    assert {len(values) for values in found.values.values()} == {32 - found.left_out}
    assert np.max(found.values["inlet_check.seat_diameter"]) < 0.0294


def test_of_a_scenario_that_is_known_exactly_nothing_is_drawn():
    scenario = read_scenario(PRIMER)
    known = balltravel.with_ranges(scenario, dict.fromkeys(balltravel.spreads_of(scenario), "exactly"))
    with pytest.raises(ScenarioError, match="every value is known exactly; allowed: a scenario of which"):
        balltravel.samples_of(known)


@pytest.mark.parametrize("count", [0, -2, 3, 100, 131_072, 8.0, "8", True, None])
def test_a_number_of_samples_is_a_power_of_two(count):
    with pytest.raises(
        ScenarioError, match=r"^samples: .*; allowed: a power of two, 1 to 65536; example: 128$"
    ):
        balltravel.samples_of(read_scenario(PRIMER), count)


def test_what_follows_from_a_key_of_the_grid_follows_in_every_case():
    from balltravel.study.swept.samples import drawn_samples

    scenario = read_scenario(ZINC)
    drawn = drawn_samples(scenario, 8, 0).values
    assert "lower.lower_dead_volume" in drawn  # nobody wrote it: drawn, about what follows from the bore
    grid = {"lower.bore": [0.04, 0.06]}
    samples = drawn_samples(scenario, 8, 0, grid).values
    assert drawn.keys() - samples.keys() == {
        "lower.bore",
        "lower.lower_dead_volume",
        "lower.upper_dead_volume",
    }
    plan = Plan(scenario, grid, samples)
    made = [with_values(scenario, changes) for changes in plan.changes(0, len(plan))]
    shares = [case.lower.lower_dead_volume / (case.lower.bore**2 * case.lower.stroke) for case in made]
    assert {case.lower.bore for case in made} == {0.04, 0.06}
    np.testing.assert_allclose(shares, shares[0])


CONE = PRIMER.with_name("primer_conical_seat.toml")


@pytest.mark.parametrize(
    ("path", "settings", "seats"),
    [
        (PRIMER, (), ["20 mm", "21 mm", "23 mm"]),  # nobody looked at the seat: an edge, or a cone
        (CONE, ("inlet_check.seat_land_width=0 mm",), ["16 mm", "18 mm", "20.6 mm"]),
    ],
    ids=["seat not known", "cone's angle drawn"],
)
def test_a_cone_that_is_drawn_holds_the_ball_in_every_bore_of_the_grid(path, settings, seats):
    from balltravel.study.swept.samples import drawn_samples

    scenario, grid = read_scenario(path, settings), {"inlet_check.seat_diameter": seats}
    found = drawn_samples(scenario, 32, 0, grid)
    plan = Plan(scenario, grid, found.values)
    made = [with_values(scenario, changes).inlet_check for changes in plan.changes(0, len(plan))]
    cones = [check for check in made if check.seat == "cone"]
    assert found.left_out == 0
    assert {check.seat_diameter for check in made} == {to_si(seat, "length") for seat in seats}
    assert 0 < len(cones) <= len(made)
    for check in cones:
        contact = check.ball_diameter * np.cos(check.seat_half_angle)
        assert check.seat_diameter < contact < check.seat_mouth_diameter


def test_a_bore_of_the_grid_that_no_drawn_cone_can_have_is_named_itself():
    from balltravel.study.swept.samples import drawn_samples

    scenario = read_scenario(CONE, ["inlet_check.seat_land_width=0 mm"])
    with pytest.raises(ScenarioError, match="between the bore of 22 mm and the mouth of 25 mm"):
        drawn_samples(scenario, 32, 0, {"inlet_check.seat_diameter": ["18 mm", "22 mm"]})


@pytest.mark.parametrize(
    "settings",
    [["material.viscosity=4000 cSt"], ["material.viscosity='ISO 6 mm, 60 s'"]],
    ids=["centistokes", "a cup"],
)
def test_a_drawn_kinematic_viscosity_goes_with_the_densities_of_the_grid(settings):
    from balltravel.study.swept.samples import drawn_samples

    scenario = read_scenario(PRIMER, settings)
    grid = {"material.density": [1350.0, 1620.0]}
    plan = Plan(scenario, grid, drawn_samples(scenario, 8, 0, grid).values)
    made = [with_values(scenario, changes).material for changes in plan.changes(0, len(plan))]
    for light, heavy in zip(made[::2], made[1::2], strict=True):
        assert (light.density, heavy.density) == (1350.0, 1620.0)
        for thin, thick in zip(light.readings, heavy.readings, strict=True):
            assert thick.viscosity == pytest.approx(1.2 * thin.viscosity, rel=1e-12)
        if light.viscosity is not None:
            assert heavy.viscosity == pytest.approx(1.2 * light.viscosity, rel=1e-12)
    assert len({material.viscosity or material.readings for material in made}) == 16
