"""Every value of a scenario comes back out of a result: of each key, as the model lists them, at the ends of
its range, at 0, left out, and with every name and empty list that it may have."""

from dataclasses import replace
from typing import get_args, get_origin

import pytest

from balltravel.closures.own.shape import shape_of_sizes, table_of_shape
from balltravel.cycle.dataset import cycle_of, to_dataset
from balltravel.cycle.run import run_cycle
from balltravel.files.read_write import read_dataset, write_dataset
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.model import (
    FIELDS,
    TABLES,
    ScenarioError,
    flat,
    from_result,
    quantity_of,
    with_choices,
    with_values,
)
from balltravel.scenario.tables import NEEDED
from balltravel.setup.parameters import geometry_of
from balltravel.units import to_si
from balltravel.units.keys import names_of

from ..helpers.lowers import scenario

READINGS = (
    ViscosityReading(8.0, 1.0, 283.15, 0.05, "by hand", "worked", None),
    ViscosityReading(5.0, None, 293.15, 0.1, "a cup", "worked", 0.0),
    ViscosityReading(3.4, 50.0, 303.15, 1e-4, "", "worked", None),
)
AT_ONE = (
    ViscosityReading(8.0, None, None, 0.05, "by hand"),
    ViscosityReading(8.2, 1.0, 293.15, 0.1, "a cup", "rested"),
)
TRACE = tuple((0.25 * n, 0.09 * x) for n, x in enumerate((0.0, 0.3, 0.7, 1.0, 0.9, 0.5, 0.2, 0.0, 0.0)))


def own_table(check):
    """A table of that check of the invented lower, by numbers that nobody solved."""
    shape = shape_of_sizes(geometry_of(getattr(scenario(), check)))
    return table_of_shape(shape, 0.2, tuple((lift, *[0.1 + lift] * 6) for lift in (0.01, 0.1, 1.0, 2.0)))


SPECIAL = {
    **{f"{check}.table": [own_table(check), None] for check in ("inlet_check", "piston_check")},
    "material.readings": [(), READINGS, AT_ONE],
    "drive.trace": [TRACE],
    "shims.below": [(), (1,), (2, 1)],
}

ANDRADE = {"material.temperature_law": "Andrade", "material.activation_energy": 4e4}
OF_LAW = {"none": (), "Andrade": READINGS[:2], "ASTM D341": READINGS[:2], "Vogel": READINGS}
COMPANIONS = {
    "material.stated_temperature": ANDRADE,
    "suction.temperature": ANDRADE,
    "material.age": {"material.doubling_time": 2400.0},
    "drive.exhaust_conductance": {"drive.profile": "motor", "drive.motor": "air"},
}
"""What some keys need beside them that no single fault says."""

CONES = {"inlet_check": (0.025, 0.68), "piston_check": (0.019, 0.65)}
"""Mouths and half angles that fit the balls of the invented lower."""


@pytest.fixture(scope="module")
def short_run():
    """A run that does not end, so that its result is small."""
    return run_cycle(base(), most_steps=5)


def base():
    return scenario(shims={"thicknesses": (0.001, 0.002), "below": (1,)})


def candidates(key):
    """Values to try for a key, by nothing but its field."""
    field, (now, quantity, names) = (
        FIELDS[key],
        (flat(base())[key], quantity_of(FIELDS[key]), names_of(FIELDS[key])),
    )
    if key in SPECIAL:
        return SPECIAL[key]
    table = key.split(".")[0]
    if table in CONES and key in cone(table):
        return [cone(table)[key], 1.01 * cone(table)[key], None]
    absent = [None] if type(None) in get_args(field.annotation) else []
    many = get_origin(field.annotation) is tuple
    if quantity and many:
        return [(), (quantity.low,), (quantity.high, quantity.low)]
    if quantity:
        example = to_si(
            quantity.example if " " in quantity.example else float_of(quantity), quantity.dimension
        )
        near = [factor * now for factor in (0.97, 1.03) if now]
        ends = [0, 0.0] if quantity.low <= 0.0 else []
        return [example, quantity.low, quantity.high, *near, *ends, *absent]
    if names and many:
        return [(), names.allowed[:1], names.allowed[:3]]
    return [*(names.allowed if names else get_args(field.annotation)), *absent]


def float_of(quantity):
    return float(quantity.example) if quantity.example.replace(".", "").isdigit() else quantity.example


def with_companions(key, value):
    """The invented lower with that value, and what other keys it then needs; None where it cannot be."""
    changes = {**COMPANIONS.get(key, {}), key: value}
    if key == "material.temperature_law" and OF_LAW[value]:
        changes["material.readings"] = OF_LAW[value]
    if value is READINGS:
        changes["material.temperature_law"] = "Vogel"
    table, _, name = key.partition(".")
    if table in CONES and name.startswith("seat_") and name != "seat_length":
        changes = {f"{table}.seat": "cone", **cone(table), **changes}
    if key in NEEDED and value is not None:
        mark = NEEDED[key]
        if flat(base())[mark.selector] not in (*mark.choices, *mark.free):
            changes[mark.selector] = (*mark.choices, *mark.free)[0]
    for _ in range(9):
        try:
            return with_choices(base(), changes)
        except ScenarioError as error:
            more = {fault.key: repaired(fault) for fault in error.faults if fault.key != key}
        if not more or more.items() <= changes.items():
            return None
        changes = {**changes, **more}
    return None


def cone(table):
    mouth, angle = CONES[table]
    return {f"{table}.seat_mouth_diameter": mouth, f"{table}.seat_half_angle": angle}


def repaired(fault):
    """What another key needs: its example where it is missing, else to be left out."""
    if fault.given != "missing":
        return None
    quantity, table = quantity_of(FIELDS[fault.key]), fault.key.split(".")[0]
    if fault.key == "drive.trace":
        return TRACE
    if table in CONES and fault.key in cone(table):
        return cone(table)[fault.key]
    return candidates(fault.key)[0] if quantity else candidates(fault.key)[-1]


def variants(key):
    """Scenarios in which that key has a value other than in the invented lower, by that value."""
    tried = ((value, with_companions(key, value)) for value in candidates(key))
    return [(value, made) for value, made in tried if made is not None and flat(made)[key] == value]


@pytest.mark.parametrize("table", TABLES)
def test_every_value_of_every_key_comes_back_from_a_file(table, short_run, tmp_path):
    """As JSON in the attributes of a run's Dataset, all values of a table in one file."""
    keys = [key for key in FIELDS if key.startswith(f"{table}.")]
    made = [(key, value, variant) for key in keys for value, variant in variants(key)]
    new = {key for key, _, variant in made if flat(variant)[key] != flat(base())[key]}
    assert new == set(keys), "no other value was tried"
    texts = {f"scenario_{n}": variant.model_dump_json() for n, (*_, variant) in enumerate(made)}
    write_dataset(to_dataset(short_run).assign_attrs(texts), tmp_path / "run.nc")
    attributes = read_dataset(tmp_path / "run.nc").attrs
    for n, (key, value, variant) in enumerate(made):
        read = from_result(attributes[f"scenario_{n}"])
        assert flat(read) == flat(variant), (key, value)
        assert read.title == variant.title


@pytest.mark.parametrize("title", ["0", "None", 'quotes " and \\', "Grüße, 5 µm, 漆", "x" * 200, " "])
def test_any_title_comes_back_from_a_file(title, short_run, tmp_path):
    named = with_values(base(), {"title": title})
    write_dataset(to_dataset(replace(short_run, scenario=named)), tmp_path / "run.nc")
    assert cycle_of(read_dataset(tmp_path / "run.nc")).scenario == named
