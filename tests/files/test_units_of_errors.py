"""What is wrong with a file is said in the units in which it is written, or in those that are asked for."""

import tomllib
from pathlib import Path

import pytest

from balltravel.bench.read_observed import parse_observations
from balltravel.files.week import parse_scenario
from balltravel.scenario.model import FIELDS, ScenarioError, quantity_of
from balltravel.scenario.tables import example_of
from balltravel.units import to_si
from balltravel.units.display import prose, shown_in, written_in_us

from ..helpers.lowers import scenario
from ..helpers.sizes_in_text import METRIC

PRIMER = (Path(__file__).parents[2] / "scenarios" / "primer.toml").read_text()
INCHES = """\
title = "in inches"
[material]
viscosity = "3500"
density = "10.4 lb/gl"
vapour_pressure = "0.3 psi"
[lower]
bore = "1 7/8 inn"
stroke = 3.5
rod = "1 5/16 in"
[inlet_check]
ball_diameter = "1 1/8 in"
seat_diameter = "3 ft"
cage_diameter = "1 in"
"""


def told(text, *settings):
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, "mine.toml", settings)
    return {fault.key: f"{fault.allowed}; {fault.example}" for fault in caught.value.faults}


def test_a_file_in_inches_has_its_errors_in_inches():
    faults = told(INCHES)
    assert faults["lower.bore"].endswith('"1.89 in"')
    assert faults["lower.stroke"].endswith('"3.54 in"')
    assert faults["material.density"].endswith('"10.4 lb/gal"')
    assert faults["inlet_check.ball_diameter"].startswith("a ball smaller than its cage, which is 1 in")
    assert not [text for text in faults.values() if any(c.isdigit() for c in text) and METRIC.search(
        text.replace("mPa.s, cP, Pa.s, P, cSt, mm2/s", "").replace("mm, um, cm, m, in", "")
        .replace("kg/m3, kg/l, g/cc", ""))]  # fmt: skip


def test_a_metric_file_has_them_in_metric_units_unless_others_are_asked_for():
    broken = PRIMER.replace('bore = "48 mm"', 'bore = "48 km"')
    assert told(broken)["lower.bore"] == '5 mm to 500 mm; "48 mm"'
    with shown_in("us"):
        assert told(broken)["lower.bore"] == '0.197 in to 19.7 in; "1.89 in"'
    assert told('units = "us"\n' + broken)["lower.bore"] == '0.197 in to 19.7 in; "1.89 in"'
    with shown_in("metric"):
        assert told('units = "us"\n' + broken)["lower.bore"] == '5 mm to 500 mm; "48 mm"'


def test_a_value_in_inches_alone_is_answered_in_inches():
    assert told(PRIMER, "lower.bore=99 in")["lower.bore"] == '0.197 in to 19.7 in; "1.89 in"'
    with pytest.raises(ScenarioError) as caught:
        parse_observations('[[seen]]\nvacuum_at_inlet = "-99 psi"\n', "today.toml", scenario())
    assert '"-3.19 psi"' in str(caught.value)


@pytest.mark.parametrize("key", FIELDS)
def test_every_example_in_us_units_is_that_in_metric_ones(key):
    quantity = quantity_of(FIELDS[key])
    if quantity is None:
        return
    with shown_in("us"):
        here, there = (tomllib.loads(text) for text in (example_of(key), prose(example_of(key))))
    for one, other in zip(here.values(), there.values(), strict=True):
        pairs = zip(one, other, strict=True) if isinstance(one, list) else [(one, other)]
        for first, second in pairs:
            assert to_si(second, quantity.dimension) == pytest.approx(
                to_si(first, quantity.dimension), rel=6e-3
            )


@pytest.mark.parametrize(
    ("text", "us"),
    [
        ('bore = "48 mm"\nrod = "1 in"\nball = "2 in"', True),
        ('bore = "48 mm"  # 1 7/8 in, 2 in, 3 in', False),
        ('units = "metric"\nbore = "2 in"', False),
        ("bore = '1 7/8\"'", True),
        ('bore = "50"', False),
        ('viscosity = "3500 cP"', False),
        ("", False),
    ],
)
def test_a_file_speaks_the_units_of_most_of_its_sizes(text, us):
    assert written_in_us(text) == us
