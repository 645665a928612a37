"""Signs that a shop sees: what each is, how well it is read, and what a scenario makes of it."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.core.status import Status
from balltravel.scenario.model import Scenario, with_values
from balltravel.study.site.stall import Creep, creep_of
from balltravel.sweeps.cases import Progress, in_threads
from balltravel.sweeps.columns import Columns, compute
from balltravel.sweeps.engine import run_plan
from balltravel.units.keys import Quantity

Array = NDArray[np.float64]

TOLERANCE = 1e-4
"""Relative tolerance of the runs: far below what anybody reads at a bench."""

MOST_CYCLES = 8
"""Cycles after which a run counts as settled, four times as many where gas or a hose stores: what still
differs then is less than anybody reads, and thin material full of gas never repeats itself (our choice)."""

SLOWEST = 300.0
"""How long somebody watches a piston that does not creep [s] where it is not said (our choice)."""

MILLIMETRE = 1e-3
"""Creep that an eye sees: a millimetre (our choice)."""

LEAST_WEEP = 0.1e-6 / 3600.0
"""Weep at the gland that nobody can collect: 0.1 cc an hour [m3/s] (our choice)."""

POUNDING = {"none": 0.25, "heard": 0.7, "hard": 1.5}
"""Landing speed of the inlet ball [m/s] that each word stands for (our choice; read within a factor of 2)."""


@dataclass(frozen=True)
class Sign:
    """A sign: what it is called, what its values may be, and how well it is usually read: one standard
    deviation, of ``share`` signs that of the logarithm (all our choice unless the file says within what).

    ``share``: compared as a ratio, else as a difference [SI]; ``floor``: added before, so that nothing is a
    value too; ``weighed``: a volume or a mass; ``may_be_none``: ``none in 5 min`` is an answer. ``of``: a
    metric's column; ``effort``: how dear it is to read, for the choice of the next test.
    """

    name: str
    quantity: Quantity
    sd: float
    share: bool = True
    floor: float = 0.0
    weighed: bool = False
    may_be_none: bool = False
    of: str = ""
    effort: float = 1.0
    how: str = ""

    def scaled(self, value: Array | float, floor: float | None = None) -> Any:
        """Values [SI] on the scale on which they are compared."""
        if not self.share:
            return value
        floor = self.floor if floor is None else floor
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.log(np.maximum(np.asarray(value, np.float64) + floor, 1e-12))


_TIME, _DIP = Quantity("time", 0.01, 600.0, "1.3 s"), Quantity("fraction", 0.0, 1.5, "7 %")
_STROKE = Quantity("time", 0.05, 1e6, "157 s")
_GIVE = Quantity("length", 0.0, 3.0, "4 mm")

CYCLE_SIGNS = {
    "weighed_per_cycle": Sign(
        "delivered per cycle", Quantity("volume", 1e-9, 1.0, "152 cc"), 0.02, weighed=True,
        of="delivered_volume", effort=3.0, how="catch ten cycles in a cup and weigh them",
    ),
    "cycle_rate": Sign(
        "cycle rate", Quantity("frequency", 0.005, 50.0, "23 /min"), 0.02, of="cycle_rate", effort=1.0,
        how="count the cycles of a minute",
    ),
    "upstroke_time": Sign(
        "time of the upstroke", _TIME, 0.04, of="upstroke_time", effort=1.5,
        how="time ten upstrokes with a stopwatch",
    ),
    "downstroke_time": Sign(
        "time of the downstroke", _TIME, 0.04, of="downstroke_time", effort=1.5,
        how="time ten downstrokes with a stopwatch",
    ),
    "tip_pressure": Sign(
        "pressure at the tip", Quantity("pressure", 1e4, 1e8, "113 bar"), 0.02, of="spray_pressure",
        effort=2.0, how="read the gauge before the tip while it sprays",
    ),
    "dip_at_top": Sign(
        "dip at the top", _DIP, 0.03, share=False, of="dip_at_top", effort=2.0,
        how="read how far the gauge before the tip falls at the top reversal",
    ),
    "dip_at_bottom": Sign(
        "dip at the bottom", _DIP, 0.03, share=False, of="dip_at_bottom", effort=2.0,
        how="read how far the gauge before the tip falls at the bottom reversal",
    ),
    "vacuum_at_inlet": Sign(
        "pressure at the inlet", Quantity("pressure", -1.2e5, 1e7, "-0.22 bar"), 2e3, share=False,
        of="inlet_gauge_pressure", effort=4.0, how="read a vacuum gauge at the inlet over the upstroke",
    ),
    "pounding": Sign(
        "landing of the inlet ball", Quantity("velocity", 0.0, 100.0, "0.7 m/s"), 0.7, floor=0.05,
        of="inlet_landing_speed", effort=1.0, how="listen at the foot valve",
    ),
}  # fmt: skip
"""Signs of a pump at work, by their key in a file."""

STALL_SIGNS = {
    "seconds_per_stroke_up": Sign(
        "creep up, a stroke in", _STROKE, 0.15, may_be_none=True, effort=3.0,
        how="close the outlet and time how fast the piston creeps up",
    ),
    "seconds_per_stroke_down": Sign(
        "creep down, a stroke in", _STROKE, 0.15, may_be_none=True, effort=3.0,
        how="close the outlet and time how fast the piston creeps down",
    ),
    "give_up": Sign(
        "give up", _GIVE, 5e-4, share=False, effort=3.0,
        how="close the outlet and measure how far the rod jumps up before it creeps",
    ),
    "give_down": Sign(
        "give down", _GIVE, 5e-4, share=False, effort=3.0,
        how="close the outlet and measure how far the rod jumps down before it creeps",
    ),
    "gland_weep": Sign(
        "weep at the gland", Quantity("flow", 0.0, 1e-3, "12 cc/h"), 0.2, floor=LEAST_WEEP, effort=4.0,
        how="catch what weeps at the gland for an hour at stall",
    ),
}  # fmt: skip
"""Signs of a piston pushed against a closed outlet. Creep is read as time and compared as speed."""

BEFORE_THE_TIP = ("tip_pressure", "dip_at_top", "dip_at_bottom")
"""Signs that only an outlet with a tip has."""

SIGNS = CYCLE_SIGNS | STALL_SIGNS


def cycle_values(columns: Columns, barometric: float) -> dict[str, Array]:
    """Signs [SI] of a batch of cycles, one array a sign; nan where the run failed or there is none."""
    values = {key: np.array(columns[sign.of]) for key, sign in CYCLE_SIGNS.items()}
    values["tip_pressure"] -= barometric
    failed = columns["status"] > Status.NOT_PERIODIC
    return {key: np.where(failed, np.nan, column) for key, column in values.items()}


def stall_values(scenario: Scenario, up: Creep | None, down: Creep | None) -> dict[str, float]:
    """Signs [SI] of a stall; of creep the speed [m/s], not the time. nan where the run failed, and the
    give of a piston that ran through by compression is what it could go."""
    half, values = 0.5 * scenario.lower.stroke, dict.fromkeys(STALL_SIGNS, math.nan)
    for way, creep in (("up", up), ("down", down)):
        if creep is not None:
            values[f"seconds_per_stroke_{way}"] = max(creep.speed, 0.0)
            values[f"give_{way}"] = max(creep.give, 0.0) if creep.held else half
    weeps = [creep.weep for creep in (up, down) if creep is not None]
    values["gland_weep"] = float(np.mean(weeps)) if weeps else math.nan
    return values


class _Plan:
    """Changes of one scenario as the engine takes them."""

    def __init__(self, scenario: Scenario, changes: Sequence[Mapping[str, Any]]) -> None:
        self.scenario, self._changes = scenario, [dict(changed) for changed in changes]

    def __len__(self) -> int:
        return len(self._changes)

    def changes(self, start: int, stop: int) -> list[dict[str, Any]]:
        """Of the cases ``start`` to ``stop - 1``."""
        return self._changes[start:stop]


def run_cycles(
    scenario: Scenario,
    changes: Sequence[Mapping[str, Any]],
    workers: int | None = None,
    progress: Progress | None = None,
) -> dict[str, Array]:
    """Signs of the pump at work [SI], one array a sign, a value for each set of changes."""
    some_cycles = partial(compute, max_cycles=MOST_CYCLES)
    columns = run_plan(_Plan(scenario, changes), TOLERANCE, workers, progress, compute=some_cycles)
    return cycle_values(columns, scenario.suction.barometric_pressure)


def run_stalls(
    scenario: Scenario,
    changes: Sequence[Mapping[str, Any]],
    pressure: float,
    workers: int | None = None,
    progress: Progress | None = None,
) -> dict[str, Array]:
    """The same of a stall at a gauge pressure [Pa]."""
    tasks: list[Callable[[], dict[str, float]]] = [
        partial(_stall, scenario, changed, pressure) for changed in changes
    ]
    values = in_threads(tasks, len(tasks), workers, progress)
    return {key: np.array([each[key] for each in values]) for key in STALL_SIGNS}


def _stall(scenario: Scenario, changed: Mapping[str, Any], pressure: float) -> dict[str, float]:
    worn = with_values(scenario, changed)
    ways = (creep_of(worn, upward, pressure, TOLERANCE) for upward in (True, False))
    return stall_values(worn, *ways)
