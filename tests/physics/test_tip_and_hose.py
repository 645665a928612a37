"""A hose and a spray tip: what is delivered is sprayed, and the cycle rate for a pressure is found."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from balltravel.cycle.dataset import cycle_metrics, simulate
from balltravel.cycle.found_rate import at_found_rate
from balltravel.estimate.cautions import warnings_for
from balltravel.scenario.model import Scenario
from balltravel.setup.drive import cycle_rate_of

from ..helpers.lowers import scenario

TIP: dict[str, Any] = {
    "form": "tip",
    "gauge_pressure": None,
    "hose_length": 15.0,
    "hose_diameter": 9.5e-3,
    "tip_diameter": 0.8e-3,
    "tip_discharge_coefficient": 0.8,
}
MOTOR: dict[str, Any] = {
    "profile": "motor",
    "cycle_rate": None,
    "motor": "hydraulic",
    "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5,
    "free_cycle_rate": 1.0,
}
AIR: dict[str, Any] = {**MOTOR, "motor": "air", "supply_gauge_pressure": 6e5, "area_ratio": 25.0}


def spraying(viscosity: float = 0.1, drive: dict[str, Any] | None = None, **outlet: Any) -> Scenario:
    return scenario(material={"viscosity": viscosity}, drive=drive or {}, outlet={**TIP, **outlet})


@pytest.mark.parametrize(
    "drive", [{}, MOTOR, {**MOTOR, "motor": "air", "supply_gauge_pressure": 6e5, "area_ratio": 25.0}]
)
def test_what_the_lower_delivers_in_a_cycle_leaves_through_the_tip(drive: dict[str, Any]) -> None:
    data = simulate(spraying(drive=drive))
    assert data.attrs["status"] == "ok"
    assert float(data.sprayed_volume[-1]) == pytest.approx(float(data.delivered_volume[-1]), rel=2e-3)


@pytest.mark.parametrize("viscosity", [0.02, 0.5])
@pytest.mark.parametrize("pressure", [4e6, 1e7])
def test_the_found_cycle_rate_makes_the_pressure_and_passes_the_tips_flow(
    pressure: float, viscosity: float
) -> None:
    found = simulate(
        spraying(viscosity, {"cycle_rate": None}, form="tip at pressure", gauge_pressure=pressure)
    )
    metrics = cycle_metrics(found)
    assert metrics.outlet_pressure - 101325.0 == pytest.approx(pressure, rel=1e-3)
    assert float(found.sprayed_volume[-1]) == pytest.approx(metrics.delivered_volume, rel=2e-3)
    # Put back as a given rate, the lower makes that pressure again.
    again = cycle_metrics(simulate(spraying(viscosity, {"cycle_rate": metrics.cycle_rate})))
    assert again.outlet_pressure - 101325.0 == pytest.approx(pressure, rel=1e-3)


def test_where_no_rate_makes_the_pressure_the_nearest_is_run_and_told() -> None:
    """A tip so narrow that the slowest rate presses more."""
    pressure, rate = 2e5, 0.005
    tip = {"form": "tip at pressure", "gauge_pressure": pressure, "tip_diameter": 2e-4}
    asked = spraying(0.1, {"cycle_rate": None}, **tip)
    metrics = cycle_metrics(simulate(asked))
    assert metrics.cycle_rate == pytest.approx(rate, rel=1e-3)
    assert any("at any cycle rate" in one for one in warnings_for(asked, metrics))
    held = replace(metrics, outlet_pressure=pressure + 101325.0)
    assert not any("at any cycle rate" in one for one in warnings_for(asked, held))


def test_the_rate_looked_at_beforehand_is_what_hose_and_tip_pass_of_a_full_lower() -> None:
    """So heavy a material loses as much in the hose as at the tip, and straight with the flow: the mean
    pressure passes the mean flow, so that the found rate makes up for what is not delivered, and no more."""
    asked = spraying(
        5.0, {"cycle_rate": None}, form="tip at pressure", gauge_pressure=1e7, tip_diameter=1.5e-3
    )
    metrics = cycle_metrics(simulate(asked))
    estimate = cycle_rate_of(asked)
    assert metrics.cycle_rate * metrics.volumetric_efficiency == pytest.approx(estimate, rel=0.01)


def test_a_crank_whose_tip_is_far_too_wide_runs_at_the_fastest_rate_there_is() -> None:
    """Nothing has to fit into a crank's cycle, so that the search goes to the end of what is allowed."""
    drive = {"profile": "harmonic", "cycle_rate": None, "ramp_time": None, "dwell_time": None}
    asked = spraying(5.0, drive, form="tip at pressure", gauge_pressure=1e8, tip_diameter=0.05)
    assert at_found_rate(asked).drive.cycle_rate == 50.0


def test_a_thin_liquids_tip_passes_the_orifice_formula_at_each_instant(agree) -> None:
    """Q = C_d A sqrt(2 dp/rho); viscosity takes some thousandths at 1 mPa s."""
    data = simulate(spraying(1e-3, tip_length=0.0))
    area = np.pi / 4.0 * 0.8e-3**2
    wanted = 0.8 * area * np.sqrt(2.0 * (data.tip_pressure.values - 101325.0) / 1250.0)
    agree(data.tip_flow.values, wanted, 0.01)


def test_the_pressure_before_the_tip_dips_at_changeover_and_less_with_a_softer_hose() -> None:
    dips = []
    for compliance in (1e-12, 5e-12, 2e-11):
        metrics = cycle_metrics(simulate(spraying(hose_compliance=compliance)))
        dips.append(metrics.pressure_dip)
    assert dips == sorted(dips, reverse=True)
    assert dips[0] > 2.0 * dips[-1] > 0.0


def test_the_mean_pressure_over_the_hose_is_hagen_and_poiseuilles_at_the_mean_flow(agree) -> None:
    """Laminar friction is linear: the mean drop is that of the mean flow."""
    viscosity = 0.5
    data = simulate(spraying(viscosity))
    m = cycle_metrics(data)
    drop = m.outlet_pressure - m.spray_pressure
    flow = float(data.delivered_volume[-1]) / float(data.period)
    agree(drop, 128.0 * viscosity * 15.0 / (np.pi * 9.5e-3**4) * flow, 5e-3)


def test_a_wider_tip_lets_a_motor_stroke_faster_at_less_pressure() -> None:
    rates, pressures = [], []
    for diameter in (0.5e-3, 0.8e-3, 1.2e-3):
        m = cycle_metrics(simulate(spraying(drive=MOTOR, tip_diameter=diameter)))
        rates.append(m.cycle_rate)
        pressures.append(m.spray_pressure)
    assert rates == sorted(rates)
    assert pressures == sorted(pressures, reverse=True)
