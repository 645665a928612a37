"""The example of a key is TOML that the key takes."""

import tomllib
from typing import get_args

import pytest

from balltravel.material.viscosity_reading import ViscosityReading, reading_of
from balltravel.scenario.model import ScenarioError, with_value
from balltravel.scenario.tables import FIELDS, example_of
from balltravel.units import to_si
from balltravel.units.keys import names_of, quantity_of

from ..helpers.lowers import scenario


def listed(value):
    return value if isinstance(value, list) else [value]


@pytest.mark.parametrize("key", FIELDS)
def test_the_example_of_a_key_is_taken(key):
    field, name = FIELDS[key], key.split(".")[1]
    (written, value) = next(iter(tomllib.loads(example_of(key)).items()))
    assert written == name
    many = get_args(field.annotation) and "tuple" in str(field.annotation)
    quantity, names = quantity_of(field), names_of(field)
    if key == "drive.trace":
        assert value.endswith(".csv")
    elif name == "table":
        assert value.endswith(".nc")
    elif ViscosityReading in get_args(field.annotation):
        assert [reading_of(table, 1000.0).viscosity > 0.0 for table in value] == [True]
    elif quantity is not None:
        for text in listed(value):
            number = text if isinstance(text, float | int) else to_si(text, quantity.dimension)
            assert quantity.low <= float(number) <= quantity.high
    elif names is not None:
        assert set(listed(value)) <= set(names.allowed)
    elif many:
        assert all(isinstance(number, int) for number in value)
    else:
        assert value in get_args(field.annotation)
    assert isinstance(value, list) is (bool(many) and key != "drive.trace")


def test_a_title_has_from_one_to_two_hundred_letters():
    for length in (1, 200):
        assert with_value(scenario(shims={"below": (1,)}), "title", "x" * length).title == "x" * length
    for length in (0, 201):
        with pytest.raises(ScenarioError, match="title"):
            with_value(scenario(), "title", "x" * length)
