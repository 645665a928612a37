"""The command calibrate as somebody at a bench runs it."""

import re

import pytest

from balltravel.files.read_write import read_scenario
from balltravel.scenario.unknowns import spreads_of

SEEN = '[[seen]]\nvacuum_at_inlet = "-0.36 bar"\nweighed_per_cycle = "155 cc"\n'


@pytest.fixture
def seen(tmp_path):
    file = tmp_path / "today.toml"
    file.write_text(SEEN)
    return file


def test_the_new_scenario_has_the_ranges_that_are_printed_and_keeps_all_else(run, scenarios, tmp_path, seen):
    primer, new = scenarios / "primer.toml", tmp_path / "new.toml"
    given = ("calibrate", primer, "--observed", seen, "--no-verdict")
    code, out, err = run(*given, "--out", new)
    assert code == 0, err
    assert max(map(len, out.splitlines())) <= 100
    assert f"{new}: written, 1 range narrower" in " ".join(err.split())
    (row,) = [line for line in out.splitlines() if line.startswith("viscosity ")]
    likely, within = spreads_of(read_scenario(new))["material.viscosity"].numbers
    printed = [float(number) for number in re.findall(r"\d+\.\d+", row)]
    for number in (likely, likely / within, likely * within):
        # The file has a digit more, and may round to the other side of a half.
        assert any(abs(number - shown) < 0.0051 for shown in printed)
    code, checked, err = run("check", new)
    assert code == 0, err
    assert "Swept volume" in checked
    before, after = primer.read_text().splitlines(), new.read_text().splitlines()
    changed = [line for line in before if line not in after]
    assert len(changed) == 1
    assert changed[0].startswith("viscosity = ")
    (line,) = [line for line in after if line.startswith("viscosity = {likely")]
    assert 'before: "5 Pa.s"' in line
    assert changed[0].partition("#")[2].strip() in line  # what was said of it stays
    assert "by today.toml" in after[0]

    code, out, err = run(*given, "--out", new)
    assert (code, out) == (2, "")
    assert "it exists already; allowed: a new name" in " ".join(err.split())


@pytest.mark.parametrize(
    "written",
    ['viscosity = "3700 cSt"', 'readings = [{ viscosity = "3700 cSt", uncertainty = "20 %" }]'],
    ids=["viscosity", "reading"],
)
def test_what_goes_with_the_density_still_does_in_the_new_scenario(run, scenarios, tmp_path, seen, written):
    mine, new = tmp_path / "mine.toml", tmp_path / "new.toml"
    lines = (scenarios / "primer.toml").read_text().splitlines()
    mine.write_text("\n".join(written if line.startswith("viscosity = ") else line for line in lines))
    code, _, err = run("calibrate", mine, "--observed", seen, "--no-verdict", "--out", new)
    assert code == 0, err
    assert re.search(r'likely = "[0-9.]+ cSt"|viscosity = "[0-9.]+ cSt"', new.read_text())

    def viscosity(density):
        m = read_scenario(new, [f"material.density={density} kg/m3"]).material
        return m.viscosity or m.readings[0].viscosity

    assert viscosity(1500.0) == pytest.approx(1500.0 / 1350.0 * viscosity(1350.0), rel=1e-12)
    assert viscosity(1350.0) > 1.05 * 3700e-6 * 1350.0  # thicker than was written: something was learnt


def test_json_has_what_is_printed(run_json, scenarios, seen):
    told = run_json("calibrate", scenarios / "primer.toml", "--observed", seen, "--no-verdict")
    assert (told["verdict_before"], told["written"]) == (None, "")
    (viscosity,) = [item for item in told["inputs"] if item["key"] == "material.viscosity"]
    assert viscosity["learnt"]
    assert told["scenario"]["material"]["viscosity"] == viscosity["after"]["numbers"][0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "seen: missing"),
        ("[[seen]]\n", "nothing was seen"),
        ('[[seen]]\npounding = "heard"\n', "nothing is learnt"),
        ('[[seen]]\nweighed_per_cycle = "-3 cc"\n', "-3 cc"),
        ("[[seen]\n", "not TOML"),
    ],
)
def test_what_says_nothing_is_refused_with_exit_code_2(run, scenarios, tmp_path, text, said):
    file, new = tmp_path / "today.toml", tmp_path / "new.toml"
    file.write_text(text)
    code, out, err = run("calibrate", scenarios / "primer.toml", "--observed", file, "--out", new)
    assert (code, out) == (2, "")
    assert said in " ".join(err.split())
    assert not new.exists()


def test_readings_that_contradict_are_told_and_nothing_is_written(run, scenarios, tmp_path):
    file, new = tmp_path / "today.toml", tmp_path / "new.toml"
    file.write_text('[[seen]]\nvacuum_at_inlet = "0.5 bar"\n')
    code, out, err = run(
        "calibrate", scenarios / "primer.toml", "--observed", file, "--out", new, "--no-verdict"
    )
    assert code == 0
    assert "Contradiction:" in out
    assert "not written" in err
    assert not new.exists()


def test_out_goes_with_no_setting(run, scenarios, tmp_path, seen):
    new = tmp_path / "new.toml"
    primer = scenarios / "primer.toml"
    code, _, err = run("calibrate", primer, "--observed", seen, "--out", new, "--set", "suction.lift=0.4 m")
    assert code == 2
    assert "given with --set" in " ".join(err.split())
