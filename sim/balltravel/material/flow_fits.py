"""A law of flow fitted to a rheometer's readings, with what the readings say of its parameters.

Set-up code, SI units. The law is the person's choice, of `CHARTS`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from balltravel.material.flow_laws import FlowLaw, above_zero, fitted_law, points_needed

Array = NDArray[np.float64]

STEP = 1e-30  # of a complex-step derivative, exact to rounding at any small step
UNSEEN = 1e-10  # part of the largest singular value below which a direction counts as not seen at all
SCALE = (math.log(1e-11), math.log(1e11))  # logarithm of a viscosity, consistency or onset
ABOVE_NONE = (1e-12, 1e11)  # a least viscosity [Pa s]


class _Chart(NamedTuple):
    """What a fit moves instead of a law's parameters, so that every step is a law.

    A scale by its logarithm; an exponent, a least viscosity and a yield stress as they are, so that 0 is
    within reach and the band is honest there; Casson's yield stress by its root, of which the root of the
    stress is linear. ``bend``: second derivatives of the parameters by their own coordinate that count in
    their uncertainty, where the first one vanishes at 0.
    """

    parameters: Callable[[Any], Any]
    bounds: tuple[tuple[float, float], ...]
    starts: Callable[[Array, Array], Array]
    bend: ArrayLike = 0.0


def _newtonian_starts(rate: Array, stress: Array) -> Array:
    return np.array([[np.mean(np.log(stress / rate))]])


def _power_starts(rate: Array, stress: Array) -> Array:
    exponent, scale = np.polyfit(np.log(rate), np.log(stress), 1)
    return np.array([[scale, exponent]])


def _yield_starts(rate: Array, stress: Array) -> Array:
    """Part of the least stress as yield stress, the rest a power law."""
    held = stress.min() * np.array([0.01, 0.3, 0.6, 0.9, 0.99])
    return np.array([[y, *_power_starts(rate, stress - y)[0]] for y in held])


def _casson_starts(rate: Array, stress: Array) -> Array:
    roots = np.sqrt(stress.min() * np.array([0.01, 0.3, 0.6, 0.9]))
    return np.array([[root, np.log(np.median((np.sqrt(stress) - root) ** 2 / rate))] for root in roots])


def _bounded_starts(rate: Array, stress: Array) -> Array:
    """Plateaus at, and beyond, the ends of the readings, with onsets among the rates."""
    eta = stress / rate
    grid = np.meshgrid(
        np.log(eta.max() * np.array([1.0, 3.0])),
        eta.min() * np.array([0.01, 0.5, 0.95]),
        np.linspace(math.log(rate.min()), math.log(rate.max()), 7),
        np.array([0.1, 0.35, 0.6, 0.85]),
    )
    return np.column_stack([axis.ravel() for axis in grid])


_BOUNDED = _Chart(
    lambda free: (np.exp(free[0]) + free[1], free[1], np.exp(free[2]), free[3]),
    (SCALE, ABOVE_NONE, SCALE, (0.0, 1.0)),
    _bounded_starts,
)
CHARTS = {
    "Newtonian": _Chart(lambda free: (np.exp(free[0]),), (SCALE,), _newtonian_starts),
    "power law": _Chart(lambda free: (np.exp(free[0]), free[1]), (SCALE, (0.05, 2.0)), _power_starts),
    "Herschel-Bulkley": _Chart(
        lambda free: (free[0], np.exp(free[1]), free[2]),
        ((0.0, 1e11), SCALE, (0.05, 2.0)),
        _yield_starts,
    ),
    "Casson": _Chart(
        lambda free: (free[0] ** 2, np.exp(free[1])),
        ((0.0, math.sqrt(1e11)), SCALE),
        _casson_starts,
        bend=(2.0, 0.0),
    ),
    "Carreau": _BOUNDED,
    "Cross": _BOUNDED,
}


def _over_free(function: Callable[[Any], Any], free: Array) -> Array:
    """Values of a function by the fit's coordinates, one column of slopes a coordinate, by complex steps."""
    steps = free + 1j * STEP * np.eye(free.size)
    return np.column_stack([np.imag(np.asarray(function(moved))) for moved in steps]) / STEP


@dataclass(frozen=True)
class Fitted:
    """A law fitted to readings.

    ``law``; standard ``uncertainties`` by the parameters' names, in their units; ``undetermined``: parameters
    whose standard uncertainty is as large as they or larger, which the readings do not tell; ``readings``:
    how many; ``rates``: the least and largest shear rate read [1/s], outside which the law is a guess that no
    band covers; ``scatter``: root of the reduced chi-square, how many times the stated uncertainty the
    readings lie off the law, None with no more readings than parameters; ``widened``: whether it is above 1,
    so that all uncertainties are the stated ones times it.
    """

    law: FlowLaw
    uncertainties: dict[str, float]
    undetermined: tuple[str, ...]
    readings: int
    rates: tuple[float, float]
    scatter: float | None
    widened: bool
    _free: Array = field(repr=False, compare=False)
    _factor: Array = field(repr=False, compare=False)  # times its transpose: covariance of the coordinates

    def band(self, rate: ArrayLike) -> Array:
        """Relative standard uncertainty of the viscosity at shear rates [1/s] > 0, in their shape.

        To first order in the parameters, of the readings' noise alone, as if the law were the material's.
        Raises ValueError at other rates.
        """
        return np.asarray(np.linalg.norm(self.sway(rate), axis=-1))

    def sway(self, rate: ArrayLike) -> Array:
        """How far the logarithm of the viscosity moves with each of the fit's independent unknowns by their
        standard uncertainty, along a last axis: what it has in common at two rates too. As ``band``."""
        rates = above_zero("shear rate", "1/s", rate, 10.0)
        chart = CHARTS[self.law.NAME]
        slopes = _over_free(
            lambda free: np.log(self.law.curve(rates.ravel(), chart.parameters(free))), self._free
        )
        return np.asarray((slopes @ self._factor).reshape((*rates.shape, -1)))


def _readings(
    kind: str, shear_rate: ArrayLike, readings: ArrayLike, relative_uncertainty: ArrayLike, of: str
) -> tuple[Array, Array, Array]:
    """Rates, stresses and relative uncertainties, one dimension each. Raises ValueError as `fit` says."""
    if of not in ("stress", "viscosity"):
        raise ValueError(f"readings of: got {of!r}, allowed 'stress' or 'viscosity', for example 'stress'")
    unit = "Pa" if of == "stress" else "Pa s"
    rate = above_zero("shear rate", "1/s", shear_rate, 10.0)
    read = above_zero(of, unit, readings, 100.0)
    sigma = above_zero("relative uncertainty", "1", relative_uncertainty, 0.03)
    if rate.ndim != 1 or read.shape != rate.shape or sigma.shape not in ((), rate.shape):
        raise ValueError(
            f"readings: got {rate.shape} shear rates, {read.shape} readings and {sigma.shape} uncertainties, "
            "allowed one row of each, equally long, or one uncertainty for all, for example 8, 8 and 1"
        )
    needed, different = points_needed(kind), np.unique(rate).size
    if different < needed:
        raise ValueError(
            f"{kind}: got readings at {different} shear rates, allowed {needed} or more different ones "
            f"(a rate for each parameter: {', '.join(fitted_law(kind).names())}), for example {needed + 3}"
        )
    return rate, read if of == "stress" else read * rate, np.broadcast_to(sigma, rate.shape)


def _best(chart: _Chart, residuals: Callable[[Any], Any], starts: Array) -> Array:
    """The coordinates of the least sum of squares from the three best starts."""
    from scipy.optimize import least_squares

    low, high = np.array(chart.bounds).T
    inside = np.clip(starts, low + 1e-9 * np.abs(low) + 1e-12, high - 1e-9 * np.abs(high))
    ranked = sorted(inside, key=lambda free: float(np.sum(residuals(free) ** 2)))

    def slopes(free: Any) -> Array:
        return _over_free(residuals, free)

    fits = [
        least_squares(
            residuals,
            start,
            jac=slopes,
            bounds=(low, high),
            x_scale="jac",
            ftol=1e-12,
            xtol=1e-12,
            gtol=1e-12,
        )
        for start in ranked[:3]
    ]
    return np.asarray(min(fits, key=lambda result: float(result.cost)).x)


def _factor(jacobian: Array) -> Array:
    """Root of the covariance that a Jacobian of residuals over their uncertainty gives.

    A direction that the residuals do not see gets a huge uncertainty, not none as by a pseudo-inverse.
    """
    scale = np.linalg.norm(jacobian, axis=0)
    scale[scale == 0.0] = 1.0
    _, seen, directions = np.linalg.svd(jacobian / scale, full_matrices=False)
    return np.asarray(directions.T / np.maximum(seen, UNSEEN * seen.max()) / scale[:, None])


def fit(
    kind: str,
    shear_rate: ArrayLike,
    readings: ArrayLike,
    relative_uncertainty: ArrayLike,
    *,
    of: Literal["stress", "viscosity"],
) -> Fitted:
    """Fit the law of a name to readings ``of`` stress [Pa] or viscosity [Pa s] at shear rates [1/s].

    Least squares of the logarithms over their uncertainty. All arrays of one length, or one
    ``relative_uncertainty`` (standard, above 0; as that of a logarithm, so for some tenths at most) for all.
    The shear rates count as exact. Uncertainties come from the Jacobian at the best fit, as if no bound held
    it. Where the readings lie further off than stated they are widened by the scatter; where nearer they are
    left as stated. Raises ValueError at an unknown name, a number out of range, unequal lengths, or fewer
    different shear rates than the law has parameters (`flow_laws.points_needed`).
    """
    law = fitted_law(kind)
    rate, stress, sigma = _readings(kind, shear_rate, readings, relative_uncertainty, of)
    chart, logs = CHARTS[kind], np.log(stress)

    def residuals(free: Any) -> Any:
        return (np.log(law.curve(rate, chart.parameters(free))) - logs) / sigma

    free = _best(chart, residuals, chart.starts(rate, stress))
    spare = rate.size - free.size
    scatter = math.sqrt(float(np.sum(residuals(free) ** 2)) / spare) if spare > 0 else None
    widened = scatter is not None and scatter > 1.0
    factor = _factor(_over_free(residuals, free)) * (scatter if scatter and widened else 1.0)
    values = [float(value) for value in chart.parameters(free)]
    first = np.linalg.norm(_over_free(chart.parameters, free) @ factor, axis=1)
    spread = np.hypot(first, np.asarray(chart.bend) * np.sum(factor**2, axis=1) / math.sqrt(2.0))
    names = law.names()
    return Fitted(
        law=law(*values),
        uncertainties={name: float(u) for name, u in zip(names, spread, strict=True)},
        undetermined=tuple(n for n, v, u in zip(names, values, spread, strict=True) if u >= v),
        readings=rate.size,
        rates=(float(rate.min()), float(rate.max())),
        scatter=scatter,
        widened=widened,
        _free=free,
        _factor=factor,
    )
