"""Cones and ribs from the scenario to the core: circle of contact and equivalent bore where they count."""

import math

import numpy as np
import pytest

from balltravel.closures.passages import ribbed_equivalent
from balltravel.closures.tube import added_mass_coefficient
from balltravel.cycle.run import run_cycle
from balltravel.estimate.cautions import ball_top, seat_gap, warnings_for
from balltravel.estimate.suction_losses import suction_losses
from balltravel.scenario.model import ScenarioError
from balltravel.setup.parameters import cage_radius, core_parameters, geometry_of
from balltravel.sweeps.cases import run_case

CONE = (
    "inlet_check.seat=cone",
    "inlet_check.seat_half_angle=42 deg",
    "inlet_check.seat_mouth_diameter=27 mm",
    "inlet_check.seat_diameter=14 mm",
)
RIBS = (
    "inlet_check.cage=ribs",
    "inlet_check.rib_count=4",
    "inlet_check.rib_width=6 mm",
    "inlet_check.cage_diameter=31 mm",
    "inlet_check.housing_diameter=42 mm",
)
CONTACT = 29.4e-3 * math.cos(math.radians(42.0))


def test_the_core_has_the_circle_of_contact_as_its_seat(story):
    s = story("primer", *CONE, "inlet_check.seat_land_width=0.6 mm")
    check, p = s.inlet_check, core_parameters(s)
    assert check.contact_diameter == pytest.approx(CONTACT, rel=1e-9)
    assert p.inlet.seat_radius == pytest.approx(CONTACT / 2, rel=1e-9)
    assert p.inlet.landing_gap == pytest.approx(0.01 * CONTACT / 2, rel=1e-9)
    g = geometry_of(check, s.closures)
    assert (g.seat_radius, g.mouth_radius) == pytest.approx((0.007, 0.0135))
    assert (g.land_width, g.half_angle) == pytest.approx((0.6e-3, math.radians(42.0)))
    assert g.family == "tabulated"
    closed = geometry_of(check, story("primer", "closures.resistance=closed form").closures)
    assert closed.family == "closed form"


def test_gap_and_top_of_a_ball_on_a_cone_are_those_of_the_cone(story):
    check = story("primer", *CONE).inlet_check
    assert seat_gap(check, 0.004) == pytest.approx(0.004 * math.sin(math.radians(42.0)), rel=1e-9)
    centre = 0.0147 * math.sin(math.radians(42.0)) + 0.004
    assert ball_top(check, 0.004) == pytest.approx(centre + 0.0147, rel=1e-9)


def test_a_spring_on_a_cone_is_opened_by_the_pressure_on_the_circle_of_contact(story):
    """60 N on a circle of 21.85 mm: 1.6 bar, where on the bore of 14 mm it would be 3.9."""
    s = story("primer", *CONE, "inlet_check.spring_preload=60 N")
    metrics = run_case(s).metrics
    said = " ".join(warnings_for(s, metrics))
    needed = 60.0 / (math.pi / 4.0 * CONTACT**2) / 1e5
    assert f"preload alone needs {needed:.3g} bar" in said


def test_a_cone_is_said_to_be_known_less_well(story):
    flat = (*CONE, "inlet_check.seat_half_angle=57 deg", "inlet_check.seat_mouth_diameter=18 mm")
    for settings, share in ((CONE, 3), ((*CONE, "closures.resistance=closed form"), 14), (flat, 14)):
        said = " ".join(warnings_for(story("primer", *settings), None))
        assert f"on a cone the pressure drop is known within {share} %" in said
    assert not any("on a cone" in one for one in warnings_for(story("primer"), None))


def test_a_flag_of_the_range_looks_at_the_circle_of_contact(story):
    """29.4 over 14 would be 2.1, beyond the range of 1.8; over the circle it is 1.35."""
    found = run_cycle(story("primer", *CONE)).excursions
    assert not any(one.quantity == "ball over seat diameter" for one in found)


def test_ribs_count_as_the_bore_that_passes_as_much_wherever_the_cage_counts(story):
    s = story("primer", *RIBS)
    radius = ribbed_equivalent(0.0147, 0.0155, 0.021, 4, 0.006)
    assert radius > 0.0155
    assert cage_radius(s.inlet_check) == pytest.approx(radius, rel=1e-12)
    p, bore = (
        core_parameters(s),
        core_parameters(story("primer", f"inlet_check.cage_diameter={2 * radius} m")),
    )
    volume = 4.0 / 3.0 * math.pi * 0.0147**3
    added = added_mass_coefficient(0.0147 / radius)
    assert p.inlet.added_mass == pytest.approx(1350.0 * volume * added, rel=1e-9)
    assert p.suction.inertance == pytest.approx(bore.suction.inertance, rel=1e-9)
    assert np.allclose(p.inlet.table, bore.inlet.table, rtol=1e-9)
    assert suction_losses(s).passage == pytest.approx(
        suction_losses(story("primer", f"inlet_check.cage_diameter={2 * radius} m")).passage, rel=1e-9
    )
    # A ball of 0.95 of the circle inside the ribs is far from the close bore that would be flagged.
    assert not any(one.place == "inlet check" for one in run_cycle(s).excursions)


def test_a_touching_ball_is_off_its_axis_by_the_guides_clearance(story):
    s = story("primer", *RIBS, "closures.ball_position=touching")
    assert geometry_of(s.inlet_check, s.closures).offset == pytest.approx(0.5 * (31e-3 - 29.4e-3), rel=1e-9)
    assert geometry_of(s.inlet_check).offset == 0.0


def test_ribs_with_hardly_an_opening_are_the_circle_inside_them(story):
    narrow = (
        "inlet_check.cage_diameter=31.3 mm",
        "inlet_check.rib_count=8",
        "inlet_check.rib_width=12.17 mm",
    )
    check = story("primer", *RIBS, *narrow, "inlet_check.housing_diameter=50 mm").inlet_check
    assert cage_radius(check) == pytest.approx(0.01565, rel=2e-3)
    assert cage_radius(check) >= 0.01565 * (1.0 - 1e-9)


@pytest.mark.parametrize("roughness", ["0.5 um", "30 um"])
@pytest.mark.parametrize("band", ["0 mm", "1 mm"])
def test_roughness_does_not_decide_how_far_a_conical_seat_fills_the_chamber(story, roughness, band):
    """The film does not hold the ball back; the fill is within a hundredth of that at the usual roughness."""
    cone = (*CONE[:3], f"inlet_check.seat_land_width={band}")
    usual = run_case(story("primer", *cone)).metrics.fill_fraction
    other = run_case(
        story("primer", *cone, f"inlet_check.surface_roughness={roughness}")
    ).metrics.fill_fraction
    assert other == pytest.approx(usual, abs=0.01)
    assert usual > 0.97


@pytest.mark.parametrize(
    ("settings", "key", "words"),
    [
        ((*CONE, "inlet_check.seat_half_angle=20 deg"), "seat_half_angle", "half of the included one"),
        (
            (*CONE, "inlet_check.seat_mouth_diameter=13 mm"),
            "seat_mouth_diameter",
            "wider than the bore",
        ),
        ((*CONE, "inlet_check.seat_land_width=9 mm"), "seat_land_width", "a band inside the cone"),
        (("inlet_check.seat_land_width=1 mm",), "seat_land_width", "only on a seat"),
        ((*CONE[:2], "inlet_check.seat_diameter=14 mm"), "seat_mouth_diameter", "it must be given"),
        ((*RIBS, "inlet_check.rib_count=3.5"), "rib_count", "a whole number"),
        ((*RIBS, "inlet_check.rib_width=25 mm"), "rib_width", "openings between them"),
        ((*RIBS, "inlet_check.housing_diameter=31 mm"), "housing_diameter", "a housing larger than"),
        (("inlet_check.rib_count=3",), "rib_count", "only with"),
    ],
)
def test_forms_that_cannot_be_are_refused_at_their_key(story, settings, key, words):
    with pytest.raises(ScenarioError) as caught:
        story("primer", *settings)
    (fault,) = caught.value.faults
    assert fault.key == f"inlet_check.{key}"
    assert words in str(fault)


def test_the_flow_of_a_film_is_that_of_the_ball_whichever_way_it_goes(story):
    """Through the compiled law: pushing a film costs force, tearing it none of its own."""
    from balltravel.core.check import Law, law
    from balltravel.core.records import as_record

    s = story("primer", *CONE[:3])
    check, material = as_record(core_parameters(s).inlet), as_record(core_parameters(s).material)
    forces = []
    for speed in (-1e-3, 1e-3):
        out = as_record(Law())
        law(check, material, 3e-5, speed, 0.0, out)
        forces.append(float(out["force"]))
    assert forces[0] > 0.0 > forces[1]
    assert -forces[1] < 0.2 * forces[0]
