"""Viscosity and density over temperature, from one to three readings.

Every law is a straight line in coordinates of its own, so it goes through its readings exactly. Temperatures
are absolute [K], 200 to 600.
"""

import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from balltravel.material.readings import ReadingError, within

GAS_CONSTANT = 8.31446261815324  # J/(mol K), exact in the SI since 2019
TEMPERATURES = (200.0, 600.0)
VISCOSITIES = (1e-5, 1e6)
KINEMATIC_VISCOSITIES = (0.21e-6, 2e7 * 1e-6)  # ASTM D341, from memory
ENERGIES = (1e3, 3e5)
EXPANSIONS = (0.0, 2e-3)
APART = 2.0  # K: a thermometer's error does not yet make the slope
LONE_SPAN = 20.0  # K: how far one reading with a stated activation energy is trusted; assumed
OFF_POLE = 10.0  # K: nothing is liquid so near to where a law of Vogel goes to infinity
_MM2 = 1e-6

Pair = tuple[float, float]


@dataclass(frozen=True)
class TemperatureLaw(ABC):
    """``coldest`` and ``warmest`` [K] reading. ``READINGS``: how many it goes through; ``KINEMATIC``: whether
    they and its ratio are of the kinematic viscosity."""

    NAME: ClassVar[str]
    READINGS: ClassVar[int] = 2
    KINEMATIC: ClassVar[bool] = False
    coldest: float
    warmest: float

    @classmethod
    @abstractmethod
    def from_readings(cls, readings: Sequence[Pair]) -> "TemperatureLaw":
        """From ``READINGS`` pairs of temperature [K] and viscosity [Pa s, m2/s]. Raises ReadingError."""

    @abstractmethod
    def _value(self, temperature: float) -> float:
        """Viscosity at a temperature [K] that is allowed."""

    @property
    def lowest(self) -> float:
        """The lowest temperature [K] at which the law may be asked."""
        return TEMPERATURES[0]

    def _at(self, temperature: float) -> float:
        within("temperature", temperature, (self.lowest, TEMPERATURES[1]), "K", f"{self.coldest:.4g} K")
        try:
            return self._value(temperature)
        except OverflowError:
            given = f"temperature {temperature:.6g} K, where the law has no number any more"
            raise ReadingError(given, "nearer to the readings", f"{self.coldest:.4g} K") from None

    def ratio(self, temperature: float, reference: float) -> float:
        """Viscosity at a temperature over that at a reference temperature [K]; of Walther's law the kinematic
        one. Raises ReadingError."""
        return self._at(temperature) / self._at(reference)

    def extrapolates(self, temperature: float) -> bool:
        """Whether a temperature [K] lies outside the readings by more than they span."""
        span = self.warmest - self.coldest or LONE_SPAN
        return not self.coldest - span <= temperature <= self.warmest + span


@dataclass(frozen=True)
class Andrade(TemperatureLaw):
    """mu = mu0 exp(B (1/T - 1/T0)), with ``B`` [K] the activation energy over the gas constant."""

    NAME: ClassVar[str] = "Andrade"
    reference_viscosity: float
    reference_temperature: float
    B: float

    @classmethod
    def from_readings(cls, readings: Sequence[Pair]) -> "Andrade":
        """From two pairs of temperature [K] and viscosity [Pa s]. Raises ReadingError."""
        (cold, thick), (warm, thin) = _falling(readings, cls.READINGS, VISCOSITIES, "Pa.s")
        B = math.log(thick / thin) / (1.0 / cold - 1.0 / warm)
        _energy(B * GAS_CONSTANT, "activation energy of the two readings")
        return cls(cold, warm, thick, cold, B)

    @classmethod
    def from_energy(cls, temperature: float, viscosity: float, energy: float) -> "Andrade":
        """From one viscosity [Pa s] at a temperature [K] and an activation energy [J/mol]."""
        within("temperature", temperature, TEMPERATURES, "K", "298 K")
        within("viscosity", viscosity, VISCOSITIES, "Pa.s", "2 Pa.s")
        _energy(energy, "activation energy")
        return cls(temperature, temperature, viscosity, temperature, energy / GAS_CONSTANT)

    def _value(self, temperature: float) -> float:
        return self.reference_viscosity * math.exp(
            self.B * (1.0 / temperature - 1.0 / self.reference_temperature)
        )

    def viscosity(self, temperature: float) -> float:
        """Viscosity [Pa s] at a temperature [K]. Raises ReadingError."""
        return self._at(temperature)


@dataclass(frozen=True)
class Vogel(TemperatureLaw):
    """mu = exp(A + B/(T - C)) [Pa s], with ``B`` and ``C`` [K]."""

    NAME: ClassVar[str] = "Vogel"
    READINGS: ClassVar[int] = 3
    A: float
    B: float
    C: float

    @classmethod
    def from_readings(cls, readings: Sequence[Pair]) -> "Vogel":
        """From three pairs of temperature [K] and viscosity [Pa s].

        With y = ln mu, r = (y1 - y2)(T3 - T2)/((y2 - y3)(T2 - T1)) is (T3 - C)/(T1 - C), so C follows in
        closed form. Refuses readings that fall not steeper in the cold by so much that C is absurd, that is
        below -100 K or within 10 K of the coldest. Raises ReadingError.
        """
        sorted_ = _falling(readings, cls.READINGS, VISCOSITIES, "Pa.s")
        T1, T2, T3 = (temperature for temperature, _ in sorted_)
        y1, y2, y3 = (math.log(viscosity) for _, viscosity in sorted_)
        r = (y1 - y2) * (T3 - T2) / ((y2 - y3) * (T2 - T1))
        C = T1 - (T3 - T1) / (r - 1.0) if r > 1.0 else -math.inf
        if not -100.0 <= C <= T1 - OFF_POLE:
            raise _no_vogel(C, T1)
        B = (y1 - y3) * (T1 - C) * (T3 - C) / (T3 - T1)
        return cls(T1, T3, y1 - B / (T1 - C), B, C)

    @property
    def lowest(self) -> float:
        """As of every law, and 10 K above C."""
        return max(TEMPERATURES[0], self.C + OFF_POLE)

    def _value(self, temperature: float) -> float:
        return math.exp(self.A + self.B / (temperature - self.C))

    def viscosity(self, temperature: float) -> float:
        """Viscosity [Pa s] at a temperature [K]. Raises ReadingError."""
        return self._at(temperature)


@dataclass(frozen=True)
class Walther(TemperatureLaw):
    """log10 log10 Z = A - B log10 T, for the kinematic viscosity of oils (ASTM D341).

    Z = nu + 0.7 with nu in mm2/s, and with ``full`` also + exp(-1.47 - 1.84 nu - 0.51 nu^2), which matters
    below 2 mm2/s (coefficients of the standard, from memory).
    """

    NAME: ClassVar[str] = "ASTM D341"
    KINEMATIC: ClassVar[bool] = True
    A: float
    B: float
    full: bool

    @classmethod
    def from_readings(cls, readings: Sequence[Pair], full: bool = True) -> "Walther":
        """From two pairs of temperature [K] and kinematic viscosity [m2/s], 0.21 to 2e7 mm2/s; the simple
        form from 2 mm2/s on. Raises ReadingError."""
        allowed = KINEMATIC_VISCOSITIES if full else (2.0 * _MM2, KINEMATIC_VISCOSITIES[1])
        (cold, thick), (warm, thin) = _falling(readings, cls.READINGS, allowed, "m2/s")
        Wc, Ww = (math.log10(math.log10(_z(nu / _MM2, full))) for nu in (thick, thin))
        B = (Wc - Ww) / math.log10(warm / cold)
        return cls(cold, warm, Wc + B * math.log10(cold), B, full)

    def _value(self, temperature: float) -> float:
        Z = 10.0**10.0 ** (self.A - self.B * math.log10(temperature))
        if not self.full:
            return self._told(Z - 0.7, temperature)
        low = KINEMATIC_VISCOSITIES[0] / _MM2
        if _z(low, True) > Z * (1.0 + 1e-12):
            return self._told(0.0, temperature)
        from scipy.optimize import brentq

        root = brentq(lambda nu: _z(nu, True) - Z, 0.999 * low, Z, xtol=1e-14, rtol=1e-14)
        return self._told(float(root), temperature)

    def _told(self, nu: float, temperature: float) -> float:
        """A result [m2/s] inside the range of the equation."""
        low, high = KINEMATIC_VISCOSITIES
        if not low * (1.0 - 1e-9) <= nu * _MM2 <= high * (1.0 + 1e-9):
            given = f"temperature {temperature:.6g} K, where the law leaves its range"
            raise ReadingError(given, "where it gives 0.21 to 2e7 mm2/s", f"{self.coldest:.4g} K")
        return nu * _MM2

    def kinematic_viscosity(self, temperature: float) -> float:
        """Kinematic viscosity [m2/s] at a temperature [K]. Raises ReadingError."""
        return self._at(temperature)


LAWS_OF_TEMPERATURE: dict[str, type[TemperatureLaw]] = {law.NAME: law for law in (Andrade, Vogel, Walther)}


def density_at(temperature: float, density: float, reference: float, expansion: float) -> float:
    """rho0/(1 + beta (T - T0)) [kg/m3], with the density at a reference temperature [K] and the coefficient
    of expansion of the volume [1/K], 0 to 0.002. Raises ReadingError."""
    within("temperature", temperature, TEMPERATURES, "K", "298 K")
    within("reference temperature", reference, TEMPERATURES, "K", "298 K")
    within("density", density, (100.0, 2e4), "kg/m3", "1250 kg/m3")
    within("coefficient of expansion", expansion, EXPANSIONS, "1/K", "0.0007 1/K")
    return density / (1.0 + expansion * (temperature - reference))


def _z(nu: float, full: bool) -> float:
    return nu + 0.7 + (math.exp(-1.47 - 1.84 * nu - 0.51 * nu**2) if full else 0.0)


def _energy(energy: float, what: str) -> None:
    within(what, energy, ENERGIES, "J/mol", "50000 J/mol")


def _falling(readings: Sequence[Pair], wanted: int, allowed: Pair, unit: str) -> list[Pair]:
    """The readings from cold to warm, refused unless there are as many as wanted and the viscosity falls."""
    example = f"{wanted} readings at least {APART:.0f} K apart, the warmer the thinner"
    if len(readings) != wanted:
        raise ReadingError(f"{len(readings)} readings", f"{wanted} readings", example)
    for temperature, viscosity in readings:
        within("temperature of a reading", temperature, TEMPERATURES, "K", "298 K")
        within("viscosity of a reading", viscosity, allowed, unit, f"{10.0 * allowed[0]:.3g} {unit}")
    ordered = sorted(readings)
    for (cold, thick), (warm, thin) in pairwise(ordered):
        if warm - cold < APART:
            given = f"readings at {cold:.6g} and {warm:.6g} K"
            raise ReadingError(given, f"temperatures at least {APART:.0f} K apart", example)
        if not thin < thick:
            given = f"{thick:.4g} {unit} at {cold:.6g} K and {thin:.4g} {unit} at {warm:.6g} K"
            raise ReadingError(given, "a viscosity that falls with the temperature", example)
    return ordered


def _no_vogel(C: float, coldest: float) -> ReadingError:
    given = "three readings that fit no law of Vogel" + (
        f" (C would be {C:.4g} K)" if math.isfinite(C) else ""
    )
    allowed = f"readings whose C is -100 to {coldest - OFF_POLE:.4g} K: a fall that is steeper in the cold"
    return ReadingError(given, allowed, "the coldest and the warmest reading alone, by the law of Andrade")
