"""A liquid's law as the tables by which the core knows it (M9): viscosity over shear rate, over stress, and
what a pipe makes of it."""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.cubic import spline
from balltravel.core.rheology import INTERVALS, Rheology, is_newtonian

Array = NDArray[np.float64]

LAST_RATE = 1e7
"""Shear rate [1/s] up to which a liquid is tabulated; beyond, its viscosity stays."""

LEAST_RISE = 1e-9
"""In a logarithm, between two points of an inverse function."""

UNBLUNTED = 1e-4
"""A floor, over that of the table, at which a law is as good as not blunted."""

BELOW, FINE = 12.0, 3000
"""How far below the floor, in ln rate, and with how many points a pipe's profile is integrated."""


def _tabulated(
    values: Callable[[Array], Array],
    floor: float,
    last: float,
    yield_stress: float,
    through: Callable[[Array, Array], Array] = lambda x, eta: spline(x, eta).powers,
) -> Rheology:
    """A table of what is a function of sqrt(rate^2 + floor^2); ``through``: the powers (4, n) of the cubics
    through its points."""
    first, top = math.log(floor), math.log(last)
    x = np.linspace(first, top, INTERVALS + 1)
    step = (top - first) / INTERVALS
    eta = values(np.exp(x))
    # In powers of the place within an interval, so that none is asked for its length.
    c = through(x, eta) * step ** np.arange(3.0, -1.0, -1.0)[:, None]
    return Rheology(float(eta[0]), yield_stress, floor * floor, first, step, np.ascontiguousarray(c.T))


def tabulated(
    viscosity: Callable[[Array], Array], floor: float, yield_stress: float = 0.0, last: float = LAST_RATE
) -> Rheology:
    """A liquid whose viscosity [Pa s] is a function of the shear rate [1/s] > 0, blunted at the ``floor``
    [1/s]: viscosity(sqrt(rate^2 + floor^2)). Relative error below 1e-6 for the laws of ``flow_laws``."""
    return _tabulated(viscosity, floor, max(last, 1e3 * floor), yield_stress)


def _profile(rheology: Rheology) -> tuple[Array, Array, Array]:
    """Shear rates [1/s] from far below the floor on, the stress there, and the 8 U/d of a pipe with that rate
    at its wall: (4/tau^3) integral of tau^2 rate d tau (Rabinowitsch 1929)."""
    from scipy.interpolate import CubicSpline

    floor, first = math.sqrt(rheology.square), rheology.first
    x = np.linspace(first - BELOW, first + INTERVALS * rheology.step, FINE)
    rate = np.exp(x)
    knots = first + rheology.step * np.arange(INTERVALS + 1)
    ends = np.append(rheology.table[:, 3], rheology.table[-1].sum())
    eta = spline(knots, ends)(np.log(np.hypot(rate, floor)))
    stress = eta * rate
    # tau^3/3 rate less the integral of tau^3/3 d rate: no slope of the stress is asked for.
    part = CubicSpline(x, stress**3 * rate / 3.0).antiderivative()(x) + stress[0] ** 3 * rate[0] / 12.0
    return rate, stress, 4.0 / stress**3 * (stress**3 * rate / 3.0 - part)


def _rising(x: Array, y: Array) -> tuple[Array, Array]:
    """The points at which x, which must not fall, is larger than ever before; of a nearly plastic liquid the
    stress rises by less than a digit."""
    bins = np.floor(np.maximum.accumulate(x) / LEAST_RISE)
    keep = np.concatenate(([True], np.diff(bins) > 0.0))
    return x[keep], y[keep]


def in_pipe(viscosity: Callable[[Array], Array], floor: float, yield_stress: float = 0.0) -> Rheology:
    """Viscosity that a Newtonian liquid would need to lose as much in a pipe, over 8 U/d: laminar flow of the
    law itself, blunted only as a whole at a ``floor`` of 8 U/d [1/s]."""
    from scipy.interpolate import PchipInterpolator

    _, stress, through = _profile(tabulated(viscosity, UNBLUNTED * floor, yield_stress))
    flows = through > 0.0
    at, eta = _rising(np.log(through[flows]), np.log(stress[flows] / through[flows]))
    apparent = PchipInterpolator(at, eta)
    return _tabulated(
        lambda W: np.exp(apparent(np.clip(np.log(W), at[0], at[-1]))), floor, math.exp(at[-1]), yield_stress
    )


def by_stress(rheology: Rheology) -> Rheology:
    """Viscosity over the stress [Pa]: the same liquid asked the other way, as a first guess. Near a yield
    stress it falls by orders within an interval: there it is a guess indeed, but one that falls too."""
    if is_newtonian(rheology):
        return rheology
    from scipy.interpolate import PchipInterpolator

    rate, stress, _ = _profile(rheology)
    at, eta = _rising(np.log(stress), np.log(stress / rate))
    curve = PchipInterpolator(at, eta)
    floor = stress[0] * math.exp(0.5 * BELOW)
    return _tabulated(
        lambda tau: np.exp(curve(np.clip(np.log(tau), at[0], at[-1]))),
        floor,
        float(stress[-1]),
        0.0,
        lambda x, eta: PchipInterpolator(x, eta).c,
    )
