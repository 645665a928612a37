"""Many cases as arrays of records: bit for bit what each would be by itself, whatever changes."""

import itertools
import math
from pathlib import Path

import numpy as np
import pytest

from balltravel.core.records import as_block, handles_in
from balltravel.core.shared import behind
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import ScenarioError, flat, with_values
from balltravel.scenario.tables import given_keys
from balltravel.setup.cases import CaseMaker
from balltravel.setup.parameters import GROUPS, control_for, core_parameters
from balltravel.setup.ranges import ranges_parameters
from balltravel.setup.reads import keys_read

from ..helpers.changes_at_random import SWEPT, changes, value
from ..helpers.lowers import scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = sorted(path.stem for path in SCENARIOS.glob("*.toml") if not path.stem.startswith("week"))
RUN = {"rtol": 1e-5, "max_cycles": 17, "most_steps": 30_000}


def alone(base, values):
    """The records of a case by itself, or how it fails."""
    try:
        s = with_values(base, values)
        p, within = core_parameters(s), ranges_parameters(s)
    except Exception as error:
        return type(error), str(error)
    return p, control_for(p, **RUN), within


def same(made, i, group):
    """Whether a record is that of a group: the same bytes, and the same tables where it has their handles."""
    single, made = as_block(group), made[i : i + 1].copy()
    pairs = zip(handles_in(made, group), handles_in(single, group), strict=True)
    for of_case, of_single in pairs:
        table, expected = behind(of_case[0]), behind(of_single[0])
        if table.shape != expected.shape or table.tobytes() != expected.tobytes():
            return False
        of_case[0] = of_single[0]
    return made.dtype == single.dtype and made.tobytes() == single.tobytes()


def hold_as_alone(base, drawn, sound=False):
    """Compare a batch with its cases by themselves; how many of them can be."""
    cases = CaseMaker(base, **RUN).make(drawn, sound)
    for i, values in enumerate(drawn):
        expected = alone(base, values)
        if i in cases.errors:
            assert (type(cases.errors[i]), str(cases.errors[i])) == expected, values
            continue
        made = (cases.parameters, cases.control, cases.ranges)
        for records, single in zip(made, expected, strict=True):
            assert same(records, i, single), values
    return len(drawn) - len(cases.errors)


@pytest.mark.parametrize("name", NAMES)
def test_a_case_of_a_batch_is_bit_for_bit_the_case_by_itself(name):
    base = read_scenario(SCENARIOS / f"{name}.toml")
    rng = np.random.default_rng(len(name))
    drawn = [changes(rng, base, faulty=0.03) for _ in range(120)]
    assert hold_as_alone(base, drawn) > 10


@pytest.mark.parametrize("name", NAMES)
def test_no_key_is_overlooked_by_what_depends_on_it(name):
    base = read_scenario(SCENARIOS / f"{name}.toml")
    rng = np.random.default_rng(len(name))
    now = flat(base)
    drawn = [{key: value(rng, key, now[key], faulty=0.0)} for key in SWEPT]
    drawn += [{key: None} for key in SWEPT]
    assert hold_as_alone(base, drawn) > len(SWEPT) / 2


@pytest.mark.parametrize("name", NAMES)
def test_cases_that_have_values_in_common_are_each_the_case_by_itself(name):
    """What is made once for several cases must not be made for one in which it differs."""
    base = read_scenario(SCENARIOS / f"{name}.toml")
    rng = np.random.default_rng(len(name))
    for _ in range(12):
        grid = grid_of(rng, base, [str(key) for key in rng.choice(SWEPT, 3, replace=False)])
        drawn = sound_cases(base, grid)
        assert hold_as_alone(base, drawn, sound=True) == len(drawn)


def grid_of(rng, base, keys):
    """Some values of each key, now and then None, which takes it out."""
    now = flat(base)
    return {
        key: [value(rng, key, now[key], 0.0) for _ in range(3)] + [None] * (rng.random() < 0.2)
        for key in keys
    }


def sound_cases(base, grid):
    """The combinations that can be and can be set up, with values as a scenario has them."""
    drawn = []
    for row in itertools.product(*grid.values()):
        values = dict(zip(grid, row, strict=True))
        if isinstance(alone(base, values)[0], type):
            continue
        made = flat(with_values(base, values))
        drawn.append({key: None if given is None else made[key] for key, given in values.items()})
    return drawn


READS_MORE = {
    "a packing that begins to leak asks for its length": (
        {},
        {
            "lower.piston_packing_gap": [0.0, 2e-5],
            "lower.piston_packing_length": [0.01, 0.02],
            "material.density": [1000.0, 1100.0],
        },
    ),
    "a hose comes with another outlet": (
        {},
        {
            "outlet.form": ["tip"],
            "outlet.gauge_pressure": [None],
            "outlet.hose_length": [15.0, 20.0],
            "outlet.hose_diameter": [0.0127, 0.01],
            "outlet.tip_diameter": [3e-3],
            "outlet.tip_discharge_coefficient": [0.8, 0.7],
            "material.viscosity": [0.1, 0.2],
        },
    ),
    "a material that thins asks for the cycle rate": (
        {},
        {
            "material.flow": ["shear-thinning"],
            "material.thinning_exponent": [0.5],
            "material.thinning_onset": [2.0],
            "material.yield_stress": [5.0],
            "drive.cycle_rate": [0.4, 0.5],
        },
    ),
    "what follows from other keys, and what reads it": (
        {"lower.lower_dead_volume": None, "suction.port_compliance": None},
        {
            "lower.bore": [0.048, 0.05],
            "lower.stroke": [0.08, 0.09],
            "suction.hose_length": [1.0, 2.0],
            "suction.hose_diameter": [0.03, 0.04],
        },
    ),
    "a motor's rate follows from its supply": (
        {
            "drive.profile": "motor",
            "drive.cycle_rate": None,
            "drive.motor": "air",
            "drive.supply_gauge_pressure": 6e5,
            "drive.area_ratio": 40.0,
            "drive.free_cycle_rate": 1.0,
        },
        {
            "drive.supply_gauge_pressure": [5e5, 6e5],
            "outlet.gauge_pressure": [5e6, 6e6],
            "material.viscosity": [1.0, 2.0],
            "drive.area_ratio": [40.0, 50.0],
        },
    ),
    "zeros of either sign": ({}, {"inlet_check.spring_preload": [0.0, -0.0], "lower.bore": [0.048, 0.05]}),
}


@pytest.mark.parametrize("what", READS_MORE)
def test_a_group_that_asks_for_more_than_it_did_is_made_for_each_value_of_that(what):
    changed, grid = READS_MORE[what]
    base = with_values(scenario(), changed)
    drawn = sound_cases(base, grid)
    assert hold_as_alone(base, drawn, sound=True) == len(drawn) == math.prod(map(len, grid.values()))


def test_a_group_is_made_once_for_each_set_of_values_that_it_reads(monkeypatch):
    made = []
    monkeypatch.setitem(GROUPS, "drive", lambda s, rate: made.append(rate()) or GROUP(s, rate))
    maker = CaseMaker(scenario())
    made.clear()
    rates, lengths = [0.3, 0.4, 0.5], [1.0 + 0.01 * i for i in range(40)]
    grid = itertools.product(rates, lengths)
    maker.make([{"drive.cycle_rate": r, "suction.hose_length": length} for r, length in grid], sound=True)
    assert made == rates


GROUP = GROUPS["drive"]

ANOTHER_KIND = {
    "pad": {"inlet_check.stop": "pad", "inlet_check.stop_pad_diameter": 0.012},
    "cone": {
        "inlet_check.seat": "cone",
        "inlet_check.seat_half_angle": 0.7,
        "inlet_check.seat_mouth_diameter": 0.026,
        "inlet_check.seat_land_width": 5e-4,
    },
    "ribs": {
        "piston_check.cage": "ribs",
        "piston_check.rib_count": 3,
        "piston_check.rib_width": 4e-3,
        "piston_check.housing_diameter": 0.034,
    },
    "shims": {"shims.thicknesses": (1e-3, 2e-3), "shims.below": (2,)},
    "touching": {"closures.ball_position": "touching"},
    "offset": {"closures.ball_position": "offset", "closures.ball_offset": 0.4},
    "drifting": {"closures.ball_position": "drifting"},
    "closed form": {"closures.resistance": "closed form"},
    "crank": {"drive.profile": "harmonic", "drive.ramp_time": None, "drive.dwell_time": None},
    "motor": {
        "drive.profile": "motor",
        "drive.cycle_rate": None,
        "drive.motor": "air",
        "drive.supply_gauge_pressure": 6e5,
        "drive.area_ratio": 40.0,
        "drive.free_cycle_rate": 1.0,
    },
    "tip": {
        "outlet.form": "tip",
        "outlet.gauge_pressure": None,
        "outlet.hose_length": 15.0,
        "outlet.hose_diameter": 0.0127,
        "outlet.tip_diameter": 3e-3,
        "outlet.tip_discharge_coefficient": 0.8,
    },
    "packings": {"lower.piston_packing_gap": 2e-5, "lower.rod_packing_gap": 2e-5},
    "gas": {"material.dissolved_gas_fraction": 0.05, "material.gas_release_time": 2.0},
    "strainer": {
        "suction.strainer": "holes",
        "suction.strainer_holes": 200,
        "suction.strainer_hole_diameter": 3e-3,
        "suction.strainer_thickness": 1e-3,
    },
    "fittings": {"suction.fittings": ("elbow 90 screwed", "globe valve"), "suction.loss_coefficient": None},
    "thinning": {
        "material.flow": "shear-thinning",
        "material.thinning_exponent": 0.5,
        "material.thinning_onset": 2.0,
        "material.yield_stress": 5.0,
    },
    "warm": {
        "material.temperature_law": "Andrade",
        "material.activation_energy": 4e4,
        "material.stated_temperature": 296.15,
        "material.temperature": 303.15,
        "suction.temperature": 288.15,
        "material.thermal_expansion": 7e-4,
    },
    "ageing": {"material.doubling_time": 2400.0, "material.age": 1200.0, "material.rested_ratio": 2.0},
    "ram plate": {
        "suction.feed": "ram plate",
        "suction.ram_force": 8e3,
        "suction.ram_plate_diameter": 0.56,
        "suction.tank_gauge_pressure": None,
    },
}


@pytest.mark.parametrize("kind", ANOTHER_KIND)
def test_a_lower_of_another_kind_is_made_in_a_batch_and_keeps_making_batches(kind):
    """The choice changes in the batch, or the batch begins from it."""
    base = scenario()
    other = with_values(base, ANOTHER_KIND[kind])
    back = {key: now if key in given(base) else None for key, now in flat(base).items()}
    back = {key: back[key] for key in ANOTHER_KIND[kind]}
    assert hold_as_alone(base, [ANOTHER_KIND[kind], {**ANOTHER_KIND[kind], "lower.stroke": 0.08}]) == 2
    assert hold_as_alone(other, [back, {**back, "lower.stroke": 0.08}]) == 2
    rng = np.random.default_rng(len(kind))
    now = flat(other)
    assert hold_as_alone(other, [{key: value(rng, key, now[key], faulty=0.0)} for key in SWEPT]) > 50


def given(base):
    return set(given_keys(base))


def test_what_cannot_be_is_told_of_and_touches_no_other_case():
    base = scenario()
    drawn = [
        {"material.viscosity": 2.0},
        {"lower.rod": 0.05},
        {"suction.tank_gauge_presure": 1e4},
        {"drive.cycle_rate": "fast", "material.density": -1.0},
        {"material.viscosity": 3.0},
        ["material.viscosity"],
        {7: 3.0},
    ]
    cases = CaseMaker(base).make(drawn)
    assert sorted(cases.errors) == [1, 2, 3, 5, 6]
    assert all(isinstance(error, ScenarioError) for error in cases.errors.values())
    assert [fault.key for fault in cases.errors[3].faults] == ["material.density", "drive.cycle_rate"]
    assert cases.parameters["material"]["rheology"]["viscosity"].tolist() == [
        2.0,
        5.0,
        5.0,
        5.0,
        3.0,
        5.0,
        5.0,
    ]


def test_no_cases_make_empty_arrays():
    cases = CaseMaker(scenario()).make([])
    assert cases.parameters.shape == cases.control.shape == (0,)
    assert cases.errors == {}


CLOSURES = {f"closures.{name}" for name in ("resistance", "ball_position", "ball_offset", "tilt")}


def test_the_keys_that_a_function_reads_are_noted_whichever_way_it_reads_them():
    base = scenario(shims={"thicknesses": (1e-3,), "below": (1,)})
    read = {
        "a value": (lambda s: s.lower.bore, {"lower.bore"}),
        "another branch": (lambda s: s.lower.rod if s.lower.bore > 1.0 else 0.0, {"lower.bore"}),
        "a property of a table": (
            lambda s: s.inlet_check.contact_diameter,
            {"inlet_check.seat", "inlet_check.seat_diameter"},
        ),
        "a property of the scenario": (
            lambda s: s.inlet_travel,
            {"inlet_check.base_travel", "shims.thicknesses", "shims.below"},
        ),
        "a hash": (lambda s: hash(s.closures), CLOSURES),
        "a comparison": (
            lambda s: s.closures == base.closures,
            CLOSURES,
        ),
        "a whole table": (lambda s: dict(s.shims), {"shims.thicknesses", "shims.below"}),
        "nothing": (lambda s: s.drive, set()),
    }
    for what, (function, keys) in read.items():
        assert keys_read(function, base) == keys, what
