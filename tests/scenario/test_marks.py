"""The marks that stand beside the keys: they name keys and choices that there are, and a choice takes with it
what belongs to another."""

from typing import get_args

import pytest

from balltravel.material.flow_laws import LAWS
from balltravel.material.table import Material
from balltravel.scenario.model import flat, with_choices, with_values
from balltravel.scenario.tables import FIELDS, GIVES_WAY, INSTEAD, NEEDED, NOT_SWEPT, SILENT, replaced_by
from balltravel.units.keys import names_of


def choices_of(key):
    names = names_of(FIELDS[key])
    return set(names.allowed if names else get_args(FIELDS[key].annotation))


@pytest.mark.parametrize("mark", NEEDED.values(), ids=list(NEEDED))
def test_a_key_that_hangs_on_a_choice_names_keys_and_choices_that_there_are(mark):
    assert mark.example
    assert {*mark.choices, *mark.free} <= choices_of(mark.selector)
    assert not set(mark.choices) & set(mark.free)
    assert not mark.instead or mark.instead in FIELDS
    assert not mark.other or set(mark.excluding) <= choices_of(mark.other)


def test_every_other_mark_names_a_key_that_there_is():
    named = {mark.source for mark in INSTEAD.values()} | set(GIVES_WAY.values())
    assert named <= set(FIELDS)
    assert set(INSTEAD) & set(NEEDED) == set()


def test_a_silent_key_has_a_default():
    assert [key for key in SILENT if FIELDS[key].is_required()] == []


def test_a_scenario_has_a_key_for_every_parameter_of_every_law_and_asks_for_it_with_that_law():
    assert set(LAWS) == choices_of("material.flow")
    for name, law in LAWS.items():
        asked = {key for key in Material.model_fields if name in needed_with(f"material.{key}")}
        assert asked == set(law.asked_keys())


def needed_with(key):
    mark = NEEDED.get(key)
    return mark.choices if mark and mark.selector == "material.flow" else ()


def test_readings_and_what_stands_in_files_have_no_place_in_a_sweep():
    files = {"drive.trace", "inlet_check.table", "piston_check.table"}
    assert set(NOT_SWEPT) == {"material.readings", *files}


@pytest.mark.parametrize(
    ("changes", "gone"),
    [
        ({"drive.profile": "harmonic"}, {"drive.ramp_time", "drive.dwell_time", "drive.motor"}),
        ({"material.viscosity": 1.0}, {"material.readings"}),
        ({"material.readings": ()}, {"material.viscosity", "material.yield_stress"}),
        ({"material.temperature_law": "Vogel"}, {"material.activation_energy"}),
        ({"suction.altitude": 1500.0}, {"suction.barometric_pressure"}),
        ({"suction.barometric_pressure": 9e4}, {"suction.altitude"}),
        ({"outlet.form": "tip at pressure"}, {"drive.cycle_rate"}),
        ({"inlet_check.seat": "edge"}, {"inlet_check.seat_half_angle", "inlet_check.seat_mouth_diameter"}),
    ],
    ids=lambda value: "-".join(sorted(value)),
)
def test_a_change_takes_with_it_what_belongs_to_another_choice(changes, gone):
    assert gone <= replaced_by(changes)
    assert not replaced_by(changes) & set(changes)


def test_what_is_changed_too_stays():
    changes = {"drive.profile": "harmonic", "drive.cycle_rate": 0.5}
    assert "drive.cycle_rate" not in replaced_by(changes)
    assert replaced_by({"material.viscosity": 1.0, "material.readings": ()}).isdisjoint(
        {"material.viscosity", "material.readings"}
    )


def test_one_check_takes_nothing_of_the_other():
    assert not any(key.startswith("piston_check") for key in replaced_by({"inlet_check.seat": "edge"}))


def test_an_outlet_that_closes_loses_its_hose_and_its_tip(story):
    before = story("roof_elastomer_from_a_drum")
    after = with_choices(before, {"outlet.form": "closed"})
    assert before.outlet.tip_diameter is not None
    assert (after.outlet.hose_length, after.outlet.hose_diameter, after.outlet.tip_diameter) == (None,) * 3
    others = {key: value for key, value in flat(before).items() if not key.startswith("outlet.")}
    assert others.items() <= flat(after).items()


def test_without_a_choice_the_changes_are_all_that_changes(story):
    primer = story("primer")
    changes = {"lower.stroke": 0.08, "drive.cycle_rate": 0.4}
    assert with_choices(primer, changes) == with_values(primer, changes)
