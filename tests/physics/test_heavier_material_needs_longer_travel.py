"""Limit 9, common practice: heavier material needs more travel. A result to show, not to force."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from balltravel import read_scenario, recommend, run_cycle, with_value, with_values
from balltravel.scenario.model import build

SCENARIOS = Path(__file__).parents[2] / "scenarios"
VISCOSITIES = np.array([0.1, 1.0, 3.0, 10.0])
TRAVELS = np.geomspace(0.06, 0.6, 6)
"""Over the seat diameter."""


def plausible_lower(rng):
    """An invented lower of the proportions found in the trade (from memory, no source)."""
    bore = rng.uniform(0.03, 0.08)

    def check(low, high, travel):
        seat = bore * rng.uniform(low, high)
        ball = seat * rng.uniform(1.25, 1.5)
        return {
            "ball_diameter": ball,
            "ball_density": 7800.0,
            "seat_diameter": seat,
            "seat_length": 0.4 * seat,
            "cage_diameter": ball / rng.uniform(0.65, 0.82),
            "cage_length": 1.4 * ball,
            "stop": "pins",
            **travel(seat),
        }

    return build(
        {
            "title": "an invented lower",
            "material": {
                "viscosity": 1.0,
                "density": rng.uniform(1000, 1500),
                "vapour_pressure": 2300.0,
            },
            "lower": {"bore": bore, "rod": 0.707 * bore, "stroke": rng.uniform(0.06, 0.15)},
            "inlet_check": check(0.38, 0.5, lambda seat: {"base_travel": 0.1 * seat}),
            "piston_check": check(0.3, 0.38, lambda seat: {"travel": 0.25 * seat}),
            "shims": {"thicknesses": (), "below": ()},
            "drive": {
                "profile": "constant speed",
                "cycle_rate": rng.uniform(15, 45) / 60,
                "ramp_time": 0.03,
                "dwell_time": 0.04,
            },
            "suction": {
                "hose_length": rng.uniform(0.5, 2.5),
                "hose_diameter": bore * rng.uniform(0.7, 1.0),
                "lift": rng.uniform(0.0, 0.6),
            },
            "outlet": {"gauge_pressure": rng.uniform(3e6, 2e7)},
        }
    )


def delivered_share(scenario):
    """Volumetric efficiency, whether the cycle repeats, whether the inlet ball floats below its stop."""
    cycle = run_cycle(scenario, rtol=1e-5, max_cycles=4)
    found = cycle.metrics
    floats = found.inlet.lift_at_reversal < 0.99 * scenario.inlet_travel
    return found.volumetric_efficiency, cycle.status.name.lower(), floats


@pytest.fixture(scope="module")
def lowers():
    """Efficiency, status and floating of 50 seeded lowers over viscosities and travels."""
    rng = np.random.default_rng(20)
    seats, cases = [], []
    for _ in range(50):
        lower = plausible_lower(rng)
        seat = lower.inlet_check.seat_diameter
        seats.append(seat)
        cases += [
            with_values(lower, {"material.viscosity": float(mu), "inlet_check.base_travel": float(f * seat)})
            for mu in VISCOSITIES
            for f in TRAVELS
        ]
    with ThreadPoolExecutor(2) as pool:
        results = list(pool.map(delivered_share, cases))
    shape = (50, len(VISCOSITIES), len(TRAVELS))
    return tuple(np.array([r[i] for r in results]).reshape(shape) for i in range(3))


def test_the_travel_of_least_lost_volume_does_not_fall_with_viscosity_over_50_lowers(lowers):
    """What is within 0.1 % of swept of the best counts as the best (a floating ball makes travel
    indifferent); of these the shortest travel is taken. Every exception must have a cause with a name."""
    efficiency, status, floats = lowers
    assert set(status.ravel()) <= {"ok", "not_periodic"}
    near = efficiency >= efficiency.max(axis=2, keepdims=True) - 1e-3
    best = near.argmax(axis=2)
    falls = np.argwhere(np.diff(best, axis=1) < 0)
    for lower, step in falls:
        unsettled = (status[lower, step : step + 2] != "ok").any() or floats[lower, step : step + 2].any()
        print(f"lower {lower}: falls from {VISCOSITIES[step]} to {VISCOSITIES[step + 1]} Pa s: {best[lower]}")
        assert unsettled, "an exception without a floating or bouncing ball"
    assert len(falls) <= 3
    assert (best[:, -1] > best[:, 1]).all()


def test_the_recommended_travel_of_the_invented_lower_rises_from_stain_to_mastic():
    scenario = read_scenario(SCENARIOS / "mastic.toml")
    travels = []
    for mu in (0.1, 5.0, 10.0):
        choice = recommend(with_value(scenario, "material.viscosity", mu), draws=0).recommended
        assert choice is not None
        travels.append(choice.ball_travel)
    assert travels == sorted(travels)
    assert travels[0] < travels[-1]


@pytest.mark.parametrize("viscosity", [0.02, 0.1])
def test_thin_material_at_slow_speed_is_delivered_almost_whole(viscosity):
    """At least 0.95, common practice, no source."""
    scenario = with_values(
        read_scenario(SCENARIOS / "stain.toml"), {"material.viscosity": viscosity, "drive.cycle_rate": 0.25}
    )
    assert run_cycle(scenario).metrics.volumetric_efficiency >= 0.95
