"""Readings at the ends of their ranges, and refusals: what is shown to mend a fault is of the same kind."""

import re

import pytest

from balltravel.material.viscosity_reading import ViscosityReading, checked, reading_of
from balltravel.units import UnitError

HAIR = 1e-6


def refusal(raw, density=1000.0):
    with pytest.raises(UnitError) as caught:
        reading_of(raw, density)
    return caught.value


@pytest.mark.parametrize(
    ("raw", "key"),
    [
        ({"viscosity": "1 m", "shear_rate": "10 1/s"}, "viscosity"),
        ({"viscosity": "1e8 Pa.s"}, "viscosity"),
        ({"viscosity": "1 Pa.s", "shear_rate": "1e8 1/s"}, "shear_rate"),
        ({"viscosity": "1 Pa.s", "colour": 1}, "viscosity"),
        ({"viscosity": "1 Pa.s", "rpm": 20}, "shear_rate"),
        ({"viscosity": "1 Pa.s", "time": "20 s"}, "viscosity"),
        ({"cup": "ISO 4 mm", "time": "60 s", "shear_rate": "1 1/s"}, "shear_rate"),
        ({"stress": "300 Pa"}, "stress"),
        ({"stress": "1e8 Pa", "shear_rate": "1 1/s"}, "stress"),
        ({"cup": 4, "time": "60 s"}, "cup"),
        ({"cup": "ISO 4 mm"}, "cup"),
        ({"cup": "ISO 4 mm", "time": "1e5 s"}, "time"),
        ({"krebs": 10}, "krebs"),
        ({"krebs": 2000}, "krebs"),
        ({"saybolt_universal": "150 s"}, "saybolt_universal"),
        ({"saybolt_furol": "150 s"}, "saybolt_furol"),
        ({"temperature": "20 degC"}, "cup"),
        ({"viscosity": "1 Pa.s", "temperature": "900 degC"}, "temperature"),
        ({"viscosity": "1 Pa.s", "uncertainty": "500 %"}, "uncertainty"),
        ({"viscosity": "1 Pa.s", "age": "-1 s"}, "age"),
        ({"viscosity": "1 Pa.s", "state": "new"}, "state"),
        (12, "viscosity"),
    ],
)
def test_the_example_of_a_refusal_is_of_what_was_wrong(raw, key):
    assert re.search(rf"\b{key} = ", refusal(raw).example)


def test_a_kinematic_reading_without_a_density_is_shown_as_a_cup():
    assert "cup = " in refusal({"cup": "ISO 4 mm", "time": "60 s"}, None).example


@pytest.mark.parametrize(
    ("key", "low", "high", "unit", "other"),
    [
        ("viscosity", 1e-6, 1e7, "Pa.s", {}),
        ("stress", 1e-6, 1e7, "Pa", {"shear_rate": "1 1/s"}),
        ("shear_rate", 1e-4, 1e7, "1/s", {"viscosity": "1 Pa.s"}),
        ("temperature", 223.15, 473.15, "K", {"viscosity": "1 Pa.s"}),
        ("age", 0.0, 1e6, "s", {"viscosity": "1 Pa.s"}),
        ("uncertainty", 1e-4, 1.0, "", {"viscosity": "1 Pa.s"}),
    ],
)
def test_a_quantity_of_a_reading_may_lie_at_an_end_and_not_a_hair_beyond(key, low, high, unit, other):
    def raw(value):
        return {**other, key: f"{value:.10g} {unit}" if unit else value}

    for end in (low, high):
        reading_of(raw(end), 1000.0)
    refusal(raw(low * (1.0 - HAIR) if low else -1e-6))
    refusal(raw(high * (1.0 + HAIR)))


@pytest.mark.parametrize(
    ("field", "low", "high"),
    [("viscosity", 1e-12, 1e12), ("shear_rate", 1e-4, 1e7), ("temperature", 223.15, 473.15),
     ("relative_uncertainty", 1e-4, 1.0), ("age", 0.0, 1e6)],
)  # fmt: skip
def test_a_number_given_by_code_may_lie_at_an_end_too(field, low, high):
    sound = ViscosityReading(1.0, None, None, 0.05, "")
    for end in (low, high):
        checked(sound._replace(**{field: end}))
    for beyond in (low * (1.0 - HAIR) if low else -1e-9, high * (1.0 + HAIR)):
        with pytest.raises(UnitError) as caught:
            checked(sound._replace(**{field: beyond}))
        assert "viscosity = " in caught.value.example


def test_long_words_are_cut_at_forty_letters():
    assert refusal({"x" * 50: 1}).given == f'unknown key "{"x" * 40}"'
    assert refusal({"viscosity": "1 Pa.s", "state": "y" * 50}).given == f'state: "{"y" * 40}" given'
    with pytest.raises(UnitError) as caught:
        checked(ViscosityReading(1.0, None, None, 0.05, "", "z" * 50))
    assert caught.value.given == f'state: "{"z" * 40}" given'
