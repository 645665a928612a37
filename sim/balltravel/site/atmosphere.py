"""Barometric pressure over altitude, in the standard atmosphere up to 11 km."""

import math

SEA_LEVEL_PRESSURE = 101325.0
SEA_LEVEL_TEMPERATURE = 288.15
LAPSE_RATE = 6.5e-3
"""Pa, K and K/m of geopotential altitude."""

EARTH_RADIUS = 6_356_766.0
"""m; that by which the standard turns geometric altitude into geopotential."""

EXPONENT = 9.80665 * 28.9644e-3 / (8.31432 * LAPSE_RATE)
"""g M/(R L) with the standard's own gravity, molar mass of air and gas constant: 5.25588."""


def barometric_pressure(altitude: float) -> float:
    """Pressure [Pa] at a geometric altitude [m], -500 to 11000 m above sea level.

    The weather moves it by some 3 % either way (common knowledge, no source). Source: U.S. Standard
    Atmosphere (1976), equation 33a; ISO 2533:1975 is the same there.
    """
    height = EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude)
    colder = 1.0 - LAPSE_RATE * height / SEA_LEVEL_TEMPERATURE
    return SEA_LEVEL_PRESSURE * math.pow(colder, EXPONENT)
