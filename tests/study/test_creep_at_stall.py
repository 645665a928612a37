"""A motor against a closed outlet: it stalls, and creeps by what leaks (which stroke tells where: common
practice, no source)."""

import math

import pytest

from balltravel.cycle.dataset import cycle_metrics, simulate
from balltravel.scenario.model import Scenario, with_values
from balltravel.study.site.stall import Creep, creep_of, with_closed_outlet
from balltravel.study.site.wear import PLACES, signs, wear_report
from balltravel.study.travel.dives import with_motor

from ..helpers.lowers import scenario

GAP = 5e-5


def worn(place: str, viscosity: float = 5.0) -> Scenario:
    return with_values(scenario(material={"viscosity": viscosity}), {PLACES[place]: GAP})


@pytest.mark.parametrize("kind", ["hydraulic", "air"])
def test_a_closed_outlet_stalls_a_motor(kind: str) -> None:
    motor = {
        "profile": "motor", "cycle_rate": None, "motor": kind, "free_cycle_rate": 1.0,
        "supply_gauge_pressure": 6e5, "area_ratio": 20.0,
    }  # fmt: skip
    closed = with_closed_outlet(scenario(drive=motor))
    assert simulate(closed).attrs["status"] == "stalled"


def test_a_motor_too_weak_for_its_outlet_stalls_and_one_just_strong_enough_does_not() -> None:
    """The motor's force against the outlet's pressure on the annulus, the atmosphere on the rod aside: both
    strokes lift the outlet's pressure, up on the annulus, down on the rod."""
    lower = scenario().lower
    bore, rod = (math.pi / 4.0 * d**2 for d in (lower.bore, lower.rod))
    needed = 1e7 * max(bore - rod, rod) / (0.5 * bore)  # of the supply, at a ratio of 1
    for share, status in ((0.97, "stalled"), (1.05, "ok")):
        motor = {
            "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "free_cycle_rate": 1.0,
            "supply_gauge_pressure": share * needed, "area_ratio": 1.0, "friction": 0.0,
        }  # fmt: skip
        assert simulate(scenario(drive=motor)).attrs["status"] == status


@pytest.mark.parametrize(
    ("place", "up", "down"),
    [
        ("inlet seat", False, True),
        ("piston seat", True, False),
        ("piston packing", True, False),
        ("rod packing", True, True),
    ],
)
def test_each_leak_creeps_on_its_strokes_only(place: str, up: bool, down: bool) -> None:
    found = worn(place)
    sound = [creep_of(scenario(), upward) for upward in (True, False)]
    creeping = [creep_of(found, upward) for upward in (True, False)]
    for here, there, expected in zip(creeping, sound, (up, down), strict=True):
        assert here is not None
        assert there is not None
        assert (here.speed > 1e-6) is expected, (here, there)
        assert abs(there.speed) < 1e-8


def slit(diameter: float, viscosity: float, creep: Creep) -> float:
    """Flow through an even gap around a circumference [m3/s], from the textbook, pi D h^3 dp/(12 mu L), as
    the volume that it has under the pressure: without its gas, 0.5 %, and squeezed by p/beta."""
    dp = creep.pressure - 101325.0
    return math.pi * diameter * GAP**3 * dp / (12.0 * viscosity * 0.012) * 0.995 * (1.0 - dp / 1.5e9)


@pytest.mark.parametrize("viscosity", [5.0, 50.0])
def test_a_packing_lets_the_piston_creep_as_fast_as_its_slit_passes(viscosity: float) -> None:
    lower = scenario().lower
    bore, rod = (math.pi / 4.0 * d**2 for d in (lower.bore, lower.rod))
    up, down = (creep_of(worn("rod packing", viscosity), upward) for upward in (True, False))
    assert up is not None
    assert down is not None
    # What leaks is counted at the atmosphere; the piston gives it its volume under pressure.
    assert up.speed == pytest.approx(slit(lower.rod, viscosity, up) / (bore - rod), rel=2e-3)
    assert down.speed == pytest.approx(slit(lower.rod, viscosity, down) / rod, rel=2e-3)
    up = creep_of(worn("piston packing", viscosity), True)
    assert up is not None
    # Below the piston the suction's pressure stands, a hundredth of that above.
    assert up.speed == pytest.approx(slit(lower.bore, viscosity, up) / (bore - rod), rel=2e-3)


def test_the_report_tells_the_place_by_the_stroke() -> None:
    found = signs(wear_report(scenario(), GAP).states)
    assert found == {
        "sound": (False, False),
        "inlet seat": (False, True),
        "piston seat": (True, False),
        "piston packing": (True, False),
        "rod packing": (True, True),
    }


def test_a_wider_gap_delivers_less_whatever_leaks() -> None:
    for place in PLACES:
        delivered = []
        for gap in (0.0, 3e-5, 6e-5, 9e-5):
            data = simulate(with_values(scenario(), {PLACES[place]: gap}))
            delivered.append(float(data.delivered_volume[-1]))
        assert delivered == sorted(delivered, reverse=True), place
        assert delivered[-1] < delivered[0]


def test_the_motor_that_stands_for_a_given_speed_keeps_the_cycle_rate_of_a_full_lower() -> None:
    """Within the time that its valve shifts and its pressure builds up."""
    full = scenario(material={"viscosity": 0.5})
    data = simulate(with_motor(full))
    assert data.attrs["status"] == "ok"
    assert 1.0 / float(data.period) == pytest.approx(full.drive.cycle_rate, rel=0.03)


def test_at_a_tip_the_piston_creeps_under_the_pressure_that_a_full_lower_makes_there() -> None:
    """In both the mean of what annulus and rod stand against; the run's pressure is below the load of a full
    lower by the little that this one does not deliver."""
    tip = {
        "form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 19e-3,
        "tip_diameter": 2e-3, "tip_discharge_coefficient": 0.8,
    }  # fmt: skip
    spraying = with_values(scenario(outlet=tip), {PLACES["rod packing"]: GAP})
    made = cycle_metrics(simulate(spraying)).outlet_pressure - 101325.0
    pressed = with_values(scenario(outlet={"gauge_pressure": made}), {PLACES["rod packing"]: GAP})
    for upward in (True, False):
        here, there = creep_of(spraying, upward), creep_of(pressed, upward)
        assert here is not None
        assert there is not None
        assert here.speed == pytest.approx(there.speed, rel=0.1)


@pytest.mark.parametrize("pressure", [5e6, 1e7])
@pytest.mark.parametrize("gas", [0.0, 0.01, 0.03])
def test_a_sound_piston_gives_as_far_as_what_it_presses_on_is_squeezed(pressure: float, gas: float) -> None:
    """By hand: liquid by p/beta and gas by Boyle, up in the upper chamber on the annulus, down in both on the
    rod, from mid-stroke, where each chamber holds its dead volume and half of what the stroke sweeps."""
    pressed = scenario(material={"free_gas_fraction": gas})
    lower = pressed.lower
    bore, rod = (math.pi / 4.0 * d**2 for d in (lower.bore, lower.rod))
    above = lower.upper_dead_volume + 0.5 * (bore - rod) * lower.stroke
    below = lower.lower_dead_volume + 0.5 * bore * lower.stroke
    for upward, area, volume in ((True, bore - rod, above), (False, rod, above + below)):
        creep = creep_of(pressed, upward, pressure)
        assert creep is not None
        p = creep.pressure
        squeezed = (1.0 - gas) * (p - 101325.0) / 1.5e9 + gas * (1.0 - 101325.0 / p)
        # The lower chamber starts from the suction, some hundredths of a bar below the atmosphere.
        assert creep.give == pytest.approx(volume * squeezed / area, rel=0.03)
        assert abs(creep.speed) < 1e-9
        assert creep.held


def test_give_and_creep_are_told_apart() -> None:
    """A leak leaves the give where it was, gas the creep."""
    sound = creep_of(scenario(), False)
    leaks, gassy = (
        creep_of(with_values(scenario(), changes), False)
        for changes in ({PLACES["rod packing"]: GAP}, {"material.free_gas_fraction": 0.03})
    )
    assert sound is not None
    assert leaks is not None
    assert gassy is not None
    assert leaks.give == pytest.approx(sound.give, rel=0.01)
    assert leaks.speed > 1e-5
    assert gassy.give > 2.0 * sound.give
    assert gassy.speed < 1e-9


def test_with_much_gas_a_stall_that_runs_through_by_compression_says_so() -> None:
    creep = creep_of(with_values(scenario(), {"material.free_gas_fraction": 0.25}), False)
    assert creep is not None
    assert creep.ran_through
    assert not creep.held


@pytest.mark.parametrize("upward", [True, False])
def test_the_gland_weeps_what_a_concentric_gap_passes(upward: bool) -> None:
    """The reference volume of what leaves, gas included: pi D h^3 dp/(12 mu L)."""
    creep = creep_of(worn("rod packing"), upward)
    assert creep is not None
    lower, dp = scenario().lower, creep.pressure - 101325.0
    expected = math.pi * lower.rod * GAP**3 * dp / (12.0 * 5.0 * lower.rod_packing_length)
    assert creep.weep == pytest.approx(expected, rel=2e-3)
    tight = creep_of(scenario(), upward)
    assert tight is not None
    assert tight.weep == 0.0


def test_a_stall_at_a_given_pressure_does_not_ask_which_motor_there_is() -> None:
    motor = {
        "profile": "motor", "cycle_rate": None, "motor": "air", "free_cycle_rate": 1.0,
        "supply_gauge_pressure": 6e5, "area_ratio": 20.0,
    }  # fmt: skip
    for upward in (True, False):
        here, there = (creep_of(s, upward, 8e6) for s in (scenario(drive=motor), scenario()))
        assert here is not None
        assert there is not None
        assert here.pressure == pytest.approx(there.pressure, rel=1e-3)
        assert here.give == pytest.approx(there.give, rel=2e-2)
