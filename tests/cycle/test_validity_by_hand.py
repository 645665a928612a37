"""A cycle of a few rows held against the range of each closure, by hand."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import LIFTS, SEAT_REYNOLDS
from balltravel.core.contact import FREE, SEATED
from balltravel.core.contents import GAS_EXPANSION
from balltravel.core.friction import HOSE_REYNOLDS
from balltravel.cycle.validity import Excursion, check_ranges

from ..helpers.lowers import scenario
from ..helpers.motions import motion

DENSITY, MU, ROWS = 1250.0, 5.0, 11
CLOSED = {"resistance": "closed form"}
PASTE = {"flow": "Herschel-Bulkley", "viscosity": 8.0, "thinning_exponent": 0.5, "yield_stress": 20.0}


def resting(**columns):
    """Eleven rows over two seconds from 3 s on, everything at rest and open at 1 bar."""
    pressures = dict.fromkeys(("port_pressure", "lower_pressure", "upper_pressure"), np.full(ROWS, 1e5))
    contact = np.full((ROWS, 2), float(FREE))
    return motion(np.linspace(3.0, 5.0, ROWS), **{**pressures, "contact": contact, **columns})


def of_one(value, column, rows=slice(None)):
    """A quantity of one check over some rows."""
    values = np.zeros((ROWS, 2))
    values[rows, column] = value
    return values


def found(s, rows, closure=None):
    return [e for e in check_ranges(s, rows).excursions if closure is None or e.closure == closure]


@pytest.mark.parametrize("column", [0, 1])
def test_a_reynolds_number_in_a_seat_bore_is_four_rho_q_over_pi_mu_d(column):
    """60 where the closed forms were looked at up to 50, in two of ten steps: a fifth of it."""
    s = scenario(closures=CLOSED)
    d = (0.021, 0.016)[column]
    flow = 60.0 * math.pi * MU * d / (4.0 * DENSITY)
    rows = resting(flow=of_one(-flow, column, slice(3, 5)))
    (excursion,) = found(s, rows)
    assert excursion.place == ("inlet check", "piston check")[column]
    assert (excursion.closure, excursion.limit) == (SEAT_REYNOLDS.closure, 50.0)
    assert excursion.worst == pytest.approx(60.0, rel=1e-12)
    assert excursion.share == pytest.approx(0.2, rel=1e-12)
    assert np.flatnonzero(check_ranges(s, rows).outside).tolist() == [3, 4]


def test_the_first_and_the_last_row_count_half_a_step():
    s, flow = scenario(closures=CLOSED), 60.0 * math.pi * MU * 0.016 / (4.0 * DENSITY)
    for row in (0, ROWS - 1):
        (excursion,) = found(s, resting(flow=of_one(flow, 1, row)))
        assert excursion.share == pytest.approx(0.05, rel=1e-12)
    (always,) = found(s, resting(flow=of_one(flow, 1)))
    assert always.share == 1.0


def test_a_lift_is_told_in_seat_radii():
    """1.3 of 10.5 mm where the closed forms were looked at up to 1.2."""
    s = scenario(closures=CLOSED)
    assert found(s, resting(lift=of_one(1.19 * 0.0105, 0))) == []
    (excursion,) = found(s, resting(lift=of_one(1.3 * 0.0105, 0)))
    assert (excursion.closure, excursion.limit) == (LIFTS.closure, 1.2)
    assert excursion.worst == pytest.approx(1.3, rel=1e-12)


def test_a_hose_counts_eight_u_over_d_of_its_material():
    """Of a paste 4 rho Q/(pi mu d) with the viscosity by which a pipe loses its pressure: Metzner and Reed's
    apparent one, K ((3n+1)/4n)^n (8 U/d)^(n-1) without a yield stress, 1e-3."""
    s = scenario(material={"flow": "power law", "viscosity": 0.02, "thinning_exponent": 0.5})
    n, K, d = 0.5, 0.02, 0.038
    for reynolds, inside in ((1900.0, True), (3000.0, False)):
        low, high = 1e-9, 1.0
        for _ in range(200):
            flow = math.sqrt(low * high)
            rate = 32.0 * flow / (math.pi * d**3)
            mu = K * ((3.0 * n + 1.0) / (4.0 * n)) ** n * rate ** (n - 1.0)
            low, high = (flow, high) if 4.0 * DENSITY * flow / (math.pi * mu * d) < reynolds else (low, flow)
        excursions = found(s, resting(line_flow=np.full(ROWS, -flow)), HOSE_REYNOLDS.closure)
        assert (not excursions) is inside
        for excursion in excursions:
            assert excursion.place == "suction line"
            assert excursion.worst == pytest.approx(reynolds, rel=1e-3)


def test_gas_counts_at_the_mean_of_both_pressures_while_the_inlet_check_lets_in():
    """5 % of gas at 30 and 40 kPa, 2.3 kPa of vapour: 0.05 (99.025/32.7 - 1) = 10.1 %."""
    s = scenario(material={"free_gas_fraction": 0.05})
    thin = {"port_pressure": np.full(ROWS, 4e4), "lower_pressure": np.full(ROWS, 3e4)}
    (excursion,) = found(s, resting(**thin, flow=of_one(1e-6, 0, slice(2, 7))), GAS_EXPANSION.closure)
    assert excursion.worst == pytest.approx(0.05 * (99025.0 / 32700.0 - 1.0), rel=1e-9)
    assert excursion.share == pytest.approx(0.5, rel=1e-12)
    shut = {**thin, "flow": of_one(1e-6, 0), "contact": np.full((ROWS, 2), SEATED)}
    assert found(s, resting(**shut)) == []
    assert found(s, resting(**thin, flow=of_one(-1e-6, 0))) == []
    assert found(s, resting(**thin)) == []


def test_a_paste_is_held_to_the_exponents_that_were_solved_and_a_newtonian_liquid_is_not():
    """A yield stress that is nearly all of the stress: n K rate^n/(tau_y + K rate^n), where 0.05 to 1 was
    solved; 0.5 all over is within. 5 %: the slope of the core's table."""
    flow, n, K, yields = 1e-6, 0.5, 0.1, 2.0
    both = resting(flow=np.full((ROWS, 2), flow))
    law = {"flow": "Herschel-Bulkley", "viscosity": K, "thinning_exponent": n, "yield_stress": yields}
    told = [e for e in found(scenario(material=law), both) if "exponent" in e.quantity]
    assert [e.place for e in told] == ["inlet check", "piston check"]
    for excursion, radius in zip(told, (0.0105, 0.008), strict=True):
        rate = flow / radius**3
        assert (excursion.limit, excursion.share) == (0.05, 1.0)
        assert excursion.worst == pytest.approx(n * K * rate**n / (yields + K * rate**n), rel=0.05)
    thins = {"flow": "power law", "viscosity": 5.0, "thinning_exponent": 0.5}
    assert found(scenario(material=thins), both) == []
    assert found(scenario(), both) == []


def test_the_sentence_has_the_share_the_side_and_three_digits():
    excursion = Excursion("inlet check", "c", "q", 0.123, 1234.4, 50.0, "b")
    assert str(excursion) == "inlet check: q above 50 for 12 % of the cycle, up to 1230 (c: b)"
    below = Excursion("", "c", "q", 1.0, 0.012344, 0.5, "b")
    assert str(below) == "q below 0.5 always, down to 0.0123 (c: b)"
    assert "for 99 % of the cycle" in str(Excursion("", "c", "q", 0.99, 1.0, 0.5, "b"))


def test_the_value_farthest_out_is_that_of_the_most_times_its_limit():
    """60 and 90 of 50 in turn: 90; both seat bores at once are both told."""
    s = scenario(closures=CLOSED)
    unit = math.pi * MU * 0.016 / (4.0 * DENSITY)
    values = np.zeros((ROWS, 2))
    values[[2, 5, 8], 1] = np.array([60.0, 90.0, 70.0]) * unit
    (excursion,) = found(s, resting(flow=values))
    assert excursion.worst == pytest.approx(90.0, rel=1e-12)


def test_pressure_over_the_bulk_modulus_is_that_of_the_fuller_chamber():
    for name in ("lower_pressure", "upper_pressure"):
        (excursion,) = found(scenario(), resting(**{name: np.full(ROWS, 0.06 * 1.5e9)}))
        assert excursion.place == "chambers"
        assert excursion.worst == pytest.approx(0.06, rel=1e-12)


def test_a_rough_hose_is_told_by_its_roughness_over_its_bore():
    (rough,) = found(scenario(suction={"hose_roughness": 0.06 * 0.038}), resting())
    assert (rough.place, rough.share) == ("suction line", 1.0)
    spray = {"form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 9.5e-3,
             "tip_diameter": 0.8e-3, "tip_discharge_coefficient": 0.8}  # fmt: skip
    (outlet,) = found(scenario(outlet={**spray, "hose_roughness": 0.07 * 9.5e-3}), resting())
    assert (outlet.place, outlet.worst) == ("outlet hose", pytest.approx(0.07, rel=1e-12))
    assert rough.worst == pytest.approx(0.06, rel=1e-12)
