"""The history of a pump as somebody at a bench keeps it."""

import json
import re
import shutil
from pathlib import Path

import pytest

import balltravel
from balltravel.bench.history.book import END
from balltravel.cli.commands.log import LOG
from balltravel.report.figures.history import history_figure
from balltravel.report.json import strict
from balltravel.report.text.bench.log import history_text

SCENARIOS = Path(__file__).parents[2] / "scenarios"
STORY = "roof_elastomer_from_a_drum.toml"


@pytest.fixture
def lower(scenarios, tmp_path):
    return shutil.copy(scenarios / STORY, tmp_path / "mine.toml")


@pytest.fixture
def log(tmp_path):
    return tmp_path / "mine.log.toml"


def test_entries_are_added_and_shown_without_a_run(run, lower):
    code, out, err = run(
        "log", lower, "--did", "opened", "--replaced", "foot valve ball, throat packing",
        "--cycles", "120000", "--date", "2026-05-11", "--turned", "seat", "--shims-below", "1+2",
        "--material", "roof white",
    )  # fmt: skip
    assert code == 0, err
    assert "entry 1 (2026-05-11) added" in " ".join(out.split())
    assert run("log", lower, "--cycles", "+1200", "--litres", "+40 l", "--note", "ran well")[0] == 0
    code, out, err = run("log", lower)
    assert code == 0, err
    text = " ".join(out.split())
    for part in ("2 entries in", "ball travel 7 mm", "replaced foot valve ball, throat packing", "121200",
                 "shims below: 1+2", "roof white", "ran well"):  # fmt: skip
        assert part in text
    assert run("log", lower, "--show")[1] == out


def test_an_entry_of_readings_alone_says_so(run, lower, tmp_path):
    seen = tmp_path / "seen.toml"
    seen.write_text('[[seen]]\ndate = 2026-05-12\nweighed_per_cycle = "140 cc"\n')
    code, out, err = run("log", lower, "--observed", seen)
    assert code == 0, err
    assert "entry 1 (2026-05-12) added: readings." in " ".join(out.split())


def test_the_example_has_a_trend_of_its_foot_valve_and_of_its_delivery(run, scenarios, tmp_path):
    line = ("log", scenarios / STORY, "--log", scenarios / "seen" / "drum.log.toml")
    picture = tmp_path / "history.svg"
    code, out, err = run(*line, "--figure", picture)
    assert code == 0, err
    text = " ".join(out.split())
    assert re.search(r"Delivery per cycle: falls by \d+ cc per 100 000 cycles", text)
    assert "Leak at the foot valve: rises by" in text
    assert "Leak at the piston (seat or lower packing): no trend" in text
    assert max(map(len, out.splitlines())) <= 100
    assert "gap all round [um]" in picture.read_text() or picture.stat().st_size > 10_000


@pytest.fixture(scope="module")
def kept():
    """The example, read once."""
    return balltravel.history(SCENARIOS / STORY, log=SCENARIOS / "seen" / "drum.log.toml")


def test_the_example_in_us_units_has_no_metric_ones_and_the_json_is_si(kept):
    lower = balltravel.read_scenario(SCENARIOS / STORY)
    with balltravel.shown_in("us"):
        us = history_text(lower, kept)
        figure = history_figure(lower, kept)
    assert not re.search(r"\b(um|mm|bar|l)\b", us)
    assert "thou per 100 000 cycles" in us
    labels = [axes.get_ylabel() for axes in figure.axes]
    assert any("thou" in label for label in labels)
    assert not any("um" in label for label in labels)
    told = json.loads(json.dumps(strict(kept.as_dict()), allow_nan=False))
    last = told["points"][-1]
    assert 1e-6 < last["leaks"]["foot valve"]["size"] < 1e-5
    assert last["delivered"] == pytest.approx(260e-6)
    assert [course["name"] for course in told["courses"]] == [
        "delivery",
        "foot valve",
        "piston",
        "rod packing",
    ]
    assert told["entries"][1]["replaced"] == ["foot valve ball", "throat packing"]


def test_a_cut_entry_is_said_and_the_rest_is_shown(run, lower, log):
    run("log", lower, "--did", "opened")
    log.write_text(log.read_text() + "\n[[entry]]\ndate = 2026-0")
    code, out, err = run("log", lower)
    assert code == 0
    assert "opened" in out
    assert "mine.log.toml:9: the entry is cut short and set aside" in " ".join(err.split())
    assert "set aside" in " ".join(out.split())
    assert run("log", lower, "--did", "closed")[0] == 0
    assert "closed" in run("log", lower)[1]


def test_an_unreadable_line_in_the_middle_is_exit_2_with_its_line(run, lower, log):
    run("log", lower, "--did", "opened")
    run("log", lower, "--did", "closed")
    damaged = log.read_text().replace('did = "closed"', 'did = "clo')
    log.write_text(damaged)
    for line in (("log", lower), ("log", lower, "--note", "x")):
        code, out, err = run(*line)
        assert (code, out) == (2, "")
        number = damaged.split("\n").index('did = "clo') + 1
        assert f"mine.log.toml:{number}: " in err
    assert log.read_text() == damaged


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--date", "2999-01-01", "--note", "x"), "--date: 2999-01-01 is in the future"),
        (("--date", "2026-05-01", "--note", "x"), "--date: 2026-05-01 is before 2026-05-11"),
        (("--cycles", "90000"), "--cycles: 90000 is less than 100000"),
        (("--cycles", "2.5 million"), "--cycles: "),
        (("--cycles=-5",), "--cycles: "),
        (("--litres=-5 l",), "--litres: "),
        (("--replaced", "bal"), "--replaced: "),
        (("--shims-below", "5"), "--shims-below: "),
        (("--shims-below", "one"), "--shims-below: "),
        (("--shims-below", "1", "--shims-above", "1+2+3"), "--shims-above: "),
        (("--observed", "nowhere.toml"), "nowhere.toml: No such file"),
        (("--note", ""), "nothing was done or seen"),
        (("--note", "x", "--show"), "allowed: add first, then show"),
    ],
)
def test_what_cannot_be_is_refused_with_its_option_and_nothing_is_written(run, lower, log, options, said):
    run("log", lower, "--date", "2026-05-11", "--cycles", "100000")
    before = log.read_bytes()
    code, out, err = run("log", lower, *options)
    assert (code, out) == (2, "")
    assert said in " ".join(err.split())
    assert log.read_bytes() == before


def test_a_lower_without_a_history_says_how_to_begin_one(run, lower, log):
    code, out, err = run("log", lower)
    assert (code, out) == (2, "")
    assert "there is no history yet" in " ".join(err.split())
    assert not log.exists()


def test_a_history_without_readings_has_no_figure(run, lower, tmp_path):
    run("log", lower, "--did", "opened")
    code, _, err = run("log", lower, "--figure", tmp_path / "history.png")
    assert code == 0
    assert "not drawn" in err


def test_the_example_of_the_page_runs(scenarios, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    shutil.copytree(scenarios, tmp_path / "scenarios")
    page = (scenarios.parent / "docs" / "log.md").read_text()
    (example,) = re.findall(r"```python\n(.*?)```", page, re.DOTALL)
    exec(compile(example, "log.md", "exec"), {})
    out = capsys.readouterr().out
    assert "foot valve" in out
    assert (tmp_path / "scenarios" / "roof_elastomer_from_a_drum.log.toml").read_text().rstrip().endswith(END)


def test_every_option_that_adds_is_on_the_page(scenarios):
    page = (scenarios.parent / "docs" / "log.md").read_text()
    for flag, _ in LOG.options:
        assert f"`{flag}" in page or flag == "--workers", flag
