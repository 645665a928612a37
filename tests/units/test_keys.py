"""What a key may hold: quantities and names on both sides of their limits, and which marks a field has."""

from typing import Annotated

import pytest
from pydantic import ValidationError

from balltravel.units.keys import (
    InsteadOf,
    Names,
    NeededWith,
    Quantity,
    Silent,
    Table,
    diameter,
    mark_of,
    names_of,
    only_with,
    quantity_of,
)

BORE = Quantity("length", 1e-3, 0.5, "48 mm")


class Example(Table):
    """A table of its own."""

    bore: Annotated[float, BORE]
    shims: Annotated[tuple[float, ...], Quantity("length", 0.0, 0.05, '["1 mm"]')] = ()
    colour: Annotated[str, Names(("red", "green"))] = "red"
    plain: Annotated[float | None, Silent()] = None


@pytest.mark.parametrize("value", [1e-3, 0.5, 0.02, None, (), (1e-3, 0.5)])
def test_a_quantity_has_no_objection_within_its_limits(value):
    assert BORE.objection(value) is None


@pytest.mark.parametrize(
    ("value", "given"), [(0.9e-3, "900 um"), (0.6, "600 mm"), ((0.1, 0.6), "600 mm"), ((0.0,), "0")]
)
def test_a_quantity_objects_to_the_first_value_beyond_its_limits(value, given):
    told, allowed = BORE.objection(value)
    assert told.startswith(given)
    assert told.endswith("given")
    assert allowed == "1 mm to 500 mm"


def test_an_example_is_written_as_toml_has_it():
    assert BORE.written() == '"48 mm"'
    assert Quantity("number", 0.0, 1.0, "0.7").written() == "0.7"
    assert Quantity("length", 0.0, 1.0, '["1 mm", "2 mm"]').written() == '["1 mm", "2 mm"]'
    assert diameter("12 mm") == Quantity("length", 1e-3, 0.5, "12 mm")


def test_a_name_is_one_of_a_list_that_may_grow():
    listed = {"red": 1}
    names = Names(listed)
    assert names.objection("red") is names.objection(None) is names.objection(("red", "red")) is None
    assert names.objection("green") == ('"green" given', '"red"')
    listed["green"] = 2
    assert names.objection("green") is None
    assert names.objection(("red", "blue")) == ('"blue" given', '"red", "green"')
    assert names.objection("x" * 81)[0] == '"' + "x" * 80 + '" given'


def test_a_table_is_held_to_its_marks():
    assert Example(bore=0.02, shims=(0.001,), colour="green").shims == (0.001,)
    for wrong, words in (
        ({"bore": 0.6}, "600 mm given; allowed: 1 mm to 500 mm"),
        ({"bore": 0.02, "shims": (0.001, 0.06)}, "60 mm given"),
        ({"bore": 0.02, "colour": "blue"}, '"blue" given; allowed: "red" or "green"'),
        ({"bore": 0.02, "depth": 1.0}, "Extra inputs"),
        ({"bore": float("inf")}, "Infinity given; allowed: a number in m"),
    ):
        with pytest.raises(ValidationError, match=words):
            Example(**wrong)
    with pytest.raises(ValidationError, match="frozen"):
        Example(bore=0.02).bore = 0.03


def test_a_mark_is_found_by_its_kind():
    fields = Example.model_fields
    assert quantity_of(fields["bore"]) is BORE
    assert names_of(fields["bore"]) is None
    assert names_of(fields["colour"]).allowed == ("red", "green")
    assert mark_of(fields["plain"], Silent) == Silent()
    assert mark_of(fields["bore"], Silent) is None


def test_a_key_that_goes_with_a_choice_alone_need_not_be_given_with_it():
    assert only_with("profile", "motor", "trace") == NeededWith("profile", (), free=("motor", "trace"))
    assert not InsteadOf("altitude").required
