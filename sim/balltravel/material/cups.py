"""Flow cups: seconds of efflux to kinematic viscosity and back.

The formulas are those of the standards: ISO 2431, ASTM D1200, ASTM D4212 (X3), DIN 53211. A cup's range is
that of its seconds. The scatter is that of the seconds between laboratories; what is known of it:

- ASTM D4212, 13.1.1, dip cups: coefficient of variation 11.5 % between laboratories with cups of one set;
  cups of several makers differ by more, and the formulas hold for one kind of them only.
- ISO 2431: reproducibility about 10 %; ASTM D1200: about 20 %. Both from memory, not looked up.
- DIN 53211 and the dip cups with a capillary: assumed, as their neighbours.

The formulas hold for Newtonian liquids. A thinning one reads as it flows in the orifice.
"""

import difflib
import math
from dataclasses import dataclass

from balltravel.material.readings import REPRODUCIBILITY, KinematicReading, ReadingError, bore_shear_rate

_MM2 = 1e-6
_ML = 1e-6
_MM = 1e-3


@dataclass(frozen=True)
class Family:
    """Cups of one standard: ``scatter`` is the relative standard deviation of the seconds, ``volume`` [m3]
    what runs out, and whether ``scatter`` was read in a standard or comes from memory."""

    name: str
    standard: str
    volume: float
    scatter: float
    scatter_is_read: bool


@dataclass(frozen=True)
class Cup:
    """nu = slope (t - offset) - kinetic/t, with ``slope`` [m2/s2], ``offset`` [s] and ``kinetic`` [m2]; range
    of the seconds; ``diameter`` [m] of the orifice, None where nobody knows it."""

    family: Family
    size: str
    slope: float
    offset: float
    kinetic: float
    seconds: tuple[float, float]
    diameter: float | None

    @property
    def name(self) -> str:
        """As people write it: ``ISO 4 mm``, ``Ford 4``, ``Zahn 2``."""
        return f"{self.family.name} {self.size}"

    @property
    def full_name(self) -> str:
        """With the standard: ``ISO 2431 4 mm``, ``ASTM D1200 Ford 4``."""
        standard, short = self.family.standard, self.family.name
        return f"{standard} {self.size}" if standard.startswith(short) else f"{standard} {self.name}"

    def viscosity_at(self, seconds: float) -> float:
        """Kinematic viscosity [m2/s] by the formula, wherever the seconds lie."""
        return self.slope * (seconds - self.offset) - self.kinetic / seconds

    def seconds_at(self, viscosity: float) -> float:
        """Seconds by the formula: the positive root of slope t^2 - (nu + slope offset) t - kinetic."""
        half = 0.5 * (viscosity / self.slope + self.offset)
        return half + math.sqrt(half**2 + self.kinetic / self.slope)

    @property
    def range(self) -> tuple[float, float]:
        """Kinematic viscosities [m2/s] at both ends of the range of seconds."""
        shortest, longest = self.seconds
        return self.viscosity_at(shortest), self.viscosity_at(longest)


# Volumes of the dip cups are those of D4212 (6.1 and 6.2); 100 ml of the others is from memory.
ISO = Family("ISO", "ISO 2431", 100 * _ML, 0.10 / REPRODUCIBILITY, False)
FORD = Family("Ford", "ASTM D1200", 100 * _ML, 0.20 / REPRODUCIBILITY, False)
DIN = Family("DIN", "DIN 53211", 100 * _ML, 0.10 / REPRODUCIBILITY, False)
ZAHN = Family("Zahn", "ASTM D4212", 44 * _ML, 0.115, True)
SHELL = Family("Shell", "ASTM D4212", 23 * _ML, 0.115, False)
FAMILIES = (ISO, FORD, DIN, ZAHN, SHELL)

_SECONDS = {ISO: (30.0, 100.0), DIN: (25.0, 150.0), ZAHN: (20.0, 80.0), SHELL: (20.0, 80.0)}


def _cup(
    family: Family,
    size: str,
    constants: tuple[float, float, float],
    diameter: float,
    seconds: tuple[float, float] | None = None,
) -> Cup:
    """Slope, offset and kinetic constant in mm2 and s, orifice in mm."""
    slope, offset, kinetic = constants
    range_ = seconds or _SECONDS[family]
    return Cup(family, size, slope * _MM2, offset, kinetic * _MM2, range_, diameter * _MM)


# Orifices: ISO and DIN by name. Ford: read on a public page that names no source; No. 1, 2 and 5 are 1.90,
# 2.53 and 5.20 mm from memory, which gives rates up to 1.4 times as large. Zahn and Shell: from memory.
_CUPS = (
    _cup(ISO, "3 mm", (0.443, 0.0, 200.0), 3.0),
    _cup(ISO, "4 mm", (1.37, 0.0, 200.0), 4.0),
    _cup(ISO, "5 mm", (3.28, 0.0, 220.0), 5.0),
    _cup(ISO, "6 mm", (6.9, 0.0, 570.0), 6.0),
    _cup(FORD, "1", (0.49, 35.0, 0.0), 2.1, (55.0, 100.0)),
    _cup(FORD, "2", (1.44, 18.0, 0.0), 2.8, (40.0, 100.0)),
    _cup(FORD, "3", (2.31, 6.58, 0.0), 3.4, (20.0, 100.0)),
    _cup(FORD, "4", (3.85, 4.49, 0.0), 4.1, (20.0, 100.0)),
    _cup(FORD, "5", (12.1, 2.0, 0.0), 5.8, (20.0, 100.0)),
    _cup(DIN, "4 mm", (4.57, 0.0, 452.0), 4.0),
    _cup(ZAHN, "1", (1.1, 29.0, 0.0), 1.98, (35.0, 80.0)),
    _cup(ZAHN, "2", (3.5, 14.0, 0.0), 2.74),
    _cup(ZAHN, "3", (11.7, 7.5, 0.0), 3.76),
    _cup(ZAHN, "4", (14.8, 5.0, 0.0), 4.27),
    _cup(ZAHN, "5", (23.0, 0.0, 0.0), 5.28),
    _cup(SHELL, "1", (0.226, 13.0, 0.0), 1.8),
    _cup(SHELL, "2", (0.576, 5.0, 0.0), 2.4),
    _cup(SHELL, "2.5", (0.925, 3.0, 0.0), 2.7),
    _cup(SHELL, "3", (1.51, 2.0, 0.0), 3.1),
    _cup(SHELL, "3.5", (2.17, 1.5, 0.0), 3.4),
    _cup(SHELL, "4", (3.45, 1.0, 0.0), 3.8),
    _cup(SHELL, "5", (6.5, 1.0, 0.0), 4.6),
    _cup(SHELL, "6", (16.2, 0.5, 0.0), 5.8),
)

CUPS: dict[str, Cup] = {cup.name: cup for cup in _CUPS}
_SPELLINGS = {
    "".join(name.lower().split()): cup for cup in _CUPS for name in (cup.name, cup.full_name)
}  # "iso4mm", "astmd1200ford4"


def cup_named(name: str) -> Cup:
    """A cup by its name, with or without its standard, whatever case and spaces. Raises ReadingError."""
    key = "".join(name.lower().split())
    if key not in _SPELLINGS:
        near = difflib.get_close_matches(key, _SPELLINGS, n=1)
        hint = f' (did you mean "{_SPELLINGS[near[0]].name}"?)' if near else ""
        raise ReadingError(f'unknown cup "{name[:40]}"{hint}', ", ".join(CUPS), '"ISO 4 mm"')
    return _SPELLINGS[key]


def cup_reading(cup: Cup, seconds: float) -> KinematicReading:
    """What a cup tells that ran empty in some seconds.

    The scatter of the seconds grows by d ln nu/d ln t, which is large at a cup's short end. Raises
    ReadingError outside the cup's range, naming the cup to take instead.
    """
    if not _inside(cup, seconds):
        raise _refusal(
            cup, f"{seconds:.6g} s in the cup {cup.name}", cup.viscosity_at(seconds) if seconds > 0 else 0
        )
    viscosity = cup.viscosity_at(seconds)
    growth = (cup.slope * seconds + cup.kinetic / seconds) / viscosity
    rate = cup.diameter and bore_shear_rate(cup.family.volume, cup.diameter, seconds)
    source = f"{cup.full_name} cup, {seconds:.4g} s"
    return KinematicReading(viscosity, rate, growth * cup.family.scatter, source)


def seconds_of(cup: Cup, viscosity: float) -> float:
    """Seconds in which a cup empties at a kinematic viscosity [m2/s]; raises ReadingError out of range."""
    seconds = cup.seconds_at(viscosity) if viscosity > 0 else math.nan
    if not _inside(cup, seconds):
        raise _refusal(cup, f"{viscosity / _MM2:.4g} mm2/s in the cup {cup.name}", viscosity)
    return seconds


def cup_for(viscosity: float, family: Family | None = None) -> Cup | None:
    """The cup for a kinematic viscosity [m2/s], of a family if that has one; None if no cup is for it.

    Where several are, the one that it empties nearest to the middle of its range, in the logarithm.
    """
    fitting = [cup for cup in _CUPS if cup.range[0] <= viscosity <= cup.range[1]]
    own = [cup for cup in fitting if cup.family == family]
    return min(own or fitting, key=lambda cup: _off_middle(cup, viscosity), default=None)


def _off_middle(cup: Cup, viscosity: float) -> float:
    return abs(math.log(cup.seconds_at(viscosity) ** 2 / math.prod(cup.seconds)))


def _inside(cup: Cup, seconds: float) -> bool:
    shortest, longest = cup.seconds
    return shortest * (1.0 - 1e-9) <= seconds <= longest * (1.0 + 1e-9)  # an end may be off by rounding


def _refusal(cup: Cup, given: str, viscosity: float) -> ReadingError:
    shortest, longest = cup.seconds
    low, high = (end / _MM2 for end in cup.range)
    allowed = f"{shortest:.4g} to {longest:.4g} s, which is {low:.4g} to {high:.4g} mm2/s"
    better = cup_for(viscosity, cup.family)
    if better is None:
        return ReadingError(
            given, f"{allowed}; no cup known here is for it", "a viscosity at a stated shear rate"
        )
    seconds = better.seconds_at(viscosity)
    example = f"the cup {better.name}, about {seconds:.0f} s"
    return ReadingError(given, allowed, example)
