"""A coater's week: one arrangement for three materials and a flush, by the command, against separate runs."""

import contextlib
import io
import json
import re
from pathlib import Path

import matplotlib.image
import pytest

from balltravel import read_scenario, read_week, recommend, recommend_week, with_shims_below, with_value
from balltravel.cli.main import main
from balltravel.report.json import strict
from balltravel.study.travel.trials import landing_missed, missed
from balltravel.study.week import recommend as at_likely
from balltravel.sweeps.cases import run_case

ROOT = Path(__file__).parents[2]
FILE = ROOT / "scenarios" / "week_of_a_coater.toml"


@pytest.fixture(scope="module")
def week(tmp_path_factory):
    """What the command says of the shipped week at its likely values, in JSON, its materials by name, and its
    figure."""
    figure, out = tmp_path_factory.mktemp("week") / "week.png", io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["recommend", str(FILE), "--week", "--exactly", "--json", "--figure", str(figure)]) == 0
    return json.loads(out.getvalue()), {one.name: one for one in read_week(FILE)}, figure


@pytest.fixture
def cheap(tmp_path):
    """A week of two materials and a thick flush with two travels, quickly run."""
    return cheap_week(tmp_path)


def cheap_week(folder):
    """Its file in a folder."""
    text = (ROOT / "scenarios" / "primer.toml").read_text().partition("[sweep]")[0]
    text = text.replace('["1 mm", "2 mm", "4 mm"]', '["3 mm"]').replace("below = [1, 2]", "below = [1]")
    path = folder / "cheap.toml"
    path.write_text(
        f"""{text}
[week]
own_name = "primer"
[week.mastic]
"material.viscosity" = "12 Pa.s"
"drive.cycle_rate" = "20 /min"
[week.rinse]
flush = true
"material.viscosity" = "0.1 Pa.s"
"drive.cycle_rate" = "60 /min"
"""
    )
    return path


def test_the_week_ends_in_one_arrangement_that_meets_every_target(week):
    found, materials, _ = week
    assert list(materials) == ["primer", "timber stain", "deck mastic", "flush solvent"]
    chosen = found["recommended"]
    assert sorted(chosen["shims_below"] + chosen["shims_above"]) == [1, 2, 3]
    for name, one in materials.items():
        there = with_shims_below(one.scenario, chosen["shims_below"])
        judge = landing_missed if one.flush else missed
        assert judge(there, run_case(there).metrics) == [], name


def test_its_travel_lies_between_those_of_the_thinnest_and_the_heaviest_alone(week):
    found, materials, _ = week
    alone = [
        recommend(materials[name].scenario, draws=0).recommended.ball_travel
        for name in ("timber stain", "deck mastic")
    ]
    assert min(alone) < found["recommended"]["ball_travel"] < max(alone)
    own = {one["name"]: one["own_best"] for one in found["materials"]}
    assert [own[name]["ball_travel"] for name in ("timber stain", "deck mastic")] == alone


def test_no_material_by_itself_is_worse_than_the_worst_case_says(week):
    found, materials, _ = week
    chosen = found["recommended"]
    (row,) = [r for r in found["arrangements"] if r["shims_below"] == chosen["shims_below"]]
    delivered = {
        name: run_case(with_shims_below(one.scenario, chosen["shims_below"])).metrics.volumetric_efficiency
        for name, one in materials.items()
        if not one.flush
    }
    assert row["least_in"] == min(delivered, key=delivered.get) == "deck mastic"
    assert row["least_delivery"] == min(delivered.values())
    assert row["gives_up"] == max(one["gives_up"] for one in found["materials"] if not one["flush"])


def test_each_rate_that_is_told_was_looked_at_on_both_sides(week):
    found, materials, _ = week
    for told in found["materials"]:
        one = materials[told["name"]]
        there = with_shims_below(one.scenario, found["recommended"]["shims_below"])
        judge = landing_missed if one.flush else missed
        for rate, holds in ((told["rate"]["holds"], True), (told["rate"]["fails"], False)):
            if rate is not None:
                faster = with_value(there, "drive.cycle_rate", rate)
                assert (judge(faster, run_case(faster).metrics) == []) == holds, told["name"]


def test_its_figure_is_drawn(week):
    picture = matplotlib.image.imread(week[2])
    assert 0.005 < (picture[..., :3].mean(axis=2) < 0.9).mean() < 0.5


def test_the_rates_that_are_printed_meet_and_miss_the_targets(run, cheap):
    code, out, err = run("recommend", cheap, "--week", "--exactly")
    assert code == 0, err
    rows = [re.split(r"  +", line.strip()) for line in out.splitlines() if re.match(r"[ABC]  \w+  +\d", line)]
    assert max(map(len, out.splitlines())) <= 100
    rows = rows[len(rows) // 2 :]  # the second table, of the rates
    assert [row[1] for row in rows] == ["primer", "mastic", "rinse"]
    said = " ".join(out.split())
    travel = float(re.search(r"Recommended for the week[^.]*?: .*?ball travel ([0-9.]+) mm", said)[1])
    for one, row in zip(read_week(cheap), rows, strict=True):
        there = with_value(
            with_value(one.scenario, "shims.below", ()), "inlet_check.base_travel", travel / 1e3
        )
        judge = landing_missed if one.flush else missed
        for text, holds in zip(row[-3:-1], (True, False), strict=True):
            if text != "-":
                faster = with_value(there, "drive.cycle_rate", float(text) / 60)
                assert (judge(faster, run_case(faster).metrics) == []) == holds, row


def test_without_the_option_the_file_answers_for_its_own_material_alone(run, cheap):
    out = run("recommend", cheap, "--exactly")[1]
    bare = cheap.with_name("bare.toml")
    bare.write_text(cheap.read_text().partition("[week]")[0])
    assert out == run("recommend", bare, "--exactly")[1]
    assert read_scenario(cheap) == read_scenario(bare)


def test_a_file_without_a_week_is_refused(run, scenarios):
    code, out, err = run("recommend", scenarios / "primer.toml", "--week")
    assert (code, out) == (2, "")
    assert "has no table [week]; allowed: a file with further materials" in " ".join(err.split())


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """What the command says of the cheap week over draws: its text, its JSON and its figure. Without the
    search for cycle rates, which takes half of the time and is looked at above."""
    folder = tmp_path_factory.mktemp("drawn")
    cheap, figure = cheap_week(folder), folder / "week.png"

    def printed(*options):
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            assert main(["recommend", str(cheap), "--week", "--draws", "32", *options]) == 0
        return out.getvalue()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(at_likely, "largest_rate", lambda _scenario, _judge: None)
        yield cheap, printed("--figure", str(figure)), json.loads(printed("--json")), figure


def test_the_verdict_stands_above_the_answer_at_the_likely_values(run, drawn):
    cheap, out, _, _ = drawn
    verdict, below = re.split(r"At the likely values[^:]*:\n\n", out)
    exactly = run("recommend", cheap, "--week", "--exactly")[1]
    assert below == exactly
    assert exactly == run("recommend", cheap, "--week", "--draws", "0")[1]
    assert "draws" not in exactly
    assert max(map(len, verdict.splitlines())) <= 100


def test_the_first_lines_say_what_the_verdict_is(drawn):
    _, out, found, _ = drawn
    verdict = found["verdict"]
    said = " ".join(out.partition("\n\n")[0].split())
    (row,) = (p for p in verdict["prospects"] if p["choice"] == verdict["chosen"])
    assert f"travel {1e3 * verdict['chosen']['ball_travel']:.4g} mm" in said
    assert f"In {100 * verdict['holds']:.0f} of 100 (" in said
    assert f"Targets of all materials met in {100 * row['chance']['all']:.0f} of 100" in said
    assert f"Gives up at most {100 * row['regret_95']:.2g} % of swept" in said
    for name in verdict["decided_by"]:
        assert f"{name} (without it" in said
    assert [m["name"] for m in verdict["materials"]] == ["primer", "mastic", "rinse"]


def test_its_verdict_is_that_of_python(drawn):
    cheap, _, found, _ = drawn
    verdict = recommend_week(read_week(cheap), draws=32).verdict
    assert strict(verdict.as_dict()) == found["verdict"]


def test_the_bands_of_the_draws_are_drawn(drawn):
    picture = matplotlib.image.imread(drawn[3])
    assert 0.02 < (picture[..., :3].mean(axis=2) < 0.95).mean() < 0.7


def test_options_of_draws_are_refused_where_nothing_is_drawn(run, cheap):
    code, out, err = run("recommend", cheap, "--week", "--exactly", "--draws", "64")
    assert (code, out) == (2, "")
    assert "--draws: nothing is drawn" in " ".join(err.split())
