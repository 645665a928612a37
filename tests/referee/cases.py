"""Invented lowers for the comparison: with closed forms fifty, each kind of behaviour by hand, then some at
random; with tabulated closures one for each of their laws."""

from pathlib import Path

import numpy as np

from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"

BY_HAND: dict[str, tuple[str, ...]] = {
    "primer": ("primer",),
    "mastic": ("mastic",),
    "stain": ("stain",),
    "close cage: starved": ("mastic_close_cage",),
    "heavy, 40 Pa s": ("mastic", "material.viscosity=40 Pa.s"),
    "very heavy, slow": ("mastic", "material.viscosity=200 Pa.s", "drive.cycle_rate=4 /min"),
    "thin, 80 mPa s": ("primer", "material.viscosity=80 mPa.s"),
    "floating ball": ("primer", "inlet_check.ball_density=1200 kg/m3", "inlet_check.spring_preload=0.02 N"),
    "ball never seats": ("primer", "inlet_check.ball_density=1351 kg/m3", "drive.cycle_rate=90 /min"),
    "short travel": ("primer", "shims.below=[]"),
    "long travel": ("primer", "shims.below=[1, 2, 3]"),
    "starved by its hose": ("primer", "suction.hose_length=8 m"),
    "pressure feed": ("mastic", "suction.tank_gauge_pressure=3 bar"),
    "flat pad": ("primer", 'inlet_check.stop="pad"', "inlet_check.stop_pad_diameter=12 mm"),
    "both pads, rough": (
        "mastic", 'inlet_check.stop="pad"', "inlet_check.stop_pad_diameter=12 mm",
        'piston_check.stop="pad"', "piston_check.stop_pad_diameter=8 mm",
        "inlet_check.surface_roughness=20 um",
    ),
    "springs": (
        "primer", "inlet_check.spring_preload=0.5 N", "inlet_check.spring_rate=0.2 N/mm",
        "piston_check.spring_preload=1 N", "piston_check.spring_rate=0.1 N/mm",
    ),
    "hanging balls": ("mastic", "inlet_check.holding_force=5 N", "piston_check.holding_force=1 N"),
    "held up by much": ("primer", "inlet_check.holding_force=20 N"),
    "worn seats": ("primer", "inlet_check.leak_gap=50 um", "piston_check.leak_gap=100 um"),
    "much gas": ("primer", "material.free_gas_fraction=5 %"),
    "no gas": ("primer", "material.free_gas_fraction=0 %"),
    "no dwell": ("primer", "drive.dwell_time=0 ms"),
}  # fmt: skip

TABULATED: dict[str, tuple[str, ...]] = {
    "primer": ("primer",),
    "mastic": ("mastic",),
    "stain": ("stain",),
    "stain, 10 mPa s": ("stain", "material.viscosity=10 mPa.s"),
    "thinning": ("elastomer_thinning",),
    "thinning, pads": (
        "elastomer_thinning", 'inlet_check.stop="pad"', "inlet_check.stop_pad_diameter=12 mm",
        'piston_check.stop="pad"', "piston_check.stop_pad_diameter=8 mm",
    ),
    "worn seats": BY_HAND["worn seats"],
    "hanging balls": ("primer", "inlet_check.holding_force=5 N", "piston_check.holding_force=0.3 N"),
    "cone": (
        "primer", 'inlet_check.seat="cone"', "inlet_check.seat_half_angle=45 deg",
        "inlet_check.seat_diameter=18 mm", "inlet_check.seat_mouth_diameter=25 mm",
    ),
    "crank": ("primer",),
}  # fmt: skip

RANDOM = 30

CLOSED_FORM = "closures.resistance=closed form"


def tabulated(name: str) -> Scenario:
    """A case of TABULATED; what the solves say is the same for both solvers, a table has no second author."""
    story, *settings = TABULATED[name]
    if name == "crank":
        return harmonic(story, settings)
    return read_scenario(SCENARIOS / f"{story}.toml", settings)


def by_hand(name: str) -> Scenario:
    """A case of BY_HAND."""
    story, *settings = BY_HAND[name]
    return read_scenario(SCENARIOS / f"{story}.toml", [CLOSED_FORM, *settings])


def at_random(number: int) -> Scenario:
    """Case ``number``: the invented lower with its material, rate, travels, checks and suction drawn anew."""
    rng = np.random.default_rng([3, number])

    def powers(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))

    settings = [
        CLOSED_FORM,
        f"material.viscosity={powers(0.03, 50.0)} Pa.s",
        f"material.density={rng.uniform(900, 1800)} kg/m3",
        f"material.free_gas_fraction={powers(0.01, 3.0)} %",
        f"drive.cycle_rate={powers(6.0, 60.0)} /min",
        f"inlet_check.base_travel={powers(1.0, 8.0)} mm",
        "shims.below=[]",
        f"piston_check.travel={powers(1.5, 8.0)} mm",
        f"inlet_check.ball_density={rng.uniform(3900, 15000)} kg/m3",
        f"inlet_check.cage_diameter={rng.uniform(33.0, 45.0)} mm",
        f"suction.hose_length={powers(0.3, 4.0)} m",
        f"suction.lift={rng.uniform(-1.0, 2.0)} m",
        f"outlet.gauge_pressure={powers(10.0, 250.0)} bar",
    ]
    if rng.random() < 0.3:
        settings += ['inlet_check.stop="pad"', f"inlet_check.stop_pad_diameter={rng.uniform(4, 16)} mm"]
    if rng.random() < 0.2:
        settings.append(f"inlet_check.leak_gap={powers(5.0, 100.0)} um")
    story = "primer"
    if rng.random() < 0.3:
        return harmonic(story, settings)
    return read_scenario(SCENARIOS / f"{story}.toml", settings)


def harmonic(story: str, settings: list[str]) -> Scenario:
    """The scenario of a story with a crank in place of the constant speed."""
    from balltravel.scenario.model import with_values

    found = read_scenario(SCENARIOS / f"{story}.toml", settings)
    changes = {"drive.profile": "harmonic", "drive.ramp_time": None, "drive.dwell_time": None}
    return with_values(found, changes)
