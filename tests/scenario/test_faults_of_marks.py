"""Keys that are given, or missing, beside others: what is told of each, and that its example mends it."""

import pytest

from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.model import ScenarioError

from ..helpers.lowers import scenario

TIP = {"form": "tip at pressure", "gauge_pressure": 1e7, "hose_length": 15.0, "hose_diameter": 9.5e-3,
       "tip_diameter": 0.8e-3, "tip_discharge_coefficient": 0.8}  # fmt: skip
READ = (ViscosityReading(5.0, 1.0, None, 0.05, ""), ViscosityReading(3.0, 100.0, None, 0.05, ""))
LAWS = '"power law" or "Herschel-Bulkley" or "Carreau" or "Cross" or "shear-thinning"'


def fault(changes):
    with pytest.raises(ScenarioError) as caught:
        scenario(**changes)
    (only,) = caught.value.faults
    return only


CASES = {
    "given with what excludes it": (
        {"outlet": TIP}, "drive.cycle_rate", 'given although outlet.form = "tip at pressure", from which it',
        "leave the key out", 'form = "tip"',
        {"outlet": {**TIP, "form": "tip", "gauge_pressure": None}},
    ),
    "missing, and another would do": (
        {"material": {"viscosity": None}}, "material.viscosity", "missing",
        'it must be given with material.flow = "Newtonian", or material.readings', 'viscosity = "3500 mPa.s"',
        {"material": {"viscosity": 3.5}},
    ),
    "given beside what stands for it": (
        {"material": {"readings": READ}}, "material.viscosity", "given although readings are",
        "viscosity or readings", 'viscosity = "3500 mPa.s"', {},
    ),
    "given with another choice": (
        {"material": {"thinning_exponent": 0.6}}, "material.thinning_exponent",
        'given although material.flow = "Newtonian"',
        f"thinning_exponent only with material.flow = {LAWS} (leave the key out)", 'flow = "power law"',
        {"material": {"flow": "power law", "thinning_exponent": 0.6}},
    ),
    "missing, and nothing else would do": (
        {"drive": {"ramp_time": None}}, "drive.ramp_time", "missing",
        'it must be given with drive.profile = "constant speed"', 'ramp_time = "30 ms"',
        {"drive": {"ramp_time": 0.03}},
    ),
    "free with one choice alone": (
        {"material": {"activation_energy": 4e4}}, "material.activation_energy",
        'given although material.temperature_law = "none"',
        'activation_energy only with material.temperature_law = "Andrade" (leave the key out)',
        'temperature_law = "Andrade"',
        {"material": {"activation_energy": 4e4, "temperature_law": "Andrade", "stated_temperature": 293.15}},
    ),
    "two that tell the same": (
        {"suction": {"altitude": 100.0, "barometric_pressure": 1e5}}, "suction.barometric_pressure",
        "given although altitude is", "barometric_pressure or altitude", 'barometric_pressure = "1013 mbar"',
        {"suction": {"barometric_pressure": 1.013e5}},
    ),
    "neither of two that tell the same": (
        {"material": {"vapour_pressure": None}}, "material.vapour_pressure", "missing",
        "it must be given, or solvent", 'vapour_pressure = "2.3 kPa"',
        {"material": {"vapour_pressure": 2300.0}},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_what_is_told_of_a_key_that_does_not_fit_the_others(case):
    changes, key, given, allowed, example, mended = CASES[case]
    told = fault(changes)
    assert (told.key, told.allowed, told.example) == (key, allowed, example)
    assert told.given.startswith(given)
    scenario(**mended)


def test_numbers_are_written_bare_and_texts_in_quotes():
    with pytest.raises(ScenarioError) as caught:
        scenario(drive={"profile": "motor", "cycle_rate": None})
    examples = {told.key: told.example for told in caught.value.faults}
    assert examples == {
        "drive.motor": 'motor = "air"', "drive.supply_gauge_pressure": 'supply_gauge_pressure = "6 bar"',
        "drive.area_ratio": "area_ratio = 30", "drive.free_cycle_rate": 'free_cycle_rate = "60 /min"',
    }  # fmt: skip


def test_readings_of_one_age_leave_the_doubling_time_to_its_key_and_of_two_do_not():
    """An age that is not said is 0; of rested readings the age says nothing."""
    aged = [ViscosityReading(5.0, 10.0, None, 0.05, "", "worked", age) for age in (None, 0.0, 600.0)]
    rested = ViscosityReading(9.0, 10.0, None, 0.05, "", "rested", 900.0)
    for readings, fits in (((aged[0], aged[1]), True), ((aged[0],), True), ((aged[0], rested), True),
                           ((aged[0], aged[2]), False), ((aged[1], aged[2]), False)):  # fmt: skip
        changes = {"material": {"viscosity": None, "readings": readings, "doubling_time": 1800.0}}
        if fits:
            scenario(**changes)
        else:
            assert fault(changes).key == "material.doubling_time"


def test_a_ratio_of_rest_is_told_by_its_key_or_by_rested_readings():
    worked = ViscosityReading(5.0, 10.0, None, 0.05, "")
    rested = ViscosityReading(9.0, 10.0, None, 0.05, "", "rested")

    def material(*readings, **more):
        return {"material": {"viscosity": None, "readings": readings, **more}}

    scenario(**material(worked, rested_ratio=3.0))
    scenario(**material(worked, rested))
    told = fault(material(worked, rested, rested_ratio=3.0))
    assert (told.key, told.example) == ("material.rested_ratio", "rested_ratio = 3")
