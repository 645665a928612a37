"""Where a scenario puts its balls: stated, or where they drift."""

import math

import pytest

from balltravel.scenario.lower import Closures
from balltravel.scenario.model import ScenarioError, with_values
from balltravel.setup.ball_position import share_drifted, share_stated
from balltravel.setup.parameters import core_parameters, geometry_of

from ..helpers.lowers import scenario

POSITION, OFFSET, TILT = "closures.ball_position", "closures.ball_offset", "closures.tilt"
CLEARANCE = 0.5 * (0.0378 - 0.0294)


def test_a_stated_share_is_one_of_the_guide_clearance():
    shares = [
        share_stated(Closures(ball_position="offset", ball_offset=0.3)),
        *(share_stated(Closures(ball_position=name)) for name in ("centred", "touching", "drifting")),
    ]
    assert shares == [0.3, 0.0, 1.0, 0.0]
    inlet = scenario().inlet_check
    aside = geometry_of(inlet, Closures(ball_position="offset", ball_offset=0.3))
    assert aside.offset == pytest.approx(0.3 * CLEARANCE)


def test_at_offsets_of_0_and_all_of_the_clearance_the_ball_is_centred_and_touches():
    for share, name in ((0.0, "centred"), (1.0, "touching")):
        given, named = (
            core_parameters(with_values(scenario(), changes)).inlet
            for changes in ({POSITION: "offset", OFFSET: share}, {POSITION: name})
        )
        assert given.table.tolist() == named.table.tolist()


def drifted(**changes):
    """Share of the inlet ball of a lower with a tilt of none."""
    s = with_values(scenario(), {POSITION: "drifting", TILT: 0.0, **changes})
    touching = geometry_of(s.inlet_check, s.closures, 1.0)
    return s, share_drifted(s, s.inlet_check, touching, s.inlet_travel, s.drive.cycle_rate)


def test_a_drifting_ball_has_the_table_of_its_own_offset():
    s, share = drifted(**{"shims.below": (1,)})
    there = with_values(s, {POSITION: "offset", OFFSET: share, TILT: None})
    print(f"share {share:.3f}")
    assert 0.0 < share < 1.0
    assert core_parameters(s).inlet.table.tolist() == core_parameters(there).inlet.table.tolist()


def test_a_lower_out_of_plumb_has_its_ball_farther_aside_the_thinner_the_material():
    def share(tilt, viscosity):
        return drifted(**{TILT: math.radians(tilt), "material.viscosity": viscosity})[1]

    upright, leaning, thinner = share(0.0, 5.0), share(3.0, 5.0), share(3.0, 1.0)
    assert upright < leaning < thinner
    assert share(0.0, 1.0) == pytest.approx(upright)


@pytest.mark.parametrize(
    "changes", [{POSITION: "offset"}, {OFFSET: 0.3}, {POSITION: "offset", OFFSET: 1.5}, {TILT: 0.1}]
)
def test_an_offset_goes_with_its_position_alone_and_a_tilt_with_a_drifting_ball(changes):
    with pytest.raises(ScenarioError, match=r"ball_offset|tilt"):
        with_values(scenario(), changes)
