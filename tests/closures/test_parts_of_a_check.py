"""A check taken apart (M5, M6b, M9a): the columns of its lift functions against the shipped solves,
Poiseuille's law and the same check of another size."""

import csv
import math
from importlib import resources

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions, resistance_of
from balltravel.closures.off_axis import cage_gain
from balltravel.closures.passages import off_axis_gain
from balltravel.closures.table.edge_and_cage import (
    BORE_SHEAR,
    ball_in_cage,
    cage_part,
    cage_rates,
    edge_rates,
)
from balltravel.closures.table.tabulated import gap_of_lift
from balltravel.closures.tube import added_mass_coefficient, tube_resistance
from balltravel.core.parameters import (
    ALPHA,
    CAGE,
    CAGE_ALPHA,
    CAGE_RATE,
    CAGE_SECOND,
    CAGE_SLIP,
    CONDUCTANCE,
    COUPLING,
    EDGE_RATE,
    EDGE_SECOND,
    FUNCTIONS,
    LIFT_FORCE,
    MASS,
    OFFSET,
    OPENING_SLIP,
    SLIP,
    STREAM,
)

SMOOTH = 1e-9
SEAT = 0.0105
LIFTS = np.array([0.02, 0.1, 0.45, 1.3])


def edge_check(ball, ratio, r=1.0, **other):
    """A smooth sharp edge of radius r with short bores; ball over seat, ball over cage."""
    size = {"seat_length": 0.0, "cage_length": 0.0, "roughness": SMOOTH * r} | other
    return CheckGeometry(
        r,
        ball_radius=ball * r,
        cage_radius=ball / ratio * r,
        discharge_coefficient=0.7,
        family="tabulated",
        **size,
    )


def conical(r=1.0, **other):
    """A cone with a lapped band, and bores."""
    return CheckGeometry(
        r, 0.8 * r, 1.5 * r, 1.9 * r, 9.0 * r, 0.7, 1e-4 * r, 0.0, math.radians(42.0), 1.35 * r, 0.02 * r,
        family="tabulated", **other,
    )  # fmt: skip


def solved_masses():
    """Rows of the shipped table of the liquid's inertia."""
    text = (
        resources.files("balltravel.closures.table")
        .joinpath("ball_over_edge_mass.csv")
        .read_text(encoding="utf-8")
    )
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(lines)]


def test_the_masses_of_a_check_are_those_of_its_solves():
    """At rows of the table, 1e-6: of the ball alone in the cage, of a stream of unit speed in the seat, and
    what couples the ball to the piston's flow; as shares of a ball far from the seat, m C, m C and
    m (1 + C)/A_cage, m the liquid that the ball displaces."""
    for row in solved_masses()[::29]:
        ball, ratio = row["ball"], row["ratio"]
        size = edge_check(ball, ratio, SEAT)
        found = lift_functions(size, SEAT * np.array([row["lift"]]))[:, 0]
        displaced, C = 4.0 / 3.0 * math.pi * ball**3, added_mass_coefficient(ratio)
        area = math.pi * (ball / ratio) ** 2
        assert found[MASS] * displaced * C == pytest.approx(row["Mww"], rel=1e-6)
        assert found[STREAM] * displaced * C == pytest.approx(math.pi**2 * row["Mqq"], rel=1e-6)
        assert found[COUPLING] * displaced * (1.0 + C) / area == pytest.approx(-row["Mqw"], rel=1e-6)


@pytest.mark.parametrize(
    "make", [lambda r: edge_check(1.4, 0.75, r, seat_length=r, cage_length=9.0 * r), conical]
)
def test_a_check_twice_as_large_has_the_same_functions(make):
    """All of them are over the radius of the circle of contact: 1e-9, the roots of powers."""
    small, large = make(0.5 * SEAT), make(SEAT)
    assert lift_functions(small, 0.5 * SEAT * LIFTS) == pytest.approx(
        lift_functions(large, SEAT * LIFTS), rel=1e-9, abs=1e-15
    )


def test_the_film_of_a_cone_does_not_pull_and_an_edge_is_the_same_both_ways():
    """An opening ball has the S of its check without the film's; a sharp edge has no film."""
    cone = lift_functions(conical(), LIFTS)
    assert cone[OPENING_SLIP] == pytest.approx(resistance_of(conical(), LIFTS, opening=True).S, rel=1e-12)
    assert cone[SLIP] == pytest.approx(resistance_of(conical(), LIFTS).S, rel=1e-12)
    assert (cone[OPENING_SLIP] < 0.99 * cone[SLIP])[:2].all()
    edge = lift_functions(edge_check(1.4, 0.75), LIFTS)
    assert (edge[OPENING_SLIP] == edge[SLIP]).all()


def test_bores_have_no_part_in_the_force_of_inertia():
    """kappa = alpha - gap offset, the force over area for a pressure lost at the ball, and the lift force are
    the same with long bores, 1e-9; alpha itself is not."""
    gap = gap_of_lift(1.4, LIFTS)
    short, long = (
        lift_functions(edge_check(1.4, 0.75, seat_length=a, cage_length=b), LIFTS)
        for a, b in ((0.0, 0.0), (3.0, 40.0))
    )
    kappa = [found[ALPHA] - gap * found[OFFSET] for found in (short, long)]
    assert kappa[0] == pytest.approx(kappa[1], rel=1e-9)
    assert short[LIFT_FORCE] == pytest.approx(long[LIFT_FORCE], rel=1e-12)
    assert np.abs(short[ALPHA] / long[ALPHA] - 1.0).max() > 0.1


def test_the_ball_in_its_cage_is_the_tubes_with_poiseuilles_loss_over_its_height():
    """8 mu 2R Q/(pi R_c^4) beside the tube's own; lengths in contact radii."""
    ball, ratio = 1.4, 0.75
    cage, tube, found = (
        ball / ratio,
        tube_resistance(ratio),
        ball_in_cage(edge_check(1.4, 0.75, SEAT), np.ones(1)),
    )
    beside, along = tube.Rqq / cage**3, 8.0 * 2.0 * ball / (math.pi * cage**4)
    alpha = tube.Rqw / tube.Rqq * cage**2
    assert found.Rqq[0] == pytest.approx(beside + along, rel=1e-12)
    assert found.Rqw[0] == pytest.approx(beside * alpha, rel=1e-12)
    parallel = beside * along / (beside + along)
    assert found.S[0] == pytest.approx(tube.S * cage + parallel * alpha**2, rel=1e-12)


def test_a_ball_off_its_axis_passes_more_and_is_pushed_by_the_same_share_of_the_pressure():
    """The tube's part falls by one factor in flow and force, its alpha stays."""
    centred, touching = (
        ball_in_cage(size, cage_gain(size, SEAT * np.ones(1)))
        for size in (
            edge_check(1.4, 0.75, SEAT, offset=share * SEAT * 1.4 * (1.0 / 0.75 - 1.0))
            for share in (0.0, 1.0)
        )
    )
    along = 16.0 / math.pi * 1.4 / (1.4 / 0.75) ** 4
    gains = (centred.Rqq[0] - along) / (touching.Rqq[0] - along), centred.Rqw[0] / touching.Rqw[0]
    assert gains[0] == pytest.approx(gains[1], rel=1e-9)
    gap = 1.4 * (1.0 / 0.75 - 1.0)
    assert gains[0] == pytest.approx(off_axis_gain(1.4, 1.4 / 0.75, gap), rel=1e-9)


@pytest.mark.parametrize("size", [edge_check(1.4, 0.75), edge_check(1.2, 0.9, cage_length=8.0), conical()])
def test_edge_and_cage_are_two_resistances_in_series_that_each_lose_work(size):
    """What the cage's columns leave for the edge: a loss and a slip that are not negative, at all lifts."""
    found = lift_functions(size, np.geomspace(1e-3, 3.0, 40))
    assert found.shape == (FUNCTIONS, 40)
    whole, share = resistance_of(size, np.geomspace(1e-3, 3.0, 40)), found[CAGE] / found[CONDUCTANCE]
    of_edge = whole.Rqq - share
    assert (of_edge > 0.0).all()
    alpha_e = (whole.Rqw - share * found[CAGE_ALPHA]) / of_edge
    S_e = whole.S - found[CAGE_SLIP] - share * of_edge / whole.Rqq * (alpha_e - found[CAGE_ALPHA]) ** 2
    assert (found[CAGE_SLIP] >= 0.0).all()
    assert (S_e >= -1e-9 * whole.S).all()
    # Where nothing has to be cut off, the cage's slip is all of its own.
    assert found[CAGE_SLIP][0] == pytest.approx(cage_part(size, np.array([1e-3]), resistance_of(
        size, np.array([1e-3]))).S[0], rel=1e-12)  # fmt: skip


def test_with_endless_bores_their_shear_rate_is_that_of_the_seat_bore():
    """Q/R^3 in the bore, over Q/r^3 of the circle of contact; the two rates of one bore are one."""
    size = conical()._replace(seat_length=1e9)
    found = lift_functions(size, LIFTS)
    assert found[CAGE_RATE] == pytest.approx(BORE_SHEAR * size.contact_radius**3, rel=1e-6)
    assert found[CAGE_SECOND] == pytest.approx(1.0, rel=1e-6)


def test_without_bores_the_cages_shear_rates_are_those_of_the_ball_in_it():
    """Over the flow in seat radii; with bores in between, as the logarithm by their share of the loss."""
    ball, ratio = 1.4, 0.75
    first, second = cage_rates(ratio)
    alone = lift_functions(edge_check(ball, ratio, SEAT), SEAT * LIFTS)
    assert alone[CAGE_RATE] == pytest.approx(first / (ball / ratio) ** 3, rel=1e-9)
    assert alone[CAGE_SECOND] == pytest.approx(second, rel=1e-9)
    bored = edge_check(ball, ratio, SEAT, seat_length=2.0 * SEAT)
    straight = 8.0 / math.pi * 2.0
    of_bores = straight / (ball_in_cage(bored, np.ones(1)).Rqq[0] + straight)
    found = lift_functions(bored, SEAT * LIFTS)
    mixed = (first / (ball / ratio) ** 3) ** (1.0 - of_bores) * BORE_SHEAR**of_bores
    assert found[CAGE_RATE] == pytest.approx(mixed, rel=1e-9)
    assert found[CAGE_SECOND] == pytest.approx(second ** (1.0 - of_bores), rel=1e-9)


def test_the_edges_shear_rates_are_the_documented_fit_at_its_gap():
    """docs/closures.md, written out: 0.4095 (1 + 2.656 g) R^-0.4955, 0.1564 g^0.184 (R_c - 1)^-0.272 R^0.845;
    at most 1."""
    ball, ratio = 1.4, 0.75
    gap = gap_of_lift(ball, LIFTS)
    found = lift_functions(edge_check(ball, ratio), LIFTS)
    second = 0.1564 * gap**0.184 * (ball / ratio - 1.0) ** -0.272 * ball**0.845
    assert found[EDGE_RATE] == pytest.approx(0.4095 * (1.0 + 2.656 * gap) * ball**-0.4955, rel=1e-9)
    assert found[EDGE_SECOND] == pytest.approx(second, rel=1e-9)
    assert edge_rates(1.8, 1.0 + 1e-9, np.array([3.0]))[1][0] == 1.0


def test_a_cage_that_ends_below_the_balls_top_has_no_straight_length():
    """The loss over the ball's own height is counted beside the ball, not twice."""
    low = edge_check(1.4, 0.75, cage_length=1.0)
    none = edge_check(1.4, 0.75, cage_length=0.0)
    for column in (CONDUCTANCE, CAGE, CAGE_RATE):
        assert lift_functions(low, LIFTS)[column] == pytest.approx(
            lift_functions(none, LIFTS)[column], rel=1e-12
        )
