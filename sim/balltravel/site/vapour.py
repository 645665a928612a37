"""Vapour pressure of common solvents over temperature."""

import math
from dataclasses import dataclass

from balltravel.units import UnitError, to_text

WAGNER = (1.0, 1.5, 2.5, 5.0)
WAGNER_OLDER = (1.0, 1.5, 3.0, 6.0)
WATER = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
"""Powers of 1 - T/Tc in Wagner's equation: its newer and older form, and that of water."""


@dataclass(frozen=True)
class Wagner:
    """ln(p/pc) = Tc/T times the sum of coefficients times powers of 1 - T/Tc; K and Pa."""

    low: float
    high: float
    critical_pressure: float
    powers: tuple[float, ...]
    coefficients: tuple[float, ...]
    source: str
    critical_temperature: float

    def pressure(self, kelvin: float) -> float:
        """Vapour pressure [Pa] at a temperature [K] between ``low`` and ``high``."""
        far = 1.0 - kelvin / self.critical_temperature
        total = math.fsum(c * far**n for n, c in zip(self.powers, self.coefficients, strict=True))
        return self.critical_pressure * math.exp(self.critical_temperature / kelvin * total)


@dataclass(frozen=True)
class Antoine:
    """log10(p/Pa) = A - B/(T + C); K."""

    low: float
    high: float
    A: float
    B: float
    C: float
    source: str

    def pressure(self, kelvin: float) -> float:
        """Vapour pressure [Pa] at a temperature [K] between ``low`` and ``high``."""
        return float(10.0 ** (self.A - self.B / (kelvin + self.C)))


POLING = "Poling, Prausnitz and O'Connell (2001), appendix A"
MCGARRY = "McGarry (1983)"
VDI = "VDI Heat Atlas (2010)"


def _wagner(low: float, Tc: float, pc: float, coefficients: tuple[float, ...], source: str) -> Wagner:
    return Wagner(low, Tc, pc, WAGNER_OLDER if source == MCGARRY else WAGNER, coefficients, source, Tc)


SOLVENTS: dict[str, Wagner | Antoine] = {
    "water": Wagner(
        273.15,
        647.096,
        22.064e6,
        WATER,
        (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502),
        "Wagner and Pruss (1993), IAPWS 1992",
        647.096,
    ),
    "methanol": _wagner(175.47, 512.64, 8.092e6, (-8.63571, 1.17982, -2.479, -1.024), POLING),
    "ethanol": _wagner(159.05, 513.92, 6.132e6, (-8.68587, 1.17831, -4.8762, 1.588), POLING),
    "isopropanol": Antoine(281.28, 373.46, 10.24268, 1580.92, -53.54, POLING),
    "acetone": _wagner(178.45, 508.1, 4.702e6, (-7.55098, 1.60784, -1.9944, -3.2002), POLING),
    "MEK": _wagner(255.0, 536.78, 4.22177e6, (-7.71476, 1.71061, -3.6877, -0.751692), MCGARRY),
    "MIBK": _wagner(189.15, 574.6, 3.27e6, (-7.7004, 1.69968, -2.80448, -3.81623), POLING),
    "ethyl acetate": Antoine(265.5, 372.51, 9.13361, 1195.13, -60.68, POLING),
    "butyl acetate": Antoine(273.15, 424.11, 9.5, 1596.7, -43.85, POLING),
    "toluene": _wagner(178.18, 591.8, 4.106e6, (-7.316, 1.59425, -1.93165, -3.7222), POLING),
    "o-xylene": _wagner(273.15, 630.25, 3.732e6, (-7.60791, 1.79921, -2.42215, -3.36892), VDI),
    "xylene": _wagner(273.15, 616.97, 3.53678e6, (-7.59222, 1.39441, -3.22746, -2.40376), MCGARRY),
    "n-heptane": _wagner(240.0, 540.1, 2.73237e6, (-7.67468, 1.37068, -3.5362, -3.20243), MCGARRY),
    "n-octane": _wagner(216.38, 568.95, 2.49e6, (-8.04937, 2.03865, -3.312, -3.648), POLING),
    "white spirit": _wagner(219.66, 594.9, 2.29e6, (-8.32886, 2.25707, -3.8257, -3.732), POLING),
    "n-decane": _wagner(243.51, 617.65, 2.105e6, (-8.60643, 2.44659, -4.2925, -3.908), POLING),
}
"""Coefficients as the open library ``chemicals`` tabulates these sources, with the ranges that they state.
Two are used below theirs, down to 0 degC, where they were compared with other data (docs/closures.md): butyl
acetate (from 301 K) and xylene (from 332 K); o-xylene's source states none. "xylene" is m-xylene, the most of
the technical mixture (from memory); "white spirit" is n-nonane, a stand-in for its light end."""


def vapour_pressure(solvent: str, kelvin: float) -> float:
    """Vapour pressure [Pa absolute] of a pure solvent at a temperature [K].

    What a material holds of it lies below that. Raises UnitError outside the solvent's range.
    """
    equation = SOLVENTS[solvent]
    if equation.low <= kelvin <= equation.high:
        return equation.pressure(kelvin)
    low, high = (to_text(end, "temperature") for end in (equation.low, equation.high))
    given = f"{to_text(kelvin, 'temperature')} with {solvent} given"
    raise UnitError(given, f"{low} to {high} with {solvent}, or a vapour_pressure", '"20 degC"')
