"""Which test separates two causes: one more reading, another setting; and twins that settings tell apart."""

import math

import numpy as np
import pytest

from balltravel.bench.causes import SHARES, causes_of
from balltravel.bench.fit import Model, Row, row_at
from balltravel.bench.next_test import CLEAR, Rivals, further_reading, other_setting, settings_of
from balltravel.bench.runs import Answers
from balltravel.bench.signs import CYCLE_SIGNS, SIGNS, run_cycles
from balltravel.bench.twins import TWINS, with_twins

from ..helpers.lowers import scenario
from ..helpers.synthetic_bench import MOTOR, TIP

LOWER = scenario(material={"viscosity": 5.0}, drive=MOTOR, outlet=TIP)
SOUND = dict.fromkeys(SIGNS, math.nan) | {
    "cycle_rate": 0.4, "tip_pressure": 3e6, "weighed_per_cycle": 1.5e-4, "vacuum_at_inlet": -2e4,
}  # fmt: skip


def answers(moved, sound=SOUND):
    """Each cause does nothing but to the signs named, by so much at its largest and evenly below."""
    causes = {
        name: {key: sound[key] * (1.0 + by.get(key, 0.0) * np.array(SHARES)) for key in SIGNS}
        for name, by in moved.items()
    }
    return Answers(sound, causes, {"material.viscosity": {**sound, "cycle_rate": 1.02 * sound["cycle_rate"]}})


def rivals(values, moved):
    """The first two of ``moved`` with these readings at work."""
    rows = [
        Row(key, "seen 1", False, float(SIGNS[key].scaled(v)), SIGNS[key].sd, 0.0)
        for key, v in values.items()
    ]
    both = {"seen 1": answers(moved), "stall": answers(moved, dict.fromkeys(SIGNS, math.nan))}
    model = Model(rows, both)
    return Rivals(LOWER, model, tuple(moved), model.fits([*moved]))


def test_the_cheapest_reading_that_separates_is_named_and_not_the_best_one():
    """Both slow the pump by a fifth. Vacuum differs by 25 of its sd, pressure at the tip by 10, and a gauge
    before the tip is cheaper to read."""
    moved = {"choked": {"cycle_rate": -0.2, "vacuum_at_inlet": 2.5},
             "air": {"cycle_rate": -0.2, "tip_pressure": -0.2}}  # fmt: skip
    test = further_reading(rivals({"cycle_rate": 0.32}, moved))
    assert [*test.outcomes["air"]] == ["tip_pressure"]
    assert test.clear
    assert test.apart > 5.0
    assert test.outcomes["choked"]["tip_pressure"] == pytest.approx(3e6)
    assert test.outcomes["air"]["tip_pressure"] == pytest.approx(2.4e6, rel=0.05)


def test_a_size_that_is_not_known_makes_a_test_less_clear():
    """Nothing that was read tells the size of either cause: what they would show spreads as widely."""
    moved = {"choked": {"tip_pressure": -0.3}, "air": {"tip_pressure": 0.3}}
    unknown = further_reading(rivals({"cycle_rate": 0.4}, moved)).apart
    known = further_reading(
        rivals(
            {"weighed_per_cycle": 1.35e-4}, {k: {**m, "weighed_per_cycle": -0.1} for k, m in moved.items()}
        )
    ).apart
    assert known > 1.5 * unknown


def test_another_setting_is_simulated_and_separates_what_looks_alike_at_the_first():
    """At the other tip air moves the rate, a choked hose does not: runs that know no more than that."""
    moved = {"choked": {"cycle_rate": -0.2}, "air": {"cycle_rate": -0.2}}
    pair = rivals({"cycle_rate": 0.34}, moved)
    assert further_reading(pair).apart == pytest.approx(0.0, abs=1e-6)
    asked = []

    def run(there, changes):
        asked.append((there.outlet.tip_diameter, len(changes)))
        airy = np.array(["material.free_gas_fraction" in changed for changed in changes])
        values = {key: np.full(len(changes), SOUND[key]) for key in CYCLE_SIGNS}
        values["cycle_rate"] = np.where(airy, 0.3, 0.4)
        return values

    test = other_setting(pair, {cause.name: cause for cause in causes_of(LOWER)}, run)
    assert test.clear
    assert test.apart > CLEAR
    assert test.changes == {"outlet.tip_diameter": asked[0][0]}
    assert next(iter(test.outcomes["air"])) == "cycle_rate"
    assert test.outcomes["air"]["cycle_rate"] < 0.33 < 0.38 < test.outcomes["choked"]["cycle_rate"]
    assert len(asked) == 1
    assert asked[0][1] < 12


def test_settings_are_a_rate_where_it_is_prescribed_a_tip_where_there_is_one_else_less_supply():
    def keys(lower):
        return [next(iter(setting.changes)) for setting in settings_of(lower)]

    assert keys(LOWER) == ["outlet.tip_diameter"] * 2
    assert keys(scenario(outlet=TIP)) == ["drive.cycle_rate"] * 2 + ["outlet.tip_diameter"] * 2
    assert keys(scenario()) == ["drive.cycle_rate"] * 2
    assert keys(scenario(drive=MOTOR)) == ["drive.supply_gauge_pressure"]


def situations(**here):
    """A first setting, another one that differs from it, and a stall: air and supply move the rate evenly in
    their size."""
    causes = {cause.name: cause for cause in causes_of(LOWER)}
    moved = {"air": {"cycle_rate": -0.3}, "short supply": {"cycle_rate": -0.3}}
    first, other = answers(moved), answers(moved, SOUND | here)
    return [causes["air"], causes["short supply"]], {"seen 1": first, "seen 2": other, "stall": first}


def test_twins_are_told_apart_only_between_settings():
    causes, all_answers = situations()
    alone = {name: all_answers[name] for name in ("seen 1", "stall")}
    assert with_twins(causes, alone) == (tuple(causes), alone)
    both, told = with_twins(causes, all_answers)
    assert [cause.name for cause in both] == ["air", "short supply", *(twin.name for twin in TWINS)]
    assert {twin.name for twin in TWINS} <= told["seen 2"].causes.keys()


def test_a_supply_that_sags_is_full_at_a_stall_and_sags_by_the_square_of_the_rate():
    causes, all_answers = situations(cycle_rate=0.2)
    _, told = with_twins(causes, all_answers)
    low, sagging = (
        {name: told[name].causes[cause]["cycle_rate"] for name in told}
        for cause in ("short supply", "sagging supply")
    )
    assert sagging["seen 1"] == pytest.approx(low["seen 1"])
    assert sagging["stall"] == pytest.approx(np.full(3, 0.4))
    # Half supply at the first setting is seven eighths at half the rate, 0.193 of the way in its logarithm.
    way = math.log(7.0 / 8.0) / math.log(0.5)
    assert sagging["seen 2"][-1] == pytest.approx(0.2 * (1.0 - 0.3 * way), rel=1e-6)


def test_no_air_is_drawn_in_where_there_is_no_vacuum():
    causes, all_answers = situations(vacuum_at_inlet=1e3)
    _, told = with_twins(causes, all_answers)
    assert told["seen 2"].causes["drawn in"]["cycle_rate"] == pytest.approx(np.full(3, 0.4))
    assert told["seen 2"].causes["air"]["cycle_rate"][-1] == pytest.approx(0.28)


def test_a_ball_that_hangs_comes_down_later_and_above_its_weight_and_drag_not_at_all():
    hanging = next(cause for cause in causes_of(LOWER) if cause.name == "hanging ball")
    # A little, what still seats by the flow, and three times the largest that is tried.
    forces = [0.0, hanging.start, hanging.size(0.8), 3.0 * hanging.end]
    values = run_cycles(LOWER, [{"inlet_check.holding_force": force} for force in forces], 1)
    delivered, dip = values["weighed_per_cycle"], values["dip_at_top"]
    assert delivered[1] == pytest.approx(delivered[0], rel=2e-3)
    assert dip[0] < dip[2] < dip[3]
    assert delivered[3] < 0.5 * delivered[0]


def test_a_row_that_nobody_has_read_is_as_well_read_as_usual():
    assert row_at("cycle_rate", "seen 1", math.nan).sd == SIGNS["cycle_rate"].sd
