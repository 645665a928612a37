"""The tutorials run, line by line, as somebody types them."""

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "tutorials.md").read_text(encoding="utf-8")
SECTIONS = dict(re.findall(r"^## ([^\n]+)\n(.*?)(?=^## |\Z)", PAGE, re.DOTALL | re.MULTILINE))


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The project's folder, as far as the tutorials use it."""
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    shutil.copytree(ROOT / "figures", tmp_path / "figures")
    (tmp_path / "docs" / "images").mkdir(parents=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("section", "made"),
    [
        ("Before a job", "monday_material.png monday.html monday_card.pdf monday_cycle.png"),
        ("In front of a class", "docs/images/lost_volume.png class.html class_lesson.html"),
        ("A sweep over many cases", "tutorial_sweep/result.nc"),
    ],
)
def test_a_tutorial_runs_line_by_line(folder, run, capsys, section, made):
    names = {}
    for kind, block in re.findall(r"```(console|python)\n(.*?)```", SECTIONS[section], re.DOTALL):
        if kind == "python":
            exec(compile(block, "tutorials.md", "exec"), names)
            assert capsys.readouterr().out.strip()
            continue
        command, *arguments = shlex.split(block)
        if command == "python":
            subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
        else:
            code, out, err = run(*arguments)
            assert (command, code) == ("balltravel", 0), err
            assert out.strip()
    for name in made.split():
        assert (folder / name).stat().st_size > 5_000, name


def test_what_the_tutorials_say_of_what_they_compute_is_true(run_json):
    """Heavier material: the best travel is no shorter, and somewhere longer."""
    viscosities = (1.0, 4.0, 16.0)
    named = []
    for viscosity in viscosities:
        found = run_json(
            "recommend", ROOT / "scenarios" / "primer.toml", "--exactly", "--set",
            f"material.viscosity={viscosity} Pa.s",
        )  # fmt: skip
        choice = found["recommended"] or found["best_available"]
        named.append(choice["ball_travel"])
    assert named == sorted(named)
    assert named[0] < named[-1]
