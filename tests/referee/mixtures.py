"""Invented lowers with motors, tips, packings, gas, strainers: each part by hand, then mixtures by a seed."""

import numpy as np
from referee.cases import CLOSED_FORM, SCENARIOS, harmonic

from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario


def motor(kind: str, supply: float, ratio: float, free: float, *more: str) -> tuple[str, ...]:
    """A motor: gauge pressure of its supply [bar], area ratio, cycles a minute without load."""
    return (
        "drive.profile=motor", f"drive.motor={kind}", f"drive.supply_gauge_pressure={supply} bar",
        f"drive.area_ratio={ratio}", f"drive.free_cycle_rate={free} /min",
        "drive.ramp_time=30 ms", "drive.dwell_time=40 ms", *more,
    )  # fmt: skip


def tip(tip_mm: float, hose_mm: float, hose_m: float, *more: str) -> tuple[str, ...]:
    """A tip behind a hose: both bores [mm], length of the hose [m]."""
    return (
        "outlet.form=tip", f"outlet.hose_length={hose_m} m", f"outlet.hose_diameter={hose_mm} mm",
        f"outlet.tip_diameter={tip_mm} mm", "outlet.tip_discharge_coefficient=0.8", *more,
    )  # fmt: skip


def packings(piston_um: float, rod_um: float) -> tuple[str, ...]:
    """Worn packings: gaps [um]."""
    return f"lower.piston_packing_gap={piston_um} um", f"lower.rod_packing_gap={rod_um} um"


def gas(percent: float, seconds: float) -> tuple[str, ...]:
    """Dissolved gas [%] and its time constant [s]."""
    return f"material.dissolved_gas_fraction={percent} %", f"material.gas_release_time={seconds} s"


def strainer(holes: int, mm: float, *fittings: str) -> tuple[str, ...]:
    """A strainer of holes [mm] in a plate of 1 mm, and fittings."""
    names = ", ".join(f'"{name}"' for name in fittings)
    return (
        "suction.strainer=holes", f"suction.strainer_holes={holes}",
        f"suction.strainer_hole_diameter={mm} mm", "suction.strainer_thickness=1 mm",
        f"suction.fittings=[{names}]",
    )  # fmt: skip


HYDRAULIC, AIR = motor("hydraulic", 60, 2.5, 60), motor("air", 6, 25, 60)
TABULATED_FORM = "closures.resistance=tabulated"

BY_PART: dict[str, tuple[str, ...]] = {
    "hydraulic motor": ("primer", *HYDRAULIC),
    "hydraulic motor, no dwell, 20 kg": (
        "primer", *HYDRAULIC, "drive.dwell_time=0 ms", "drive.moving_mass=20 kg",
    ),
    "hydraulic motor dives through a void": ("primer", *HYDRAULIC, "material.viscosity=20 Pa.s"),
    "air motor": ("primer", *AIR),
    "air motor, narrow exhaust": ("primer", *AIR, "drive.exhaust_conductance=1.5 l/s/bar"),
    "air motor dives through a void": (
        "primer", *AIR, "material.viscosity=15 Pa.s", "drive.moving_mass=20 kg",
    ),
    "air motor goes back to its stop": (
        "primer", *motor("air", 6, 21.3, 120, "drive.moving_mass=50 kg", "drive.friction=0 %"),
        "material.viscosity=2 Pa.s", "material.free_gas_fraction=1 %", "piston_check.travel=3 mm",
        "outlet.gauge_pressure=90 bar",
    ),
    "tip": ("primer", *tip(3, 19, 15)),
    "tip of a long bore, soft hose": (
        "primer", *tip(3.5, 22, 8, "outlet.tip_length=6 mm", "outlet.hose_compliance=2 cc/bar"),
    ),
    "tip, turbulent hose": ("stain", *tip(0.9, 5, 10)),
    "piston packing": ("primer", *packings(120, 0)),
    "rod packing": ("primer", *packings(0, 100)),
    "gas, slow": ("primer", *gas(9, 5)),
    "gas, fast, starved": ("mastic_close_cage", *gas(9, 0.1)),
    "gas and a worn packing": ("primer", *gas(9, 0.5), *packings(600, 0), "outlet.gauge_pressure=1 bar"),
    "strainer and fittings": (
        "primer", *strainer(150, 2, "sharp entry", "elbow 90 screwed", "globe valve"),
    ),
    "air motor at a tip": ("stain_by_air",),
}  # fmt: skip
"""A part alone, or the two that meet in an equation."""

THINNING = (
    "elastomer_thinning", *tip(5, 25, 5), *packings(150, 100),
    *strainer(300, 3, "rounded entry", "full bore valve"),
)  # fmt: skip

STALLED = (
    "primer", *AIR, "drive.free_cycle_rate=200 /min", "outlet.form=closed", *packings(30, 30),
)  # fmt: skip

RANDOM, TABULATED_NUMBERS = 13, (3, 8)
"""Mixtures, and which of them are on the tables."""


def by_part(name: str) -> Scenario:
    """A case of BY_PART."""
    story, *settings = BY_PART[name]
    return read_scenario(SCENARIOS / f"{story}.toml", [CLOSED_FORM, *settings])


def stalled() -> Scenario:
    """A motor that pushes against a shut outlet, and creeps as its packings leak."""
    story, *settings = STALLED
    return read_scenario(SCENARIOS / f"{story}.toml", [CLOSED_FORM, *settings])


def thinning() -> Scenario:
    """Tip, packings and strainer with a material that thins, on the tables."""
    story, *settings = THINNING
    return read_scenario(SCENARIOS / f"{story}.toml", settings)


def mixture(number: int) -> Scenario:
    """Mixture ``number``: each part is there with a chance of a half or more, its numbers drawn anew."""
    rng = np.random.default_rng([7, number])

    def powers(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))

    heavy = powers(0.05, 15.0)
    settings = [
        TABULATED_FORM if number in TABULATED_NUMBERS else CLOSED_FORM,
        f"material.viscosity={heavy} Pa.s",
        f"material.density={rng.uniform(900, 1600)} kg/m3",
        f"material.free_gas_fraction={powers(0.05, 2.0)} %",
        f"suction.lift={rng.uniform(-0.5, 1.5)} m",
        f"suction.hose_length={powers(0.5, 3.0)} m",
        f"piston_check.travel={powers(2.0, 7.0)} mm",
        "shims.below=" + ("[2]", "[1, 2]", "[3]")[rng.integers(3)],
    ]
    crank = False
    if rng.random() < 0.7:
        kind = ("hydraulic", "air")[rng.integers(2)]
        supply, ratio = (rng.uniform(40, 100), 3.0) if kind == "hydraulic" else (rng.uniform(4, 7), 30.0)
        more = [f"drive.moving_mass={powers(2, 20)} kg", f"drive.friction={rng.uniform(1, 8)} %"]
        if kind == "air" and rng.random() < 0.5:
            more.append(f"drive.exhaust_conductance={powers(1.5, 10)} l/s/bar")
        settings += motor(kind, supply, ratio, powers(30, 90), *more)
        load = supply * ratio * rng.uniform(0.3, 0.75)
    else:
        crank, load = rng.random() < 0.5, powers(20.0, 200.0)
        settings.append(f"drive.cycle_rate={powers(10, 40)} /min")
    if rng.random() < 0.5:
        settings += tip(rng.uniform(1.8, 3.5), rng.uniform(16, 25), powers(3, 20))
        settings.append(f"outlet.tip_length={rng.uniform(0, 3)} mm")
    else:
        settings.append(f"outlet.gauge_pressure={load} bar")
    if rng.random() < 0.6:
        settings += packings(powers(10, 150), powers(10, 80))
    if rng.random() < 0.6:
        settings += gas(powers(1, 12), powers(0.05, 5))
    if rng.random() < 0.5:
        settings += strainer(int(rng.integers(60, 400)), rng.uniform(1.5, 4), "sharp entry", "elbow 45")
    return harmonic("primer", settings) if crank else read_scenario(SCENARIOS / "primer.toml", settings)
