"""Limit 6 through the results a user sees: seeded random lowers, thin to heavy, starved to full."""

import numpy as np
import pytest

from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.events import Event
from balltravel.core.status import Status
from balltravel.cycle.dataset import cycle_metrics, simulate

from ..helpers.lowers import harmonic, scenario

COUNT = 32
LANDS = {Event.SEATED, Event.STOPPED}
LEAVES = {Event.RELEASED, Event.PULLED_OFF}
PARTS = ("delivered", "underfill", "inlet_backflow", "piston_backflow", "leak", "compression_and_gas")


def check(rng, bore, viscosity):
    """Sizes of a check that fits the bore; about every third seat is worn, less in thin liquid."""
    seat = bore * rng.uniform(0.28, 0.45)
    ball = seat * rng.uniform(1.2, 1.6)
    return {
        "seat_diameter": seat,
        "ball_diameter": ball,
        "ball_density": rng.choice([3900.0, 7800.0, 14900.0]),
        "cage_diameter": ball / rng.uniform(0.65, 0.85),
        "cage_length": 2.0 * ball,
        "leak_gap": rng.choice([0.0, 0.0, 1.0]) * 2e-5 * min(1.0, viscosity) ** 0.5,
    }


def plausible(k):
    """Lower ``k``: viscosity rises with k from 10 mPa s to 30 Pa s, the drives alternate, the rest is random.
    Of every four one is pressure-fed and one sucks through a thin hose."""
    rng = np.random.default_rng([6, k])
    bore, rate = rng.uniform(0.02, 0.1), rng.uniform(0.2, 1.0)
    viscosity = 0.01 * 3000.0 ** (k / (COUNT - 1))
    inlet, piston = check(rng, bore, viscosity), check(rng, bore, viscosity)
    inlet["base_travel"] = inlet["seat_diameter"] * rng.uniform(0.06, 0.4)
    piston["travel"] = piston["seat_diameter"] * rng.uniform(0.06, 0.4)
    hose = rng.uniform(0.35, 0.5) if k % 4 == 2 else rng.uniform(0.6, 1.2)
    ramps = {"cycle_rate": rate, "ramp_time": 0.02 / rate, "dwell_time": rng.choice([0.0, 0.03]) / rate}
    return scenario(
        material={
            "viscosity": viscosity,
            "density": rng.uniform(900.0, 1700.0),
            "free_gas_fraction": rng.choice([0.0, 0.005, 0.03]),
        },
        lower={"bore": bore, "rod": rng.uniform(0.5, 0.8) * bore, "stroke": bore * rng.uniform(1.0, 3.0)},
        inlet_check=inlet,
        piston_check=piston,
        drive=ramps if k % 2 else harmonic(rate),
        suction={
            "hose_length": rng.uniform(0.3, 3.0),
            "hose_diameter": hose * bore,
            "tank_gauge_pressure": 8e5 if k % 4 == 1 else 0.0,
        },
        outlet={"gauge_pressure": 10.0 ** rng.uniform(6.0, 7.4)},
    )


@pytest.fixture(scope="module")
def cycles():
    """The last cycle of every lower with its metrics; six cycles at most, since budgets close in any."""
    found = [simulate(plausible(k), max_cycles=6) for k in range(COUNT)]
    return [(data, cycle_metrics(data)) for data in found]


def test_the_lowers_are_starved_and_full_tight_and_worn(cycles):
    """Else the rest of this file would say little."""
    fill = np.array([m.fill_fraction for _, m in cycles])
    leak = np.array([m.loss_budget.leak / m.loss_budget.swept for _, m in cycles])
    assert (fill < 0.5).sum() >= 4
    assert (fill > 0.97).sum() >= 8
    assert (leak > 1e-4).sum() >= 4
    assert (leak == 0.0).sum() >= 4


def test_every_run_ends_with_a_name_and_its_sentence(cycles):
    for data, _ in cycles:
        status = Status[data.attrs["status"].upper()]
        assert status in (Status.OK, Status.NOT_PERIODIC)
        assert data.attrs["status_code"] == status
        assert data.attrs["advice"] == status.advice
        if status is Status.OK:
            assert data.attrs["delivered_change"] <= 1e-6


def test_volumes_close_by_states_and_kinematically(cycles):
    """1e-12 of swept by the states: linear invariants, round-off alone. 1e-9 with the stroke's own position:
    at constant speed the quadrature of the speed is exact, with a crank far below the tolerance."""
    for data, m in cycles:
        swept, x = m.loss_budget.swept, data.position_integral.values
        drawn, passed = data.passed_volume.values.T
        delivered = data.delivered_volume.values
        lower, upper, port = (data[f"{name}_surplus"].values for name in ("lower", "upper", "port"))
        bore, annulus = data.bore_area.item(), data.annulus_area.item()
        for residual in (
            lower - lower[0] - drawn + passed + bore * x,
            upper - upper[0] - passed + delivered - annulus * x,
            port - port[0] - data.line_volume.values + drawn,
        ):
            assert np.abs(residual).max() < 1e-12 * swept
        assert np.abs(x - data.piston_position.values).max() < 1e-9 * data.stroke.item()
        assert m.volume_residual < 1e-9


def test_the_loss_budget_closes(within, cycles):
    """1e-9 of swept: the rod area times what the quadrature of a crank's speed leaves, 1e-13 seen."""
    left = [
        1.0 - sum(getattr(m.loss_budget, part) for part in PARTS) / m.loss_budget.swept for _, m in cycles
    ]
    within(left, 1e-9)
    for (_, m), share in zip(cycles, left, strict=True):
        assert m.loss_budget.residual == pytest.approx(
            share * m.loss_budget.swept, abs=1e-14 * m.loss_budget.swept
        )


def test_parts_of_the_budget_are_no_larger_than_what_they_are_parts_of(cycles):
    """What came back and was not drawn again is at most all that came back; a tight seat leaks nothing."""
    for data, m in cycles:
        b, least = m.loss_budget, 1e-12 * m.loss_budget.swept
        assert b.inlet_backflow <= m.inlet.backflow_volume + least
        assert b.piston_backflow <= m.piston.backflow_volume + least
        assert 0.0 <= b.leak <= m.inlet.leak_volume + m.piston.leak_volume + least
        assert -least <= b.underfill <= b.swept + least
        assert b.delivered == data.delivered_volume.values[-1]


def test_balls_stay_between_seat_and_stop(cycles):
    """1e-9 of the travel: contacts are met to 1e-10. Held, they are at exactly 0 or the travel."""
    for data, _ in cycles:
        share = data.lift.values / data.travel.values
        assert share.min() > -1e-9
        assert share.max() < 1.0 + 1e-9
        assert (share[data.contact.values == SEATED] == 0.0).all()
        assert (share[data.contact.values == ON_STOP] == 1.0).all()


def test_events_alternate(cycles):
    """Times never run back; what has turned turns back; a ball leaves before it lands again."""
    for data, _ in cycles:
        kinds, checks = data.event_kind.values, data.event_check.values
        times, signs = data.event_time.values, data.event_value.values
        assert (np.diff(times) >= 0.0).all()
        assert times[0] >= 0.0
        assert times[-1] <= data.period.item()
        for kind in (Event.OUTFLOW_TURNED, Event.PRESSURE_CROSSED):
            turns = signs[kinds == kind]
            assert (np.abs(turns) == 1.0).all()
            assert (turns[1:] == -turns[:-1]).all()
        for k in (0, 1):
            moves = [kind for kind in kinds[checks == k] if kind in LANDS | LEAVES]
            assert moves
            held = data.contact.values[0, k] != FREE
            for kind in moves:
                assert held == (kind in LEAVES)
                held = not held
            assert held == (data.contact.values[-1, k] != FREE)
