"""The inputs that are varied one at a time: where their limit is sought, and by how much they are in doubt.

One line an input: another one is added to INPUTS.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

from balltravel.estimate.cautions import ball_top
from balltravel.scenario.model import FIELDS, Scenario, flat, quantity_of
from balltravel.study.search.crossing import Scale
from balltravel.study.search.shop import (
    LIGHTEST_BALL,
    PRACTICE,
    ShopRange,
    Size,
    ball_materials,
    hose_bores,
    tip_bores,
    travels_by_shims,
)
from balltravel.units import from_si, in_digits
from balltravel.units.display import from_metric, per_metric, prose
from balltravel.units.systems import unit_in_use


class Doubt(NamedTuple):
    """By how much one is unsure of an input: ``kind`` is ``%`` (of its value), ``x`` (a factor, up and down),
    ``+-`` (a difference in its unit) or ``+`` (the same, upward alone)."""

    kind: str
    size: float

    def values(self, now: float) -> tuple[float | None, float | None]:
        """The lower and the higher value that is tried [unit of the input]; None where there is none."""
        if self.kind == "%":
            return now * (1.0 - 0.01 * self.size), now * (1.0 + 0.01 * self.size)
        if self.kind == "x":
            return now / self.size, now * self.size
        return (None if self.kind == "+" else now - self.size), now + self.size


@dataclass(frozen=True)
class Input:
    """A number of the scenario that is varied while all others are held.

    ``unit``: in which it is walked, printed and set; ``harder``: 1 if more of it makes the targets harder to
    meet, -1 if less does, 0 if either end may, None if no limit is sought; ``less``, ``more``: words for a
    smaller and a larger value; ``doubt``: by how much it is varied for its effect, None: not at all;
    ``applies``: where it plays a part; ``fits``: where a varied scenario is still one that the closures know,
    beside the rules (not asked where it is not so now); ``present``: its value [SI]; ``write``: what one
    gives to --set for a value [unit], every text; ``shop``: between which values a shop can choose, or how
    that follows from the scenario; ``sizes``: what there is to buy, where something must be bought.
    """

    key: str
    words: str
    unit: str
    less: str
    more: str
    scale: Scale
    harder: int | None = 0
    doubt: Doubt | None = None
    applies: Callable[[Scenario], bool] = lambda _: True
    fits: Callable[[Scenario], bool] = lambda _: True
    present: Callable[[Scenario], float] | None = None
    write: Callable[[Scenario, float], tuple[str, ...]] | None = None
    shop: ShopRange | Callable[[Scenario], ShopRange | None] | None = None
    sizes: Callable[[Scenario], tuple[Size, ...]] | None = None

    def is_active(self, scenario: Scenario) -> bool:
        """Whether it plays a part: it applies and has a value."""
        return self.applies(scenario) and (self.present is not None or flat(scenario)[self.key] is not None)

    @property
    def dimension(self) -> str:
        """The dimension of its key."""
        quantity = quantity_of(FIELDS[self.key])
        assert quantity is not None
        return quantity.dimension

    def now(self, scenario: Scenario) -> float:
        """Its present value [unit]."""
        value = self.present(scenario) if self.present else flat(scenario)[self.key]
        return from_si(float(value), self.dimension, self.unit) if self.unit else float(value)

    def shop_range(self, scenario: Scenario) -> ShopRange | None:
        """Between which values a shop can choose, and why."""
        return self.shop(scenario) if callable(self.shop) else self.shop

    def ends(self, scenario: Scenario) -> tuple[float, float]:
        """The range that the key itself takes and a shop can choose from [unit], on the grid."""
        quantity = quantity_of(FIELDS[self.key])
        assert quantity is not None
        ends = (quantity.low, quantity.high)
        low, high = (from_si(x, self.dimension, self.unit) if self.unit else x for x in ends)
        shop = self.shop_range(scenario)
        if shop is not None:
            least, most = shop.ends(self.now(scenario))
            low, high = max(low, least), min(high, most)
        return self.scale.rounded(low), self.scale.rounded(high)

    def in_use(self) -> "Input":
        """The same input walked, printed and set in the unit in use."""
        unit = unit_in_use(self.unit, self.dimension)
        if unit == self.unit:
            return self
        times, metric, doubt = per_metric(self.unit, self.dimension), self.unit, self.doubt

        def shop(scenario: Scenario) -> ShopRange | None:
            given = self.shop_range(scenario)
            if given is None:
                return None
            low, high = (from_metric(end, metric) for end in (given.low, given.high))
            return given._replace(why=prose(given.why), low=low, high=high)

        if doubt is not None and doubt.kind not in ("%", "x"):
            doubt = doubt._replace(size=in_digits(doubt.size * times, 3))
        return replace(self, unit=unit, scale=self.scale.times(times), doubt=doubt, shop=shop)

    def settings(self, scenario: Scenario, value: float) -> tuple[str, ...]:
        """Texts for --set that give it this value [unit]."""
        return self.write(scenario, value) if self.write else (setting(self.key, value, self.unit),)


def setting(key: str, value: float, unit: str) -> str:
    """``drive.cycle_rate=29.4 /min``."""
    return f"{key}={value:.10g} {unit}".strip()


def _has_law(scenario: Scenario) -> bool:
    return scenario.material.temperature_law != "none"


def _warmer(scenario: Scenario, value: float) -> tuple[str, ...]:
    """The lower at a temperature [unit in use], and the hose, if it has its own, by as much colder or warmer
    as it is now: a cold day cools both."""
    lower = setting("material.temperature", value, unit_in_use("degC"))
    hose = scenario.suction.temperature
    if hose is None:
        return (lower,)
    in_hose = value + (hose - scenario.material.temperature) * per_metric("degC")
    return lower, setting("suction.temperature", round(in_hose, 2), unit_in_use("degC"))


def _fed(scenario: Scenario, value: float) -> tuple[str, ...]:
    """A pressure [unit in use] on the surface, which a file may say to be open."""
    pressure = setting("suction.tank_gauge_pressure", value, unit_in_use("bar"))
    return (pressure, "suction.feed=pressure") if "feed" in scenario.suction.model_fields_set else (pressure,)


def _free_travel(_: Scenario, value: float) -> tuple[str, ...]:
    """A ball travel [unit in use] that shims need not give."""
    return "shims.below=[]", setting("inlet_check.base_travel", value, unit_in_use("mm"))


def _inlet_in_cage(scenario: Scenario) -> bool:
    check = scenario.inlet_check
    return ball_top(check, scenario.inlet_travel) <= check.cage_length


def _piston_in_cage(scenario: Scenario) -> bool:
    check = scenario.piston_check
    return ball_top(check, check.travel) <= check.cage_length


def _both_leak(_: Scenario, value: float) -> tuple[str, ...]:
    return tuple(
        setting(f"{check}.leak_gap", value, unit_in_use("um")) for check in ("inlet_check", "piston_check")
    )


COLDEST, WARMEST = 5.0, 60.0
COLDEST_WHY = f"below 5 degC nobody coats, and heaters go to 60 degC ({PRACTICE})"


def _temperatures(scenario: Scenario) -> ShopRange:
    """Of the lower [degC], so that the hose, which goes along, is not colder or warmer than that either."""
    hose = scenario.suction.temperature
    colder = 0.0 if hose is None else scenario.material.temperature - hose
    return ShopRange(COLDEST_WHY, COLDEST + max(0.0, colder), WARMEST + min(0.0, colder))


def _supply(scenario: Scenario) -> ShopRange:
    """Of a motor [bar]."""
    if scenario.drive.motor == "air":
        return ShopRange(f"compressed air of a shop has 1 to 8 bar ({PRACTICE})", 1.0, 8.0)
    why = f"hydraulic units give up to 210 bar ({PRACTICE}); half as much again as now at most (our choice)"
    return ShopRange(why, 5.0, 210.0, 0.25, 1.5)


TENTH = Doubt("%", 10.0)
TWICE = Doubt("x", 2.0)

TO_TRY = 3
"""Significant digits of a value that people set: as many as are shown of it on every page."""

WIDE = Scale(1.3, 100.0, digits=TO_TRY)
NEAR = Scale(1.2, 10.0, digits=TO_TRY)
FINE = Scale(1.03, 2.0)  # with a digit more: a close cage passes by the cube of its clearance
LEVEL = Scale(1.2, 1000.0, digits=TO_TRY)  # the vessel's rim and the pickup end it before
BALL = Scale(1.2, 50.0, digits=TO_TRY)
KELVIN = Scale(1.0, 100.0, geometric=False, quantum=0.01, digits=TO_TRY)
METRES = Scale(0.1, 20.0, geometric=False, quantum=0.001, digits=TO_TRY)
BARS = Scale(0.05, 20.0, geometric=False, quantum=1e-4, digits=TO_TRY)
ALTITUDE = Scale(100.0, 12e3, geometric=False, quantum=1.0, digits=TO_TRY)
NEWTONS = Scale(0.05, 200.0, geometric=False, quantum=1e-3, digits=TO_TRY)
MICRONS = Scale(5.0, 1000.0, geometric=False, quantum=0.1, digits=TO_TRY)

CYCLE_RATE = Input(
    "drive.cycle_rate", "cycle rate", "/min", "slower", "faster", WIDE, 1, TENTH,
    shop=ShopRange(f"no shop runs a lower at less than 1 or more than 200 /min ({PRACTICE}), and less than a "
                   "fifth of the material is another job (our choice)", 1.0, 200.0, 0.2),
)  # fmt: skip
VESSEL_LEVEL = Input(
    "suction.vessel_level", "level in the vessel", "mm", "lower", "higher", LEVEL, -1, TENTH,
    shop=ShopRange("the vessel's rim and the pickup"),
)  # fmt: skip
TRAVELS = ShopRange("other shims or another stop; the ball stays in its cage (our choice)", 0.2, 40.0)

INPUTS: tuple[Input, ...] = (
    CYCLE_RATE,
    Input(
        "drive.supply_gauge_pressure", "motor's supply", "bar", "less", "more", NEAR, 0, TENTH,
        shop=_supply,
    ),
    Input(
        "drive.free_cycle_rate", "motor's free rate", "/min", "slower", "faster", NEAR, 1, TENTH,
        shop=ShopRange("a throttled motor, or one half as fast again (our choice)", 1.0, 300.0, 0.25, 1.5),
    ),
    Input(
        "outlet.tip_diameter", "tip's bore", "mm", "narrower", "wider", NEAR, 1, TENTH,
        shop=ShopRange(f"tips are sold from 0.007 to 0.071 in ({PRACTICE}); one of more than twice the area "
                       "sprays something else (our choice)", 0.178, 1.803, 0.7, 1.42),
        sizes=tip_bores,
    ),
    Input(
        "material.viscosity_factor", "viscosity", "", "thinner", "thicker", WIDE, 1, TENTH,
        shop=ShopRange("a tenth of thinner takes a coating to about a quarter of its viscosity (from memory, "
                       "no source), and a cold batch has perhaps four times as much (our choice)", 0.25, 4.0),
    ),
    Input(
        "material.temperature", "material temperature", "degC", "colder", "warmer", KELVIN, -1,
        Doubt("+-", 5.0), _has_law, write=_warmer, shop=_temperatures,
    ),
    Input(
        "suction.temperature", "pail's temperature", "degC", "colder", "warmer", KELVIN, -1,
        Doubt("+-", 5.0), lambda s: _has_law(s) and s.suction.temperature is not None,
        shop=ShopRange(COLDEST_WHY, COLDEST, WARMEST),
    ),
    Input(
        "suction.hose_diameter", "hose's bore", "mm", "narrower", "wider", NEAR, -1, TENTH,
        shop=ShopRange(f"hoses are sold from 1/4 to 4 in ({PRACTICE}); more than twice the bore does not go "
                       "onto a lower (our choice)", 6.3, 102.0, 0.33, 2.1),
        sizes=hose_bores,
    ),
    Input(
        "suction.hose_length", "hose's length", "m", "shorter", "longer", NEAR, 1, TENTH,
        shop=ShopRange("a lower stands at its vessel, and nobody sucks paint through more than 15 m "
                       f"({PRACTICE})", 0.3, 15.0),
    ),
    Input(
        "suction.lift", "lift above the tank", "m", "less", "more", METRES, 1, Doubt("+-", 0.2),
        lambda s: s.suction.vessel == "given lift",
        shop=ShopRange(f"a vessel is put up to 2 m above a lower and 4 m below it ({PRACTICE})", -2.0, 4.0),
    ),
    VESSEL_LEVEL,
    Input(
        "suction.altitude", "altitude", "m", "lower", "higher", ALTITUDE, 1,
        shop=ShopRange(f"nobody moves a shop down; few lie above 4000 m ({PRACTICE})", -500.0, 4000.0, 1.0),
    ),
    Input(
        "suction.tank_gauge_pressure", "feed pressure", "bar", "less", "more", BARS, -1, None,
        lambda s: s.suction.feed != "ram plate", write=_fed,
        shop=ShopRange(f"an open vessel, a pressure pot or feed pump of up to 5 bar ({PRACTICE})", 0.0, 5.0),
    ),
    Input(
        "suction.ram_force", "ram's force", "kN", "less", "more", NEAR, -1, TENTH,
        shop=ShopRange(f"two air cylinders of a ram press with at most 40 kN ({PRACTICE})", 0.1, 40.0),
    ),
    Input(
        "inlet_check.ball_density", "inlet ball's density", "kg/m3", "lighter", "heavier", BALL, 0, TENTH,
        shop=ShopRange(f"balls are sold from plastics to tungsten carbide ({PRACTICE})",
                       LIGHTEST_BALL, 15000.0),
        sizes=ball_materials,
    ),
    Input(
        "inlet_check.spring_preload", "inlet spring's preload", "N", "less", "more", NEWTONS,
        shop=ShopRange("no spring, or one that a hand still presses: 50 N (our choice)", 0.0, 50.0),
    ),
    Input(
        "inlet_check.base_travel", "inlet ball's travel", "mm", "shorter", "longer", NEAR, 0, TENTH,
        fits=_inlet_in_cage, present=lambda s: s.inlet_travel, write=_free_travel,
        shop=TRAVELS, sizes=travels_by_shims,
    ),
    Input(
        "piston_check.travel", "piston ball's travel", "mm", "shorter", "longer", NEAR, 0, TENTH,
        fits=_piston_in_cage, shop=TRAVELS,
    ),
    Input("material.density", "material's density", "kg/m3", "lighter", "heavier", NEAR, None, TENTH),
    Input("material.free_gas_fraction", "free gas", "%", "less", "more", WIDE, None, TWICE),
    Input("material.vapour_pressure", "vapour pressure", "kPa", "less", "more", WIDE, None, TWICE,
          lambda s: s.material.solvent is None),
    Input("inlet_check.seat_diameter", "inlet seat's bore", "mm", "narrower", "wider", NEAR, None, TENTH,
          lambda s: s.inlet_check.table is None),
    Input(
        "inlet_check.cage_diameter", "inlet cage's bore", "mm", "narrower", "wider", FINE, -1, TENTH,
        lambda s: s.inlet_check.table is None,
        shop=ShopRange("another cage in the same housing (our choice)", 1.0, 500.0, 0.7, 1.3),
    ),
    Input("piston_check.seat_diameter", "piston seat's bore", "mm", "narrower", "wider", NEAR, None, TENTH,
          lambda s: s.piston_check.table is None),
    Input("piston_check.cage_diameter", "piston cage's bore", "mm", "narrower", "wider", NEAR, None, TENTH,
          lambda s: s.piston_check.table is None),
    Input("inlet_check.leak_gap", "leak gap of both checks", "um", "less", "more", MICRONS, None,
          Doubt("+", 20.0), write=_both_leak),
    Input("lower.lower_dead_volume", "lower dead volume", "cc", "less", "more", WIDE, None, TENTH),
    Input("lower.piston_packing_gap", "gap past the piston's packing", "um", "less", "more", MICRONS, None,
          Doubt("+", 10.0)),
    Input("material.dissolved_gas_fraction", "dissolved gas", "%", "less", "more", WIDE, None, TWICE),
    Input("outlet.gauge_pressure", "outlet pressure", "bar", "less", "more", WIDE, None, TENTH),
    Input("suction.port_compliance", "port's compliance", "cc/bar", "less", "more", WIDE, None, TWICE,
          lambda s: s.suction.line == "hose" and s.suction.hose_flexing is None),
    Input("suction.hose_flexing", "hose's flexing", "%/bar", "less", "more", WIDE, None, TWICE),
    Input("suction.loss_coefficient", "loss coefficient", "", "less", "more", WIDE, None, TWICE),
)  # fmt: skip
"""In the order in which they are printed."""
