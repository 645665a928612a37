"""`recommend` over all that is not known, and exactly as before with --exactly."""

import json
import re
import sys

import matplotlib.image
import pytest

import balltravel
from balltravel.cli.output import SoFar, print_json
from balltravel.report.care import CARE
from balltravel.report.json import recommendation_dict, strict
from balltravel.report.text.recommend import recommendation_text
from balltravel.report.text.verdict import is_overruled, verdict_lines
from balltravel.scenario.model import ScenarioError
from balltravel.study.travel.recommend import recommend as at_likely_values
from balltravel.study.verdict.record import ALL

ONE_SHIM = ('shims.thicknesses=["2 mm"]', "shims.below=[]", "inlet_check.base_travel=3 mm")
"""Two travels instead of eight, so that draws are quickly run."""

SETTINGS = tuple(word for setting in ONE_SHIM for word in ("--set", setting))
DRAWS = (*SETTINGS, "--draws", "32")


@pytest.fixture(scope="module")
def primer(request):
    return balltravel.read_scenario(request.config.rootpath / "scenarios" / "primer.toml", ONE_SHIM)


@pytest.fixture(scope="module")
def judged(primer):
    """The same from Python."""
    return balltravel.recommend(primer, draws=32)


def test_with_exactly_the_text_is_that_of_the_single_run_to_the_byte(run, scenarios, primer):
    code, out, _ = run("recommend", scenarios / "primer.toml", *SETTINGS, "--exactly")
    assert code == 0
    assert out == "\n".join([recommendation_text(primer, at_likely_values(primer)), "", *CARE, ""])
    assert run("recommend", scenarios / "primer.toml", *SETTINGS, "--draws", "0")[1] == out


def test_with_exactly_the_json_is_that_of_the_single_run_to_the_byte(run, scenarios, primer, capsys):
    out = run("recommend", scenarios / "primer.toml", *SETTINGS, "--exactly", "--json")[1]
    capsys.readouterr()
    values = recommendation_dict(primer, at_likely_values(primer))
    print_json({**values, "care": " ".join(CARE)}, SoFar())
    assert out == capsys.readouterr().out
    assert "verdict" not in json.loads(out)


def test_the_page_begins_with_the_verdict_and_closes_with_the_single_run_and_the_cautions(
    once, scenarios, primer, judged
):
    code, out, _ = once("recommend", scenarios / "primer.toml", *DRAWS)
    assert code == 0
    assert out.startswith("\n".join(verdict_lines(primer, judged.verdict)) + "\n")
    alone = at_likely_values(primer)
    single = recommendation_text(primer, alone, is_overruled(judged.verdict, alone))
    assert out.endswith("\n".join(["", single, "", *CARE, ""]))
    assert out.index("What was not known") < out.index("\nAt the likely values")


def test_text_json_and_python_say_the_same(once, run_json, scenarios, judged):
    out = " ".join(once("recommend", scenarios / "primer.toml", *DRAWS)[1].split())
    values = run_json("recommend", scenarios / "primer.toml", *DRAWS)
    verdict = values["verdict"]
    assert verdict == json.loads(json.dumps(strict(judged.verdict.as_dict())))
    travel = 1e3 * verdict["chosen"]["ball_travel"]
    assert out.startswith(
        (f"Travel {travel:.4g} mm", f"Any travel does; the shortest is named: {travel:.4g} mm")
    )
    assert f"in {100 * verdict['holds']:.0f} of 100 (" in out
    chosen = next(e for e in values["arrangements"] if e["ball_travel"] == verdict["chosen"]["ball_travel"])
    assert f"Targets met in {100 * chosen['chance'][ALL]:.0f} of 100 (" in out
    assert f"{verdict['draws']} draws, seed 0" in out
    assert verdict["deciding"] == [known["key"] for known in verdict["worth_knowing"]]
    assert verdict["next_measurement"] == next(iter(verdict["measurements"]), None)
    for entry in values["arrangements"]:
        assert entry["delivery_5"] <= entry["delivery_50"] <= entry["delivery_95"] <= 1.0
        assert 0.0 <= entry["regret_95"] <= 1.0


def test_a_seed_draws_the_same_again_and_another_one_others(run_json, scenarios):
    first, again, other = (
        run_json("recommend", scenarios / "primer.toml", *DRAWS, "--seed", seed)["verdict"]
        for seed in (3, 3, 4)
    )
    assert first == again
    assert (first["seed"], other["seed"]) == (3, 4)
    assert first["prospects"] != other["prospects"]


def test_the_verdict_is_drawn_and_with_exactly_the_single_run(run, scenarios, tmp_path):
    pictures = [tmp_path / "verdict.png", tmp_path / "exactly.png"]
    for picture, options in zip(pictures, (DRAWS, (*SETTINGS, "--exactly")), strict=True):
        code, _, err = run("recommend", scenarios / "mastic.toml", *options, "--figure", picture)
        assert code == 0, err
        assert 0.005 < (matplotlib.image.imread(picture)[..., :3].mean(axis=2) < 0.9).mean() < 0.7
    assert matplotlib.image.imread(pictures[0]).shape != matplotlib.image.imread(pictures[1]).shape


@pytest.mark.parametrize("terminal", [True, False])
def test_a_first_look_is_told_on_a_terminal_alone(run, scenarios, monkeypatch, terminal):
    monkeypatch.setattr(sys.stdout, "isatty", lambda: terminal, raising=False)
    _, out, err = run("recommend", scenarios / "mastic.toml", *SETTINGS, "--draws", "64")
    told = re.findall(r"^First look \(32 draws\): .*; going on$", err, re.MULTILINE)
    assert len(told) == terminal
    assert "First look" not in out


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--draws", "100"), "100 given; allowed: 32, 64, 128, ... 4096, or 0 (no verdict); example: 256"),
        (("--draws", "16"), "16 given; allowed: 32, 64"),
        (("--draws", "8192"), "8192 given; allowed"),
        (("--draws", "many"), '"many" given; allowed'),
        (("--seed", "-1"), "-1 given; allowed: a whole number, 0 to 999999"),
        (("--exactly", "--draws", "64"), "--draws: nothing is drawn; allowed: without --exactly"),
        (("--week", "--exactly", "--seed", "4"), "--seed: nothing is drawn; allowed: without --exactly"),
    ],
)
def test_draws_that_cannot_be_are_refused(run, scenarios, options, words):
    code, out, err = run("recommend", scenarios / "week_of_a_coater.toml", *options)
    assert (code, out) == (2, "")
    assert words in " ".join(err.split())


@pytest.mark.parametrize("draws", [1, 33, -32, 8192, 64.0, "64", None, True])
def test_draws_that_cannot_be_are_refused_in_python(primer, draws):
    with pytest.raises(ScenarioError, match=r"^draws: .*; allowed: 32, 64, 128, .*; example: 256$"):
        balltravel.recommend(primer, draws=draws)


@pytest.mark.parametrize("seed", [-1, 1.5, "1", None, 10**6])
def test_seeds_that_cannot_be_are_refused_in_python(primer, seed):
    with pytest.raises(ScenarioError, match=r"^seed: .*; allowed: a whole number, 0 to 999999; example: 1$"):
        balltravel.recommend(primer, seed=seed)


def test_without_draws_python_gets_the_single_run(primer):
    alone = balltravel.recommend(primer, draws=0)
    assert alone.verdict is None
    assert str(alone.as_dict()) == str(at_likely_values(primer).as_dict())


def test_what_python_gets_has_all_of_the_single_run_and_the_verdict(primer, judged):
    single = at_likely_values(primer)
    assert judged.recommended == single.recommended
    assert judged.reasons == single.reasons
    assert judged.as_dict()["verdict"]["holds"] == judged.verdict.holds
    assert len(judged.verdict.prospects) == len(single.arrangements)
