"""Nine figures each claim something: the numbers behind each say whether it is true; the gallery has them."""

import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from .test_figures import SCRIPTS, load

ROOT = Path(__file__).parents[2]
CLAIMING = [script for script in SCRIPTS if "CLAIM = " in script.read_text(encoding="utf-8")]


@cache
def module(name):
    return load(next(script for script in SCRIPTS if script.stem == name))


@cache
def numbers(name):
    return module(name).claim()


def test_there_are_nine_claims():
    assert len(CLAIMING) == 9
    assert set(CHECKS) == {script.stem for script in CLAIMING}


def dives(n):
    """More than the numbers' error: two of 100 of swept, and a third of the time."""
    assert n["motor_fill"] < n["constant_fill"] - 2.0
    assert n["motor_void"] < 0.67 * n["constant_void"]


def thins(n):
    for exponent in ("0.8", "0.6", "0.3"):
        assert n[f"near_{exponent}"] < 0.5 * n[f"far_{exponent}"]
    assert n["near_0.3"] < n["near_0.6"] < n["near_0.8"] < 1.0
    assert n["rule"] < 5.0


def passes(n):
    assert n["thins"] > 90.0
    assert n["plain"] < 60.0
    assert n["thins_best"] < 0.5 * n["plain_best"]


def needs_longer(n):
    travels = [n[f"at_{viscosity}"] for viscosity in ("0_1", "1", "3", "5", "10")]
    assert all(short < long for short, long in pairwise(travels))


def becomes_a_jet(n):
    """By viscosity alone the coefficient would go by the inverse of the Reynolds number: ten times, and
    6.7 times, which is 85 %."""
    for lift in ("0.1", "0.4", "1.6"):
        assert 7.0 < n[f"slow_{lift}"] <= 10.0
        assert 0.0 <= n[f"fast_{lift}"] < 15.0
    assert n["fast_0.1"] < 3.0


def resists(n):
    """A hundred times the gap, ten thousand times less."""
    assert n["falls"] == pytest.approx(10.0, rel=0.05)
    assert n["product"] < 5.0
    assert n["tube"] < 10.0


def asks(n):
    assert n["times"] > 100.0
    assert n["hose"] < n["readings"]


def closes_later(n):
    for what, sign in (("fill", -1.0), ("lag", 1.0)):
        values = [sign * n[f"{name}_{what}"] for name in ("stain", "primer", "mastic")]
        assert values == sorted(values)
        assert values[0] < values[1] < values[2]


def matters(n):
    assert n["creeping_thin"] < 0.6 * n["full_thin"]
    assert n["inertia_thick"] < 1.0
    assert n["thinning_thick"] > 5.0
    assert n["thinning_thin"] < 0.5


CHECKS = {
    "a_motor_dives_through_the_void": dives,
    "a_thinning_liquid_is_sheared_most_at_the_seat": thins,
    "equal_at_rest_is_not_equal_at_the_seat": passes,
    "heavier_material_needs_longer_travel": needs_longer,
    "the_loss_goes_over_to_that_of_a_jet": becomes_a_jet,
    "what_a_ball_over_its_seat_resists": resists,
    "what_a_lower_asks_of_a_material": asks,
    "what_the_balls_do_in_a_cycle": closes_later,
    "where_inertia_mass_and_thinning_matter": matters,
}


@pytest.mark.parametrize("name", CHECKS)
def test_each_claim_is_true_by_its_numbers(name):
    CHECKS[name](numbers(name))


@pytest.mark.parametrize("name", CHECKS)
def test_a_claim_that_were_not_true_would_fail(name):
    """All numbers the same: nothing is later, less or longer than anything else."""
    with pytest.raises(AssertionError):
        CHECKS[name](dict.fromkeys(numbers(name), 20.0))


@pytest.mark.parametrize("name", CHECKS)
def test_the_gallery_has_each_claim_with_its_picture_and_its_numbers(name):
    text = (ROOT / "docs" / "gallery.md").read_text(encoding="utf-8")
    said = module(name).SAID.format(**numbers(name))
    parts = [" ".join(part.split()) for part in text.split("\n## ")]
    own = next(part for part in parts if part.startswith(module(name).CLAIM))
    assert said in own
    assert f"figures/{name}.py" in own
    pictures = re.findall(r"\(images/(\w+\.png)\)", own)
    assert pictures
    source = (ROOT / "figures" / f"{name}.py").read_text(encoding="utf-8")
    for picture in pictures:
        assert (ROOT / "docs" / "images" / picture).is_file()
        assert picture in source or picture.partition("_")[0] in ("plain", "cycle")
