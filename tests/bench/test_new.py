"""``balltravel new``: every way through its questions ends in a scenario that can be run."""

import io
import json
import math
import sys
from itertools import pairwise
from pathlib import Path

import pytest

import balltravel
from balltravel.bench.new.blanks import BLANKS
from balltravel.cli.main import main
from balltravel.files.draft import draft_path
from balltravel.site.ball_materials import BALL_MATERIALS

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
PRIMER = next(path for path in SCENARIOS if path.stem == "primer")
TEN = {
    "bore": "48 mm",
    "stroke": "90 mm",
    "rod": "34 mm",
    "ball": "29.4 mm",
    "made of": "steel",
    "seat": "21 mm",
    "cage": "37.8 mm",
    "shims": "1+2+4 mm",
    "below": "1+2",
    "travel": "5 mm",
    "rate": "30 /min",
    "hose": "38 mm",
    "length": "1.5 m",
    "material": "5 Pa.s",
}
"""Ten questions, two of which have more than one blank: those of scenarios/primer.toml."""


@pytest.fixture
def new(tmp_path, monkeypatch, capsys):
    """Runs ``balltravel new lower.toml`` with lines of answers; returns exit code, output, questions."""
    monkeypatch.chdir(tmp_path)

    def run(lines, *options, name="lower.toml"):
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = main(["new", name, *options])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


def typed(**changes):
    return [*(TEN | changes).values()]


def test_ten_answers_are_the_scenario(new, capsys):
    code, out, _ = new(typed())
    assert code == 0
    assert "14 of 14 blanks answered" in out
    scenario = balltravel.read_scenario("lower.toml")
    primer = balltravel.read_scenario(PRIMER)
    for blank in BLANKS[:-1]:
        table, _, key = blank.key.partition(".")
        if blank.name == "made of":
            assert scenario.inlet_check.ball_density == BALL_MATERIALS["steel"].likely
            continue
        assert getattr(getattr(scenario, table), key) == getattr(getattr(primer, table), key), blank.key
    assert scenario.material.viscosity == primer.material.viscosity
    assert main(["check", "lower.toml"]) == 0
    assert not draft_path("lower.toml").exists()
    capsys.readouterr()


def test_ten_answers_take_under_two_minutes_of_typing():
    """Of somebody who needs half a second a key; the questions are read beside it."""
    keys = sum(len(answer) + 1 for answer in TEN.values())
    assert keys == 91
    assert 0.5 * keys < 60.0
    assert len(typed()) == len(BLANKS)


@pytest.mark.parametrize("answers", [typed(), ["?"] * 13], ids=["ten answers", "nothing known"])
def test_what_is_made_can_be_recommended_over(new, answers):
    """With no choice of travel, so that draws are quickly run."""
    assert new(answers)[0] == 0
    scenario = balltravel.read_scenario("lower.toml", ["shims.thicknesses=[]", "shims.below=[]"])
    recommended = balltravel.recommend(scenario, draws=32)
    assert recommended.verdict.draws >= 32
    assert recommended.verdict.chosen is not None


def test_what_is_not_known_is_a_range_and_never_a_number(new):
    code, out, _ = new(["?"] * 13)
    assert code == 0
    assert "0 of 14" in out
    scenario = balltravel.read_scenario("lower.toml")
    spreads = balltravel.spreads_of(scenario)
    asked = {blank.key for blank in BLANKS} - {"material", "shims.thicknesses", "shims.below"}
    for key in {*asked, "material.viscosity", "material.density", "drive.ramp_time", "outlet.gauge_pressure"}:
        low, high = spreads[key].at((0.02, 0.98))
        assert high > low, key
    assert (
        spreads["material.viscosity"].at((0.98,))[0] / spreads["material.viscosity"].at((0.02,))[0] > 1000.0
    )


def test_one_may_go_back_and_change_an_answer(new):
    """Back from the rod to the bore, and forth by Enter alone."""
    rest = typed()[2:]
    code, _, asked = new(["60 mm", "90 mm", "<", "<", "48 mm", "", *rest])
    assert code == 0
    assert "(Enter: 60 mm)" in asked
    scenario = balltravel.read_scenario("lower.toml")
    assert (scenario.lower.bore, scenario.lower.stroke) == (0.048, 0.09)


def test_a_changed_answer_asks_again_what_does_not_go_with_it(new):
    """Back from the ball to the bore, which is then smaller than the rod."""
    code, _, asked = new(["48 mm", "90 mm", "34 mm", "<", "<", "<", "30 mm", "", "20 mm", *["?"] * 10])
    assert code == 0
    assert "C, 34 mm, does not go with this" in asked
    assert balltravel.read_scenario("lower.toml").lower.rod == 0.02


@pytest.mark.parametrize("end", [["q"], []], ids=["quit", "end of input"])
@pytest.mark.parametrize("after", [0, 1, 8, 13])
def test_the_same_command_goes_on_where_it_was_left(new, end, after):
    code, out, said = new([*typed()[:after], *end])
    assert (code, out) == (1, "")
    assert not Path("lower.toml").exists()
    assert ("answers are kept in" in said) == (after > 0)
    code, _, said = new(typed()[after:])
    assert code == 0
    assert (f"Going on: {after} of 14" in said) == (after > 0)
    assert new(typed(), name="at_once.toml")[0] == 0
    assert _body("lower.toml") == _body("at_once.toml")


def _body(name):
    return [line for line in Path(name).read_text().splitlines() if not line.startswith("title")]


def test_a_file_that_is_there_stays_and_another_name_is_asked_for(new, tmp_path):
    (tmp_path / "lower.toml").write_text("mine")
    code, _, said = new(typed())
    assert code == 2
    assert "it exists already; allowed: a new name, or --from lower.toml" in said
    assert (tmp_path / "lower.toml").read_text() == "mine"


def test_a_file_that_comes_meanwhile_stays_too(new, tmp_path):
    new(typed()[:3])
    (tmp_path / "lower.toml").write_text("mine")
    code, _, said = new(typed()[3:])
    assert code == 1
    assert "came there meanwhile" in said
    assert (tmp_path / "lower.toml").read_text() == "mine"
    (tmp_path / "lower.toml").unlink()
    assert new([])[0] == 0  # nothing is left to ask


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"answers": {"bore": 3}, "from": null}', "\0"])
def test_damaged_answers_are_refused_and_stay(new, tmp_path, damage):
    place = tmp_path / "lower.toml.answers"
    place.write_text(damage)
    code, _, said = new(typed())
    assert code == 2
    assert "does not hold answers" in said
    assert place.read_text() == damage


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_enter_alone_keeps_a_lower_that_one_starts_from(new, path):
    code, _, _ = new([""] * 14, "--from", str(path))
    assert code == 0
    made, begun = (balltravel.read_scenario(name).model_dump() for name in ("lower.toml", path))
    assert {**made, "title": ""} == {**begun, "title": ""}


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("answer", ["?", ""], ids=["nothing known", "another cage"])
def test_another_lower_may_be_started_from_with_other_answers(new, capsys, path, answer):
    """All unknown, or a ball, a seat and a cage four times as large, to which little of the old one fits."""
    base = balltravel.read_scenario(path).inlet_check
    larger = [f"{4e3 * size} mm" for size in (base.ball_diameter, base.seat_diameter, base.cage_diameter)]
    right = [""] if 4.0 * base.ball_diameter > 1.5 * 0.05 else []  # Enter: the size is right
    lines = ["?"] * 14 if answer else ["", "", "", larger[0], *right, "", *larger[1:], *[""] * 7]
    assert new(lines, "--from", str(path))[0] == 0
    assert main(["check", "lower.toml"]) == 0
    capsys.readouterr()
    if not answer:
        made = balltravel.read_scenario("lower.toml")
        assert made.inlet_check.ball_diameter == pytest.approx(4.0 * base.ball_diameter, rel=1e-12)
        assert made.lower == balltravel.read_scenario(path).lower


def test_a_lower_to_start_from_that_has_errors_is_refused_with_all_of_them(new, tmp_path):
    (tmp_path / "old.toml").write_text("title = 3\n[lower]\nbore = 3\n")
    code, _, said = new([], "--from", "old.toml")
    assert code == 2
    assert "old.toml:1: title" in said
    assert "old.toml:3: lower.bore" in said
    assert not draft_path("lower.toml").exists()


HOSTILE = {
    "nothing": ("", "nothing typed"),
    "ten thousand characters": ("9" * 10_000, "an answer of"),
    "control characters": ("4\x1b[2J8 mm\x07\x7f", "\\x1b"),
    "a negative size": ("-48 mm", "allowed: 5 mm to 500 mm"),
    "a unit of another kind": ("48 bar", "another kind"),
    "an unknown unit": ("48 parsec", "unknown unit"),
    "no unit": ("48", "has no unit"),
    "a comma": ("48,5 mm", "has a comma"),
    "words": ("about two inches", "does not begin with a plain number"),
    "far too large": ("48 km", "allowed: 5 mm to 500 mm"),
    "a zero": ("1/0 in", "divides by zero"),
    "a range turned round": ("50 to 40 mm", "low <= high"),
    "broken text": ("\udcff\udcfe", "does not begin"),
    "TOML": ('48 mm"\nrod = "3', "rod"),
}


@pytest.mark.parametrize("case", HOSTILE)
def test_an_answer_that_cannot_be_one_is_said_to_be_and_asked_again(new, case):
    answer, told = HOSTILE[case]
    code, _, said = new([*answer.split("\n"), *typed()])
    assert code == 0
    assert told in " ".join(said.split())
    assert all(letter.isprintable() or letter == "\n" for letter in said)
    assert all(len(line) <= 100 for line in said.splitlines())
    assert new(typed(), name="without.toml")[0] == 0
    assert _body("lower.toml") == _body("without.toml")


def test_what_is_wrong_comes_with_an_example_as_one_types_it_in_the_units_of_the_answers(new):
    assert "example: 3 1/2 in" in new(["1 7/8 in", "3 1/2 inn"])[2]
    until_below = [*TEN.values()][: [*TEN].index("below")]
    said = new([*until_below, "7"], name="other.toml")[2]
    assert "counted in thicknesses; example: 1 + 2" in " ".join(said.split())


def test_a_number_alone_has_the_unit_of_the_sizes_before_which_stands_in_the_question(new):
    sizes = ["4 3/4", "3 1/16", "2 5/8", "steel", "1.875", "3 1/2", "1/16 + 1/8", "1", "5/16", "30", "2"]
    code, _, said = new(["3 7/8 in", *sizes, "5", "5 ft", "3500 cP"])
    assert code == 0
    assert "B [in] > " in said
    assert '"5" has no unit' in said  # feet or inches
    whole = new(["3 7/8 in", *(f"{size} in" if size[0].isdigit() else size for size in sizes[:6]),
                 "1/16 + 1/8 in", "1", "5/16 in", "30 /min", "2 in", "5 ft", "3500 cP"],
                name="whole.toml")  # fmt: skip
    assert whole[0] == 0
    assert _body("lower.toml") == _body("whole.toml")


@pytest.mark.parametrize("rate", ["12 /min", "30 /min"])
def test_the_tip_that_nobody_asked_for_makes_the_pressure_that_is_said(new, rate):
    """By the whole model at the likely values: 120 bar within a tenth, and dips are there to compare."""
    new(typed(rate=rate))
    metrics = balltravel.run_cycle(balltravel.read_scenario("lower.toml")).metrics
    gauge = metrics.spray_pressure - 101325.0
    assert gauge == pytest.approx(120e5, rel=0.1)
    assert metrics.dip_at_top > 0.0


@pytest.mark.parametrize("unknown", ["rate", "material"])
def test_where_flow_or_viscosity_is_not_known_no_tip_makes_a_pressure_beyond_any_rating(new, unknown):
    """A tip of a fixed bore would: of thick material at a fast rate thousands of bar."""
    new(typed(**{unknown: "?"}))
    scenario = balltravel.read_scenario("lower.toml")
    low, high = balltravel.spreads_of(scenario)["outlet.gauge_pressure"].at((0.001, 0.999))
    assert 50e5 <= low < high <= 250e5


WRONG = {
    "rod": ("50 mm", "smaller than the bore, which is 48 mm"),
    "seat": ("30 mm", "larger than the bore of its seat"),
    "cage": ("29 mm", "smaller than its cage"),
    "shims": ("1,5 mm", "decimal mark or stand between two shims"),
    "below": ("1+7", "1 to 3"),
    "travel": ("1 mm", "at least the shims below together: 3 mm"),
    "rate": ("30 rpm", "rpm"),
    "made of": ("ceramic", "which one? their densities lie far apart"),
    "material": ("honey", "fireproofing mastic"),
}


@pytest.mark.parametrize("name", WRONG)
def test_an_answer_that_contradicts_another_is_told_where_it_is_given(new, name):
    answer, told = WRONG[name]
    lines = typed()
    lines.insert([*TEN].index(name), answer)
    code, _, said = new(lines)
    assert code == 0
    assert told in " ".join(said.split())


FAR_OFF = {
    "hose": ("6 in", "far outside the usual 20 to 76 mm"),
    "seat": ("18 in", "far outside the usual 0.6 to 0.8 of the ball"),
    "rate": ("300 /min", "far outside the usual 10 to 45 /min"),
}


@pytest.mark.parametrize("name", FAR_OFF)
def test_a_size_far_outside_the_usual_is_questioned_where_it_is_typed(new, name):
    answer, told = FAR_OFF[name]
    lines = typed()
    lines.insert([*TEN].index(name), answer)
    code, _, said = new(lines)
    assert code == 0
    assert told in " ".join(said.split())
    assert f"(Enter: {answer} is right)" in said
    assert new(typed(), name="without.toml")[0] == 0
    assert _body("lower.toml") == _body("without.toml")


@pytest.mark.parametrize("again", ["", "6 in"], ids=["Enter", "the same again"])
def test_a_size_that_is_questioned_may_be_right(new, again):
    lines = typed(hose="6 in")
    lines.insert([*TEN].index("hose") + 1, again)
    assert new(lines)[0] == 0
    assert balltravel.read_scenario("lower.toml").suction.hose_diameter == pytest.approx(0.1524)


def test_what_is_wrong_with_another_answer_has_no_example_of_that_one(new):
    lines = typed()
    lines.insert([*TEN].index("seat"), "30 mm")
    said = " ".join(new(lines)[2].split())
    assert "which is 30 mm" in said
    assert "which is 30 mm; example" not in said


def test_every_question_has_a_number_of_its_own(new):
    said = new(typed())[2]
    heads = [f"{number} of {len(BLANKS)}  {blank.letter}  " for number, blank in enumerate(BLANKS, 1)]
    assert all(said.count(f"\n{head}") == 1 for head in heads)


def test_our_own_usual_values_are_round_in_us_units_and_said_to_be_what_they_are(new):
    inches = ["2 3/8 in", "4", "1 5/8", "1 1/2", "steel", "1", "2", "1/16", "none", "1/4", "30", "2", "5 ft"]
    assert new([*inches, "roof elastomer"])[0] == 0
    text = Path("lower.toml").read_text()
    assert 'largest_particle = "4 thou"' in text
    assert "about 700 to 3600 psi, 1700 psi most likely" in text.replace("\n# ", " ")
    above = {line.partition(" =")[0]: said for said, line in pairwise(text.split("\n"))}
    assert "power law" in above["flow"]
    assert "# Density: roof elastomer" in text


MATERIALS = {
    "3500 cP": 3.5,
    "2 Pa.s to 8 Pa.s": 4.0,  # the geometric middle, docs/ranges.md
    "100 KU at 25 C": 1.6,  # 40 mPa.s for each unit above 60
    "Ford 4, 60 s": 1.3e-3 * 3.85 * (60.0 - 4.49),  # ASTM D1200, times the likely density
    "60 s ISO 4 mm": 1.3e-3 * (1.37 * 60.0 - 200.0 / 60.0),  # ISO 2431
    "mastic": math.sqrt(30.0 * 500.0),  # at 1 1/s, docs/materials.md
}


@pytest.mark.parametrize("answer", MATERIALS)
def test_a_material_may_be_told_in_the_words_of_a_shop(new, answer):
    code, _, _ = new(typed(material=answer))
    assert code == 0
    scenario = balltravel.read_scenario("lower.toml")
    readings = scenario.material.readings
    viscosity = readings[0].viscosity if readings else scenario.material.viscosity
    assert viscosity == pytest.approx(MATERIALS[answer], rel=1e-3)


def test_json_says_what_was_made(new):
    code, out, _ = new(typed(bore="?"), "--json")
    assert code == 0
    said = json.loads(out)
    assert said["scenario"] == "lower.toml"
    assert said["unknown"] == ["bore"]
    assert said["text"] == Path("lower.toml").read_text()
