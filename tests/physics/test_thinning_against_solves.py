"""Liquids that thin or have a yield stress in a check: the one shear rate of the compiled law against direct
solves, at places off the grid of its table and in liquids that no fit has seen."""

import pytest

from .edge_alone import EdgeLaw, Place
from .fem import MISSING, NEEDS_FEM

if not MISSING:
    from .thinning_solves import ThinSolves, liquids_of

pytestmark = NEEDS_FEM

PLACE = Place(1.5, 0.78, 0.15)


@pytest.fixture(scope="module")
def solves():
    return ThinSolves(PLACE)


@pytest.mark.parametrize(
    ("liquid", "motions", "stated"),
    [
        ("power law", ("held", "ball alone", "ball with its flow", "against, slow ball"), 0.09),
        ("Carreau", ("held", "ball alone", "ball with its flow"), 0.12),
        ("Herschel-Bulkley", ("held", "ball with its flow"), 0.13),
    ],
)
def test_drop_and_force_are_those_of_direct_solves(solves, liquid, motions, stated):
    """Given flow and speed; over the sizes of the terms. tests/thinning_compared.py has many more places."""
    law, worst = EdgeLaw(PLACE, liquids_of(PLACE)[liquid].rheology), 0.0
    for motion in motions:
        Q, w, dp, F = solves.motion(liquid, motion)
        (found, force), (drop_size, force_size) = law.given_flow(Q, w), law.terms(Q, w)
        off = (found - dp) / drop_size, (force - F) / force_size
        print(f"{liquid}, {motion}: dp {100.0 * off[0]:+.1f} %, F {100.0 * off[1]:+.1f} %")
        worst = max(worst, *map(abs, off))
    assert worst < stated


def test_a_carried_ball_takes_the_flow_of_direct_solves(solves):
    """Flow over speed of a ball on which no force acts, as it closes: power law n = 0.5, 15 %."""
    Q, w, _, _ = solves.carried("power law")
    law = EdgeLaw(PLACE, liquids_of(PLACE)["power law"].rheology)
    print(f"flow over speed {100.0 * (law.carried() * w / Q - 1.0):+.1f} %")
    assert law.carried() * w == pytest.approx(Q, rel=0.15)


def test_given_flow_and_given_drop_are_the_same_law():
    """What the core asks for, solved for the other way: 1e-9."""
    law = EdgeLaw(PLACE, liquids_of(PLACE)["Carreau"].rheology)
    for Q, w in ((1.0, 0.0), (0.0, 0.3), (-0.4, 0.3)):
        dp, F = law.given_flow(Q, w)
        assert law.given_drop(dp, w) == pytest.approx((Q, F), rel=1e-9, abs=1e-9)
