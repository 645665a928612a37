"""Rules between a check's sizes: where each begins to refuse, and that the example it gives is taken."""

import math

import pytest

from balltravel.closures.passages import ribbed_equivalent
from balltravel.scenario.model import ScenarioError

HAIR = 1e-6
CONE = {"seat": "cone", "seat_half_angle": "42 deg", "seat_mouth_diameter": "27 mm", "seat_diameter": "14 mm"}
RIBS = {"cage": "ribs", "rib_count": 4, "rib_width": "6 mm", "cage_diameter": "31 mm",
        "housing_diameter": "42 mm"}  # fmt: skip
BALL = 29.4
"""mm, of the inlet check."""


@pytest.fixture
def read(story):
    """The primer's inlet check with other sizes."""

    def call(**sizes):
        settings = [f"inlet_check.{key}={value}" for key, value in sizes.items()]
        return story("primer", *settings).inlet_check

    return call


def refusal(read, **sizes):
    with pytest.raises(ScenarioError) as caught:
        read(**sizes)
    (fault,) = caught.value.faults
    return fault


WRONG = {
    "cage too wide": ({"cage_diameter": "29.8 mm"}, "ball_diameter"),
    "cage too short": ({"cage_length": "29 mm"}, "cage_length"),
    "angle too small": ({**CONE, "seat_half_angle": "20 deg"}, "seat_half_angle"),
    "angle too large": ({**CONE, "seat_half_angle": "65 deg"}, "seat_half_angle"),
    "band too wide": ({**CONE, "seat_land_width": "9 mm"}, "seat_land_width"),
    "band on an edge": ({"seat_land_width": "1 mm"}, "seat_land_width"),
    "half a rib": ({**RIBS, "rib_count": 3.5}, "rib_count"),
    "ribs too wide": ({**RIBS, "rib_width": "25 mm"}, "rib_width"),
}


@pytest.mark.parametrize("name", WRONG)
def test_the_example_of_a_refusal_is_taken(read, name):
    sizes, key = WRONG[name]
    fault = refusal(read, **sizes)
    assert fault.key == f"inlet_check.{key}"
    read(**{**sizes, key: fault.example.strip('"')})


@pytest.mark.parametrize(("ball", "cage"), [(BALL, BALL / 0.95), (10.0, 500.0)])
def test_a_ball_may_be_from_a_fiftieth_to_nineteen_twentieths_of_its_cage(read, ball, cage):
    sizes = {"cage_length": "40 mm", "seat_diameter": f"{0.7 * ball} mm"}
    read(**sizes, ball_diameter=f"{ball:.12g} mm", cage_diameter=f"{cage:.12g} mm")
    if cage < 100.0:
        cage *= 1.0 - HAIR
    else:
        ball *= 1.0 - HAIR
    fault = refusal(read, **sizes, ball_diameter=f"{ball:.12g} mm", cage_diameter=f"{cage:.12g} mm")
    assert "0.02 to 0.95 cage diameters" in fault.allowed
    assert fault.example == f'"{0.78 * cage:.4g} mm"'


def test_a_ball_as_big_as_its_cage_is_refused_once(read):
    for cage in (BALL, 0.9 * BALL):
        assert "smaller than" in refusal(read, cage_diameter=f"{cage:.6g} mm").allowed


def test_a_cage_is_at_least_as_long_as_its_ball(read):
    read(cage_length=f"{BALL} mm")
    assert refusal(read, cage_length=f"{BALL * (1.0 - HAIR):.9g} mm").example == f'"{1.4 * BALL:.4g} mm"'


def test_a_ball_touches_its_cone_between_bore_and_mouth(read):
    """At half angles whose cosine is bore and mouth over ball; at a hair inside both it is taken."""
    for size, inside in ((14.0, -HAIR), (27.0, HAIR)):
        angle = math.degrees(math.acos(size / BALL))
        read(**{**CONE, "seat_half_angle": f"{angle + inside * 30.0:.12g} deg"})
        fault = refusal(read, **{**CONE, "seat_half_angle": f"{angle - inside * 30.0:.12g} deg"})
        assert f"circle of {size:g} mm" in fault.given
        middle = math.degrees(math.acos(0.5 * (14.0 + 27.0) / BALL))
        assert fault.example == f'"{middle:.3g} deg"'


def test_a_mouth_no_wider_than_its_bore_is_refused_once(read):
    for mouth in ("14 mm", "13 mm"):
        fault = refusal(read, **{**CONE, "seat_mouth_diameter": mouth})
        assert fault.key == "inlet_check.seat_mouth_diameter"
        assert fault.example == '"16.8 mm"'


@pytest.mark.parametrize(
    ("angle", "bore", "mouth", "room"),
    [
        # Beside the circle of contact to the bore, to the mouth, and a fifth of the ball.
        (42.0, 20.0, 27.0, (BALL * math.cos(math.radians(42.0)) - 20.0) / math.sin(math.radians(42.0))),
        (42.0, 10.0, 24.0, (24.0 - BALL * math.cos(math.radians(42.0))) / math.sin(math.radians(42.0))),
        (42.0, 10.0, 34.0, 0.2 * BALL),
    ],
)
def test_a_band_stays_on_its_cone_and_narrow(read, angle, bore, mouth, room):
    sizes = {**CONE, "seat_half_angle": f"{angle} deg", "seat_diameter": f"{bore} mm"}
    sizes["seat_mouth_diameter"] = f"{mouth} mm"
    read(**sizes, seat_land_width=f"{room * (1.0 - HAIR):.12g} mm")
    fault = refusal(read, **sizes, seat_land_width=f"{room * (1.0 + HAIR):.12g} mm")
    assert fault.key == "inlet_check.seat_land_width"
    assert f"at most {room:.4g} mm" in fault.allowed
    assert fault.example == f'"{0.5 * room:.4g} mm"'


def test_a_cone_that_holds_no_ball_is_refused_without_a_word_of_its_band(read):
    fault = refusal(read, **{**CONE, "seat_half_angle": "20 deg"}, seat_land_width="0.6 mm")
    assert fault.key == "inlet_check.seat_half_angle"


def test_ribs_leave_openings_between_them(read):
    """Four of them on 31 mm are narrower than pi 31/4 mm."""
    room = math.pi * 31.0 / 4.0
    read(**{**RIBS, "rib_width": f"{room * (1.0 - HAIR):.12g} mm", "cage_diameter": "31 mm"})
    fault = refusal(read, **{**RIBS, "rib_width": f"{room * (1.0 + HAIR):.12g} mm"})
    assert fault.key == "inlet_check.rib_width"
    assert f"below {room:.4g} mm" in fault.allowed


def test_ribs_pass_at_least_what_the_narrowest_bore_does(read):
    """Its ball is at most 0.95 of it: ribs on a circle hardly wider than the ball, and deeper or not."""
    for housing, fits in ((33.0, True), (30.2, False)):
        sizes = {**RIBS, "cage_diameter": "30 mm", "housing_diameter": f"{housing} mm", "rib_width": "12 mm"}
        bore = 2.0 * ribbed_equivalent(0.5 * BALL, 15.0, 0.5 * housing, 4, 12.0)
        assert (BALL / bore <= 0.95) is fits
        if fits:
            read(**sizes)
        else:
            fault = refusal(read, **sizes)
            assert f"bore of {bore:.4g} mm" in fault.given
            assert fault.example == f'"{0.8 * bore:.4g} mm"'


def test_the_housing_of_the_piston_check_is_inside_the_piston(story):
    """Its bore is 48 mm."""
    ribs = {**RIBS, "cage_diameter": "27 mm", "rib_width": "4 mm"}
    for housing, fits in (("47.9 mm", True), ("48.1 mm", False)):
        settings = [
            f"piston_check.{key}={value}" for key, value in {**ribs, "housing_diameter": housing}.items()
        ]
        if fits:
            story("primer", *settings)
            continue
        with pytest.raises(ScenarioError) as caught:
            story("primer", *settings)
        (fault,) = caught.value.faults
        assert fault.key == "piston_check.housing_diameter"


def test_a_bore_as_wide_as_the_ribs_is_not_held_to_their_rule(read):
    """And faults of the ribs themselves are told without a word of what they would pass."""
    read()
    for wrong in ({"rib_count": 3.5}, {"housing_diameter": "31 mm"}, {"rib_width": "25 mm"}):
        refusal(read, **{**RIBS, **wrong})
