"""Draws of what is not known: even in every input, and the same whatever else is drawn."""

import math

import numpy as np
import pytest

from balltravel.scenario.model import FIELDS, ScenarioError
from balltravel.scenario.ranges import with_ranges
from balltravel.study.verdict.draws import LEADING, PLACES, draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.units.spread import Spread

from ..helpers.lowers import scenario

SPREADS = {
    "material.viscosity": Spread("normal", (5.0, 1.5), logarithmic=True),
    "material.free_gas_fraction": Spread("even", (0.002, 0.02), logarithmic=True),
    "material.density": Spread("triangle", (1200.0, 1250.0, 1350.0)),
    "inlet_check.ball_density": Spread("scipy", name="norm", shape=(("loc", 7800.0), ("scale", 50.0))),
    "closures.ball_position": Spread("choices", choices=("centred", "touching"), weights=(3.0, 1.0)),
}


def test_each_input_has_the_quantiles_of_its_law_to_the_fineness_of_its_draws():
    """Of 1024 draws one lies in each of 1024 parts of equal chance."""
    draws = draw(inputs_of(scenario(), SPREADS), 1024)
    for k, item in enumerate(draws.drawn):
        assert sorted((draws.shares[:, k] * 1024).astype(int)) == [*range(1024)]
        if not item.spread.choices:
            shares = np.array([0.05, 0.25, 0.5, 0.75, 0.95])
            below = (draws.values[:, [k]] <= item.spread.at(shares)).mean(0)
            assert np.all(np.abs(below - shares) <= 1.0 / 1024)
    assert draws.column("closures.ball_position").sum() == 256


def test_no_two_inputs_go_together_more_than_by_chance():
    """Five standard deviations of a correlation of 256 independent pairs, leading inputs and others."""
    more = {f"{check}.{size}": Spread("even", (0.02, 0.03)) for check in ("inlet_check", "piston_check")
            for size in ("seat_diameter", "cage_diameter", "ball_diameter", "seat_length")}  # fmt: skip
    keys = [*SPREADS, *more, "suction.lift", "suction.hose_length", "drive.ramp_time", "lower.bore"]
    spreads = {key: Spread("even", (0.0, 1.0)) for key in keys if key != "closures.ball_position"}
    shares = draw(inputs_of(scenario(), spreads), 256).shares
    together = np.corrcoef(shares.T) - np.eye(shares.shape[1])
    assert np.abs(together).max() < 5.0 / math.sqrt(256)


def test_the_inputs_that_decide_most_are_even_in_pairs_too():
    """Of 64 fields that two of them span 128 draws leave fewer than three empty, on the mean of the first
    eight; independent ones would leave nine (64 e^-2)."""
    keys = [keys[0] for keys in LEADING[:8]]
    spreads = {key: Spread("even", (0.0, 1.0)) for key in keys}
    shares = draw(inputs_of(scenario(), spreads), 128).shares
    empty = [
        64 - len({*zip((8 * one).astype(int).tolist(), (8 * other).astype(int).tolist(), strict=True)})
        for i, one in enumerate(shares.T)
        for other in shares.T[:i]
    ]
    assert np.mean(empty) < 3.0


def test_every_leading_input_is_one_that_a_scenario_has():
    keys = [key.partition("[")[0] for keys in LEADING for key in keys]
    assert {*keys} <= {*FIELDS}
    assert len(LEADING) == len(PLACES)
    assert len({key for keys in LEADING for key in keys}) == len(keys)


def test_a_smaller_set_is_the_beginning_of_a_larger_one():
    inputs = inputs_of(scenario(), SPREADS)
    small, large = draw(inputs, 32), draw(inputs, 256)
    assert np.array_equal(small.values, large.values[:32])
    assert small.changes == large.changes[:32] == large.first(32).changes
    assert not np.array_equal(draw(inputs, 32, seed=1).values, small.values)


def test_an_input_is_drawn_the_same_whatever_the_order_and_whether_others_are_exact():
    whole = draw(inputs_of(scenario(), SPREADS), 64)
    turned = draw(inputs_of(scenario(), dict(reversed(SPREADS.items()))), 64)
    assert turned.changes == whole.changes
    assert turned.drawn == whole.drawn
    for known in SPREADS:
        exact = Spread("exact", (SPREADS[known].likely,)) if known != "closures.ball_position" else None
        exact = exact or Spread("choices", choices=("centred",))
        fewer = draw(inputs_of(scenario(), {**SPREADS, known: exact}), 64)
        assert known not in [item.key for item in fewer.drawn]
        for item in fewer.drawn:
            assert np.array_equal(fewer.column(item.key), whole.column(item.key))


def test_an_exact_value_that_is_not_the_scenarios_holds_in_every_draw():
    inputs = inputs_of(scenario(), {"closures.ball_position": Spread("choices", choices=("touching",))})
    assert {s.closures.ball_position for s in draw(inputs, 4).scenarios} == {"touching"}


WIDE_BORE = {"lower.bore": (0.044, 0.056)}
FACTOR = Spread("normal", (1.0, 1.2), logarithmic=True)


def test_what_nobody_wrote_goes_with_what_it_follows_from_and_spreads_about_it():
    wide = with_ranges(scenario(), WIDE_BORE)
    drawn = draw(inputs_of(wide), 128)
    dead = drawn.column("lower.lower_dead_volume")
    of_its_bore = dead / (0.2 * np.pi / 4.0 * drawn.column("lower.bore") ** 2 * wide.lower.stroke)
    place = [item.key for item in drawn.drawn].index("lower.lower_dead_volume")
    assert np.allclose(of_its_bore, FACTOR.at(drawn.shares[:, place]))
    assert [made.lower.lower_dead_volume for made in drawn.scenarios] == dead.tolist()


def test_what_somebody_wrote_follows_from_nothing():
    drawn = draw(inputs_of(with_ranges(scenario(lower={"lower_dead_volume": 3e-5}), WIDE_BORE)), 128)
    place = [item.key for item in drawn.drawn].index("lower.lower_dead_volume")
    assert np.allclose(drawn.column("lower.lower_dead_volume"), 3e-5 * FACTOR.at(drawn.shares[:, place]))


def test_a_hose_that_nobody_measured_gives_by_its_drawn_bore_and_never_more_than_the_most():
    thin = with_ranges(scenario(suction={"hose_length": 0.3}), {"suction.hose_diameter": (0.02, 0.038)})
    drawn = draw(inputs_of(thin), 128)
    across, gives = drawn.column("suction.hose_diameter"), drawn.column("suction.port_compliance")
    place = [item.key for item in drawn.drawn].index("suction.port_compliance")
    factor = Spread("normal", (1.0, 4.0), logarithmic=True).at(drawn.shares[:, place])
    share = 0.1 * np.pi / 8.0 * across**2 * 0.3 / thin.suction.barometric_pressure
    assert np.allclose(gives, np.minimum(1e-10, share) * factor)


def test_a_draw_that_makes_no_scenario_is_told_and_the_others_go_on():
    """A ball of 29.4 mm does not pass a seat that is larger than it."""
    spreads = {"inlet_check.seat_diameter": Spread("even", (0.020, 0.036))}
    draws = draw(inputs_of(scenario(), spreads), 32)
    wide = draws.column("inlet_check.seat_diameter") >= 0.0294
    assert wide.any()
    assert {*np.flatnonzero(wide)} <= {*draws.refused}
    assert all("seat" in why for why in draws.refused.values())
    assert [i for i, s in enumerate(draws.scenarios) if s is None] == [*draws.refused]
    assert np.array_equal(np.isnan(draws.viscosity(10.0)), [s is None for s in draws.scenarios])


@pytest.mark.parametrize("count", [0, 3, -4, 100])
def test_a_number_of_draws_is_a_power_of_two(count):
    with pytest.raises(ScenarioError, match="power of two"):
        draw(inputs_of(scenario(), SPREADS), count)


def test_rows_tell_where_ninety_of_a_hundred_draws_lie():
    draws = draw(inputs_of(scenario(), SPREADS), 1024)
    rows = {row.key: row for row in draws.rows}
    row = rows["material.viscosity"]
    assert (row.name, row.dimension, row.origin) == ("viscosity", "viscosity", "")
    expected = SPREADS["material.viscosity"].at([0.05, 0.5, 0.95])
    assert np.allclose((row.low, row.middle, row.high), expected, rtol=5e-3)
    assert rows["closures.ball_position"].middle == "centred"


def test_a_conical_seat_that_is_drawn_brings_its_angle_and_its_mouth():
    """One in four, as the weights say; the sizes of the usual cone follow the drawn ones of the check."""
    choices = Spread("choices", choices=("edge", "cone"), weights=(3.0, 1.0))
    bores = Spread("even", (0.0205, 0.0215))
    draws = draw(inputs_of(scenario(), {"inlet_check.seat": choices, "inlet_check.seat_diameter": bores}), 32)
    checks = [made.inlet_check for made in draws.scenarios]
    assert sum(check.seat == "cone" for check in checks) == 8
    for check in checks:
        assert (check.seat == "cone") == (check.seat_half_angle is not None)
        if check.seat == "cone":
            assert check.seat_diameter < check.contact_diameter < check.seat_mouth_diameter


def test_all_that_a_scenario_does_not_know_exactly_is_drawn_unless_told_otherwise(story):
    inputs = inputs_of(story("mastic_by_readings"))
    keys = [item.key for item in inputs.drawn]
    assert [key for key in keys if key.startswith("material.readings")] == [
        f"material.readings[{i}]" for i in range(1, 8)
    ]
    assert {"inlet_check.seat", "suction.port_compliance", "material.free_gas_fraction"} <= {*keys}
    assert "material.viscosity" not in keys
    assert not draw(inputs, 32).refused
    assert all(item.origin for item in inputs.drawn)


def test_a_ball_that_would_touch_beside_its_cone_sits_on_the_cones_edge_and_counts():
    """Of a narrow cone most drawn angles lie outside of it: each ends there, none is left out."""
    angle, ball = math.radians(45.0), scenario().inlet_check.ball_diameter
    contact = ball * math.cos(angle)
    cone = {"seat": "cone", "seat_half_angle": angle, "seat_diameter": 0.995 * contact,
            "seat_mouth_diameter": 1.005 * contact}  # fmt: skip
    spreads = {"inlet_check.seat_half_angle": Spread("normal", (angle, math.radians(2.0)))}
    draws = draw(inputs_of(scenario(inlet_check=cone), spreads), 64)
    assert (draws.refused, draws.impossible) == ({}, frozenset())
    touches = np.array([each.inlet_check.contact_diameter for each in draws.scenarios]) / contact
    assert np.all((touches > 0.995) & (touches < 1.005))
    assert np.sum(touches > 1.0049) > 10
    assert np.sum(touches < 0.9951) > 10
    assert draws.column("inlet_check.seat_half_angle") == pytest.approx(
        [each.inlet_check.seat_half_angle for each in draws.scenarios]
    )


def test_a_hose_that_would_give_more_than_it_holds_gives_as_much_as_it_can():
    hose = {"form": "tip", "gauge_pressure": None, "hose_length": 1.0, "hose_diameter": 0.01,
            "tip_diameter": 1e-3, "tip_discharge_coefficient": 0.8}  # fmt: skip
    holds = math.pi / 4.0 * 0.01**2 / 101325.0
    spreads = {"outlet.hose_compliance": Spread("normal", (0.7 * holds, 2.0), logarithmic=True)}
    draws = draw(inputs_of(scenario(outlet=hose), spreads), 64)
    assert draws.refused == {}
    gives = draws.column("outlet.hose_compliance") / holds
    assert gives.max() < 1.0
    assert np.sum(gives > 0.99) > 5
