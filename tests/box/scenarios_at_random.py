"""Scenarios drawn at random from all that a scenario may be: any size, drive and material, corners included.

Scenario number i of a seed is always the same, so that a case that fails is named by two numbers.
"""

import math
from typing import Any

import numpy as np

from balltravel.scenario.model import FIELDS, Scenario, ScenarioError, build, quantity_of

Tables = dict[str, dict[str, Any]]

VISCOSITIES = (1e-3, 1e3)
CORNER = 0.15
"""Probability that a value is put at an end of its range."""

STOPS, DRIVES = ("pins", "pad"), ("constant speed", "harmonic")


class Dice:
    """Random numbers over ranges whose ends come up too."""

    def __init__(self, *seed: int) -> None:
        self.rng = np.random.default_rng(seed)

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def pick(self, choices: tuple[Any, ...]) -> Any:
        return choices[self.rng.integers(len(choices))]

    def even(self, low: float, high: float) -> float:
        if self.chance(CORNER):
            return float(self.pick((low, high)))
        return float(self.rng.uniform(low, high))

    def powers(self, low: float, high: float) -> float:
        """Evenly in the logarithm."""
        if self.chance(CORNER):
            return float(self.pick((low, high)))
        return float(np.exp(self.rng.uniform(np.log(low), np.log(high))))

    def any_of(self, key: str, typical_low: float, typical_high: float) -> float:
        """A value of a key: mostly from a typical range, else from all that is allowed."""
        if self.chance(0.8):
            return self.powers(typical_low, typical_high)
        quantity = quantity_of(FIELDS[key])
        assert quantity is not None
        low, high = quantity.low, quantity.high
        return self.powers(low, high) if low > 0.0 else self.even(low, high)


def check_tables(dice: Dice, table: str, bore: float, longest_cage: float) -> dict[str, Any]:
    """Sizes of a check, over those of the bore."""
    cage = min(longest_cage, bore * dice.even(0.15, 2.0))
    ball = cage * dice.even(0.3, 0.95)
    seat = max(1e-3, ball / dice.even(1.02, 2.5))
    found: dict[str, Any] = {
        "seat_diameter": seat,
        "ball_diameter": ball,
        "cage_diameter": cage,
        "seat_length": min(1.0, seat * dice.even(0.0, 3.0)),
        "cage_length": min(1.0, ball * dice.even(1.0, 4.0)),
        "ball_density": dice.any_of(f"{table}.ball_density", 1500.0, 15000.0),
        "stop": dice.pick(STOPS),
        "discharge_coefficient": dice.any_of(f"{table}.discharge_coefficient", 0.5, 1.0),
    }
    if found["stop"] == "pad":
        found["stop_pad_diameter"] = max(1e-3, ball * dice.even(0.05, 0.9))
    if dice.chance(0.3):
        found["spring_preload"] = dice.any_of(f"{table}.spring_preload", 1e-3, 10.0)
        found["spring_rate"] = dice.any_of(f"{table}.spring_rate", 1.0, 1e4)
    if dice.chance(0.3):
        found["leak_gap"] = dice.any_of(f"{table}.leak_gap", 1e-6, 1e-4)
    if dice.chance(0.5):
        found["surface_roughness"] = dice.any_of(f"{table}.surface_roughness", 1e-7, 1e-4)
    return {**found, **cone_keys(dice, found), **rib_keys(dice, found)}


def cone_keys(dice: Dice, check: dict[str, Any]) -> dict[str, Any]:
    """Now and then a cone whose circle of contact lies between bore and mouth, with a lapped band or none."""
    if not dice.chance(0.1):
        return {}
    steepest = math.acos(min(1.0, check["seat_diameter"] / check["ball_diameter"]))
    angle = dice.even(0.3, min(1.3, max(0.3, steepest)))
    contact = check["ball_diameter"] * math.cos(angle)
    mouth = contact + dice.even(0.01, 0.99) * max(0.0, check["cage_diameter"] - contact)
    room = min(contact - check["seat_diameter"], mouth - contact) / math.sin(angle)
    room = min(room, 0.2 * check["ball_diameter"])
    return {
        "seat": "cone",
        "seat_half_angle": angle,
        "seat_mouth_diameter": max(1e-3, mouth),
        "seat_land_width": min(0.05, dice.pick((0.0, dice.even(0.0, 0.999) * max(room, 0.0)))),
    }


def rib_keys(dice: Dice, check: dict[str, Any]) -> dict[str, Any]:
    """Now and then a cage of ribs."""
    if not dice.chance(0.03):
        return {}
    count, cage = dice.pick((2.0, 3.0, 4.0, 8.0)), check["cage_diameter"]
    return {
        "cage": "ribs",
        "rib_count": count,
        "rib_width": max(1e-3, dice.even(0.02, 0.999) * math.pi * cage / count),
        "housing_diameter": min(0.5, cage * dice.powers(1.001, 3.0)),
    }


def drive_table(dice: Dice) -> dict[str, Any]:
    """A crank, or a constant speed with ramps from hardly any to nearly the whole stroke."""
    rate = dice.any_of("drive.cycle_rate", 0.1, 2.0)
    profile = dice.pick(DRIVES)
    if profile == "harmonic":
        return {"profile": profile, "cycle_rate": rate}
    dwell = dice.even(0.0, 0.5) / rate * dice.pick((0.0, 0.1, 0.9))
    ramp = min(50.0, dice.powers(1e-4, 0.49) * (0.5 / rate - dwell))
    return {"profile": profile, "cycle_rate": rate, "dwell_time": dwell, "ramp_time": ramp}


def motor_table(dice: Dice, outlet: float) -> dict[str, Any]:
    """A motor that is strong enough for the outlet's gauge pressure [Pa], or nearly so, or by far."""
    supply = dice.any_of("drive.supply_gauge_pressure", 3e5, 2e7)
    rate = dice.any_of("drive.free_cycle_rate", 0.1, 2.0)
    dwell = dice.even(0.0, 0.5) / rate * dice.pick((0.0, 0.1, 0.9))
    return {
        "profile": "motor",
        "motor": dice.pick(("hydraulic", "air")),
        "supply_gauge_pressure": supply,
        "area_ratio": min(200.0, max(0.1, outlet / supply * dice.powers(0.8, 20.0))),
        "free_cycle_rate": rate,
        "dwell_time": dwell,
        "ramp_time": min(50.0, dice.powers(1e-3, 0.49) * (0.5 / rate - dwell)),
        "moving_mass": dice.any_of("drive.moving_mass", 1.0, 30.0),
        "friction": dice.pick((0.0, dice.even(0.0, 0.5))),
    }


def tip_table(dice: Dice, material: dict[str, Any], flow: float) -> dict[str, Any]:
    """A hose and a tip at which a flow [m3/s] makes pressures such as lowers have: what a hole in creeping
    flow and a jet ask for, whichever is wider."""
    mu, density = material["viscosity"], material["density"]
    pressure, coefficient = dice.powers(1e5, 3e7), dice.even(0.2, 1.0)
    length, lost = dice.any_of("outlet.hose_length", 1.0, 30.0), dice.powers(1e3, 1e7)
    jet = math.sqrt(flow / (coefficient * math.pi * math.sqrt(2.0 * pressure / density)))
    hole = (3.0 * mu * flow / pressure) ** (1.0 / 3.0)
    hose = (128.0 * mu * length * flow / (math.pi * lost)) ** 0.25
    table = {
        "form": "tip",
        "hose_length": length,
        "hose_diameter": min(0.5, max(1e-3, hose)),
        "tip_diameter": min(0.05, max(1e-5, 2.0 * max(jet, hole))),
        "tip_length": dice.pick((0.0, min(0.1, 2.0 * max(jet, hole) * dice.powers(0.1, 3.0)))),
        "tip_discharge_coefficient": coefficient,
    }
    if dice.chance(0.5):
        volume = 0.25 * math.pi * table["hose_diameter"] ** 2 * length
        table["hose_compliance"] = min(1e-6, max(1e-15, volume * dice.powers(1e-10, 1e-7)))
    return table


def add_more(dice: Dice, tables: Tables) -> None:
    """Now and then a motor, a tip or a closed outlet, worn packings, gas in solution."""
    lower, material, drive = tables["lower"], tables["material"], tables["drive"]
    if dice.chance(0.15):
        tables["drive"] = motor_table(dice, max(1e5, tables["outlet"]["gauge_pressure"]))
    rate = tables["drive"].get("free_cycle_rate") or drive["cycle_rate"]
    if dice.chance(0.15):
        tables["outlet"] = tip_table(dice, material, 0.785 * lower["bore"] ** 2 * lower["stroke"] * rate)
    elif tables["drive"]["profile"] == "motor" and dice.chance(0.1):
        tables["outlet"] = {"form": "closed"}
    for packing in ("piston_packing", "rod_packing"):
        if dice.chance(0.15):
            lower[f"{packing}_gap"] = dice.any_of(f"lower.{packing}_gap", 1e-6, 1e-4)
            lower[f"{packing}_length"] = dice.any_of(f"lower.{packing}_length", 2e-3, 0.03)
    if dice.chance(0.15):
        material["dissolved_gas_fraction"] = dice.any_of("material.dissolved_gas_fraction", 1e-3, 0.2)
        material["gas_release_time"] = dice.any_of("material.gas_release_time", 0.01, 100.0)


def thinning_keys(dice: Dice) -> dict[str, Any]:
    """A material that thins, often with a yield stress, or hardly at all."""
    return {
        "flow": "shear-thinning",
        "thinning_exponent": dice.even(0.3, 1.0),
        "thinning_onset": dice.any_of("material.thinning_onset", 0.01, 1000.0),
        "yield_stress": dice.pick((0.0, dice.powers(0.1, 1e4))),
    }


def draw_tables(dice: Dice) -> Tables:
    """All tables of a scenario; some of them are not allowed."""
    bore = dice.any_of("lower.bore", 0.02, 0.2)
    stroke = min(3.0, max(5e-3, bore * dice.powers(0.3, 8.0)))
    inlet = check_tables(dice, "inlet_check", bore, 0.5)
    piston = check_tables(dice, "piston_check", bore, 0.999 * bore)
    inlet["base_travel"] = min(0.2, max(1e-5, inlet["seat_diameter"] * dice.powers(0.003, 1.5)))
    piston["travel"] = min(0.2, max(1e-5, piston["seat_diameter"] * dice.powers(0.003, 1.5)))
    swept = 0.785 * bore**2 * stroke
    material = {
        "viscosity": dice.powers(*VISCOSITIES),
        "density": dice.any_of("material.density", 800.0, 2000.0),
        "vapour_pressure": dice.pick((0.0, 2000.0, 20000.0)),
        "free_gas_fraction": dice.any_of("material.free_gas_fraction", 1e-5, 0.05),
        "bulk_modulus": dice.any_of("material.bulk_modulus", 1e9, 3e9),
    }
    lower = {
        "bore": bore,
        "rod": max(2e-3, bore * dice.even(0.2, 0.97)),
        "stroke": stroke,
        "lower_dead_volume": min(1.0, max(1e-9, swept * dice.powers(0.01, 3.0))),
        "upper_dead_volume": min(1.0, max(1e-9, swept * dice.powers(0.01, 3.0))),
    }
    hose = dice.any_of("suction.hose_length", 0.1, 10.0)
    inside = min(0.5, max(1e-3, bore * dice.powers(0.2, 2.0)))
    barometric = dice.any_of("suction.barometric_pressure", 7e4, 1.05e5)
    softest = 0.39 * inside**2 * hose / barometric
    suction = {
        "hose_length": hose,
        "hose_diameter": inside,
        "lift": dice.even(-2.0, 5.0),
        "loss_coefficient": dice.any_of("suction.loss_coefficient", 0.5, 20.0),
        "tank_gauge_pressure": dice.pick((0.0, 0.0, 1e5, 1e6)),
        "barometric_pressure": barometric,
        "port_compliance": min(1e-6, max(1e-15, softest * dice.powers(1e-6, 0.999))),
    }
    outlet = {"gauge_pressure": dice.any_of("outlet.gauge_pressure", 1e5, 3e7)}
    closures = {
        "resistance": dice.pick(("tabulated", "tabulated", "closed form")),
        "ball_position": dice.pick(("centred", "touching", "drifting")),
    }
    if dice.chance(0.3) and closures["resistance"] == "tabulated":
        material |= thinning_keys(dice)
    return {
        "closures": closures, "material": material, "lower": lower,
        "inlet_check": inlet, "piston_check": piston,
        "shims": {"thicknesses": (), "below": ()}, "drive": drive_table(dice), "suction": suction,
        "outlet": outlet,
    }  # fmt: skip


def scenario_number(seed: int, number: int) -> Scenario:
    """Scenario ``number`` of a seed: the first draw that is allowed."""
    dice, more = Dice(seed, number), Dice(seed, number, 1)
    for _ in range(1000):
        tables = draw_tables(dice)
        add_more(more, tables)
        try:
            return build({"title": f"box {seed}, {number}", **tables})
        except ScenarioError:
            continue
    raise AssertionError(f"no scenario number {number} of seed {seed}")
