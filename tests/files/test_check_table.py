"""A check's own table in its file, named by a scenario: what is read, what is refused, what is kept."""

import shlex
import shutil

import pytest

from balltravel.cli.main import _parser
from balltravel.closures.own.profile import read_profile, seat_in
from balltravel.closures.own.shape import shape_of_wall, table_of_shape
from balltravel.cycle.run import run_cycle
from balltravel.estimate.own_table import own_table
from balltravel.files.check_table import dataset_of, keep_row, kept_rows, table_from
from balltravel.files.read_write import read_scenario, write_dataset
from balltravel.scenario.model import ScenarioError, from_result, with_value, with_values
from balltravel.scenario.unknowns import spreads_of
from balltravel.setup.parameters import geometry_of
from balltravel.sweeps.grid import sweep

from ..helpers.own_tables import CONE_SEAT, CONE_TABLE, WITH_TABLE, table_in


@pytest.fixture(autouse=True)
def _own_cache(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def test_a_table_comes_back_from_its_file_as_it_was_written(tmp_path):
    made = table_in(CONE_TABLE)
    data = dataset_of(made, "a cone")
    for name in ("what", "units", "balltravel_version", "profile", "digest"):
        assert data.attrs[name]
    write_dataset(data, tmp_path / "again.nc")
    assert table_from((tmp_path / "again.nc").read_bytes()) == made


def test_a_scenario_names_a_table_beside_it(tmp_path, story):
    text = (CONE_TABLE.parents[2] / "scenarios" / "primer.toml").read_text()
    (tmp_path / "mine.toml").write_text(
        text.replace("\n[inlet_check]", '\n[inlet_check]\ntable = "fv.nc"\n#')
    )
    shutil.copy(CONE_TABLE, tmp_path / "fv.nc")
    s = read_scenario(tmp_path / "mine.toml", CONE_SEAT)
    assert s.inlet_check.table == table_in(CONE_TABLE)
    assert geometry_of(s.inlet_check, s.closures).table == s.inlet_check.table
    assert read_scenario(tmp_path / "mine.toml", [*CONE_SEAT, "inlet_check.table=none"]) == story(
        "primer", *CONE_SEAT, "inlet_check.table=none"
    )


def test_a_scenario_with_a_table_goes_through_a_result_and_through_changes(story):
    s = story("primer", *WITH_TABLE)
    assert from_result(s.model_dump_json()).inlet_check == s.inlet_check
    thicker = with_values(s, {"material.viscosity": 6.0})
    assert thicker.inlet_check.table == s.inlet_check.table
    assert with_values(s, {"inlet_check.table": None}).inlet_check.table is None


def test_a_run_with_a_table_is_near_the_one_without_and_not_the_same(story):
    with_it, without = (run_cycle(story("primer", *settings)) for settings in (WITH_TABLE, CONE_SEAT))
    assert with_it.metrics.fill_fraction == pytest.approx(without.metrics.fill_fraction, abs=0.01)
    assert with_it.metrics.inlet.landing_speed != without.metrics.inlet.landing_speed
    assert with_it.metrics.piston.landing_speed == pytest.approx(
        without.metrics.piston.landing_speed, rel=0.05
    )


def test_a_seat_with_a_table_is_known_and_its_tolerances_stay(story):
    with_it, without = spreads_of(story("primer", *WITH_TABLE)), spreads_of(story("primer"))
    assert "inlet_check.seat" in without
    assert "inlet_check.seat" not in with_it
    assert "piston_check.seat" in with_it
    assert {"inlet_check.seat_diameter", "inlet_check.seat_half_angle"} <= with_it.keys()


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("inlet_check.ball_diameter=28.575 mm", "made for a ball of 29.4 mm"),
        ("inlet_check.seat_diameter=16 mm", "made for a seat bore of 18 mm"),
        ("inlet_check.cage_diameter=42 mm", "made for a cage of 37.8 mm"),
        ("inlet_check.seat_half_angle=52 deg", "made for a half angle of 45 deg"),
        ("inlet_check.seat_mouth_diameter=30 mm", "made for a mouth of 26 mm"),
        ("inlet_check.seat=edge", 'nearest to a cone; allowed: a table of this check: seat = "edge"'),
        ("inlet_check.table=nowhere.nc", "No such file"),
        ("inlet_check.table=[1]", "the name of a file that balltravel check-table made"),
        ("inlet_check.table={low=1,high=2}", "a range given"),
        ("inlet_check.table=primer.toml", "no result of this program, or cut short"),
    ],
)
def test_a_table_of_another_check_and_what_is_no_table_are_refused(setting, words, story):
    with pytest.raises(ScenarioError) as caught:
        story("primer", *WITH_TABLE, setting)
    assert any(words in str(fault) for fault in caught.value.faults)


def test_other_closures_beside_a_table_are_refused_and_the_usual_ones_are_not(story):
    closed = "closures.resistance=closed form"
    with pytest.raises(ScenarioError) as caught:
        story("primer", *WITH_TABLE, closed)
    (fault,) = caught.value.faults
    assert fault.key == "closures.resistance"
    assert '"closed form" given although inlet_check.table is' in fault.given
    # What the message says to write is a scenario.
    assert story("primer", *WITH_TABLE, closed, fault.example.replace(' = "none"', "=none"))
    assert story("primer", *WITH_TABLE, "closures.resistance=tabulated") == story("primer", *WITH_TABLE)
    with pytest.raises(ScenarioError, match=r"although inlet_check\.table is"):
        sweep(story("primer", *WITH_TABLE), {"closures.resistance": ["tabulated", "closed form"]})


@pytest.mark.parametrize("check", ["inlet", "piston"])
def test_a_drawing_named_as_a_table_is_answered_with_the_command_that_makes_one(check, tmp_path, story):
    wall = tmp_path / "foot valve.csv"
    wall.write_text("# drawn by hand\n r (mm), z (mm)\n9, -6\n9, 0\n13, 4\n18.9, 40\n")
    with pytest.raises(ScenarioError, match="a drawing of the walls") as caught:
        story("primer", *CONE_SEAT, f"{check}_check.table={wall}")
    program, *typed = shlex.split(caught.value.faults[0].example)
    assert program == "balltravel"
    given = _parser().parse_args(typed)
    assert (given.command, given.of, given.profile) == ("check-table", check, str(wall))
    assert given.out == str(wall.with_suffix(".nc"))


def test_a_damaged_table_and_another_result_are_refused(tmp_path, story):
    data = bytearray(CONE_TABLE.read_bytes())
    data[5000] ^= 1
    (tmp_path / "bad.nc").write_bytes(data)
    with pytest.raises(ScenarioError, match="damaged: its bytes do not match"):
        story("primer", *CONE_SEAT, f"inlet_check.table={tmp_path / 'bad.nc'}")
    made = dataset_of(table_in(CONE_TABLE), "-").assign_attrs(what="another result")
    write_dataset(made, tmp_path / "other.nc")
    with pytest.raises(ScenarioError, match="no table of a check"):
        story("primer", *CONE_SEAT, f"inlet_check.table={tmp_path / 'other.nc'}")


def test_what_was_solved_is_kept_though_the_last_line_was_cut_off(tmp_path):
    rows = [(0.1 * n, 1.0, 2.0, 3.0, 4.0, 5.0, 1.0 / 3.0) for n in (1, 2)]
    for row in rows:
        keep_row("ab" * 32, row)
    assert kept_rows("ab" * 32) == {row[0]: row for row in rows}
    (path,) = (tmp_path / "cache" / "balltravel" / "checks").iterdir()
    path.write_bytes(path.read_bytes()[:-9])
    assert [*kept_rows("ab" * 32)] == [0.1]
    keep_row("ab" * 32, rows[1])
    assert kept_rows("ab" * 32) == {row[0]: row for row in rows}


def test_without_a_cache_nothing_is_kept_and_nothing_fails(monkeypatch, tmp_path):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file" / "cache"))
    keep_row("cd" * 32, (0.1,) * 7)
    assert kept_rows("cd" * 32) == {}


def test_a_killed_solve_goes_on_with_what_is_missing_and_an_equal_one_solves_nothing(monkeypatch, story):
    fem = pytest.importorskip("balltravel.closures.fem.own_check", exc_type=ImportError)
    made, s = table_in(CONE_TABLE), story("primer", *CONE_SEAT)
    known, asked = {row[0]: row for row in made.rows}, []

    def killed(_shape, lift, _fineness):
        if len(asked) == 5:
            raise KeyboardInterrupt
        asked.append(lift)
        return known[lift]

    monkeypatch.setattr(fem, "solve_own", killed)
    with pytest.raises(KeyboardInterrupt):
        own_table(s)
    monkeypatch.setattr(fem, "solve_own", lambda _shape, lift, _fineness: known[lift])
    told = []
    again = own_table(s, progress=lambda done, whole: told.append((done, whole)))
    assert again.solved == len(made.rows) - 5
    assert told[0] == (6, 22)
    assert told[-1] == (22, 22)
    # The digest is that of the file that the command made of the same sizes, and so are the sizes.
    assert again.table.digest == made.digest
    assert again.table[1:-1] == pytest.approx(made[1:-1], rel=1e-9)
    assert own_table(s).solved == 0


def test_a_drawing_of_another_seat_is_refused_with_the_keys_that_go_with_it(story):
    text = "d (mm), z (mm)\n18, -6\n18, 0\n26, 4\n30, 4\n30, 7\n37.8, 7\n37.8, 40\n"
    with pytest.raises(ScenarioError) as caught:
        own_table(story("primer"), profile=text)
    keys = str(caught.value).split("as drawn, ")[1]
    # What the message says to write is a scenario, and its check is the one of the drawing.
    settings = [f"inlet_check.{key}" for key in keys.replace('"', "").replace(" = ", "=").split(", ")]
    written = story("primer", *settings)
    assert written.inlet_check.seat_mouth_diameter == pytest.approx(26e-3)
    with_value(written, "inlet_check.table", _unsolved(written, text))


def _unsolved(scenario, text):
    wall, ball = read_profile(text), 0.5 * scenario.inlet_check.ball_diameter
    return table_of_shape(shape_of_wall(wall, seat_in(wall, ball), ball), 0.0, ())


def test_a_drawing_must_be_of_the_check_that_it_is_for(story):
    s = story("primer")
    for rows, words in (
        ("", "--profile: an empty file"),
        ("9, 0\n18.9, 0\n18.9, 30\n", "the ball finds a seat bore of 18 mm"),
        ("10.5, 0\n25, 0\n25, 30\n", "the ball finds a cage of 50 mm"),
        ("10.5, 0\n9.8, 0\n13, 4\n18.9, 4\n18.9, 30\n", "nearest to a cone"),
        ("10.5, 0\n14, 0\n14, 30\n", "cannot pass into a cage of 28 mm"),
    ):
        text = f"r (mm), z (mm)\n{rows}" if rows else ""
        with pytest.raises(ScenarioError) as caught:
            own_table(s, profile=text)
        assert words in str(caught.value)
        assert len(caught.value.faults) == 1
