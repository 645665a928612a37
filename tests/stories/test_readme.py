"""What the README shows is what the program does."""

import importlib
import re
import shlex
from functools import partial
from pathlib import Path

import pytest

import balltravel

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()


@pytest.fixture
def few_draws(monkeypatch):
    """An example recommends over the fewest draws; the first command's test runs as many as users do."""
    monkeypatch.setattr(balltravel, "recommend", partial(balltravel.recommend, draws=32))


@pytest.mark.usefixtures("few_draws")
def test_the_python_example_runs(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    (example,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    exec(compile(example, "README.md", "exec"), {})
    out = capsys.readouterr().out
    assert "closing lag 53 ms" in out
    assert "shims_below=(2,)" in out


@pytest.mark.usefixtures("few_draws")
def test_the_examples_of_the_python_page_run(monkeypatch, capsys, tmp_path):
    """In their order, as somebody types them; the figure is written elsewhere."""
    monkeypatch.chdir(ROOT)
    examples = re.findall(r"```python\n(.*?)```", (ROOT / "docs" / "python.md").read_text(), re.DOTALL)
    assert len(examples) == 5
    names = {}
    for example in examples:
        example = re.sub(r'"(\w+\.png)"', lambda name: repr(str(tmp_path / name[1])), example)
        exec(compile(example, "python.md", "exec"), names)
    out = capsys.readouterr().out
    assert "\nTrue\n" in out
    assert max(map(len, out.splitlines())) < 1200  # a recommendation is one line; no array is printed
    assert "[" not in out.split("True")[0]
    assert {path.name for path in tmp_path.iterdir() if path.stat().st_size > 10_000} == {
        "faster_primer.png", "faster_primer_in_inches.png", "travel_map.png", "largest_rates.png",
        "losses.png",
    }  # fmt: skip


def test_no_example_writes_a_file_that_another_writes():
    pages = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
    named = [set(re.findall(r"[\w.]+\.(?:png|nc)", _code_of(page))) for page in pages]
    python = set(re.findall(r"[\w.]+\.png", _code_of(ROOT / "docs" / "python.md")))
    others = set().union(
        *(names for page, names in zip(pages, named, strict=True) if page.name != "python.md")
    )
    assert python
    assert not python & others


def _code_of(page):
    return "".join(re.findall(r"```.*?```", page.read_text(), re.DOTALL))


def test_every_name_of_the_python_page_is_there():
    page = (ROOT / "docs" / "python.md").read_text()
    cells = re.findall(r"^\| (`.*?`) \|", page, re.MULTILINE)
    for name in re.findall(r"`([\w.]+)(?:\([^`]*\))?`", " ".join(cells)):
        parts = name.split(".")
        if parts[0] == "balltravel" and len(parts) > 3:
            assert hasattr(importlib.import_module(".".join(parts[:-1])), parts[-1]), name
        elif parts[0] != "balltravel" and name not in ("vapour", "atmosphere", "vessels", "held_wall_factor"):
            assert hasattr(balltravel, name), name


def test_the_outputs_shown_are_what_the_first_command_prints_and_with_exactly(run):
    blocks = re.findall(r"```\n(.*?)```", README, re.DOTALL)
    verdict = next(block for block in blocks if "What was not known" in block)
    exactly = next(block for block in blocks if "Recommended, with" in block)
    primer = ROOT / "scenarios" / "primer.toml"
    out = run("recommend", primer)[1]
    assert out.partition("\nAt the likely values")[0].split() == verdict.split()
    assert run("recommend", primer, "--exactly")[1].split() == exactly.split()
    trials = exactly.partition("Before you rely")[2].partition("*: recommended")[0].partition("that.")[2]
    assert trials.strip() in out
    assert max(map(len, out.splitlines())) <= 100


RESULTS = (ROOT / "docs" / "results.md").read_text()
SHOWN = re.findall(r"```\n\$ balltravel (.*?)\n(.*?)```", RESULTS, re.DOTALL)


def test_the_results_show_outputs_of_check_material_resistance_and_sweep():
    assert [line.split()[0] for line, _ in SHOWN] == ["check", "material", "resistance", "sweep"]


@pytest.mark.parametrize(("line", "shown"), SHOWN, ids=[line.split()[0] for line, _ in SHOWN])
def test_the_outputs_shown_in_the_results_are_what_the_commands_print(run, monkeypatch, line, shown):
    """Line by line; three dots stand for what is left out."""
    monkeypatch.chdir(ROOT)
    code, out, err = run(*shlex.split(line))
    assert code == 0, err
    for part in re.split(r"^\.\.\.\n", shown, flags=re.MULTILINE):
        assert part.rstrip("\n") in out


def test_every_command_and_option_that_the_readme_names_exists(run):
    from balltravel.cli.main import _parser

    text = _parser().format_help()
    for command in re.findall(r"^balltravel (\w+)", README, re.MULTILINE):
        assert command in text
        help_text = run(command, "--help")[1]
        line = next(one for one in README.splitlines() if one.startswith(f"balltravel {command} "))
        for option in re.findall(r"--\w+", line.partition("#")[0]):
            assert option in help_text


def test_every_file_that_the_docs_link_to_is_there():
    pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")]
    for page in pages:
        for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text()):
            assert (page.parent / target).exists(), f"{page.name}: {target}"
