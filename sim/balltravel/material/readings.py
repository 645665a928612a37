"""What an instrument told: a viscosity with its uncertainty and the shear rate at which it holds."""

import math
from dataclasses import dataclass

from balltravel.units import UnitError

# Two results of different laboratories differ by less than R in 95 of 100 cases: R = 2.8 standard deviations.
REPRODUCIBILITY = 2.8


class ReadingError(UnitError):
    """A reading that an instrument cannot have, or from which no law follows: given, allowed, example."""


@dataclass(frozen=True)
class Reading:
    """Viscosity [Pa s] at a shear rate [1/s], None where nobody knows it, with its relative standard
    uncertainty; ``source`` names the instrument and its standard."""

    viscosity: float
    shear_rate: float | None
    relative_uncertainty: float
    source: str


@dataclass(frozen=True)
class KinematicReading:
    """As ``Reading``, of an instrument that liquid leaves by its weight: kinematic viscosity [m2/s]."""

    kinematic_viscosity: float
    shear_rate: float | None
    relative_uncertainty: float
    source: str


def within(what: str, value: float, allowed: tuple[float, float], unit: str, example: str) -> None:
    """Refuses a value outside its range, ends included, or one that is no number. Raises ReadingError."""
    low, high = allowed
    if not low * (1.0 - 1e-9) <= value <= high * (1.0 + 1e-9):  # an end may be off by rounding
        raise ReadingError(
            f"{what} {value:.6g} {unit}".strip(), f"{low:.4g} to {high:.4g} {unit}".strip(), example
        )


def bore_shear_rate(volume: float, diameter: float, seconds: float) -> float:
    """Shear rate [1/s] at the wall of a bore through which a volume [m3] leaves in a time [s].

    4 Q/(pi r^3) of developed Newtonian flow at the mean flow. An order of magnitude: an orifice is too short
    for developed flow, and the flow falls while the cup empties.
    """
    return 32.0 * volume / (math.pi * diameter**3 * seconds)
