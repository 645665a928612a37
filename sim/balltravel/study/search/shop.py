"""What a shop can do: how far it can take an input, and the sizes in which a part is sold."""

import math
from typing import NamedTuple

from balltravel.scenario.model import Scenario
from balltravel.scenario.shims import travels_of
from balltravel.units import to_text

PRACTICE = "common practice, no source"


class ShopRange(NamedTuple):
    """Between which values a shop can choose: ``why`` they end there; ``low`` and ``high`` in the input's
    unit; ``least`` and ``most`` of what there is now, which count as well."""

    why: str
    low: float = -math.inf
    high: float = math.inf
    least: float = -math.inf
    most: float = math.inf

    def ends(self, now: float) -> tuple[float, float]:
        """The range [unit of the input], where ``now`` [the same] is the present value."""
        if now <= 0.0:
            return self.low, self.high
        return max(self.low, self.least * now), min(self.high, self.most * now)


class Size(NamedTuple):
    """A size that exists: its value in the input's unit, its name in a shop, and what gives it to --set."""

    value: float
    name: str
    settings: tuple[str, ...]


HOSE_BORES = (
    (6.3, "1/4"), (7.9, "5/16"), (9.5, "3/8"), (12.5, "1/2"), (15.8, "5/8"), (19.0, "3/4"), (25.0, "1"),
    (31.5, "1 1/4"), (38.0, "1 1/2"), (50.8, "2"), (63.0, "2 1/2"), (76.0, "3"), (101.0, "4"),
)  # fmt: skip
"""Bores of hoses in mm and in inches (common practice, no source); the mm are the nominal bore, or that in
inches where it is less."""

BALL_MATERIALS = (
    (1140.0, "polyamide"), (1410.0, "acetal"), (2200.0, "PTFE"), (2500.0, "glass"),
    (3250.0, "silicon nitride"), (3900.0, "alumina"), (6000.0, "zirconia"), (7800.0, "steel"),
    (14900.0, "tungsten carbide"),
)  # fmt: skip
"""What balls are made of, with its density [kg/m3] (from memory, no source)."""

TIP_BORES = range(7, 72)
"""Bores of spray tips, in whole thousandths of an inch (common practice, no source)."""

MM_PER_INCH = 25.4


def hose_bores(_: Scenario) -> tuple[Size, ...]:
    """Hoses, by their nominal bore in mm."""
    return tuple(
        Size(bore, f"{bore:g} mm ({inches} in)", (f"suction.hose_diameter={bore:g} mm",))
        for bore, inches in HOSE_BORES
    )


def ball_materials(_: Scenario) -> tuple[Size, ...]:
    """Balls, by what they are made of."""
    return tuple(
        Size(density, f"{name}, {density:g} kg/m3", (f"inlet_check.ball_density={density:g} kg/m3",))
        for density, name in BALL_MATERIALS
    )


def tip_bores(_: Scenario) -> tuple[Size, ...]:
    """Spray tips, by their bore."""
    thousandths = ((n, 1e-3 * n * MM_PER_INCH) for n in TIP_BORES)
    return tuple(
        Size(bore, f"{1e-3 * n:.3f} in ({bore:.3g} mm)", (f"outlet.tip_diameter={1e-3 * n:.3f} in",))
        for n, bore in thousandths
    )


def travels_by_shims(scenario: Scenario) -> tuple[Size, ...]:
    """Travels of the inlet ball that the set of shims gives, and which of them lie below the cage then."""
    return tuple(
        Size(1e3 * each.travel, _by_shims(each.below, each.travel), (f"shims.below={list(each.below)}",))
        for each in travels_of(scenario)
    )


def _by_shims(below: tuple[int, ...], travel: float) -> str:
    which = "+".join(map(str, below)) or "none"
    return f"{to_text(travel, 'length')}, shims below: {which}"


def next_sizes(sizes: tuple[Size, ...], limit: float, at_most: bool) -> tuple[Size, ...]:
    """Sizes on the side of a limit on which the targets hold, the nearest first."""
    if at_most:
        return tuple(sorted((size for size in sizes if size.value <= limit), key=lambda size: -size.value))
    return tuple(sorted((size for size in sizes if size.value >= limit), key=lambda size: size.value))
