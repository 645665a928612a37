"""The command lesson, and the instructor's note: what it shows is what the program does."""

import re
import shlex
from pathlib import Path

import pytest

from balltravel.cli.commands.teach import PAGE

ROOT = Path(__file__).parents[2]
NOTE = (ROOT / "docs" / "lesson.md").read_text()


def test_the_page_is_written_and_its_steps_are_printed(run, scenarios, tmp_path):
    page = tmp_path / "lesson.html"
    code, out, err = run(
        "lesson", scenarios / "mastic.toml", "--set", 'shims.thicknesses=["3 mm"]', "--set", "shims.below=[]",
        "--out", page,
    )  # fmt: skip
    assert code == 0, err
    assert f"{page}: written" in err
    steps = re.findall(r"^ +(\d)  .* (\d+\.\d) +(\d+\.\d) +(\d+\.\d)$", out, re.MULTILINE)
    assert [number for number, *_ in steps] == list("123456")
    for _, drawn, back, delivered in steps:
        assert float(drawn) > float(delivered) > float(back) >= 0.0
    said = " ".join(out.split())
    assert "no travel fills the chamber. A longer travel than these shims give would let more in" in said
    assert "relieve pressure" in out
    assert max(map(len, out.splitlines())) <= 100
    text = page.read_text(encoding="utf-8")
    assert "Invented lower, computed, not measured." in text


def test_its_json_has_every_run(run_json, scenarios, tmp_path):
    values = run_json(
        "lesson", scenarios / "mastic.toml", "--set", 'shims.thicknesses=["3 mm"]', "--set", "shims.below=[]",
        "--out", tmp_path / "l.html",
    )  # fmt: skip
    assert values["bytes"] == (tmp_path / "l.html").stat().st_size
    assert len(values["steps"]) == 6
    for material in values["materials"]:
        assert len(material["arrangements"]) == len(values["travels"]) == 2
        assert 0.0 < material["arrangements"][0]["metrics"]["fill_fraction"] <= 1.01


@pytest.mark.parametrize(
    ("out", "words"),
    [
        ("lesson.pdf", "allowed: a name ending in .html"),
        ("nowhere/lesson.html", "no such folder"),
    ],
)
def test_a_page_that_cannot_be_written_is_refused_before_the_runs(run, scenarios, tmp_path, out, words):
    code, printed, err = run("lesson", scenarios / "primer.toml", "--out", tmp_path / out)
    assert (code, printed) == (2, "")
    assert words in " ".join(err.split())


def test_the_scenario_itself_is_not_overwritten(run, tmp_path, scenarios):
    mine = tmp_path / "mine.html"
    mine.write_text((scenarios / "primer.toml").read_text())
    code, _, err = run("lesson", mine, "--out", mine)
    assert code == 2
    assert "would be overwritten" in err


def test_a_lower_with_one_travel_is_refused_in_plain_words(run, scenarios, tmp_path):
    settings = ("--set", "shims.thicknesses=[]", "--set", "shims.below=[]", "--out", tmp_path / PAGE)
    code, _, err = run("lesson", scenarios / "primer.toml", *settings)
    assert code == 2
    assert "1 ball travel of these shims; allowed: 2 to 40" in " ".join(err.split())


def test_the_times_of_the_ball_in_two_liquids_are_what_the_program_predicts(capsys):
    (code,) = re.findall(r"```python\n(.*?)```", NOTE, re.DOTALL)
    shown = NOTE.partition(code)[2].split("```")[2]
    exec(compile(code, "lesson.md", "exec"), {})
    assert capsys.readouterr().out == shown.lstrip("\n")
    times = {(name, int(celsius)): float(time) for name, celsius, time in
             re.findall(r"(\w+) +at (\d+) degC +[\d.]+ s +([\d.]+) s", shown)}  # fmt: skip
    assert 15 < times["glycerine", 20] / times["syrup", 20] < 25
    for celsius in (15, 20, 25):
        assert 1.5 <= times["glycerine", celsius] / times["glycerine", celsius + 5] <= 1.65


def test_the_viscosity_of_glycerine_is_the_one_of_its_source():
    viscosity = pytest.importorskip("chemicals.viscosity")
    row = viscosity.mu_data_VDI_PPDS_7.loc["56-81-5"]
    told = re.search(r"glycerine = \[(.*?)\]", NOTE)[1]
    for celsius, mu in re.findall(r"\((\d+), ([\d.]+),", told):
        known = viscosity.PPDS9(273.15 + int(celsius), *(row[name] for name in "ABCDE"))
        assert float(mu) == pytest.approx(known, rel=5e-3)


def test_from_the_readme_it_takes_two_commands_to_a_lesson_in_a_browser(run):
    readme = (ROOT / "README.md").read_text()
    block = next(b for b in re.findall(r"```\n(.*?)```", readme, re.DOTALL) if "webbrowser" in b)
    make, look = block.strip().splitlines()
    command, file, option, page = shlex.split(make)[1:]
    assert command == "lesson"
    assert (ROOT / file).is_file()
    assert option in run("lesson", "--help")[1]
    assert page == PAGE
    assert page in look
    assert "/".join(("$PWD", page)) in look
    assert make.replace(".venv/bin/", "") in NOTE
