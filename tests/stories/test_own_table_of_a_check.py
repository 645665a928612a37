"""The command check-table, from a scenario to a file that a scenario names."""

import json
import sys
from pathlib import Path

import pytest

from balltravel.cli.main import main
from balltravel.files.check_table import keep_row

from ..helpers.own_tables import CONE_SEAT, WITH_TABLE, table_in
from ..helpers.own_tables import CONE_TABLE as MADE

pytest.importorskip("balltravel.closures.fem.own_check", exc_type=ImportError)

PRIMER = str(Path(__file__).parents[2] / "scenarios" / "primer.toml")
SETTINGS = [part for setting in CONE_SEAT for part in ("--set", setting)]


@pytest.fixture(autouse=True)
def _solved_before(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    made = table_in(MADE)
    for row in made.rows:
        keep_row(made.digest, row)


def test_a_table_is_written_and_named_and_then_recommended_by(tmp_path, capsys):
    out = tmp_path / "foot_valve.nc"
    assert main(["check-table", PRIMER, *SETTINGS, "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert "0 lifts solved, 22 known from before" in " ".join(said.split())
    assert 'table = "foot_valve.nc"' in said
    assert all(len(line) <= 100 for line in said.splitlines())
    assert table_in(out) == table_in(MADE)
    named = ["--set", f"inlet_check.table={out}"]
    assert main(["check", PRIMER, *SETTINGS, *named]) == 0
    assert main(["recommend", PRIMER, *SETTINGS, *named, "--exactly"]) == 0
    assert "by its own table of solves" in " ".join(capsys.readouterr().out.split())


def test_the_table_is_made_anew_although_the_scenario_names_one_that_is_not_there(capsys):
    assert main(["check-table", PRIMER, *SETTINGS, "--set", "inlet_check.table=no.nc", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["solved_now"], answer["written"], len(answer["lift"])) == (0, None, 22)


def test_every_draw_of_what_is_not_known_runs_with_a_table(capsys):
    settings = [part for setting in WITH_TABLE for part in ("--set", setting)]
    assert main(["recommend", PRIMER, *settings, "--draws", "32"]) == 0
    assert "Targets met in" in capsys.readouterr().out


def test_a_profile_that_is_not_there_is_refused(capsys):
    assert main(["check-table", PRIMER, "--profile", "nowhere.csv"]) == 2
    assert "nowhere.csv: No such file or directory" in capsys.readouterr().err


def test_an_interrupt_says_that_the_same_command_goes_on(monkeypatch, capsys):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("balltravel.estimate.own_table.own_table", interrupted)
    assert main(["check-table", PRIMER]) == 130
    said = " ".join(capsys.readouterr().err.split())
    assert "nothing was written; the lifts solved so far are kept, and the same command goes on" in said


def test_without_the_extra_the_line_says_how_to_install_it(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "balltravel.closures.fem.own_check", None)
    assert main(["check-table", PRIMER]) == 2
    assert 'example: pip install -e ".[fem]"' in " ".join(capsys.readouterr().err.split())


def test_the_resistance_of_a_check_says_that_it_goes_by_its_own_table(capsys):
    settings = [part for setting in WITH_TABLE for part in ("--set", setting)]
    assert main(["resistance", PRIMER, *settings]) == 0
    inlet, piston = (line for line in capsys.readouterr().out.splitlines() if ", ball centred, " in line)
    assert "by its own table" in inlet
    assert "tabulated" in piston
