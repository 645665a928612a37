"""The flow through a ball check and its force on the ball (M5), in mixed form: regular down to lift 0."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from balltravel.core.lift import Place, cubic, place_of, shape_at
from balltravel.core.parameters import (
    BACKWARD,
    CONDUCTANCE,
    FORWARD,
    LIFT_FORCE,
    OFFSET,
    SHEAR_OF_BALL,
    SHEAR_OF_FLOW,
    Check,
    Material,
)
from balltravel.core.rheology import flow_curve
from balltravel.jit import kernel

TURBULENT = 1000.0
"""Reynolds number of the seat bore at which the loss lies halfway between that of the laminar solves and the
published turbulent one (M5h; our choice)."""

MOST_TURNS = 60
"""Steps at most towards the viscosity of a liquid whose viscosity depends on the flow it lets pass."""


@dataclass
class Law:
    """Flow [m3/s] and upward force on the ball [N] with their derivatives by pressure drop, lift and speed;
    filled by :func:`law`, as a record. ``eta`` [Pa s]: the viscosity there."""

    eta: float = 0.0
    flow: float = 0.0
    flow_dp: float = 0.0
    flow_z: float = 0.0
    flow_w: float = 0.0
    force: float = 0.0
    force_dp: float = 0.0
    force_z: float = 0.0
    force_w: float = 0.0


class Terms(NamedTuple):
    """What the law is made of at a lift, whatever flows: gap, s = G/gap, alpha, S, e = (alpha - kappa)/gap
    and the lift force's coefficient, with their slopes [1/m]."""

    gap: float
    gap_z: float
    s: float
    s_z: float
    alpha: float
    alpha_z: float
    S: float
    S_z: float
    e: float
    e_z: float
    lift: float
    lift_z: float


class Loss(NamedTuple):
    """Loss coefficients times gap^2 in one direction, laminar and turbulent, and the Reynolds number of
    onset, with slopes [1/m]."""

    laminar: float
    laminar_z: float
    turbulent: float
    turbulent_z: float
    onset: float
    onset_z: float


class Flow(NamedTuple):
    """The flow past the ball, q = gap Y, at a viscosity, and what its derivatives need (M5c)."""

    coefficients: Loss
    head: float
    eta: float
    b: float
    first: float
    first_root: float
    reynolds: float
    k: float
    k_z: float
    k_R: float
    Y: float
    root: float
    loss: float


@kernel
def terms_at(check: Check, place: Place, z: float, w: float) -> Terms:
    """The law's terms at a place of the table. Where no force was measured kappa = alpha + S G/alpha: the
    flow past a freely carried ball."""
    h = shape_at(check, place, z, w)
    g, g_z = cubic(check, place, CONDUCTANCE)
    s, s_z = g * h.gap, g_z * h.gap + g * h.gap_z
    if check.measured_force == 0.0:
        ratio = h.S / h.alpha
        ratio_z = (h.S_z - ratio * h.alpha_z) / h.alpha
        e, e_z, lift, lift_z = -ratio * s, -ratio_z * s - ratio * s_z, 0.0, 0.0
    else:
        e, e_z = cubic(check, place, OFFSET)
        lift, lift_z = cubic(check, place, LIFT_FORCE)
    return Terms(h.gap, h.gap_z, s, s_z, h.alpha, h.alpha_z, h.S, h.S_z, e, e_z, lift, lift_z)


@kernel
def loss_at(check: Check, place: Place, forward: bool) -> Loss:
    """Loss coefficients for a flow in the open direction of the check, or back."""
    first = FORWARD if forward else BACKWARD
    laminar, laminar_z = cubic(check, place, first)
    turbulent, turbulent_z = cubic(check, place, first + 1)
    onset, onset_z = cubic(check, place, first + 2)
    return Loss(laminar, laminar_z, turbulent, turbulent_z, onset, onset_z)


@kernel
def rooted(a: float, sk: float, N: float) -> tuple[float, float]:
    """Y with a Y + sk Y|Y| = N, and the slope of the left side there; smooth at N = 0, since a > 0."""
    # Below the seat sk may be slightly negative, for a trial step.
    root = math.sqrt(max(a * a + 4.0 * sk * abs(N), 0.01 * a * a))
    return 2.0 * N / (a + root), root


@kernel
def flow_past(check: Check, density: float, place: Place, m: Terms, eta: float, w: float, dp: float) -> Flow:
    """The flow past the ball at a viscosity (M5c): once with the laminar coefficient, which gives the
    Reynolds number, and then with the coefficient at that Reynolds number (M5h)."""
    r = check.seat_radius
    area = math.pi * r * r
    head = density / (2.0 * area * area)
    a, b = eta / r**3, m.e * r * r * w
    N = m.s * dp + a * b
    loss = loss_at(check, place, N >= 0.0)
    first, first_root = rooted(a, m.s * head * loss.laminar, N)
    # Of the gap's sign, so that the law goes on smoothly below the seat.
    R = 2.0 * density * m.gap * abs(first) / (math.pi * r * eta)
    late = R * R / (R * R + TURBULENT * TURBULENT)
    late_R = 2.0 * R * TURBULENT * TURBULENT / (R * R + TURBULENT * TURBULENT) ** 2
    on, on_R, on_0 = 1.0, 0.0, 0.0
    if loss.onset > 0.0:
        far = math.sqrt(R * R + loss.onset * loss.onset)
        on, on_R, on_0 = R / far, loss.onset * loss.onset / far**3, -R * loss.onset / far**3
    more = loss.turbulent - loss.laminar
    level = loss.laminar + more * late
    level_z = loss.laminar_z + (loss.turbulent_z - loss.laminar_z) * late
    k = head * level * on
    k_z = head * (level_z * on + level * on_0 * loss.onset_z)
    k_R = head * (more * late_R * on + level * on_R)
    Y, root = rooted(a, m.s * k, N)
    return Flow(loss, head, eta, b, first, first_root, R, k, k_z, k_R, Y, root, k * Y * abs(Y))


class Slopes(NamedTuple):
    """How the flow past the ball (Y) and the pressure it loses (f) change with the drive N, with lift and
    with viscosity, each with the other two held."""

    Y_N: float
    f_N: float
    Y_z: float
    f_z: float
    Y_eta: float
    f_eta: float


@kernel
def slopes_of(check: Check, density: float, m: Terms, f: Flow, w: float, dp: float) -> Slopes:
    """Slopes of the flow past the ball; those by lift with what the drive changes in it."""
    r = check.seat_radius
    loss = f.coefficients
    per_first, per_root = 1.0 / f.first_root, 1.0 / f.root
    first2, square, twice = f.first * abs(f.first), f.Y * abs(f.Y), 2.0 * f.k * abs(f.Y)
    turn = math.copysign(2.0 * density / (math.pi * r * f.eta), f.first)
    k_N = f.k_R * turn * m.gap * per_first
    Y_N = (1.0 - m.s * k_N * square) * per_root
    head = f.head
    k1, k1_z = head * loss.laminar, head * loss.laminar_z
    N_z = m.s_z * dp + f.eta / r * m.e_z * w
    first_z = (N_z - (m.s_z * k1 + m.s * k1_z) * first2) * per_first
    k_z = f.k_z + f.k_R * turn * (m.gap_z * f.first + m.gap * first_z)
    Y_z = (N_z - (m.s_z * f.k + m.s * k_z) * square) * per_root
    a_eta = 1.0 / r**3
    N_eta = a_eta * f.b
    first_eta = (N_eta - a_eta * f.first) * per_first
    k_eta = f.k_R * (turn * m.gap * first_eta - f.reynolds / f.eta)
    Y_eta = (N_eta - a_eta * f.Y - m.s * k_eta * square) * per_root
    return Slopes(
        Y_N,
        k_N * square + twice * Y_N,
        Y_z,
        k_z * square + twice * Y_z,
        Y_eta,
        k_eta * square + twice * Y_eta,
    )


class Shear(NamedTuple):
    """Shear rate [1/s] at which the material's viscosity counts, and what its derivatives need: the flow's
    and the ball's share, and both shares' factors with their slopes (M9a)."""

    rate: float
    of_flow: float
    of_ball: float
    flow_factor: float
    flow_factor_z: float
    ball_factor: float
    ball_factor_z: float


@kernel
def shear_at(check: Check, place: Place, f: Flow, w: float, dp: float) -> Shear:
    """rate^2 = (k_q y/r^3)^2 + (k_w w/r)^2 with y = G (dp - loss) r^3/eta the flow that viscosity would let
    pass a ball at rest, ``f`` (M9a)."""
    flow_factor, flow_factor_z = cubic(check, place, SHEAR_OF_FLOW)
    ball_factor, ball_factor_z = cubic(check, place, SHEAR_OF_BALL)
    of_flow = flow_factor * (dp - f.loss) / f.eta
    of_ball = ball_factor * w / check.seat_radius
    rate = math.sqrt(of_flow * of_flow + of_ball * of_ball)
    return Shear(rate, of_flow, of_ball, flow_factor, flow_factor_z, ball_factor, ball_factor_z)


@kernel
def first_viscosity(check: Check, material: Material, place: Place, f: Flow, w: float, dp: float) -> float:
    """A guess from the flow at the viscosity at rest: a power law above the onset takes the same stress at a
    higher rate."""
    h = shear_at(check, place, f, w, dp)
    over = abs(h.of_flow) / material.rheology.onset
    if over > 1.0:
        over = math.pow(over, 1.0 / material.rheology.exponent)
    rate = math.hypot(over * material.rheology.onset, h.of_ball)
    return flow_curve(material.rheology, rate, material.temperature)[0]


@kernel
def thinned(check: Check, material: Material, place: Place, m: Terms, w: float, dp: float) -> Flow:
    """The flow past a ball at rest at the viscosity that flow and ball bring about: Newton's method in ln
    eta, between bounds. The mismatch rises with ln eta at a slope between the flow curve's exponent and 1, so
    that there is one root."""
    eta, _ = flow_curve(material.rheology, 0.0, material.temperature)
    high = math.log(eta) + 1e-9
    low = high - 60.0
    f = flow_past(check, material.density, place, m, eta, 0.0, dp)
    x = math.log(first_viscosity(check, material, place, f, w, dp))
    f = flow_past(check, material.density, place, m, math.exp(x), 0.0, dp)
    for _ in range(MOST_TURNS):
        h = shear_at(check, place, f, w, dp)
        curve, curve_slope = flow_curve(material.rheology, h.rate, material.temperature)
        off = x - math.log(curve)
        if off > 0.0:
            high = x
        else:
            low = x
        d = slopes_of(check, material.density, m, f, 0.0, dp)
        rate_eta = -h.of_flow * (h.flow_factor * d.f_eta + h.of_flow) / (f.eta * max(h.rate, 1e-300))
        step = off / max(1.0 - curve_slope * rate_eta * f.eta / curve, 1e-3)
        x = x - step
        # It converges quadratically: after a step of 1e-7 nothing is left of it.
        done = abs(step) < 1e-7
        if not done and not low < x < high:
            x = max(0.5 * (low + high), high - 5.0)
        f = flow_past(check, material.density, place, m, math.exp(x), 0.0, dp)
        if done:
            break
    return f


@kernel
def law(check: Check, material: Material, z: float, w: float, dp: float, out: Law) -> None:
    """Flow, force and their derivatives into ``out``, at lift [m], ball speed [m/s] and drop [Pa] (M5)."""
    law_at(check, material, place_of(check, z), z, w, dp, True, out)


@kernel
def law_at(
    check: Check, material: Material, place: Place, z: float, w: float, dp: float, slopes: bool, out: Law
) -> None:
    """Flow and force into ``out``, at lift [m], ball speed [m/s] and pressure drop [Pa] (M5b to M5d); their
    derivatives too if ``slopes`` are asked for.

    With y the flow that viscosity lets pass and q = y + (alpha - kappa) r^2 w = gap Y that which loses head,

        dp = eta y/(G r^3) + k Y|Y|
        Q = y + alpha r^2 w
        F = alpha r^2 (dp - k Y|Y|) + kappa r^2 k Y|Y| - eta S r w + rho/(2 A) K_L q^2

    so that dp Q - (F - lift force) w is a sum of positive terms. ``material``: its rheology and density.
    """
    r = check.seat_radius
    area = math.pi * r * r
    m = terms_at(check, place, z, w)
    newtonian = material.rheology.exponent == 1.0 and material.rheology.yield_stress == 0.0
    eta = material.rheology.viscosity
    if not newtonian:
        at_rest = thinned(check, material, place, m, w, dp)
        eta = at_rest.eta
    f = flow_past(check, material.density, place, m, eta, w, dp)
    out.eta = f.eta
    lifted = 0.5 * material.density / area * m.lift * m.gap * f.Y * f.Y
    passed = m.gap * m.s * (dp - f.loss) * r**3 / f.eta if slow(check, m, f) else m.gap * (f.Y - f.b)
    out.flow = passed + m.alpha * r * r * w
    out.force = r * r * (m.alpha * dp - m.e * m.gap * f.loss) - f.eta * m.S * r * w + lifted
    if slopes:
        derivatives_of(check, material, m, f, w, dp, out)
        if not newtonian:
            with_viscosity(check, material, place, m, f, at_rest, w, dp, out)


@kernel
def slow(check: Check, m: Terms, f: Flow) -> bool:
    """Whether viscosity takes more than inertia: then the flow y that it lets pass is taken from the pressure
    left to it, else from the whole flow; of the two differences the one that loses fewer digits."""
    return m.s * f.k * abs(f.Y) < f.eta / check.seat_radius**3


@kernel
def derivatives_of(
    check: Check, material: Material, m: Terms, f: Flow, w: float, dp: float, out: Law
) -> None:
    """Derivatives of flow and force by pressure drop, lift and speed at a viscosity."""
    r = check.seat_radius
    d = slopes_of(check, material.density, m, f, w, dp)
    turned, lifted = r * r * m.e * m.gap, 2.0 * f.head * math.pi * r * r * m.lift * m.gap * f.Y
    b_w = m.e * r * r
    N_w = f.eta / r * m.e
    passed_N, passed_z = m.gap * d.Y_N, m.gap_z * (f.Y - f.b) + m.gap * (d.Y_z - m.e_z * r * r * w)
    passed_w = m.gap * (d.Y_N * N_w - b_w)
    if slow(check, m, f):
        per = r**3 / f.eta
        passed_z = per * ((m.s_z * m.gap + m.s * m.gap_z) * (dp - f.loss) - m.s * m.gap * d.f_z)
        passed_w = -per * m.s * m.gap * d.f_N * N_w
    out.flow_dp = passed_N * m.s
    out.force_dp = m.alpha * r * r + (lifted * d.Y_N - turned * d.f_N) * m.s
    out.flow_w = passed_w + m.alpha * r * r
    out.force_w = (lifted * d.Y_N - turned * d.f_N) * N_w - r * f.eta * m.S
    out.flow_z = passed_z + m.alpha_z * r * r * w
    shift = (m.e_z * m.gap + m.e * m.gap_z) * f.loss
    lifted_z = f.head * math.pi * r * r * (m.lift_z * m.gap + m.lift * m.gap_z) * f.Y * f.Y
    out.force_z = r * r * (m.alpha_z * dp - shift) - turned * d.f_z - f.eta * m.S_z * r * w
    out.force_z += lifted_z + lifted * d.Y_z


@kernel
def with_viscosity(
    check: Check,
    material: Material,
    place: Place,
    m: Terms,
    f: Flow,
    at_rest: Flow,
    w: float,
    dp: float,
    out: Law,
) -> None:
    """The same with what drop, lift and speed change in the viscosity, by the flow past a ball at rest."""
    r = check.seat_radius
    d = slopes_of(check, material.density, m, f, w, dp)
    d0 = slopes_of(check, material.density, m, at_rest, 0.0, dp)
    turned, lifted = r * r * m.e * m.gap, 2.0 * f.head * math.pi * r * r * m.lift * m.gap * f.Y
    h = shear_at(check, place, at_rest, w, dp)
    _, slope = flow_curve(material.rheology, h.rate, material.temperature)
    per_rate = 1.0 / max(h.rate, 1e-300)
    by_flow = h.of_flow * per_rate * h.flow_factor / f.eta
    rate_eta = -by_flow * (d0.f_eta + h.of_flow / h.flow_factor)
    # How viscosity answers: d eta = slope (rate_x dx + rate_eta d eta).
    answer = slope / (1.0 - slope * rate_eta)
    own_z = h.of_flow * h.flow_factor_z * (dp - at_rest.loss) / f.eta + h.of_ball * h.ball_factor_z * w / r
    eta_dp = answer * by_flow * (1.0 - d0.f_N * m.s)
    eta_z = answer * (own_z * per_rate - by_flow * d0.f_z)
    eta_w = answer * h.of_ball * per_rate * h.ball_factor / r
    flow_eta, force_eta = m.gap * d.Y_eta, lifted * d.Y_eta - turned * d.f_eta - m.S * r * w
    out.flow_dp, out.force_dp = out.flow_dp + flow_eta * eta_dp, out.force_dp + force_eta * eta_dp
    out.flow_z, out.force_z = out.flow_z + flow_eta * eta_z, out.force_z + force_eta * eta_z
    out.flow_w, out.force_w = out.flow_w + flow_eta * eta_w, out.force_w + force_eta * eta_w
