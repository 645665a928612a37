"""Evenly spaced values of a sweep, as the command and a file have them."""

from pathlib import Path

import numpy as np
import pytest

from balltravel.files.read_write import read_scenario_file
from balltravel.scenario.model import ScenarioError

PRIMER = Path(__file__).parents[2] / "scenarios" / "primer.toml"


def swept(key, written):
    return read_scenario_file(PRIMER, grid=[f"{key}={written}"]).sweep[key]


def test_linear_has_even_steps_between_both_ends():
    values = swept("drive.cycle_rate", "linear(20 /min, 60 /min, 5)")
    np.testing.assert_allclose(60.0 * np.array(values), [20.0, 30.0, 40.0, 50.0, 60.0], rtol=1e-14)


def test_log_multiplies_each_value_by_the_same_and_units_may_differ():
    values = swept("material.viscosity", "log(100 cP, 10 Pa.s, 3)")
    np.testing.assert_allclose(values, [0.1, 1.0, 10.0], rtol=1e-14)


def test_a_number_without_a_unit_may_have_none_where_the_key_has_none():
    np.testing.assert_allclose(swept("material.viscosity_factor", "linear(1, 2, 3)"), [1.0, 1.5, 2.0])


def test_a_file_has_them_as_text(tmp_path):
    path = tmp_path / "of.toml"
    text, _, _ = PRIMER.read_text(encoding="utf-8").partition("[sweep]")
    path.write_text(
        f'{text}\n[sweep]\n"drive.cycle_rate" = "linear(20 /min, 60 /min, 3)"\n', encoding="utf-8"
    )
    assert len(read_scenario_file(path).sweep["drive.cycle_rate"]) == 3


@pytest.mark.parametrize(
    ("key", "written", "words"),
    [
        ("material.viscosity", "log(0.5 Pa.s, 20 Pa.s)", "lowest value, highest value, number of values"),
        ("material.viscosity", "log(0.5 Pa.s, 20 Pa.s, 1)", r"\(2 to 10000\)"),
        ("material.viscosity", "log(0.5 Pa.s, 20 Pa.s, 10001)", r"\(2 to 10000\)"),
        ("material.viscosity", "log(0.5 Pa.s, 20 Pa.s, 3.5)", r"\(2 to 10000\)"),
        ("material.viscosity", "log(0.5 Pa.s, 20 bar, 3)", "20 bar"),
        ("material.viscosity", "log(0.5 Pa.s, nan, 3)", "material.viscosity"),
        ("drive.cycle_rate", "linear(20 /min, 60, 3)", "a number and a unit"),
        ("drive.cycle_rate", "linear(20 /min, 4000 /min, 3)", "allowed: 0.3 /min to 3000 /min"),
        ("suction.lift", "log(-1 m, 1 m, 3)", r"both ends above zero, or linear\(\.\.\.\)"),
        ("suction.fittings", "linear(1, 2, 3)", "this key has no range of numbers"),
        ("drive.profile", "linear(1, 2, 3)", "this key has no range of numbers"),
        ("shims.below", "linear(1, 2, 3)", "this key has no range of numbers"),
        ("drive.cycle_rate", "lin(20 /min, 60 /min, 3)", r"or log\(0.5 Pa.s, 20 Pa.s, 7\)"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_allowed(key, written, words):
    with pytest.raises(ScenarioError, match=words):
        swept(key, written)
