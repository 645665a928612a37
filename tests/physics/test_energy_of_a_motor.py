"""What a motor gives in a driven stroke is what it pushes against, what rubs and what moves (M1b)."""

import math

import numpy as np
import pytest

from balltravel.core.status import Status
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import run_core

from ..helpers.lowers import column, scenario

GRAVITY = 9.80665


@pytest.mark.parametrize("viscosity", [0.5, 20.0])
@pytest.mark.parametrize(
    ("kind", "supply", "ratio"), [("hydraulic", 6e6, 2.5), ("air", 6e5, 25.0)], ids=["hydraulic", "air"]
)
def test_the_work_of_a_driven_stroke_is_accounted_for(
    within, kind: str, supply: float, ratio: float, viscosity: float
) -> None:
    """Force times way, written down anew from the model page, over the upstroke once the valve has shifted,
    by trapezoids over the run's own steps (1e-8 seen)."""
    motor = {
        "profile": "motor", "cycle_rate": None, "motor": kind, "supply_gauge_pressure": supply,
        "area_ratio": ratio, "free_cycle_rate": 1.0,
    }  # fmt: skip
    p = core_parameters(scenario(material={"viscosity": viscosity}, drive=motor))
    run = run_core(p)
    assert run.status is Status.OK
    t = column(run, "time")
    driven = (t > run.clock[1] + 0.3 * (run.clock[2] - run.clock[1])) & (t < run.clock[2])
    t, v = t[driven], column(run, "piston_speed")[driven]
    area = ratio * math.pi / 8.0 * 0.048**2
    free = 0.09 / (0.5 - 0.03 - 0.04)
    if kind == "air":
        force = area * (column(run, "air_below") - column(run, "air_above"))[driven]
    else:
        force = area * supply * (1.0 - (v / free) * np.abs(v / free))
    bore, rod = math.pi / 4.0 * 0.048**2, math.pi / 4.0 * 0.034**2
    lower, upper = column(run, "lower_pressure")[driven], column(run, "upper_pressure")[driven]
    load = upper * (bore - rod) - lower * bore + 101325.0 * rod + 5.0 * GRAVITY
    rubbed = 0.03 * area * supply * v / np.sqrt(v * v + (1e-3 * free) ** 2)
    given = float(np.trapezoid(force * v, t))
    moving = 0.5 * 5.0 * (v[-1] ** 2 - v[0] ** 2)
    left = given - float(np.trapezoid((load + rubbed) * v, t)) - moving
    assert given > 100.0
    within(left / given, 1e-6)
