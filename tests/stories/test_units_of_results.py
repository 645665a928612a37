"""Results in US units, in metric ones, or in both: every number is the same, none in a unit of the others."""

import re
import threading

import pytest

import balltravel
from balltravel.report.tables import bench, both, shims_in_words
from balltravel.sweeps.cases import in_threads
from balltravel.units import UnitError, to_si
from balltravel.units.display import shown_in

from ..helpers.answers import SCENARIOS, answer_of, answers_of, sentences_of, words_of
from ..helpers.sizes_in_text import METRIC, are_the_same, sizes_in

DRUM = "roof_elastomer_from_a_drum.toml --observed seen/drum.toml"
ALL = tuple(path.name for path in sorted(SCENARIOS.glob("*.toml")))
FEW = (
    "mastic_by_readings.toml", "primer.toml", "primer_conical_seat.toml", "roof_elastomer_from_a_drum.toml",
    "stain_by_air.toml",
)  # fmt: skip
"""Readings, a Newtonian material, a cone, motors with tips: what brings every kind of line and axis."""

TEXTS = ("check", "check --ranges")
DRAWN = ("material", "resistance", "simulate")
HEAVY = ("suction", "wear", "prime", "sweep", "recommend --exactly", "recommend --draws 32")


def _lines(commands, names):
    words = [command.split() for command in commands]
    return [" ".join((command, name, *options)) for command, *options in words for name in names]


PRIMER_ALONE = [
    *_lines(HEAVY[:-1], ("primer.toml",)),
    "suction putty_needs_a_ram_plate.toml",
    'recommend mastic.toml --draws 32 --set shims.thicknesses=["3mm"] --set shims.below=[]',
]


@pytest.mark.parametrize("line", [*_lines(TEXTS, ALL), *_lines(DRAWN, FEW), *PRIMER_ALONE])
def test_every_number_in_us_units_reads_back_to_the_one_in_metric_units(line):
    _in_both(line)


@pytest.mark.soak
@pytest.mark.parametrize("line", _lines((*DRAWN, *HEAVY), ALL))
def test_every_number_of_every_command_reads_back_on_every_scenario(line):
    """Half an hour."""
    _in_both(line)


def _in_both(line):
    """Text, JSON and figure of a command line in metric and in US units."""
    _are_alike(answer_of(line, "metric"), answer_of(line, "us"))


def _are_alike(metric, us):
    _compare(metric.text, us.text)
    words = (re.sub(r"ISO 2431 \d mm", "", said) for said in sentences_of(us.json))  # a cup's own name
    assert [said for said in words if re.search(rf"\d {METRIC.pattern}", said)] == []
    assert not METRIC.search(us.drawn)


def test_a_week_in_us_units_reads_back_too(scenarios):
    """Without its stain, whose runs are long."""
    from balltravel.report.text.week.page import week_text

    all_of_it = balltravel.read_week(scenarios / "week_of_a_coater.toml")
    materials, printed = [one for one in all_of_it if one.name in ("primer", "deck mastic")], []
    for units in ("metric", "us"):
        with shown_in(units):
            printed.append(week_text(materials, balltravel.recommend_week(materials, draws=0)))
    _compare(*printed)


def test_a_diagnosis_is_worked_out_once_and_shown_in_either_with_its_vacuum_in_inches_of_mercury():
    metric, us = answers_of(f"diagnose {DRUM}", ("metric", "us"))
    _are_alike(metric, us)
    assert "inHg" in us.text
    assert "Most likely: worn or dirty foot valve" in metric.text


def _compare(metric, us):
    """Every number of a printout in US units is that of the metric one; no unit of the other, lines fit."""
    # Cups that are named in millimetres are left out in the US.
    here = sizes_in("\n".join(row for row in metric.split("\n") if not re.search(r" ISO 2431 \d mm ", row)))
    there = sizes_in(us)
    assert len(here) == len(there) > 10
    different = [(a, b) for a, b in zip(here, there, strict=True) if not are_the_same(a, b)]
    assert not different
    assert any(a.unit != b.unit for a, b in zip(here, there, strict=True))
    strange = [row for row in us.split("\n") if METRIC.search(row)]
    assert not strange
    assert max(map(len, us.split("\n"))) <= 100
    assert max(map(len, metric.split("\n"))) <= 100


@pytest.mark.parametrize("name", ALL)
def test_every_key_has_its_value_in_us_units_alone(name):
    """In metric units what is written in one unit stands beside that of the bench: ``40 um (0.04 mm)``."""
    line = f"check {name} --all"
    metric, us = (answer_of(line, units).text.split("\n") for units in ("metric", "us"))
    for here, there in zip(metric, us, strict=True):
        assert not METRIC.search(there)
        for size in sizes_in(there):
            assert any(are_the_same(other, size) for other in sizes_in(here)), (here, there)


@pytest.mark.parametrize("options", [("--kinds",), ("--kind", "roof elastomer")])
def test_kinds_of_material_are_told_without_metric_units_too(run, options):
    code, out, _ = run("material", *options, "--units", "us")
    assert code == 0
    assert "cP" in out
    assert not METRIC.search(out)


def test_limits_are_walked_and_set_in_the_units_that_are_shown(monkeypatch):
    """Few inputs, one a kind of unit; every limit in US units is the metric one within the last of three
    digits, in which both are walked."""
    from balltravel.study.limits import find
    from balltravel.study.search.inputs import INPUTS

    keys = ("drive.cycle_rate", "suction.hose_diameter", "suction.lift", "inlet_check.ball_density")
    monkeypatch.setattr(find, "INPUTS", tuple(item for item in INPUTS if item.key in keys))
    line = "limits primer.toml --exactly"
    walked = {units: answers_of.__wrapped__(line, (units,))[0] for units in ("metric", "us")}
    found, out = {units: answer.json["arrangements"] for units, answer in walked.items()}, walked["us"].text
    assert not METRIC.search(out)
    assert max(map(len, out.split("\n"))) <= 100
    compared = 0
    for metric, us in zip(found["metric"], found["us"], strict=True):
        for one, other in zip(metric["limits"], us["limits"], strict=True):
            assert (one["key"], one["now"]) == (other["key"], other["now"])
            assert (one["holds"] is None) == (other["holds"] is None)
            if one["holds"] is None:
                continue
            assert other["holds"]["value"] == pytest.approx(one["holds"]["value"], rel=1e-2)
            key, _, text = other["holds"]["settings"][0].partition("=")
            dimension = {"drive.cycle_rate": "frequency", "inlet_check.ball_density": "density"}
            assert to_si(text, dimension.get(key, "length")) == other["holds"]["value"]
            assert text in " ".join(out.split())
            compared += 1
    assert compared >= 4


def test_json_keeps_its_numbers_in_si_whatever_the_units():
    us, metric = (answer_of("recommend primer.toml --exactly", units).json for units in ("us", "metric"))
    assert "in/s" in " ".join(us["reasons"])
    assert us["arrangements"][0]["ball_travel"] == metric["arrangements"][0]["ball_travel"] == 0.002
    assert us["scenario"] == metric["scenario"]


def test_a_file_names_its_units_and_the_option_is_stronger(run, scenarios, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text('units = "us"\n' + (scenarios / "primer.toml").read_text())
    assert run("check", file)[1] == run("check", scenarios / "primer.toml", "--units", "us")[1]
    assert run("check", file, "--units", "both")[1] == run("check", scenarios / "primer.toml")[1]
    assert balltravel.read_scenario(file) == balltravel.read_scenario(scenarios / "primer.toml")


@pytest.mark.parametrize("raw", ['"imperial"', "5", "true"])
def test_units_that_there_are_not_are_refused_at_their_line(run, scenarios, tmp_path, raw):
    file = tmp_path / "mine.toml"
    file.write_text(f"# mine\nunits = {raw}\n" + (scenarios / "primer.toml").read_text())
    code, out, err = run("check", file)
    assert (code, out) == (2, "")
    assert "mine.toml:2" in err
    assert 'allowed: "us" or "metric" or "both"; example: units = "us"' in " ".join(err.split())


def test_python_shows_units_within_a_block_and_refuses_others():
    assert bench(0.005, "length") == "5 mm"
    assert both(0.005, "length") == "5 mm (0.197 in)"
    with balltravel.shown_in("us"):
        assert both(0.005, "length") == "0.197 in"
        with balltravel.shown_in("metric"):
            assert both(0.005, "length") == "5 mm"
        assert bench(1e7, "pressure") == "1450 psi"
    assert bench(0.005, "length") == "5 mm"
    with pytest.raises(UnitError, match="imperial"), shown_in("imperial"):
        pass


def test_shims_that_differ_look_different_in_thousandths():
    with shown_in("us"):
        assert shims_in_words((0.001, 0.002), (1, 2)) == "shims 1 (0.039 in) and 2 (0.079 in)"
        assert shims_in_words((0.001, 0.001002), (1, 2)) == "shims 1 (0.03937 in) and 2 (0.03945 in)"


def test_threads_of_a_search_show_the_units_of_who_began_it_and_no_others():
    def show():
        return bench(0.0254, "length")

    with shown_in("us"):
        assert in_threads([show] * 8, 8, 4) == ["1 in"] * 8
        other = []
        thread = threading.Thread(target=lambda: other.append(show()))
        thread.start()
        thread.join()
    assert other == ["25.4 mm"]


def test_figures_have_the_units_on_their_axes_and_in_their_lines(story):
    from balltravel.report.figures.cycle import cycle_figure
    from balltravel.report.figures.travel import travel_figure

    scenario = story("primer")
    cycle = balltravel.run_cycle(scenario)
    recommendation = balltravel.recommend(scenario, draws=0)
    drawn = {}
    for units in ("metric", "us"):
        with shown_in(units):
            figures = cycle_figure(cycle), travel_figure(scenario, recommendation)
        lifts, pressures = figures[0].axes[2].lines[0], figures[0].axes[6].lines[1]
        landing = figures[1].axes[3].lines[0]
        said = " ".join(map(words_of, figures))
        drawn[units] = (lifts.get_ydata(), pressures.get_ydata(), landing.get_xdata(), landing.get_ydata())
        assert bool(METRIC.search(said)) == (units == "metric")
        assert ("[in]" in said) == ("[psi]" in said) == ("[in/s]" in said) == (units == "us")
    inch, psi = 25.4, 1e-5 * to_si("1 psi", "pressure")
    for metric, us, size in zip(drawn["metric"], drawn["us"], (inch, psi, inch, 0.0254), strict=True):
        assert us * size == pytest.approx(metric, rel=1e-9)
