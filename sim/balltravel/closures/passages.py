"""The passage between ball and cage: off the axis, and between ribs. Developed flow in a straight section.

``conductance`` is c in Q = c (-dp/dx)/mu [m4]. Set-up code, not kernels.
"""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from balltravel.core.roots import root

Array = NDArray[np.float64]

CORNER_ORDER = 4.0 / 3.0
"""Order of the conductance's error at a corner of 270 degrees: twice the singularity's exponent, 2/3."""

COARSE, SLICES = 16, 60


def annulus_conductance(outer: float, inner: ArrayLike, offset: ArrayLike = 0.0) -> Array:
    """Annuli between circles [m] whose centres are ``offset`` [m] apart, 0 to outer - inner; ``inner`` and
    ``offset`` of any shapes that go together.

    Source: Piercy, Hooper and Winny (1933), from memory; its limit of touching circles is summed here by a
    trigamma function. Checked against the concentric form, a solved section and the narrow limit
    1 + 1.5 e^2. Raises ValueError outside.
    """
    a = outer
    b, e = np.broadcast_arrays(np.asarray(inner, dtype=float), np.asarray(offset, dtype=float))
    inside = (b > 0.0) & (b < a) & (e >= 0.0) & (e <= (a - b) * (1.0 + 1e-12))
    if not inside.all():
        raise ValueError(f"circles of {outer!r} and {inner!r}, {offset!r} apart: one must hold the other")
    centred, touching = e < 1e-6 * (a - b), e > (1.0 - 1e-6) * (a - b)
    missing = np.empty(b.shape)
    missing[centred] = ((a * a - b * b) ** 2 / np.log(a / b))[centred]
    missing[touching] = (4.0 * a * a * b * b)[touching] * _trigamma((a / (a - b))[touching])
    apart = ~(centred | touching)
    missing[apart] = _missing_off_axis(a, b[apart], e[apart])
    return np.asarray(math.pi / 8.0 * (a**4 - b**4 - missing))


def _missing_off_axis(a: float, b: Array, e: Array) -> Array:
    """What the flow lacks of that of the two circles apart, over pi/8 [m4], by the series of Piercy et al."""
    F = (a * a - b * b + e * e) / (2.0 * e)
    M = np.sqrt(F * F - a * a)
    # Half of ln((F + M)/(F - M)) and of ln((F - e + M)/(F - e - M)), without the small differences.
    alpha, beta = np.log((F + M) / a), np.log((F - e + M) / b)
    series, n = np.zeros(b.shape), 0
    more = np.arange(b.size)
    while more.size:
        # n exp(-n (beta + alpha))/sinh(n (beta - alpha)), without overflow, until nothing comes to it
        n += 1
        wide, near = beta[more], (beta - alpha)[more]
        term = 2.0 * n * np.exp(-2.0 * n * wide) / -np.expm1(-2.0 * n * near)
        series[more] += term
        more = more[term > 1e-17 * series[more]]
    return np.asarray(4.0 * (e * M) ** 2 * (1.0 / (beta - alpha) + 2.0 * series))


def _trigamma(x: Array) -> Array:
    if not x.size:
        return x
    from scipy.special import polygamma

    return np.asarray(polygamma(1, x))


def off_axis_gain(ball: float, cage: float, offset: ArrayLike) -> Array:
    """How many times more passes a ball [radius, m] off the axis of its cage than on it, at equal pressure,
    at offsets [m].

    The sections of the ball in series, each an eccentric annulus, as if pressure were even around each: an
    upper bound (Rayleigh), at a narrow touching gap 2.0, where sectors that exchange nothing give 1.92. The
    annulus of the ball's largest section alone would give 2.5.
    """
    reach = ball * np.sin(np.linspace(0.0, 0.5 * math.pi, SLICES, endpoint=False))
    section = np.sqrt(ball * ball - reach * reach)
    on = 1.0 / annulus_conductance(cage, section)
    off = 1.0 / annulus_conductance(cage, section, np.asarray(offset, dtype=float)[..., None])
    return np.asarray(np.trapezoid(on, reach) / np.trapezoid(off, reach, axis=-1))


def ribbed_conductance(ball: float, guide: float, housing: float, count: int, rib_width: float) -> float:
    """Section with the ball [radius, m] inside ``count`` ribs (or the bars between windows) whose inner faces
    stand on the circle ``guide``, in a housing bore [radii, m]; ``rib_width`` [m] along the guide circle.

    Ribs have radial sides here. Poisson's equation for half of one opening in (ln r, angle), where it keeps
    its form; bilinear elements on two grids, extrapolated at the corner's order. Within 0.2 %.
    """
    half = math.pi / count
    rib = 0.5 * rib_width / guide
    if not 0.0 < ball < guide < housing or not 0.0 < rib < half:
        raise ValueError("a ball inside ribs inside a housing, with openings between the ribs")
    coarse, fine = (
        _half_opening(ball, guide, housing, half, half - rib, grid) for grid in (COARSE, 2 * COARSE)
    )
    return float(2 * count * (fine + (fine - coarse) / (2.0**CORNER_ORDER - 1.0)))


def _half_opening(ball: float, guide: float, housing: float, half: float, opening: float, grid: int) -> float:
    """Conductance of the sector from an opening's middle (angle 0) to a rib's (``half``)."""
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import spsolve

    def nodes(first: float, middle: float, last: float) -> tuple[Array, int]:
        """Nodes that crowd at the corner in the middle, equally many on both sides, and the number there."""
        near = middle - (middle - first) * np.linspace(1.0, 0.0, grid + 1) ** 1.5
        far = middle + (last - middle) * np.linspace(0.0, 1.0, grid + 1) ** 1.5
        return np.concatenate((near, far[1:])), grid

    rho, at_guide = nodes(math.log(ball), math.log(guide), math.log(housing))
    angle, at_rib = nodes(0.0, opening, half)
    inside = np.ones((rho.size - 1, angle.size - 1), dtype=bool)
    inside[at_guide:, at_rib:] = False
    number = np.arange(rho.size * angle.size).reshape(rho.size, angle.size)
    i, j = np.nonzero(inside)
    dr, da = np.diff(rho)[i], np.diff(angle)[j]
    corners = np.stack([number[i, j], number[i + 1, j], number[i, j + 1], number[i + 1, j + 1]])
    stiff = _bilinear(da / dr, dr / da)
    # The source r^2 is exact in angle and by the trapezoidal rule in ln r.
    load = np.exp(2.0 * rho)[np.stack([i, i + 1, i, i + 1])] * (0.25 * dr * da)
    rows, columns = np.repeat(corners, 4, axis=0), np.tile(corners, (4, 1))
    size = number.size
    K = csc_matrix((stiff.reshape(16, -1).ravel(), (rows.ravel(), columns.ravel())), shape=(size, size))
    f = np.bincount(corners.ravel(), load.ravel(), size)
    still = np.zeros(number.shape, dtype=bool)
    still[0], still[-1], still[at_guide:, at_rib:] = True, True, True
    free = np.flatnonzero(~still.ravel())
    u = spsolve(K[free][:, free], f[free])
    return float(u @ f[free])


def _bilinear(across: Array, along: Array) -> Array:
    """Element matrices (4, 4, n) of the Laplacian on rectangles; ``across``, ``along``: their side ratios."""
    first = np.array([[1.0, -1.0], [-1.0, 1.0]])
    mass = np.array([[2.0, 1.0], [1.0, 2.0]]) / 6.0
    return np.kron(mass, first)[:, :, None] * across + np.kron(first, mass)[:, :, None] * along


def equivalent_radius(conductance: float, ball: float) -> float:
    """Radius [m] of the plain bore that passes as much around the ball [radius, m] on its axis."""

    def excess(ratio: float) -> float:
        return float(annulus_conductance(ball * ratio, ball)) / conductance - 1.0

    top = 2.0
    while excess(top) < 0.0:
        top *= 2.0
    return ball * float(root(excess, 1.0 + 1e-6, top, xtol=1e-12))


@lru_cache(maxsize=1024)
def ribbed_equivalent(ball: float, guide: float, housing: float, count: int, rib_width: float) -> float:
    """Radius [m] of the plain bore that passes as much around the ball as the openings between the ribs."""
    # At least what the circle inside the ribs lets through alone.
    least = float(annulus_conductance(guide, ball))
    return equivalent_radius(max(ribbed_conductance(ball, guide, housing, count, rib_width), least), ball)
