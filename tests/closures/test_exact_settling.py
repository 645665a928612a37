"""A settling ball (M9) on numbers chosen by hand: Faxén's series, the edges of what is allowed, the search
for a speed from any start."""

import math

import pytest

from balltravel.closures import settling
from balltravel.closures.flow_curves import tabulated
from balltravel.closures.settling import (
    drag,
    held,
    largest_yield_stress,
    settling_rate,
    settling_speed,
    wall_factor,
)
from balltravel.closures.tube import LAMBDA_MIN, moving_wall_factor
from balltravel.core.rheology import Rheology, viscosity
from balltravel.material.flow_laws import Carreau, HerschelBulkley

from ..helpers.boxes import boxed

G = 9.80665
CARREAU = Carreau(60.0, 0.1, 0.5, 0.45)


@pytest.mark.parametrize("ratio", [1e-4, 1e-3, 0.01, 0.0199999])
def test_in_a_wide_tube_the_wall_factor_is_faxens_series(ratio):
    """1/K1 = 1 - 2.10444 lam + 2.08877 lam^3 - 0.94813 lam^5 (Faxén 1923, from memory), typed again."""
    powers = {1: -2.10444, 3: 2.08877, 5: -0.94813}
    series = 1.0 / (1.0 + sum(c * ratio**n for n, c in powers.items()))
    assert ratio < LAMBDA_MIN
    assert wall_factor(ratio) == pytest.approx(series, rel=1e-14)


def test_each_term_of_faxens_series_counts(monkeypatch):
    """Far beyond where it is used in earnest: Bungay and Brenner's factor at 0.3 within 0.3 %."""
    monkeypatch.setattr(settling, "LAMBDA_MIN", 0.5)
    assert wall_factor(0.3) == pytest.approx(moving_wall_factor(0.3), rel=3e-3)
    assert 1.0 / wall_factor(0.45) == pytest.approx(
        1.0 - 2.10444 * 0.45 + 2.08877 * 0.45**3 - 0.94813 * 0.45**5, rel=1e-12
    )


@pytest.mark.parametrize("ratio", [-1e-9, 0.9500001, math.nan])
def test_a_ball_out_of_its_range_is_refused_with_the_range(ratio):
    for call in (wall_factor, lambda x: settling.rate_factor(0.5, x)):
        with pytest.raises(ValueError, match=r"allowed 0 to 0\.95, for example 0\.7"):
            call(ratio)
    assert wall_factor(0.95 * (1.0 + 1e-13)) == pytest.approx(wall_factor(0.95), rel=1e-9)


@pytest.mark.parametrize("n", [-1e-9, 1.0000001, math.nan])
def test_an_exponent_out_of_its_range_is_refused_with_the_range(n):
    with pytest.raises(ValueError, match=r"allowed 0 to 1, for example 0\.5"):
        settling.rate_factor(n, 0.5)


@pytest.mark.parametrize("speed", [1e-3, 0.025, 1.0])
def test_the_shear_rate_of_a_ball_goes_with_its_speed_over_its_diameter(speed):
    """Both ways alike, none at rest; of a Newtonian liquid k is that of exponent one."""
    k = settling.rate_factor(1.0, 0.6)
    for way in (-1.0, 1.0):
        assert settling_rate(Rheology(2.0), way * speed, 0.025, 0.6) == pytest.approx(
            k * speed / 0.025, rel=1e-9
        )
    assert settling_rate(Rheology(2.0), 0.0, 0.025, 0.6) == 0.0
    assert drag(Rheology(2.0), 0.0, 0.025, 0.6) == 0.0


@pytest.mark.parametrize("ratio", [0.0, 0.5, 0.9])
@pytest.mark.parametrize("density", [1000.5, 1100.0, 7800.0, 600.0])
@pytest.mark.parametrize("floor", [1e-8, 1e-3])
def test_a_settling_ball_is_carried_by_its_drag(ratio, density, floor):
    """Weight less buoyancy is the drag, 1e-9, for light and heavy balls, sinking or rising."""
    liquid, d = tabulated(CARREAU.viscosity, floor), 0.025
    speed = settling_speed(liquid, d, density, 1000.0, G, ratio)
    weight = (density - 1000.0) * math.pi / 6.0 * d**3 * G
    assert math.copysign(1.0, speed) == math.copysign(1.0, weight)
    assert drag(liquid, abs(speed), d, ratio, 1000.0) == pytest.approx(abs(weight), rel=1e-9)


def test_the_search_begins_where_the_liquid_is_as_thick_as_at_rest(monkeypatch):
    """A ball that creeps in it is just as fast: the drag is asked few times."""
    liquid, d = tabulated(Carreau(60.0, 0.1, 1e6, 0.45).viscosity, 1e-3), 0.025
    asked = []

    def counted(*given):
        asked.append(given[1])
        return drag(*given)

    monkeypatch.setattr(settling, "drag", counted)
    speed = settling_speed(liquid, d, 7800.0, 1000.0, G, 0.5)
    weight = 6800.0 * math.pi / 6.0 * d**3 * G
    at_rest = viscosity(boxed(liquid), 0.0)
    assert asked[0] == pytest.approx(weight / (3.0 * math.pi * at_rest * d * wall_factor(0.5)), rel=1e-5)
    assert asked[0] <= speed
    assert len(asked) < 20


def test_a_yield_stress_holds_a_ball_from_just_its_largest_one_on():
    weight, d = 2.0, 0.025
    most = largest_yield_stress(weight, d, 0.6)
    assert largest_yield_stress(-weight, d, 0.6) == most
    for share, still in ((0.999, False), (1.0, True), (1.5, True)):
        law = HerschelBulkley(share * most, 2.0, 0.5)
        liquid = tabulated(law.viscosity, 1e-3, law.yield_stress)
        assert held(liquid, weight, d, 0.6) is still
        assert held(liquid, -weight, d, 0.6) is still
    assert held(Rheology(1.0), 0.0, d)
    assert not held(Rheology(1.0), 1e-12, d)
