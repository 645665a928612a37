"""Dry air as an ideal gas, and how much of it leaks past a ball that sits on a worn seat.

Amounts of air are told as p V [J], which at one temperature go with the mass: mass = p V/(R T).
"""

import math
from dataclasses import dataclass

GAS_CONSTANT = 287.05
"""Of dry air [J/(kg K)] (ISO 2533:1975, from memory)."""

CRITICAL_RATIO = 0.528
"""Downstream over upstream pressure below which air leaves at the speed of sound, (2/(1 + k))^(k/(k - 1))
with k = 1.4 (de Saint-Venant and Wantzel 1839, from memory)."""


def air_viscosity(temperature: float) -> float:
    """Viscosity of air [Pa s] at 200 to 500 K by Sutherland (1893), within some 2 %.

    1.458e-6 T^1.5/(T + 110.4): constants of the US Standard Atmosphere 1976, from memory.
    """
    return 1.458e-6 * temperature * math.sqrt(temperature) / (temperature + 110.4)


@dataclass(frozen=True)
class SeatLeak:
    """Air past a shut ball. ``creeping``: volume flow for each pascal where viscosity alone resists
    [m3/(s Pa)]; ``jet``: contracted area of the gap times sqrt(R T) [m3/s]. Both 0: a tight seat.

    Isothermal, viscosity and jet in series: p_1^2 - p_2^2 = 2 J/creeping + (J/jet)^2. The first part alone
    is exact for a slow flow (Poiseuille's law with the density of each place), the second Bernoulli's at the
    mean density; p_2 counts as no less than the critical pressure, so that a jet at the speed of sound does
    not depend on it. The choked jet so is 1.24 times de Saint-Venant and Wantzel's, a slow one exact.
    """

    creeping: float = 0.0
    jet: float = 0.0

    def flow(self, above: float, below: float) -> float:
        """Flow of air [J/s], positive from ``above`` to ``below``, both pressures [Pa absolute] > 0."""
        if self.creeping <= 0.0 or self.jet <= 0.0:
            return 0.0
        high, low = max(above, below), min(above, below)
        square = high**2 - max(low, CRITICAL_RATIO * high) ** 2
        slow = 1.0 / self.creeping
        flow = square / (slow + math.hypot(slow, math.sqrt(square) / self.jet))
        return math.copysign(flow, above - below)


def seat_leak(gap: float, radius: float, resistance: float, discharge: float, temperature: float) -> SeatLeak:
    """Leak of an even ``gap`` [m] under a ball on a circle of ``radius`` [m]; ``resistance``: Rqq of the shut
    check (M5), the same for air as for material where the flow is slow; ``discharge`` coefficient [-];
    ``temperature`` of the air [K]. A gap of 0 is tight."""
    if gap <= 0.0:
        return SeatLeak()
    area = 2.0 * math.pi * radius * gap
    return SeatLeak(
        radius**3 / (resistance * air_viscosity(temperature)),
        discharge * area * math.sqrt(GAS_CONSTANT * temperature),
    )
