"""What a shop can do: how far it can take an input, and the sizes in which a part is sold."""

import math
from typing import NamedTuple

from balltravel.scenario.model import Scenario
from balltravel.scenario.shims import travels_of
from balltravel.site.ball_materials import BALL_MATERIALS
from balltravel.units import amount_to_si, in_digits, to_text
from balltravel.units.display import in_unit
from balltravel.units.systems import BOTH, US, in_use, unit_in_use

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

LIGHTEST_BALL = 1100.0
"""[kg/m3]: of what is sold none lighter is offered, for it floats in most materials (our choice)."""

TIP_BORES = range(7, 72)
"""Bores of spray tips, in whole thousandths of an inch (common practice, no source)."""

INCH = 0.0254
"""[m]."""


def hose_bores(_: Scenario) -> tuple[Size, ...]:
    """Hoses, by their nominal bore in mm, or in inches where those are in use."""
    if in_use.get() == US:
        bores = ((inches, amount_to_si(f"{inches} in", "length") / INCH) for _, inches in HOSE_BORES)
        return tuple(Size(b, f"{text} in", (f"suction.hose_diameter={text} in",)) for text, b in bores)
    return tuple(
        Size(bore, f"{bore:g} mm{_beside(f'{inches} in')}", (f"suction.hose_diameter={bore:g} mm",))
        for bore, inches in HOSE_BORES
    )


def _beside(other: str) -> str:
    """A size in the other system's units, where both are in use."""
    return f" ({other})" if in_use.get() == BOTH else ""


def ball_materials(_: Scenario) -> tuple[Size, ...]:
    """Balls, by what they are made of."""
    sold = sorted((made_of.likely, name) for name, made_of in BALL_MATERIALS.items())
    named = (
        (in_digits(in_unit(density, "density", "kg/m3")), name)
        for density, name in sold
        if density >= LIGHTEST_BALL
    )
    unit = unit_in_use("kg/m3")
    return tuple(
        Size(density, f"{name}, {density:g} {unit}", (f"inlet_check.ball_density={density:g} {unit}",))
        for density, name in named
    )


def tip_bores(_: Scenario) -> tuple[Size, ...]:
    """Spray tips, by their bore; in metric units too they go by thousandths of an inch."""
    bores = ((in_unit(1e-3 * n * INCH, "length", "mm"), f"{1e-3 * n:.3f} in") for n in TIP_BORES)
    also = in_use.get() != US
    return tuple(
        Size(bore, f"{name} ({bore:.3g} mm)" if also else name, (f"outlet.tip_diameter={name}",))
        for bore, name in bores
    )


def travels_by_shims(scenario: Scenario) -> tuple[Size, ...]:
    """Travels of the inlet ball that the set of shims gives, and which of them lie below the cage then."""
    return tuple(
        Size(
            in_unit(each.travel, "length", "mm"),
            _by_shims(each.below, each.travel),
            (f"shims.below={list(each.below)}",),
        )
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
