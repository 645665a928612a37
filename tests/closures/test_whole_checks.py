"""Checks put together from their parts: cones, balls off their axis, worn seats; by hand at one lift."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry, cage_matrix, edge, loss_coefficient, rough_gap
from balltravel.closures.families import closures_at, resistance_of, seat_and_cage
from balltravel.closures.film import ConeSeat, film
from balltravel.closures.lift_table import closure_table, table_origin
from balltravel.closures.off_axis import gain_of
from balltravel.closures.passages import off_axis_gain
from balltravel.closures.resistance import scalar, series
from balltravel.closures.table.by_table import edge_and_cage, put_together
from balltravel.closures.table.tabulated import edge_matrix, widening
from balltravel.closures.tube import tube_resistance
from balltravel.core.parameters import ALPHA, CONDUCTANCE, FORWARD, OPENING_SLIP, SLIP

ANGLE = math.radians(42.0)
EDGE = CheckGeometry(0.0105, 0.008, 0.0147, 0.0189, 0.045, 0.7, 4e-6)
CONE = EDGE._replace(half_angle=ANGLE, mouth_radius=0.0125, land_width=4e-4)
LIFT = np.array([0.0012])


def same(found, wanted):
    for got, right in zip(found, wanted, strict=True):
        assert got == pytest.approx(right, rel=1e-9)


def test_the_circle_of_contact_is_the_edge_or_where_the_ball_touches_the_cone():
    assert EDGE.contact_radius == 0.0105
    assert CONE.contact_radius == pytest.approx(0.0147 * math.cos(ANGLE), rel=1e-12)


@pytest.mark.parametrize("family", ["closed form", "tabulated"])
def test_a_cone_is_its_film_and_an_edge_as_far_away_as_the_films_ends_are(family):
    check = CONE._replace(leak_gap=3e-5, family=family)
    seat = ConeSeat(0.0105, 0.0125, 0.0147, ANGLE, 4e-4)
    gap = np.sqrt((LIFT * math.sin(ANGLE)) ** 2 + 3e-5**2 + 4e-6**2)
    thin, ends = film(seat, gap)
    opening = 0.5 * (ends.bore + ends.mouth) / check.contact_radius
    if family == "tabulated":
        rest = edge_matrix(0.0147 / check.contact_radius, 0.0147 / 0.0189, opening)
    else:
        rest = series(edge(opening), cage_matrix(check))
    opening = 0.0
    if family == "tabulated":
        r = check.contact_radius
        opening = widening(0.0189 / 0.0105) * (r / 0.0105) ** 3 - widening(0.0189 / r)
    rest = series(rest, scalar(np.array([opening])))
    by_law = put_together if family == "tabulated" else seat_and_cage
    same(by_law(check, LIFT), series(thin, rest))
    torn = series(thin._replace(S=np.zeros(1)), rest)
    same(by_law(check, LIFT, opening=True), torn)


@pytest.mark.parametrize("family", ["closed form", "tabulated"])
def test_the_bores_losses_are_in_lengths_of_the_circle_of_contact(family):
    """8 mu L Q/(pi a^4) times r^3/(mu Q); by the table the cage counts from the ball's top on."""
    check = CONE._replace(family=family)
    r = check.contact_radius
    top = math.sqrt(0.0147**2 - r**2) + 0.0012 + 0.0147
    cage = 0.045 - top if family == "tabulated" else 0.045
    bores = 8.0 / math.pi * r**3 * (0.008 / 0.0105**4 + cage / 0.0189**4)
    whole, part = resistance_of(check, LIFT), seat_and_cage(check, LIFT)
    assert whole.Rqq[0] == pytest.approx(part.Rqq[0] + bores, rel=1e-9)
    assert whole.Rqw[0] == pytest.approx(part.Rqw[0], rel=1e-12)


def test_a_ball_off_its_axis_divides_the_tubes_resistance_and_leaves_its_slip():
    off = EDGE._replace(offset=0.003)
    tube, gain = tube_resistance(0.0147 / 0.0189), off_axis_gain(0.0147, 0.0189, 0.003)
    assert 1.3 < gain < 2.1
    found, ratio = cage_matrix(off), 0.0105 / 0.0189
    assert found.Rqq[0] == pytest.approx(tube.Rqq * ratio**3 / gain, rel=1e-12)
    assert found.Rqw[0] == pytest.approx(tube.Rqw * ratio / gain, rel=1e-12)
    assert found.S[0] == pytest.approx(tube.S / ratio, rel=1e-12)


def test_off_the_axis_the_table_changes_by_the_rule_as_the_closed_forms_do():
    """Those that it is held against, by hand: the edge, the tube, Poiseuille up to the ball's top and the
    opening of the bore; the last two stay as they are. What the solves in space have over it comes later."""
    off = EDGE._replace(offset=0.00126)
    r, cage = 0.0105, 0.0189
    edge_loss, tube = 3.1 / closures_gap(LIFT[0]) ** 2, tube_resistance(0.0147 / cage)
    around = 2.0 * math.pi * np.arange(3600) / 3600
    height = math.sqrt(0.0147**2 - r * r) + LIFT[0]
    gaps = np.sqrt(r * r + 0.00126**2 - 2.0 * r * 0.00126 * np.cos(around) + height**2) - 0.0147
    assert gaps.min() > 1e-5
    of_edge = np.mean(gaps**2 + 4e-6**2) / (r * closures_gap(LIFT[0])) ** 2
    of_tube = off_axis_gain(0.0147, cage, 0.00126)
    rest = 8.0 / math.pi * (height + 0.0147) / r * (r / cage) ** 4 + widening(cage / r)
    beside = tube.Rqq * (r / cage) ** 3
    loss = (edge_loss / of_edge + beside / of_tube + rest) / (edge_loss + beside + rest)
    push = [math.pi * edge_loss / a + tube.Rqw * r / cage / b for a, b in ((of_edge, of_tube), (1.0, 1.0))]
    on, aside = (edge_and_cage(c, rough_gap(c, LIFT), gain_of(c, LIFT)) for c in (EDGE, off))
    same([x / y for x, y in zip(aside, on, strict=True)], [loss, push[0] / push[1], 1.0])


def closures_gap(lift):
    """Pythagoras, with the roughness, over the seat radius."""
    gap = math.hypot(0.0105, math.sqrt(0.0147**2 - 0.0105**2) + lift) - 0.0147
    return math.hypot(gap, 4e-6) / 0.0105


def test_the_inertial_loss_of_a_cone_is_that_of_its_circle_of_contact():
    """The jet through the ring between ball and circle, and the widening behind the ball."""
    r, R, Rc = CONE.contact_radius, 0.0147, 0.0189
    L = np.hypot(r, math.sqrt(R * R - r * r) + LIFT)
    gap = (L - R) / r
    jet = 1.0 / (0.7 * (1.0 + R / L)) ** 2
    widening = (r * r / (Rc**2 - R**2) * (1.0 - (Rc**2 - R**2) / Rc**2)) ** 2
    assert loss_coefficient(CONE, LIFT) == pytest.approx(jet + widening * gap**2, rel=1e-9)


def test_the_four_functions_are_those_of_the_whole_check():
    check = CONE._replace(family="tabulated")
    r, whole = check.contact_radius, resistance_of(check, LIFT)
    gap2 = ((np.hypot(r, math.sqrt(0.0147**2 - r * r) + LIFT) - 0.0147) ** 2 + 4e-6**2) / r**2
    G, alpha, S, loss = closures_at(check, LIFT)
    assert pytest.approx(1.0 / (whole.Rqq * gap2), rel=1e-9) == G
    assert alpha == pytest.approx(whole.Rqw / whole.Rqq, rel=1e-12)
    assert pytest.approx(whole.S, rel=1e-12) == S
    assert loss == pytest.approx(loss_coefficient(check, LIFT), rel=1e-12)


def random_cone(chance, roughness, leak):
    """A check inside the table's ratios, its cone with a band or none [m]."""
    contact, over = 10.0 ** chance.uniform(-2.5, -1.0), chance.uniform(1.12, 1.8)
    angle, ball = math.acos(1.0 / over), contact * over
    cage = ball / chance.uniform(0.5, 0.95)
    bore = contact * chance.uniform(0.6, 0.98)
    mouth = contact + chance.uniform(0.05, 0.9) * (cage - contact)
    room = min((contact - bore) / math.sin(angle), (mouth - contact) / math.sin(angle), 0.4 * ball)
    land = chance.choice([0.0, chance.uniform(0.0, 0.99) * room])
    sizes = (bore, bore, ball, cage, 4.0 * ball, 0.7, roughness, leak)
    family = ("closed form", "tabulated")[chance.integers(2)]
    return CheckGeometry(*sizes, angle, mouth, land, 0.0, family)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("roughness", "leak"), [(1e-8, 0.0), (2e-6, 0.0), (5e-5, 0.0), (2e-6, 1e-4)])
def test_the_splines_keep_to_a_cones_closures_between_their_nodes(seed, roughness, leak):
    """Its film grows with a high power of the gap, down to where roughness cuts it off."""
    check = random_cone(np.random.default_rng(seed), roughness, leak)
    travel, origin = 0.5 * check.contact_radius, table_origin(check)
    table, step = closure_table(
        travel,
        origin,
        lambda z: (*closures_at(check, z), resistance_of(check, z, opening=True).S),
    )
    u = (np.arange(240) + 0.5) * step
    lift = origin * np.expm1(u)
    exact = np.array([*closures_at(check, lift), resistance_of(check, lift, opening=True).S])
    c = table.transpose(1, 0, 2)[[CONDUCTANCE, ALPHA, SLIP, FORWARD, OPENING_SLIP]]
    half = 0.5 * step
    seen = ((c[:, :, 0] * half + c[:, :, 1]) * half + c[:, :, 2]) * half + c[:, :, 3]
    assert (seen[[0, 2, 4]] > 0.0).all()
    assert seen == pytest.approx(exact, rel=0.02)


def test_the_origin_of_a_cones_table_is_where_its_film_is_cut_off():
    assert table_origin(EDGE) == pytest.approx(0.02 * 0.0105, rel=1e-12)
    assert table_origin(CONE) == pytest.approx(4e-6, rel=1e-12)
    assert table_origin(CONE._replace(leak_gap=3e-6)) == pytest.approx(5e-6, rel=1e-12)
    assert table_origin(CONE._replace(roughness=1e-3)) == pytest.approx(0.02 * CONE.contact_radius, rel=1e-12)


def test_a_film_that_is_torn_open_does_not_pull():
    """Without its own part S is that of the rest with the cross term, far less at a closing gap."""
    lift = np.array([1e-6])
    coming, leaving = (
        resistance_of(CONE._replace(family="tabulated"), lift, way).S[0] for way in (False, True)
    )
    assert leaving < 0.02 * coming
    assert resistance_of(CONE._replace(family="tabulated"), lift).S[0] == coming
    for check in (EDGE, EDGE._replace(family="tabulated")):
        assert resistance_of(check, lift, True).S[0] == resistance_of(check, lift).S[0]
