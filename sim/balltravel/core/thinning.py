"""Viscosities at the edge and in the cage of a check, for a liquid whose viscosity depends on its shear rate
(M9a).

Edge and cage (with the bores) are resistances in series, each with the viscosity of its own shear rates. The
constants are fits to own solves (docs/closures.md, shear thinning).
"""

import math
from typing import NamedTuple

from balltravel.core.inertia import Stream, coefficient_at, loss_at
from balltravel.core.jit import kernel
from balltravel.core.lift import TablePlace, cubic
from balltravel.core.parameters import (
    BACKWARD,
    CAGE,
    CAGE_ALPHA,
    CAGE_RATE,
    CAGE_SECOND,
    CAGE_SLIP,
    CONDUCTANCE,
    EDGE_RATE,
    EDGE_SECOND,
    FORWARD,
    Check,
    Material,
)
from balltravel.core.rheology import Rheology, at_square

EDGE_SHARE, CAGE_SHARE = 0.819, 0.938
"""Share of the loss at the edge, and in the cage, that is sheared at the first of its two rates."""

JET_SHARE = 0.35
"""The same of the jet behind the edge: what its Reynolds number is made of."""

EDGE_BALL, CAGE_BALL = 1.765, 0.998
"""Shear rate by the ball's own motion, over its speed by its radius."""

MOST_TURNS = 100
"""Steps at most towards the flow; bisection alone would need fewer."""

LAST_STEP = 1e-5
"""Step over flow after which, it converging quadratically, nothing that counts is left (1e-10)."""


class Cage(NamedTuple):
    """The cage with the bores as a resistance in creeping flow, lengths in seat radii: R G/gap^2, alpha, S;
    with their slopes by lift [1/m]."""

    R: float
    R_z: float
    alpha: float
    alpha_z: float
    S: float
    S_z: float


class Mean(NamedTuple):
    """A mean viscosity with its slopes by the flow (over its rate), by what makes a rate of it, by the second
    rate's share of the first, and by the ball's rate."""

    eta: float
    by_flow: float
    by_rate: float
    by_second: float
    by_ball: float


class Viscosities(NamedTuple):
    """Viscosity at the edge [Pa s], that in the cage and that of the jet, with their derivatives by pressure
    drop, lift and ball speed."""

    edge: float
    edge_dp: float
    edge_z: float
    edge_w: float
    cage: float
    cage_dp: float
    cage_z: float
    cage_w: float
    jet: float
    jet_dp: float
    jet_z: float
    jet_w: float


class Pair(NamedTuple):
    """Viscosities at two shear rates with their slopes by the rates' squares."""

    first: float
    first_by: float
    second: float
    second_by: float


@kernel
def cage_at(check: Check, place: TablePlace) -> Cage:
    """The cage's part of the resistance at a place of the table."""
    R, R_z = cubic(check, place, CAGE)
    alpha, alpha_z = cubic(check, place, CAGE_ALPHA)
    S, S_z = cubic(check, place, CAGE_SLIP)
    return Cage(R, R_z, alpha, alpha_z, S, S_z)


@kernel
def pair_at(rheology: Rheology, rate: float, second: float, flow: float, ball: float) -> Pair:
    """Viscosities at hypot(rate flow, ball) and at hypot(second rate flow, ball)."""
    square = rate * flow * (rate * flow)
    at_first, first_by = at_square(rheology, square + ball * ball)
    at_second, second_by = at_square(rheology, second * second * square + ball * ball)
    return Pair(at_first, first_by, at_second, second_by)


@kernel
def mean_of(pair: Pair, share: float, rate: float, second: float, flow: float, ball: float) -> Mean:
    """Mean of both viscosities, of which the first has a share."""
    of_flow = rate * flow
    square, less = of_flow * of_flow, second * second
    by_square = share * pair.first_by + (1.0 - share) * less * pair.second_by
    return Mean(
        share * pair.first + (1.0 - share) * pair.second,
        2.0 * of_flow * rate * by_square,
        2.0 * of_flow * flow * by_square,
        2.0 * (1.0 - share) * second * square * pair.second_by,
        2.0 * ball * (share * pair.first_by + (1.0 - share) * pair.second_by),
    )


class Rates(NamedTuple):
    """What makes shear rates of flows, at edge and cage, with slopes by lift [1/m]."""

    edge: float
    edge_z: float
    edge_second: float
    edge_second_z: float
    cage: float
    cage_z: float
    cage_second: float
    cage_second_z: float


@kernel
def rates_at(check: Check, place: TablePlace) -> Rates:
    """The rates at a place of the table."""
    edge, edge_z = cubic(check, place, EDGE_RATE)
    edge_second, edge_second_z = cubic(check, place, EDGE_SECOND)
    cage, cage_z = cubic(check, place, CAGE_RATE)
    cage_second, cage_second_z = cubic(check, place, CAGE_SECOND)
    return Rates(edge, edge_z, edge_second, edge_second_z, cage, cage_z, cage_second, cage_second_z)


class Series(NamedTuple):
    """Edge and cage in series at a lift and a ball speed (over the seat radius: W [1/s]), slopes by lift:
    gap, g = G/gap^2, the edge's share of the loss, the differences of alpha that make flows of W:
    (alpha_edge - kappa)/gap and alpha_edge - alpha_cage, and what a squeezed stream takes (M6b)."""

    W: float
    gap: float
    gap_z: float
    g: float
    g_z: float
    share: float
    share_z: float
    past: float
    past_z: float
    over: float
    over_z: float
    stream: Stream


@kernel
def series_at(
    check: Check,
    place: TablePlace,
    cage: Cage,
    gap: float,
    gap_z: float,
    alpha: float,
    alpha_z: float,
    e: float,
    e_z: float,
    w: float,
    stream: Stream,
) -> Series:
    """The series from the check's own gap, alpha and e = (alpha - kappa)/gap."""
    g, g_z = cubic(check, place, CONDUCTANCE)
    of_cage, of_cage_z = cage.R * gap * gap, (cage.R_z * gap + 2.0 * cage.R * gap_z) * gap
    share, share_z = 1.0 - of_cage, -of_cage_z
    off, off_z = alpha - cage.alpha, alpha_z - cage.alpha_z
    over, over_z = off / share, (off_z - off / share * share_z) / share
    past = e + cage.R * gap * over
    past_z = e_z + (cage.R_z * gap + cage.R * gap_z) * over + cage.R * gap * over_z
    W = w / check.seat_radius
    return Series(W, gap, gap_z, g, g_z, share, share_z, past, past_z, over, over_z, stream)


class Head(NamedTuple):
    """Pressure that the flow past the ball loses by inertia, times G/gap^2, with its slopes by that flow, by
    the viscosities at the edge and of the jet, by lift and by what a squeezed stream takes, each with the
    others held."""

    lost: float
    by_Y: float
    by_edge: float
    by_jet: float
    by_lift: float
    by_R: float


class Balance(NamedTuple):
    """The pressures in series at a flow U = y_edge/(gap^2 r^3) [1/s], over what is missing of the drop, times
    G/gap^2: with its slope by U, and what the slopes by lift and speed are made of."""

    missing: float
    missing_U: float
    edge: Mean
    cage: Mean
    jet: Mean
    through_cage: float
    head: Head


@kernel
def head_at(
    check: Check, material: Material, place: TablePlace, s: Series, Y: float, edge: float, jet: float
) -> Head:
    """At a flow past the ball q = gap Y, with the loss coefficient at its Reynolds number (M5h)."""
    area = math.pi * check.seat_radius * check.seat_radius
    turn = 2.0 * material.density * abs(Y) / (math.pi * check.seat_radius * jet)
    R = turn * s.gap
    loss = loss_at(check, place, s.gap, s.gap_z, jet / edge, Y >= 0.0)
    c = coefficient_at(loss, 0.5 * material.density / (area * area), R)
    square, taken = s.g * Y * abs(Y), s.g * s.gap * s.stream.R
    return Head(
        c.k * square + taken * Y,
        s.g * abs(Y) * (2.0 * c.k + c.k_R * R) + taken,
        -c.k_J * jet / (edge * edge) * square,
        (c.k_J / edge - c.k_R * R / jet) * square,
        (c.k_z + c.k_R * turn * s.gap_z) * square + s.g * (s.gap_z * s.stream.R + s.gap * s.stream.R_z) * Y,
        s.g * s.gap * Y,
    )


@kernel
def balance(
    check: Check, material: Material, place: TablePlace, c: Cage, s: Series, r: Rates, dp: float, U: float
) -> Balance:
    """eta_e U share + R eta_c y_c + g (f - dp), which rises with U."""
    turn = check.seat_radius / check.ball_radius * s.W
    pair = pair_at(material.rheology, r.edge, r.edge_second, U, EDGE_BALL * turn)
    edge = mean_of(pair, EDGE_SHARE, r.edge, r.edge_second, U, EDGE_BALL * turn)
    jet = mean_of(pair, JET_SHARE, r.edge, r.edge_second, U, EDGE_BALL * turn)
    y = s.gap * s.gap * U + s.over * s.W
    inner = pair_at(material.rheology, r.cage, r.cage_second, y, CAGE_BALL * turn)
    cage = mean_of(inner, CAGE_SHARE, r.cage, r.cage_second, y, CAGE_BALL * turn)
    Y = check.seat_radius**3 * (s.gap * U + s.past * s.W)
    head = head_at(check, material, place, s, Y, edge.eta, jet.eta)
    missing = edge.eta * U * s.share + c.R * cage.eta * y + (head.lost - s.g * dp)
    slope = s.share * (edge.eta + U * edge.by_flow)
    slope += c.R * s.gap * s.gap * (cage.eta + y * cage.by_flow)
    slope += head.by_Y * check.seat_radius**3 * s.gap
    slope += head.by_edge * edge.by_flow + head.by_jet * jet.by_flow
    return Balance(missing, slope, edge, cage, jet, y, head)


@kernel
def guess_of(check: Check, material: Material, place: TablePlace, s: Series, r: Rates, dp: float) -> float:
    """A flow to begin with: half the harmonic mean of what the edge's viscosity would let pass at that stress
    and of what inertia would."""
    stress = r.edge * s.g * dp
    viscous = s.g * abs(dp) / at_square(material.by_stress, stress * stress)[0]
    r_s, W = check.seat_radius, abs(s.past * s.W)
    level, _ = cubic(check, place, FORWARD if dp >= 0.0 else BACKWARD)
    k = 0.5 * material.density * level / (math.pi * r_s * r_s) ** 2
    jet = (math.sqrt(abs(dp) / k) / r_s**3 + W) / max(s.gap, 1e-12)
    return math.copysign(viscous * jet / (viscous + jet + 1e-300), dp)


@kernel
def flow_of(
    check: Check, material: Material, place: TablePlace, c: Cage, s: Series, r: Rates, dp: float
) -> Balance:
    """The balance at the flow where nothing is missing, by Newton's method between bounds. Returned with the
    flow in ``missing``."""
    U = guess_of(check, material, place, s, r, dp)
    turn = check.seat_radius / check.ball_radius * s.W
    low, high, before = -math.inf, math.inf, math.inf
    b = balance(check, material, place, c, s, r, dp, U)
    for _ in range(MOST_TURNS):
        if b.missing > 0.0:
            high = U
        else:
            low = U
        step = -b.missing / b.missing_U
        # Beside a fast ball the flow past it in the cage is a small difference.
        inside = r.cage * s.gap * s.gap * abs(step)
        sheared = abs(r.cage * b.through_cage) + CAGE_BALL * abs(turn)
        if (abs(step) <= LAST_STEP * abs(U) and inside <= LAST_STEP * sheared) or b.missing == 0.0:
            return last(s, b, U, step)
        # About a plug that turns, where the stress leaps, Newton's steps would go to and fro without end.
        newton = low < U + step < high and abs(step) <= 0.5 * before
        before = abs(step) if newton else math.inf
        U = U + step if newton else between(low, high, U)
        b = balance(check, material, place, c, s, r, dp, U)
    return last(s, b, U, 0.0)


@kernel
def last(s: Series, b: Balance, U: float, step: float) -> Balance:
    """The balance after a last step, along its slopes."""
    inner = s.gap * s.gap * step
    edge, cage, jet = b.edge, b.cage, b.jet
    return Balance(
        U + step,
        b.missing_U,
        Mean(edge.eta + edge.by_flow * step, edge.by_flow, edge.by_rate, edge.by_second, edge.by_ball),
        Mean(cage.eta + cage.by_flow * inner, cage.by_flow, cage.by_rate, cage.by_second, cage.by_ball),
        Mean(jet.eta + jet.by_flow * step, jet.by_flow, jet.by_rate, jet.by_second, jet.by_ball),
        b.through_cage + inner,
        b.head,
    )


@kernel
def between(low: float, high: float, U: float) -> float:
    """A flow between two bounds that may lie orders apart or have no end."""
    if high == math.inf:
        return U + max(10.0 * abs(U), 1e-6)
    if low == -math.inf:
        return U - max(10.0 * abs(U), 1e-6)
    if low > 0.0:
        return math.sqrt(low * high)
    if high < 0.0:
        return -math.sqrt(low * high)
    return 0.1 * (low + high) if low * high < 0.0 else 0.01 * (low + high)


@kernel
def viscosities(
    check: Check, material: Material, place: TablePlace, c: Cage, s: Series, dp: float, slopes: bool
) -> Viscosities:
    """The viscosities, with derivatives by the implicit function if ``slopes`` are asked for."""
    r = rates_at(check, place)
    b = flow_of(check, material, place, c, s, r, dp)
    if not slopes:
        return Viscosities(b.edge.eta, 0.0, 0.0, 0.0, b.cage.eta, 0.0, 0.0, 0.0, b.jet.eta, 0.0, 0.0, 0.0)
    U = b.missing
    # Slopes at the very flow: beside a fast ball they are differences of far larger numbers.
    return with_slopes(check, c, s, r, balance(check, material, place, c, s, r, dp, U), U)


@kernel
def with_slopes(check: Check, c: Cage, s: Series, r: Rates, b: Balance, U: float) -> Viscosities:
    """The viscosities of a balance in which nothing is missing, with derivatives."""
    y, e, cage, jet, head = b.through_cage, b.edge, b.cage, b.jet, b.head
    radius, turn = check.seat_radius, 1.0 / check.ball_radius
    by_dp = s.g / b.missing_U
    edge_w, cage_w = e.by_ball * EDGE_BALL * turn, cage.by_ball * CAGE_BALL * turn
    jet_w, y_w = jet.by_ball * EDGE_BALL * turn, s.over / radius
    missing_w = s.share * U * edge_w + c.R * ((cage.eta + y * cage.by_flow) * y_w + y * cage_w)
    missing_w += head.by_Y * radius * radius * s.past + head.by_edge * edge_w + head.by_jet * jet_w
    missing_w += head.by_R * s.stream.R_w
    by_w = -missing_w / b.missing_U
    edge_z = e.by_rate * r.edge_z + e.by_second * r.edge_second_z
    cage_z = cage.by_rate * r.cage_z + cage.by_second * r.cage_second_z
    jet_z = jet.by_rate * r.edge_z + jet.by_second * r.edge_second_z
    y_z = 2.0 * s.gap * s.gap_z * U + s.over_z * s.W
    missing_z = s.share_z * e.eta * U + s.share * U * edge_z + c.R_z * cage.eta * y
    missing_z += c.R * ((cage.eta + y * cage.by_flow) * y_z + y * cage_z)
    missing_z += (e.eta * U * s.share + c.R * cage.eta * y) * (-s.g_z / s.g)
    missing_z += head.by_Y * radius**3 * (s.gap_z * U + s.past_z * s.W)
    missing_z += head.by_edge * edge_z + head.by_jet * jet_z + head.by_lift
    by_z = -missing_z / b.missing_U
    inner = s.gap * s.gap
    return Viscosities(
        e.eta,
        e.by_flow * by_dp,
        e.by_flow * by_z + edge_z,
        e.by_flow * by_w + edge_w,
        cage.eta,
        cage.by_flow * inner * by_dp,
        cage.by_flow * (inner * by_z + y_z) + cage_z,
        cage.by_flow * (inner * by_w + y_w) + cage_w,
        jet.eta,
        jet.by_flow * by_dp,
        jet.by_flow * by_z + jet_z,
        jet.by_flow * by_w + jet_w,
    )
