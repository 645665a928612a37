"""The flow through a ball check and its force on the ball (M5), in mixed form: regular down to lift 0."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from balltravel.core.inertia import STILL, Loss, Stream, coefficient_at, loss_at
from balltravel.core.jit import kernel
from balltravel.core.lift import TablePlace, cubic, place_of, shape_at
from balltravel.core.parameters import ALPHA, CONDUCTANCE, LIFT_FORCE, OFFSET, Check, Material
from balltravel.core.thinning import Cage, Series, Viscosities, cage_at, series_at, viscosities


@dataclass
class Law:
    """Flow [m3/s] and upward force on the ball [N] with their derivatives by pressure drop, lift and speed;
    filled by :func:`law`, as a record. ``eta`` and ``cage``: the viscosities at edge and cage [Pa s]."""

    eta: float = 0.0
    cage: float = 0.0
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
    and the lift force's coefficient, with their slopes [1/m]; and what a squeezed stream takes (M6b)."""

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
    stream: Stream


class Flow(NamedTuple):
    """The flow past the ball, q = gap Y, at a viscosity and one of its jet, and what its derivatives need
    (M5c)."""

    coefficients: Loss
    head: float
    eta: float
    jet: float
    b: float
    first: float
    first_root: float
    reynolds: float
    k: float
    k_z: float
    k_R: float
    k_J: float
    Y: float
    root: float
    loss: float


@kernel
def terms_at(check: Check, place: TablePlace, z: float, w: float, stream: Stream) -> Terms:
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
    return Terms(h.gap, h.gap_z, s, s_z, h.alpha, h.alpha_z, h.S, h.S_z, e, e_z, lift, lift_z, stream)


@kernel
def rooted(a: float, sk: float, N: float) -> tuple[float, float]:
    """Y with a Y + sk Y|Y| = N, and the slope of the left side there; smooth at N = 0, since a > 0."""
    # Below the seat sk may be slightly negative, for a trial step.
    root = math.sqrt(max(a * a + 4.0 * sk * abs(N), 0.01 * a * a))
    return 2.0 * N / (a + root), root


@kernel
def flow_past(
    check: Check, density: float, place: TablePlace, m: Terms, eta: float, jet: float, w: float, dp: float
) -> Flow:
    """The flow past the ball at a viscosity (M5c): once with the laminar coefficient, which gives the
    Reynolds number by the viscosity of the jet, and then with the coefficient at that number (M5h)."""
    r = check.seat_radius
    area = math.pi * r * r
    head = density / (2.0 * area * area)
    a, b = eta / r**3, m.e * r * r * w
    N = m.s * dp + a * b
    loss = loss_at(check, place, m.gap, m.gap_z, jet / eta, N >= 0.0)
    steady = a + m.s * m.gap * m.stream.R
    first, first_root = rooted(steady, m.s * head * loss.laminar, N)
    # Of the gap's sign, so that the law goes on smoothly below the seat.
    R = 2.0 * density * m.gap * abs(first) / (math.pi * r * jet)
    c = coefficient_at(loss, head, R)
    Y, root = rooted(steady, m.s * c.k, N)
    lost = c.k * Y * abs(Y) + m.gap * m.stream.R * Y
    return Flow(loss, head, eta, jet, b, first, first_root, R, c.k, c.k_z, c.k_R, c.k_J, Y, root, lost)


class Slopes(NamedTuple):
    """How the flow past the ball (Y) and the pressure it loses (f) change with the drive N, with lift, with
    the viscosity, with that of the jet and with what a squeezed stream takes, each with the others held."""

    Y_N: float
    f_N: float
    Y_z: float
    f_z: float
    Y_eta: float
    f_eta: float
    Y_jet: float
    f_jet: float
    Y_R: float
    f_R: float


@kernel
def slopes_of(check: Check, density: float, m: Terms, f: Flow, w: float, dp: float) -> Slopes:
    """Slopes of the flow past the ball; those by lift with what the drive changes in it."""
    r = check.seat_radius
    loss = f.coefficients
    per_first, per_root = 1.0 / f.first_root, 1.0 / f.root
    first2, square = f.first * abs(f.first), f.Y * abs(f.Y)
    R = m.stream.R
    twice = 2.0 * f.k * abs(f.Y) + m.gap * R
    taken_z = m.gap_z * R + m.gap * m.stream.R_z
    more_z = (m.s_z * m.gap + m.s * m.gap_z) * R + m.s * m.gap * m.stream.R_z
    turn = math.copysign(2.0 * density / (math.pi * r * f.jet), f.first)
    k_N = f.k_R * turn * m.gap * per_first
    Y_N = (1.0 - m.s * k_N * square) * per_root
    head = f.head
    k1, k1_z = head * loss.laminar, head * loss.laminar_z
    N_z = m.s_z * dp + f.eta / r * m.e_z * w
    first_z = (N_z - (m.s_z * k1 + m.s * k1_z) * first2 - more_z * f.first) * per_first
    k_z = f.k_z + f.k_R * turn * (m.gap_z * f.first + m.gap * first_z)
    Y_z = (N_z - (m.s_z * f.k + m.s * k_z) * square - more_z * f.Y) * per_root
    a_eta = 1.0 / r**3
    N_eta = a_eta * f.b
    # The jet's viscosity over that at the edge, J, changes both losses.
    first_J = -m.s * head * loss.laminar_J * first2 * per_first
    k_J = f.k_J + f.k_R * turn * m.gap * first_J
    first_eta = (N_eta - a_eta * f.first) * per_first
    k_eta = f.k_R * turn * m.gap * first_eta - k_J * f.jet / (f.eta * f.eta)
    Y_eta = (N_eta - a_eta * f.Y - m.s * k_eta * square) * per_root
    k_jet = k_J / f.eta - f.k_R * f.reynolds / f.jet
    Y_jet = -m.s * k_jet * square * per_root
    k_stream = -f.k_R * turn * m.gap * m.s * m.gap * f.first * per_first
    Y_R = -m.s * (m.gap * f.Y + k_stream * square) * per_root
    return Slopes(
        Y_N,
        k_N * square + twice * Y_N,
        Y_z,
        k_z * square + twice * Y_z + taken_z * f.Y,
        Y_eta,
        k_eta * square + twice * Y_eta,
        Y_jet,
        k_jet * square + twice * Y_jet,
        Y_R,
        k_stream * square + twice * Y_R + m.gap * f.Y,
    )


@kernel
def law(check: Check, material: Material, z: float, w: float, dp: float, out: Law) -> None:
    """Flow, force and their derivatives into ``out``, at lift [m], ball speed [m/s] and drop [Pa], where no
    stream is squeezed (M5)."""
    law_at(check, material, place_of(check, z), z, w, dp, STILL, True, out)


@kernel
def law_at(
    check: Check,
    material: Material,
    place: TablePlace,
    z: float,
    w: float,
    dp: float,
    stream: Stream,
    slopes: bool,
    out: Law,
) -> None:
    """Flow and force into ``out``, at lift [m], ball speed [m/s] and pressure drop [Pa] (M5b to M5d); their
    derivatives too if ``slopes`` are asked for.

    With y the flow that viscosity lets pass, q = y + (alpha - kappa) r^2 w = gap Y that which loses head and
    R what a squeezed stream takes (``stream``, M6b),

        dp = eta y/(G r^3) + f,  f = k Y|Y| + R q
        Q = y + alpha r^2 w
        F = alpha r^2 (dp - f) + kappa r^2 f - eta S r w + rho/(2 A) K_L q^2

    so that dp Q - (F - lift force) w is a sum of positive terms. ``material``: its rheology and density.
    """
    if z == 0.0 and w == 0.0 and check.leak_gap == 0.0 and not slopes:
        shut(check, material, place, dp, out)
        return
    m = terms_at(check, place, z, w, stream)
    if material.rheology.step == 0.0:
        eta = material.rheology.viscosity
        f = flow_past(check, material.density, place, m, eta, eta, w, dp)
        flow_and_force(check, m, f, w, dp, out)
        out.eta = out.cage = eta
        if slopes:
            keep(derivatives_of(check, material, m, f, w, dp), out)
        return
    c = cage_at(check, place)
    s = series_at(check, place, c, m.gap, m.gap_z, m.alpha, m.alpha_z, m.e, m.e_z, w, stream)
    v = viscosities(check, material, place, c, s, dp, slopes)
    more = v.cage / v.edge - 1.0
    thin = thinned(m, c, s, more)
    f = flow_past(check, material.density, place, thin, v.edge, v.jet, w, dp)
    flow_and_force(check, thin, f, w, dp, out)
    out.eta, out.cage = v.edge, v.cage
    if slopes:
        at_rest = derivatives_of(check, material, thin, f, w, dp)
        by_more = derivatives_of(check, material, by_cage(m, thin, c, s, more), unchanged(f), w, dp)
        keep(with_viscosities(check, material, thin, f, w, dp, v, at_rest, by_more), out)


@kernel
def shut(check: Check, material: Material, place: TablePlace, dp: float, out: Law) -> None:
    """The law of a ball at rest on a sound seat, where nothing passes; for most of a cycle one of both is."""
    alpha, _ = cubic(check, place, ALPHA)
    out.eta = out.cage = material.rheology.viscosity
    out.flow, out.force = 0.0, check.seat_radius * check.seat_radius * (alpha * dp)


@kernel
def flow_and_force(check: Check, m: Terms, f: Flow, w: float, dp: float, out: Law) -> None:
    """Flow and force of the flow past the ball into ``out``."""
    r = check.seat_radius
    lifted = f.head * math.pi * r * r * m.lift * m.gap * f.Y * f.Y
    passed = m.gap * m.s * (dp - f.loss) * r**3 / f.eta if slow(check, m, f) else m.gap * (f.Y - f.b)
    out.flow = passed + m.alpha * r * r * w
    out.force = r * r * (m.alpha * dp - m.e * m.gap * f.loss) - f.eta * m.S * r * w + lifted


@kernel
def slow(check: Check, m: Terms, f: Flow) -> bool:
    """Whether viscosity takes more than inertia: then the flow y that it lets pass is taken from the pressure
    left to it, else from the whole flow; of the two differences the one that loses fewer digits."""
    return m.s * (f.k * abs(f.Y) + m.gap * m.stream.R) < f.eta / check.seat_radius**3


class Derivatives(NamedTuple):
    """Of flow and force by pressure drop, lift and ball speed."""

    flow_dp: float
    flow_z: float
    flow_w: float
    force_dp: float
    force_z: float
    force_w: float


@kernel
def keep(d: Derivatives, out: Law) -> None:
    """Derivatives into ``out``."""
    out.flow_dp, out.flow_z, out.flow_w = d.flow_dp, d.flow_z, d.flow_w
    out.force_dp, out.force_z, out.force_w = d.force_dp, d.force_z, d.force_w


@kernel
def derivatives_of(check: Check, material: Material, m: Terms, f: Flow, w: float, dp: float) -> Derivatives:
    """Derivatives of flow and force by pressure drop, lift and speed at given viscosities."""
    r = check.seat_radius
    d = slopes_of(check, material.density, m, f, w, dp)
    turned, lifted = r * r * m.e * m.gap, 2.0 * f.head * math.pi * r * r * m.lift * m.gap * f.Y
    b_w = m.e * r * r
    N_w = f.eta / r * m.e
    passed_N, passed_z = m.gap * d.Y_N, m.gap_z * (f.Y - f.b) + m.gap * (d.Y_z - m.e_z * r * r * w)
    Y_w = d.Y_N * N_w + d.Y_R * m.stream.R_w
    f_w = d.f_N * N_w + d.f_R * m.stream.R_w
    passed_w = m.gap * (Y_w - b_w)
    if slow(check, m, f):
        per = r**3 / f.eta
        passed_z = per * ((m.s_z * m.gap + m.s * m.gap_z) * (dp - f.loss) - m.s * m.gap * d.f_z)
        passed_w = -per * m.s * m.gap * f_w
    shift = (m.e_z * m.gap + m.e * m.gap_z) * f.loss
    lifted_z = f.head * math.pi * r * r * (m.lift_z * m.gap + m.lift * m.gap_z) * f.Y * f.Y
    force_z = r * r * (m.alpha_z * dp - shift) - turned * d.f_z - f.eta * m.S_z * r * w
    return Derivatives(
        passed_N * m.s,
        passed_z + m.alpha_z * r * r * w,
        passed_w + m.alpha * r * r,
        m.alpha * r * r + (lifted * d.Y_N - turned * d.f_N) * m.s,
        force_z + lifted_z + lifted * d.Y_z,
        lifted * Y_w - turned * f_w - r * f.eta * m.S,
    )


@kernel
def thinned(m: Terms, c: Cage, s: Series, more: float) -> Terms:
    """The law's terms where the cage's viscosity is that of the edge times 1 + ``more`` (M9a); slopes by lift
    at that ratio."""
    of_cage, of_cage_z = 1.0 - s.share, -s.share_z
    whole, whole_z = 1.0 + more * of_cage, more * of_cage_z
    off, off_z = c.alpha - m.alpha, c.alpha_z - m.alpha_z
    shift = more * off / whole
    shift_z = (more * off_z - shift * whole_z) / whole
    R, R_z = c.R * m.gap, c.R_z * m.gap + c.R * m.gap_z
    cross = c.R / s.g * off * off
    cross_z = (c.R_z - c.R * s.g_z / s.g) / s.g * off * off + 2.0 * c.R / s.g * off * off_z
    return Terms(
        m.gap,
        m.gap_z,
        m.s / whole,
        (m.s_z - m.s / whole * whole_z) / whole,
        m.alpha + shift * of_cage,
        m.alpha_z + shift_z * of_cage + shift * of_cage_z,
        m.S + more * (c.S + cross / whole),
        m.S_z + more * (c.S_z + (cross_z - cross / whole * whole_z) / whole),
        m.e + shift * R,
        m.e_z + shift_z * R + shift * R_z,
        m.lift,
        m.lift_z,
        m.stream,
    )


@kernel
def by_cage(m: Terms, thin: Terms, c: Cage, s: Series, more: float) -> Terms:
    """The terms with their slopes by ``more`` in the place of those by lift."""
    of_cage, off = 1.0 - s.share, c.alpha - m.alpha
    whole = 1.0 + more * of_cage
    shift = off / (whole * whole)
    S_c = c.S + c.R / s.g * shift * off
    return Terms(
        thin.gap, 0.0, thin.s, -thin.s * of_cage / whole, thin.alpha, shift * of_cage, thin.S, S_c, thin.e,
        shift * c.R * m.gap, thin.lift, 0.0, Stream(thin.stream.R, 0.0, thin.stream.R_w),
    )  # fmt: skip


@kernel
def unchanged(f: Flow) -> Flow:
    """The flow with a loss that does not change."""
    k = f.coefficients
    still = Loss(k.laminar, 0.0, k.laminar_J, k.turbulent, 0.0, k.onset, 0.0)
    return Flow(
        still, f.head, f.eta, f.jet, f.b, f.first, f.first_root, f.reynolds, f.k, 0.0, f.k_R, f.k_J, f.Y,
        f.root, f.loss,
    )  # fmt: skip


@kernel
def with_viscosities(
    check: Check,
    material: Material,
    m: Terms,
    f: Flow,
    w: float,
    dp: float,
    v: Viscosities,
    still: Derivatives,
    by_more: Derivatives,
) -> Derivatives:
    """The derivatives with what drop, lift and speed change in the viscosities; ``still`` at given ones,
    ``by_more`` (in the places of those by lift) by the cage's over that of the edge."""
    r = check.seat_radius
    d = slopes_of(check, material.density, m, f, w, dp)
    turned, lifted = r * r * m.e * m.gap, 2.0 * f.head * math.pi * r * r * m.lift * m.gap * f.Y
    flow_more, force_more = by_more.flow_z / v.edge, by_more.force_z / v.edge
    ratio = v.cage / v.edge
    flow_edge = m.gap * d.Y_eta - ratio * flow_more
    force_edge = lifted * d.Y_eta - turned * d.f_eta - m.S * r * w - ratio * force_more
    flow_jet, force_jet = m.gap * d.Y_jet, lifted * d.Y_jet - turned * d.f_jet
    # b = e r^2 w does not depend on the viscosity, so that the flow y changes as Y does.
    return Derivatives(
        still.flow_dp + flow_edge * v.edge_dp + flow_more * v.cage_dp + flow_jet * v.jet_dp,
        still.flow_z + flow_edge * v.edge_z + flow_more * v.cage_z + flow_jet * v.jet_z,
        still.flow_w + flow_edge * v.edge_w + flow_more * v.cage_w + flow_jet * v.jet_w,
        still.force_dp + force_edge * v.edge_dp + force_more * v.cage_dp + force_jet * v.jet_dp,
        still.force_z + force_edge * v.edge_z + force_more * v.cage_z + force_jet * v.jet_z,
        still.force_w + force_edge * v.edge_w + force_more * v.cage_w + force_jet * v.jet_w,
    )
