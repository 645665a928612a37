"""The drawing of a lower is to scale: what the scenario says is where the drawing has it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from balltravel import run_cycle
from balltravel.report.pages.section import Frame, section_svg
from balltravel.report.section.lower import lower_shapes, lower_sizes, whole
from balltravel.report.section.marks import arrows, bubbles, way_through
from balltravel.report.section.moments import moments_of
from balltravel.report.section.moving import places_at
from balltravel.report.section.shapes import Disc, Moves, Part
from balltravel.scenario.shims import arrangements

from ..conftest import SCENARIOS

LOWERS = sorted(path.stem for path in SCENARIOS.glob("*.toml"))


def outlines(shapes, part):
    return [shape for shape in shapes if shape.part is part and not isinstance(shape, Disc)]


@pytest.mark.parametrize("name", LOWERS)
def test_a_ball_at_its_travel_touches_the_stop_and_at_rest_its_seat(story, name):
    scenario = story(name)
    sizes = lower_sizes(scenario)
    for check, s in ((scenario.inlet_check, sizes.inlet), (scenario.piston_check, sizes.piston)):
        contact = check.contact_diameter / 2.0
        touches = s.ball_at_rest - math.sqrt(s.ball**2 - contact**2)
        assert -1e-12 <= touches <= s.mouth_height + 1e-12
        assert s.stop - (s.ball_at_rest + s.ball) == pytest.approx(s.travel, abs=1e-15)
        assert s.stop + s.pins <= s.cage_top + 1e-12
    assert sizes.inlet.travel == pytest.approx(scenario.inlet_travel, abs=1e-12)


def test_moving_a_shim_from_above_to_below_lifts_the_cage_by_it_and_leaves_the_stack_as_high(story):
    tops, lifted = set(), {}
    for a in arrangements((1e-3, 2e-3, 4e-3), 2e-3):
        s = lower_sizes(story("primer", f"shims.below={list(a.below)}")).inlet
        tops.add(round(s.top, 12))
        lifted[a.below] = s.cage_bottom
        assert s.stop - s.cage_bottom == pytest.approx(
            lower_sizes(story("primer", "shims.below=[]")).inlet.stop
        )
    assert len(tops) == 1
    assert lifted[(1, 3)] - lifted[(1,)] == pytest.approx(4e-3, abs=1e-15)


def test_a_hose_wider_than_the_housing_is_not_cut_by_the_frame(story):
    s = lower_sizes(story("primer", "suction.hose_diameter=120 mm"))
    assert s.hose > s.outside
    frame = whole(s)
    for shape in lower_shapes(s):
        if not isinstance(shape, Disc) and shape.moves is Moves.NOT:
            assert all(frame.left < point.x for point in shape.points)
            assert all(point.x <= frame.right + 1e-12 for point in shape.points)


RIBS = ("cage=ribs", "rib_count=3", "rib_width=4 mm", "cage_diameter=31 mm", "housing_diameter=44 mm")


def test_a_cage_with_ribs_is_cut_through_its_openings(story):
    """Behind them stands the bore of the housing, and the arrows pass there: past the ball the circle of the
    ribs leaves 0.8 mm."""
    scenario = story("primer", *(f"inlet_check.{setting}" for setting in RIBS))
    s = lower_sizes(scenario)
    cages = [shape for shape in outlines(lower_shapes(s), Part.CAGE) if shape.moves is Moves.NOT]
    assert sorted(min(abs(x) for x, _ in shape.points) for shape in cages) == [0.022, 0.022]
    beside = max(x for x, _ in way_through(s.inlet, 0.01, 0.02))
    assert beside == pytest.approx(0.5 * (0.0147 + 0.022))


def test_a_wide_cage_in_the_piston_leaves_the_cylinder_its_room(story):
    """Of 46 mm in a bore of 48 mm: walls may be as thick as looks well, but not go through each other."""
    s = lower_sizes(story("primer", "piston_check.cage_diameter=46 mm"))
    moving = [
        shape for shape in lower_shapes(s) if shape.moves is Moves.PISTON and not isinstance(shape, Disc)
    ]
    metal = [shape for shape in moving if shape.part is not Part.SEAL]
    assert max(x for shape in metal for x, _ in shape.points) == pytest.approx(0.0235)
    seals = [shape for shape in moving if shape.part is Part.SEAL]
    assert {round(min(abs(x) for x, _ in shape.points), 9) for shape in seals} == {0.0235}


def test_all_shims_are_drawn_each_once_on_both_sides(story):
    shims = outlines(lower_shapes(lower_sizes(story("primer"))), Part.SHIM)
    assert sorted(shape.label for shape in shims if shape.label) == ["1", "2", "3"]
    assert len(shims) == 6


def test_what_is_on_the_left_mirrors_what_is_on_the_right(story):
    shapes = lower_shapes(lower_sizes(story("primer")))
    for part in (Part.SEAT, Part.CAGE, Part.SHIM, Part.SEAL):
        sides = [
            {(round(abs(x), 9), round(y, 9)) for x, y in shape.points} for shape in outlines(shapes, part)
        ]
        assert all(sides.count(side) % 2 == 0 for side in sides)


def test_the_ball_of_a_picture_is_where_the_run_has_it(story):
    scenario = story("mastic")
    cycle = run_cycle(scenario)
    m = cycle.motion
    places = places_at(m, m.time, scenario.lower.lower_dead_volume)
    last = np.append(np.diff(m.time) > 0.0, True)
    last[-1] = False  # the end of the cycle is its beginning
    assert np.array_equal(places.inlet_lift[last], m.lift[last, 0])
    assert places.up(5)[Moves.PISTON_BALL] == places.piston[5] + places.piston_lift[5]
    chamber = scenario.lower.lower_dead_volume + m.bore_area * m.piston_position
    assert np.allclose(places.void[last] * chamber[last], m.void_volume[last], rtol=1e-12, atol=1e-18)


def test_moments_come_in_order_and_say_what_the_metrics_say(story):
    cycle = run_cycle(story("mastic"))
    moments = moments_of(cycle)
    assert [moment.time for moment in moments] == sorted(moment.time for moment in moments)
    said = {moment.said: moment.time for moment in moments}
    seats = next(words for words in said if words.startswith("The inlet ball seats"))
    lag = cycle.metrics.inlet.closing_lag
    assert said[seats] - cycle.motion.top_dead_centre == pytest.approx(lag, abs=1e-9)
    assert f"{1e6 * cycle.metrics.inlet.backflow_volume:.3g} cc went back" in seats
    assert cycle.metrics.inlet.ball_lag < 0.5 * lag  # the rest is the void, as material still comes in
    assert f"{1e3 * cycle.metrics.inlet.ball_lag:.3g} ms after the flow turned" in seats


def test_a_ball_that_bounces_is_said_to_seat_when_its_lag_ends(story):
    cycle = run_cycle(story("stain"))
    seats = next(moment for moment in moments_of(cycle) if moment.said.startswith("The inlet ball seats"))
    assert seats.time - cycle.motion.top_dead_centre == cycle.metrics.inlet.closing_lag
    assert f"{1e3 * cycle.metrics.inlet.ball_lag:.3g} ms after the flow turned" in seats.said


def test_a_ball_that_never_lifts_or_seats_is_said_to(story):
    cycle = run_cycle(story("mastic"))
    for flag, words in (("never_lifts", "does not lift"), ("never_seats", "has not seated")):
        odd = replace(cycle.metrics, inlet=replace(cycle.metrics.inlet, flags=(flag,)))
        said = [moment.said for moment in moments_of(replace(cycle, metrics=odd))]
        assert any(words in sentence for sentence in said)
        assert not any(sentence.startswith("The inlet ball seats") for sentence in said)


def test_a_void_that_the_downstroke_does_not_close_is_not_said_to_close(story):
    """A spring that the pressure of the air cannot open: nothing comes in, the void fills and empties the
    whole stroke. Through a seat that leaks something comes in, and the void closes."""
    shut = run_cycle(story("primer", "inlet_check.spring_preload=100 N"))
    assert shut.metrics.void_collapse == pytest.approx(shut.metrics.downstroke_time)
    said = {moment.said: moment.time for moment in moments_of(shut)}
    assert not any("void closes" in sentence for sentence in said)
    assert said["The downstroke ends, and the void has not closed."] < shut.motion.period
    assert "The inlet ball does not lift: nothing comes in." in said
    settings = ("inlet_check.spring_preload=200 N", "inlet_check.leak_gap=0.3 mm")
    leaks = run_cycle(story("primer", *settings))
    assert leaks.metrics.fill_fraction > 0.05
    said = [moment.said for moment in moments_of(leaks)]
    assert "The inlet ball does not lift: only what leaks under it comes in." in said
    assert any("void closes" in sentence for sentence in said)


def test_bubbles_cover_the_share_of_the_section_that_is_void():
    for share in (0.0, 0.1, 0.5):
        area = sum(math.pi * bubble.radius**2 for bubble in bubbles(share, 0.02, 0.01, 0.06))
        assert area == pytest.approx(share * 0.04 * 0.05, abs=1e-18)


def test_arrows_go_with_the_volume_and_turn_with_the_flow(story):
    s = lower_sizes(story("primer")).inlet
    way, area = way_through(s, 0.01, 0.02), math.pi * s.bore**2
    before, after = arrows(way, 0.0, area, 1e-4, 2e-4), arrows(way, 1e-3 * area, area, -1e-4, 2e-4)
    assert math.dist(before[0].at, after[0].at) == pytest.approx(1e-3, rel=1e-9)
    assert before[0].towards.y > 0.0 > after[0].towards.y
    assert before[0].size == pytest.approx(math.sqrt(0.5))


def test_markup_of_a_hostile_name_is_escaped(story):
    s = lower_sizes(story("primer"))
    name = '"><script>alert(1)</script>\u202e'
    drawn = str(section_svg(lower_shapes(s), Frame(-0.1, -0.1, 0.1, 0.3), name))
    assert "<script>" not in drawn
    assert "&lt;script&gt;" in drawn
