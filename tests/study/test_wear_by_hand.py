"""States of wear and how a stalled piston creeps, by hand: nothing is run."""

from balltravel.study.site.stall import Creep, with_closed_outlet
from balltravel.study.site.wear import PLACES, WearState, gaps_of, signs, states_of

from ..helpers.lowers import harmonic, scenario

HAIR = 1e-6
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip


def test_a_state_of_wear_has_a_gap_at_one_place_alone():
    found = states_of(scenario(), 4e-5)
    assert list(found) == ["sound", *PLACES]
    for name, s in found.items():
        assert gaps_of(s) == {place: 4e-5 if place == name else 0.0 for place in PLACES}
    worn = scenario(inlet_check={"leak_gap": 1e-5})
    found = states_of(worn, 4e-5)
    assert list(found) == ["as it is", "sound", *PLACES]
    assert gaps_of(found["as it is"])["inlet seat"] == 1e-5
    assert gaps_of(found["piston seat"])["inlet seat"] == 0.0


def test_a_piston_creeps_where_it_is_seen_and_ten_times_as_fast_as_a_sound_one():
    """1 mm a minute, or ten times the sound one's."""
    seen = 1e-3 / 60.0

    def state(name, up, down):
        creeps = [None if speed is None else Creep(speed, 1e5, False) for speed in (up, down)]
        return WearState(name, {}, None, False, *creeps)

    states = [state("sound", 0.0, 1e-5), state("a", seen * (1.0 + HAIR), 1.001e-4),
              state("b", seen * (1.0 - HAIR), 0.999e-4), state("c", None, 1.0)]  # fmt: skip
    assert signs(states) == {
        "sound": (False, False),
        "a": (True, True),
        "b": (False, False),
        "c": (False, True),
    }


def test_the_motor_of_a_stall_pushes_as_the_outlet_does():
    found = with_closed_outlet(scenario())
    assert (found.outlet.form, found.drive.profile, found.drive.motor) == ("closed", "motor", "hydraulic")
    assert (found.drive.supply_gauge_pressure, found.drive.area_ratio, found.drive.friction) == (
        1e7,
        1.0,
        0.0,
    )
    assert (found.drive.free_cycle_rate, found.drive.ramp_time, found.drive.dwell_time) == (0.5, 1e-4, 0.04)
    crank = with_closed_outlet(scenario(drive=harmonic(0.5), outlet={"gauge_pressure": 0.0})).drive
    assert (crank.supply_gauge_pressure, crank.ramp_time) == (1e5, 1e-4)
    own = with_closed_outlet(scenario(drive=MOTOR)).drive
    assert (own.supply_gauge_pressure, own.area_ratio) == (6e6, 2.5)
