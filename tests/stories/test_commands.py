"""Every command, as a user types it."""

import os
import re
import signal
import subprocess
import sys
import time

import pytest
import xarray as xr

STORIES = ("stain", "primer", "primer_conical_seat", "mastic", "mastic_close_cage")
CHECK_KEYS = {
    "closing_lag", "closing_lag_stroke_fraction", "ball_lag", "backflow_volume", "landing_speed", "peak_lift",
    "lift_at_reversal",
}  # fmt: skip
KEYS = {
    "fill_fraction", "fill_at_top_dead_centre", "volumetric_efficiency", "delivered_volume", "delivered_flow",
    "lowest_chamber_pressure", "lost_stroke", "void_volume",
}  # fmt: skip


@pytest.mark.parametrize("story", STORIES)
def test_check_tells_what_it_understood(run, run_json, scenarios, story):
    code, out, _ = run("check", scenarios / f"{story}.toml")
    assert code == 0
    assert "Bench test" in out
    assert "material.viscosity " in run("check", scenarios / f"{story}.toml", "--all")[1]
    assert run_json("check", scenarios / f"{story}.toml")


@pytest.mark.parametrize("story", STORIES)
def test_simulate_gives_the_cycle_in_numbers(run_json, scenarios, story):
    found = run_json("simulate", scenarios / f"{story}.toml")
    assert found["status"] == "ok"
    assert set(found["metrics"]) >= KEYS
    for check in ("inlet", "piston"):
        assert set(found["metrics"][check]) >= CHECK_KEYS
    budget = dict(found["loss_budget"])
    swept, residual = budget.pop("swept"), budget.pop("residual")
    assert sum(budget.values()) == pytest.approx(swept, rel=1e-9)
    assert abs(residual) <= 1e-9 * swept
    assert found["volume_residual"] <= 1e-12
    assert isinstance(found["warnings"], list)


def test_simulate_writes_the_cycle_and_draws_it(run, scenarios, tmp_path):
    result, picture = tmp_path / "result.nc", tmp_path / "cycle.png"
    code, out, _ = run("simulate", scenarios / "primer.toml", "--out", result, "--figure", picture)
    assert code == 0
    assert "loss budget" in out
    assert picture.stat().st_size > 10_000
    with xr.open_dataset(result, engine="h5netcdf") as data:
        assert data.attrs["status"] == "ok"
        assert data.lift.attrs["units"] == "m"
        assert "scenario_sha256" in data.attrs


@pytest.mark.parametrize("story", STORIES)
def test_recommend_answers_where_the_shims_go(run, run_json, scenarios, story):
    found = run_json("recommend", scenarios / f"{story}.toml", "--exactly")
    assert len(found["arrangements"]) == 8
    assert [round(1e3 * one["ball_travel"], 9) for one in found["arrangements"]] == [2, 3, 4, 5, 6, 7, 8, 9]
    assert found["reasons"]
    if story == "mastic_close_cage":
        assert found["recommended"] is None
        assert any("cage, not travel, is the limit" in said for said in found["reservations"])
        assert "none is recommended" in run("recommend", scenarios / f"{story}.toml", "--exactly")[1]
    else:
        chosen = found["recommended"]
        assert sorted(chosen["shims_below"] + chosen["shims_above"]) == [1, 2, 3]


@pytest.mark.parametrize("command", ["simulate", "recommend --exactly"])
def test_a_printout_names_the_material_and_the_travel(run, scenarios, command):
    name, *options = command.split()
    first = run(name, scenarios / "primer.toml", *options)[1].splitlines()
    assert first[0] == "One lower, primer"
    assert first[1].startswith("Material of 5 Pa.s (5000 cP), 1350 kg/m3; 30 cycles/min; outlet at 100 bar")
    if command == "simulate":
        said = " ".join(first[1:3])
        assert "; ball travel 5 mm (0.197 in), shims 1 (1 mm) and 2 (2 mm) below the cage" in said


def test_a_setting_replaces_the_drive_without_a_word_on_its_old_ramps(run, scenarios):
    code, out, err = run("simulate", scenarios / "primer.toml", "--set", "drive.profile=harmonic")
    assert (code, err) == (0, "")
    assert "The cycle repeats" in out


def test_thin_material_is_told_that_travel_hardly_matters(run, scenarios):
    assert "Travel hardly matters" in run("recommend", scenarios / "stain.toml", "--exactly")[1]


def test_the_best_at_the_end_of_what_the_shims_allow_is_said_to_be_there(run, scenarios):
    heavy = ("--set", "material.viscosity=20 Pa.s")
    out = " ".join(run("recommend", scenarios / "mastic.toml", *heavy, "--exactly")[1].split())
    assert "the longest travel that the shims allow" in out


def test_set_changes_a_value_with_the_same_units_as_the_file(run_json, scenarios):
    one = run_json("simulate", scenarios / "primer.toml", "--set", "material.viscosity=100 P")
    two = run_json("simulate", scenarios / "primer.toml", "--set", 'material.viscosity="10 Pa.s"')
    assert one["metrics"] == two["metrics"]
    assert one["metrics"]["fill_fraction"] < 0.9


def test_sweep_runs_over_all_arrangements_or_over_a_grid(run, scenarios, tmp_path):
    out = run("sweep", scenarios / "primer.toml")[1]
    assert out.count(" Pa.s  ") == 24 + 3  # cases, and the best travel of each viscosity
    assert "The status of every case shown is ok." in out
    bare = tmp_path / "bare.toml"
    bare.write_text((scenarios / "primer.toml").read_text().partition("[sweep]")[0])
    out = run("sweep", bare)[1]
    assert [line.split()[0] for line in out.splitlines()[5:13]] == [
        "none", "1", "2", "1+2", "3", "1+3", "2+3", "1+2+3"
    ]  # fmt: skip
    result = tmp_path / "grid.nc"
    rates = 'drive.cycle_rate=["20 /min", "40 /min"]'
    code, _, _ = run("sweep", bare, "--over", rates, "--over", "shims.below=[[], [1]]",
                     "--out", result)  # fmt: skip
    assert code == 0
    with xr.open_dataset(result, engine="h5netcdf") as data:
        assert dict(data.sizes) == {"drive_cycle_rate": 2, "shims_below": 2}
        slow, fast = data.fill_fraction.values
        assert (fast < slow).all()


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["--set", "material.viscosity=5"], "a bare number"),
        (["--set", "material.viscosity=12,5 Pa.s"], "comma"),
        (["--set", "material.viscosty=5 Pa.s"], "did you mean"),
        (["--set", "inlet_check.ball_diameter=-3 mm"], "allowed"),
        (["--out", "/no/such/folder/x.nc"], "no folder"),
        (["--figure", "cycle.docx"], "allowed: a name ending in"),
        (["--out", "cycle.csv"], "allowed: a name ending in .nc"),
    ],
)
def test_bad_input_is_refused_before_anything_runs(run, scenarios, argv, words):
    code, out, err = run("simulate", scenarios / "primer.toml", *argv)
    assert (code, out) == (2, "")
    assert words in err
    assert "Traceback" not in err


@pytest.mark.parametrize("command", ["check", "simulate", "recommend", "sweep"])
def test_a_missing_file_and_a_folder_are_refused(run, tmp_path, command):
    for path in (tmp_path / "none.toml", tmp_path):
        code, out, err = run(command, path)
        assert (code, out) == (2, "")
        assert err.count(f"{path}: ") == 1  # once, and no line of a file that was not read


def test_help_loads_nothing_heavy():
    heavy = ("numpy", "numba", "xarray", "pint", "pydantic", "matplotlib", "scipy")
    code = (
        "import sys\nfrom balltravel.cli.main import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        f"print(sorted(set({heavy!r}) & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
    assert "recommend" in done.stdout


def test_an_interrupted_sweep_ends_with_130(scenarios):
    rates = ", ".join(f'"{10 + i} /min"' for i in range(30))
    lifts = ", ".join(f'"{10 * i} mm"' for i in range(30))
    argv = ["sweep", str(scenarios / "stain.toml")]
    argv += ["--over", f"drive.cycle_rate=[{rates}]", "--over", f"suction.lift=[{lifts}]"]
    # A shell's background job is born deaf to the key; here it is to be heard.
    code = (
        "import signal, sys\nsignal.signal(signal.SIGINT, signal.default_int_handler)\n"
        f"from balltravel.cli.main import main\nprint('go', flush=True)\nsys.exit(main({argv!r}))"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout.readline() == "go\n"
    time.sleep(6)
    os.kill(process.pid, signal.SIGINT)
    _, err = process.communicate(timeout=120)
    assert process.returncode == 130
    assert "interrupted" in err
    assert "Traceback" not in err


EDGE = ("--ball-over-seat", 1.4, "--cage-over-seat", 1.8, "--lift-over-seat", 0.2)


def test_resistance_by_ratios_has_the_matrix_and_its_slip(run_json):
    found = run_json("resistance", *EDGE)
    assert found["S"] == pytest.approx(found["Rww"] - found["Rqw"] ** 2 / found["Rqq"], rel=1e-9)
    assert found["inside_table"]
    # A fresh solve of this geometry, by the finite elements of this program: 156.85, 574.88, 2646.2, 539.19.
    assert (found["Rqq"], found["Rqw"]) == pytest.approx((156.85, 574.88), rel=1e-3)
    assert (found["Rww"], found["S"]) == pytest.approx((2646.2, 539.19), rel=1e-3)
    assert not run_json("resistance", *EDGE[:4], "--lift-over-seat", 20)["inside_table"]
    assert not run_json("resistance", "--ball-over-seat", 2.5, *EDGE[2:3], 3.1, *EDGE[4:])["inside_table"]


HIGH = (*EDGE[:4], "--lift-over-seat", 2.5)
"""Above the solves of a ball off its axis."""


def test_resistance_off_the_axis_is_less_and_says_where_the_ball_stands(run, run_json):
    """Above the solves by the rule, which has one S for all; within them by their table, where S rises."""
    on, off = (run_json("resistance", *HIGH, *more) for more in ((), ("--offset", 0.3)))
    assert 1.0 < on["Rqq"] / off["Rqq"] < 1.1
    assert on["S"] == off["S"]
    assert (off["offset_over_clearance"], off["spin"], off["inside_table"]) == (0.3, "held", False)
    assert run_json("resistance", *HIGH, "--offset", "30 %") == off
    assert "offset_over_clearance" not in on
    _, out, _ = run("resistance", *HIGH, "--offset", 0.3)
    assert "rule: ball 0.3 of the radial clearance off its axis, held from turning, R/r 1.4" in out
    within = (*EDGE[:2], "--cage-over-seat", 2, "--lift-over-seat", 0.4)
    on, held, free = (
        run_json("resistance", *within, *more)
        for more in ((), ("--offset", 0.65), ("--offset", 0.65, "--spin", "free"))
    )
    # The solves at this place: 1.527 and 1.656 times more, S 1.504 times.
    assert [on["Rqq"] / one["Rqq"] for one in (held, free)] == pytest.approx([1.527, 1.656], abs=1e-3)
    assert held["S"] / on["S"] == pytest.approx(1.504, abs=1e-3)
    assert held["inside_table"]


def test_resistance_off_the_axis_by_a_fresh_solve_passes_more_where_the_ball_may_turn(run_json):
    """Own solves of this geometry: 1.18 times more pass, 1.24 where the ball may turn."""
    pytest.importorskip("ngsolve")
    at = (*EDGE, "--offset", 0.3, "--solve")
    held, free = (run_json("resistance", *at, "--spin", spin)["solved"] for spin in ("held", "free"))
    assert 156.85 / held["Rqq"] == pytest.approx(1.18, abs=0.005)
    assert 156.85 / free["Rqq"] == pytest.approx(1.24, abs=0.005)
    assert free["Rvv"] < held["Rvv"]
    assert held["S"] > 539.19


def test_resistance_of_a_scenario_is_told_and_drawn_for_both_checks(run, run_json, scenarios, tmp_path):
    found = run_json("resistance", scenarios / "primer.toml")
    assert set(found) == {"inlet", "piston"}
    assert found["inlet"]["lift_over_seat"][-1] == pytest.approx(5.0 / 10.5, rel=1e-9)
    assert found["inlet"]["ball_over_seat"] == pytest.approx(1.4)
    picture = tmp_path / "check.png"
    code, out, _ = run("resistance", scenarios / "primer.toml", "--figure", picture)
    assert code == 0
    assert "inlet: edge and bore, ball centred, tabulated, r 10.5 mm" in out
    assert picture.stat().st_size > 10_000


def test_resistance_of_a_touching_ball_has_its_own_far_values(run, scenarios):
    far = [
        re.findall(
            r"far from the seat: Rqw ([\d.]+), Rww ([\d.]+)",
            run("resistance", scenarios / "primer.toml", *more)[1],
        )[0]
        for more in ((), ("--set", "closures.ball_position=touching"))
    ]
    assert float(far[1][0]) == pytest.approx(float(far[0][0]) / 2.02, rel=0.01)


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        ((), "a scenario file, or"),
        (EDGE[:4], "all three"),
        (("--ball-over-seat", 0.9, *EDGE[2:]), "more than 1"),
        ((*EDGE[:2], "--cage-over-seat", 1.3, *EDGE[4:]), "allowed with this ball"),
        ((*EDGE[:4], "--lift-over-seat", "nan"), "1e-06 to 1000"),
        ((*EDGE, "--set", "material.viscosity=1 Pa.s"), "with a scenario file"),
        ((*EDGE, "--offset", 0.62), "less than 0.6157 of the radial"),
        ((*EDGE, "--offset", -0.1), "to less than"),
        ((*EDGE, "--offset", "nan"), "to less than"),
        ((*HIGH, "--offset", 0.3, "--spin", "free"), "allowed with --solve"),
        ((*EDGE, "--spin", "free", "--solve"), "allowed off the axis"),
    ],
)
def test_resistance_refuses_what_no_check_has(run, argv, words):
    code, out, err = run("resistance", *argv)
    assert (code, out) == (2, "")
    assert words in err
