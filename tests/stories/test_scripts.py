"""Scripts that are started by hand still start, and what the papers say of the house is true."""

import re
import runpy
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCRIPTS = [path for path in sorted((ROOT / "tests").glob("*.py")) if path.name != "conftest.py"]


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_a_script_of_the_tests_can_be_loaded(script, monkeypatch):
    """By its own folder, as Python runs it; what it computes is not run."""
    monkeypatch.syspath_prepend(str(script.parent))
    for extra, named in (("skfem", "skfem"), ("ngsolve", "helpers.closing_event")):
        if named in script.read_text(encoding="utf-8"):
            pytest.importorskip(extra)
    runpy.run_path(str(script), run_name="loaded")


@pytest.mark.parametrize("name", ["closures_compared", "inertia_compared", "thinning_compared"])
def test_a_script_that_compares_says_how_to_use_it(name):
    """And ends: what it computes takes minutes."""
    script = ROOT / "tests" / f"{name}.py"
    if "skfem" in script.read_text(encoding="utf-8"):
        pytest.importorskip("skfem")
    done = subprocess.run([sys.executable, script, "--help"], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert f"{name}.py" in done.stdout


def test_the_scripts_that_the_papers_name_are_there():
    papers = (ROOT / "DEVELOPERS.md").read_text()
    named = re.findall(r"tests/[\w/]+\.py", papers)
    assert len(named) > 8
    for name in named:
        assert (ROOT / name).is_file(), name


def test_every_heading_that_a_page_links_to_is_there():
    for page in [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")]:
        for target, anchor in re.findall(r"\]\(([^)#:\s]*)#([^)\s]+)\)", page.read_text()):
            there = page if not target else (page.parent / target)
            assert anchor in anchors(there), f"{page.name}: {target}#{anchor}"


def anchors(page):
    """Anchors of a page's headings, as GitHub makes them."""
    text = re.sub(r"```.*?```", "", page.read_text(), flags=re.DOTALL)
    found = set()
    for heading in re.findall(r"^#+ (.+)$", text, re.MULTILINE):
        plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading).lower().strip()
        found.add(re.sub(r"[^\w\- ]", "", plain).replace(" ", "-"))
    return found


def test_no_room_but_the_core_has_more_than_fourteen_modules_and_the_package_few_names():
    package = ROOT / "sim" / "balltravel"
    names = [path for path in package.iterdir() if path.name != "__pycache__"]
    assert len(names) <= 17
    for folder in package.rglob("*/"):
        modules = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
        assert len(modules) <= 14 or folder.name == "core", folder


def test_the_printout_tool_says_how_to_use_it():
    done = subprocess.run(
        [sys.executable, ROOT / "tests" / "printed.py", "--help"], capture_output=True, text=True
    )
    assert done.returncode == 2
    assert "--compare BEFORE AFTER" in done.stdout
