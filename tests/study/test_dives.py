"""The warning that a motor would dive, with the size of it."""

import pytest

from balltravel.cycle.dataset import cycle_metrics, simulate
from balltravel.scenario.model import with_values
from balltravel.study.travel.dives import dive_caution, dive_of, with_motor


@pytest.fixture
def primer(story):
    return story("primer")


def test_a_lower_that_fills_is_not_warned_of(primer) -> None:
    assert dive_caution(primer, cycle_metrics(simulate(primer))) == ()


@pytest.mark.parametrize("viscosity", [15.0, 40.0])
def test_a_starved_lower_is_told_what_a_motor_would_take_in(primer, viscosity: float) -> None:
    starved = with_values(primer, {"material.viscosity": viscosity})
    metrics = cycle_metrics(simulate(starved))
    by_motor = cycle_metrics(simulate(with_motor(starved)))
    assert by_motor.fill_fraction < metrics.fill_fraction
    dive = dive_of(starved, metrics)
    assert dive is not None
    assert dive.fill_fraction == by_motor.fill_fraction
    (told,) = dive_caution(starved, metrics)
    assert (
        f"fill {100.0 * by_motor.fill_fraction:.1f} % instead of {100.0 * metrics.fill_fraction:.1f} %"
        in told
    )


def test_a_lower_with_a_motor_is_not_warned_of_one(primer) -> None:
    starved = with_motor(with_values(primer, {"material.viscosity": 20.0}))
    assert dive_caution(starved, cycle_metrics(simulate(starved))) == ()


TIP = {
    "outlet.form": "tip", "outlet.gauge_pressure": None, "outlet.hose_length": 15.0,
    "outlet.hose_diameter": 0.019, "outlet.tip_diameter": 4e-3, "outlet.tip_discharge_coefficient": 0.8,
}  # fmt: skip


def test_at_a_tip_the_motor_is_as_strong_as_a_full_lower_asks(primer) -> None:
    """A motor too weak for the tip crawls, fills its chamber and dives nowhere: it is to keep the cycle rate
    of a lower that fills, and to take in less of one that starves."""
    full = with_values(primer, {**TIP, "material.viscosity": 0.5})
    assert cycle_metrics(simulate(with_motor(full))).cycle_rate == pytest.approx(0.5, rel=0.04)
    starved = with_values(primer, {**TIP, "material.viscosity": 20.0})
    metrics = cycle_metrics(simulate(starved))
    dive = dive_of(starved, metrics)
    assert dive is not None
    assert 0.5 * metrics.fill_fraction < dive.fill_fraction < metrics.fill_fraction
    assert dive.cycle_rate > 0.5
