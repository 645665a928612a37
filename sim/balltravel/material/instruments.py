"""Saybolt seconds, Krebs units and rotational viscometers: reading to viscosity.

How well they are known: of the Saybolt instruments 1 % (Universal) and 2 % (Furol) are assumed, after a
reproducibility of about 2 % from memory; two tables of Furol seconds differ by up to 4 %. No conversion of
Krebs units is a standard.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from balltravel.material.readings import KinematicReading, Reading, ReadingError, bore_shear_rate, within

_MM2 = 1e-6
_FAHRENHEIT_100 = 310.92777777777775
_FAHRENHEIT = 5.0 / 9.0


@dataclass(frozen=True)
class _Tube:
    """Of a Saybolt instrument: bore [m], from memory (ASTM D88); smallest and largest kinematic viscosity
    [mm2/s]; relative standard deviation of the seconds."""

    name: str
    diameter: float
    range: tuple[float, float]
    scatter: float


_VOLUME = 60e-6  # ASTM D88
_UNIVERSAL = _Tube("Saybolt Universal", 1.765e-3, (1.81, 1e4), 0.01)
_FUROL = _Tube("Saybolt Furol", 3.15e-3, (50.0, 1e4), 0.02)

UNIVERSAL_TEMPERATURES = (255.3722222222222, 449.8166666666667)
FUROL_TEMPERATURES = (323.15, 372.0388888888889)

KREBS_RANGE = (70.0, 105.0)
KREBS_BAND = 0.25


def universal_seconds(viscosity: float, temperature: float) -> float:
    """Saybolt Universal seconds of a kinematic viscosity [m2/s], 1.81 to 10 000 mm2/s, at a temperature [K],
    0 to 350 degF: basic equation and its factor for the temperature of ASTM D2161. Raises ReadingError."""
    _right_viscosity(_UNIVERSAL, viscosity)
    return _universal(temperature)(viscosity / _MM2)


def furol_seconds(viscosity: float, temperature: float) -> float:
    """Saybolt Furol seconds of a kinematic viscosity [m2/s], 50 to 10 000 mm2/s, at 122 or 210 degF [K].

    Equations of ASTM D2161, from memory; a table of another source lies up to 4 % lower. Raises ReadingError.
    """
    _right_viscosity(_FUROL, viscosity)
    return _furol(temperature)(viscosity / _MM2)


def universal_reading(seconds: float, temperature: float) -> KinematicReading:
    """What Saybolt Universal seconds tell at a temperature [K]; range as of ``universal_seconds``."""
    return _saybolt_reading(_UNIVERSAL, _universal(temperature), seconds)


def furol_reading(seconds: float, temperature: float) -> KinematicReading:
    """What Saybolt Furol seconds tell at a temperature [K]; range as of ``furol_seconds``."""
    return _saybolt_reading(_FUROL, _furol(temperature), seconds)


def _universal(temperature: float) -> Callable[[float], float]:
    within(
        "temperature of Saybolt Universal seconds",
        temperature,
        UNIVERSAL_TEMPERATURES,
        "K",
        "311 K (100 degF)",
    )
    factor = 1.0 + 0.000061 * (temperature - _FAHRENHEIT_100) / _FAHRENHEIT

    def seconds(nu: float) -> float:
        bend = (1.0 + 0.03264 * nu) / ((3930.2 + nu * (262.7 + nu * (23.97 + nu * 1.646))) * 1e-5)
        return factor * (4.6324 * nu + bend)

    return seconds


def _furol(temperature: float) -> Callable[[float], float]:
    cold, hot = FUROL_TEMPERATURES
    if abs(temperature - cold) <= 1.0:
        return lambda nu: 0.4717 * nu + 13924.0 / (nu**2 - 72.59 * nu + 6816.0)
    if abs(temperature - hot) <= 1.0:
        return lambda nu: 0.4792 * nu + 5610.0 / (nu**2 + 2130.0)
    given = f"temperature of Saybolt Furol seconds {temperature:.6g} K"
    raise ReadingError(given, "323.15 K (122 degF) or 372.04 K (210 degF), within 1 K", "323.15 K")


def _right_viscosity(tube: _Tube, viscosity: float) -> None:
    within(f"kinematic viscosity for {tube.name} seconds", viscosity / _MM2, tube.range, "mm2/s", "100 mm2/s")


def _saybolt_reading(tube: _Tube, law: Callable[[float], float], seconds: float) -> KinematicReading:
    """Inverts a law of seconds over mm2/s, which rises over the tube's range."""
    from scipy.optimize import brentq

    low, high = tube.range
    ends = law(low), law(high)
    within(f"{tube.name} seconds", seconds, ends, "s", f"{law(100.0):.3g} s")
    inside = min(max(seconds, ends[0]), ends[1])
    nu = float(brentq(lambda nu: law(nu) - inside, low, high, xtol=1e-12, rtol=1e-14))
    step = 1e-5
    slope = (math.log(law(nu * (1 + step))) - math.log(law(nu * (1 - step)))) / (2 * step)
    rate = bore_shear_rate(_VOLUME, tube.diameter, seconds)
    return KinematicReading(
        nu * _MM2, rate, tube.scatter / slope, f"{tube.name}, {seconds:.4g} s (ASTM D2161)"
    )


# Couette flow between the paddle's circle and the can, 2 w/(1 - (r/R)^2): 200 r/min and a can of 85 mm as in
# ASTM D562, a paddle 54 mm across from memory. It gives 70 1/s; 50 to 100 1/s is told of it, from memory.
KREBS_SHEAR_RATE = 2.0 * (200.0 * 2.0 * math.pi / 60.0) / (1.0 - (54.0 / 85.0) ** 2)


NARROW = (0.9, 0.9999)
"""Inner over outer diameter of coaxial cylinders of which the Newtonian rate serves a thinning liquid too: at
0.9 and an exponent of 0.5 the viscosity is 5 % off (by the exact rate of a power law)."""


def coaxial_shear_rate(speed: float, inner: float, outer: float) -> float:
    """Shear rate [1/s] at the inner of two coaxial cylinders (diameters [m]), which turns at a ``speed``
    [rad/s].

    2 w/(1 - (inner/outer)^2): the stress there over the viscosity of the European Pharmacopoeia, 2.2.10,
    M/(4 pi h w) (1/Ra^2 - 1/Rb^2) (read in a reprint); exact of a Newtonian liquid, without end effects.
    Raises ReadingError for a gap that is no narrow one.
    """
    within("inner over outer diameter", inner / outer, NARROW, "", "17.5 mm in 19 mm")
    return 2.0 * speed / (1.0 - (inner / outer) ** 2)


def krebs_reading(units: float) -> Reading:
    """Estimate of the viscosity from Krebs units, 70 to 105.

    40 mPa s for each unit above 60: the straight line on which all three oils of ASTM D562, note 1, lie: 70
    KU at 4 P, 85 at 10 P, 95 at 14 P. A logarithm that others fitted stays within 25 % of it up to 105 KU,
    which is why the range ends there. Uncertainty: an even chance anywhere in that band. Raises ReadingError.
    """
    within("Krebs units", units, KREBS_RANGE, "KU", "85 KU")
    uncertainty = KREBS_BAND / math.sqrt(3.0)
    return Reading(0.04 * (units - 60.0), KREBS_SHEAR_RATE, uncertainty, f"{units:.4g} KU (ASTM D562)")


def krebs_units(viscosity: float) -> float:
    """Krebs units of a viscosity [Pa s], 0.4 to 1.8, by that line. Raises ReadingError."""
    within("viscosity for Krebs units", viscosity, (0.4, 1.8), "Pa.s", "1 Pa.s")
    return 60.0 + viscosity / 0.04
