"""The job card: one page in front and one behind for every shipped scenario and for the longest names, in any
units; every number is that of --json, nothing is cut, small, coloured or in another unit."""

import io
import json
import math
import re
from dataclasses import replace
from datetime import date
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import matplotlib as mpl
import matplotlib.colors
import pytest
from matplotlib.patches import Patch
from matplotlib.text import Text
from pypdf import PdfReader

import balltravel
from balltravel.bench.signs import CYCLE_SIGNS, STALL_SIGNS
from balltravel.report.card import card_bytes
from balltravel.report.figures.card.page import EDGE, SIZES, TITLE, card_figures
from balltravel.report.figures.worksheet.page import page_of
from balltravel.report.json import recommendation_dict, strict
from balltravel.report.tables import viscosity_stated
from balltravel.report.text.card.front import card_of
from balltravel.report.text.verdict import verdict_lines
from balltravel.study.limits import job
from balltravel.study.search.walk import Budget
from balltravel.study.travel.accuracy import Band
from balltravel.study.travel.recommend import Recommendation
from balltravel.study.travel.trials import NO_DELIVERY, by_nearness, run_trials
from balltravel.units.display import shown_in
from balltravel.units.systems import METRIC as METRIC_SYSTEM

from ..helpers.sizes_in_text import METRIC, Size, half_a_digit, in_si, sizes_in
from ..helpers.verdicts_by_hand import CHANGES, EQUAL, HOLDS, NONE_MEETS

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
NAMES = [path.stem for path in SCENARIOS if "week" not in path.stem]
UNITS = ("us", "metric", "both")
TODAY = date(2026, 3, 31)
LONG = "Double-acting lower no. 17 of the big machine hall / epoxy mastic, grey, winter"
LONGEST = LONG.ljust(80, "x")


@cache
def answered(name, units, draw="none"):
    """A scenario, its recommendation with its job (searched as far as a few runs go), as the command has it;
    ``draw``: a verdict that nobody drew."""
    scenario = balltravel.read_scenario(SCENARIOS[0].parent / f"{name}.toml")
    verdicts = {"none": None, "changes": CHANGES, "holds": HOLDS, "equal": EQUAL, "none meets": NONE_MEETS}
    with shown_in(units), pytest.MonkeyPatch.context() as patch:
        patch.setattr(job, "CHEAP", Budget(runs=6, steps=20_000))
        patch.setattr(job, "DRAWS", 32)
        single = balltravel.recommend(scenario, draws=0) if name == "primer" else _few_runs(scenario)
        recommendation = replace(single, verdict=verdicts[draw])
        return scenario, job.with_job(scenario, recommendation)


def _few_runs(scenario):
    """A recommendation at exact values by one run an arrangement, without reasons: some lowers are slow."""
    trials = run_trials(scenario, heavier=False)
    choices = [trial.choice for trial in trials if not trial.unmet][:1]
    pumping = [trial.choice for trial in by_nearness(trials) if trial.delivery >= NO_DELIVERY]
    nearest = None if choices else next(iter(pumping), None)
    why = () if choices else tuple(trial.unmet[0] for trial in trials[:1])
    band = Band({}, "not asked")
    return Recommendation(*choices, *[None] * (1 - len(choices)), None, nearest, tuple(trials), (), why, (),
                          False, band)  # fmt: skip


CASES = [
    *((name, UNITS[number % 3], "none") for number, name in enumerate(NAMES)),
    *(("primer", units, "changes") for units in UNITS),
    ("primer", "both", "none meets"),
    ("primer", "us", "holds"),
    ("primer", "metric", "equal"),
]


@pytest.fixture(params=CASES, ids=" ".join)
def case(request):
    name, units, draw = request.param
    with shown_in(units):
        yield (*answered(name, units, draw), units)


def _paper(units):
    return "us" if units == "us" else METRIC_SYSTEM


def _texts(card):
    """All that a card says, piece by piece."""
    yield from (
        TITLE,
        card.title,
        card.job,
        card.headline,
        *card.steps,
        *card.verdict,
        *card.cautions,
        card.foot,
    )
    yield from (part for row in (*card.numbers, *card.watch, *card.shims) for part in _parts(row))
    yield from (blank.name for _, blanks in card.blanks for blank in blanks)
    yield from (line for _, lines in card.back for line in lines)


def _parts(row):
    return row if isinstance(row, tuple) else (row.sign, row.means, row.do)


def _tight(text):
    """Without spaces, for a line may be broken at any of them."""
    return re.sub(r"\s+", "", text)


PDFS = {}
"""Cards as PDF, of a title and an answer; ``answered`` keeps one object an answer, with its units."""


def _pdf_text(scenario, recommendation):
    of = scenario.title, id(recommendation)
    if of not in PDFS:
        read = PdfReader(io.BytesIO(card_bytes(scenario, recommendation, "card.pdf", TODAY)))
        PDFS[of] = [page.extract_text() for page in read.pages], read
    return PDFS[of]


def test_it_has_two_pages_of_the_paper_in_use_and_all_its_text_is_on_them(case):
    scenario, recommendation, units = case
    pages, read = _pdf_text(scenario, recommendation)
    assert len(pages) == 2
    width, height = (float(side) / 72.0 * 25.4 for side in read.pages[0].mediabox[2:])
    assert (width, height) == pytest.approx(page_of(_paper(units)), abs=0.1)
    shown = _tight("".join(pages))
    card = card_of(scenario, recommendation, TODAY)
    assert [text for text in _texts(card) if _tight(text) not in shown] == []
    assert "2026-03-31" in pages[0]
    assert _tight("Common practice, no source.") in _tight(pages[1])


def test_in_us_units_no_metric_one_is_on_it(case):
    scenario, recommendation, units = case
    if units == "us":
        pages, _ = _pdf_text(scenario, recommendation)
        assert [line for page in pages for line in page.split("\n") if METRIC.search(line)] == []


def _look_at(figures, paper):
    """Every text lies within the paper, none over another, none too small; all of it is grey."""
    for figure in figures:
        figure.set_dpi(300)
        millimetre = figure.dpi / 25.4
        width, height = (side * millimetre for side in page_of(paper))
        texts = [text for text in figure.findobj(Text) if text.get_text()]
        assert len(texts) > 30
        assert min(text.get_fontsize() for text in texts) >= SIZES[-1] == 7.5
        with mpl.rc_context({"text.hinting": "none"}):  # letters as wide as on paper
            boxes = [text.get_window_extent(figure.canvas.get_renderer()) for text in texts]
        for box in boxes:
            assert min(box.x0, box.y0, width - box.x1, height - box.y1) > (EDGE - 1.0) * millimetre
        for number, box in enumerate(boxes):
            for other, text in zip(boxes[:number], texts, strict=False):
                wide = min(box.x1, other.x1) - max(box.x0, other.x0)
                high = min(box.y1, other.y1) - max(box.y0, other.y0)
                assert min(wide, high) < 0.6 * millimetre, (texts[number].get_text(), text.get_text())
        colours = {colour for patch in figure.findobj(Patch) for colour in _colours(patch)}
        colours |= {matplotlib.colors.to_rgba(text.get_color()) for text in texts}
        assert all(red == green == blue for red, green, blue, _ in colours)


def _colours(patch):
    return patch.get_edgecolor(), patch.get_facecolor()


def test_nothing_is_cut_or_over_another_or_small_or_coloured(case):
    scenario, recommendation, units = case
    card = card_of(scenario, recommendation, TODAY)
    _look_at(card_figures(card, _paper(units)), _paper(units))


@pytest.mark.parametrize(
    ("title", "units"),
    [*((LONGEST, units) for units in UNITS), ("M" * 200, "us"), ("price $5 and $6 a^2 <b>", "both")],
)
def test_the_longest_names_fit_too(title, units):
    scenario, recommendation = answered("primer", units, "changes")
    scenario = scenario.model_copy(update={"title": title})
    with shown_in(units):
        card = card_of(scenario, recommendation, TODAY)
        _look_at(card_figures(card, _paper(units)), _paper(units))
        pages, _ = _pdf_text(scenario, recommendation)
    assert len(pages) == 2
    assert _tight(title) in _tight(pages[0])
    assert _tight(title) in _tight(pages[1])


def _is(size, value, dimension):
    """Whether a printed number is an SI value within its digits."""
    number, near = in_si(size, dimension)
    return math.isclose(number, value, abs_tol=1.001 * near)


def test_every_number_of_it_is_that_of_json(case):
    scenario, recommendation, units = case
    found = json.loads(json.dumps(strict(recommendation_dict(scenario, recommendation)))).get("job")
    rows = dict(card_of(scenario, recommendation, TODAY).numbers)
    if found is None:  # the putty: no arrangement pumps
        assert (job.named_choice(recommendation), rows) == (None, {})
        return
    low, middle, high = found["delivered"]
    _holds(rows.pop("Ball travel"), "length", [found["choice"]["ball_travel"]])
    _holds(rows.pop("Cycle rate"), "frequency", [found["cycle_rate"]])
    _holds(rows.pop("Delivers"), "flow", [found["flow"][1]])
    _counts(rows.pop("Delivers a cycle").replace(" cc", ""), [1e6 * middle, 1e6 * low, 1e6 * high])
    counts = [found["cycles_per_litre"][k] for k in (1, 0, 2)]
    if "Cycles a litre" in rows:
        _counts(rows.pop("Cycles a litre"), counts)
    if units != "metric":
        _counts(rows.pop("Cycles a US gallon"), [3.785411784 * count for count in counts])
    limits = {limit["key"]: limit for limit in found["limits"]}
    for label, key, dimension in (
        ("Highest rate", job.RATE, "frequency"),
        ("Lowest temperature", job.TEMPERATURE, "temperature"),
        ("Thickest material", job.VISCOSITY, "viscosity"),
    ):
        if key in limits:
            where = viscosity_stated(scenario.material) if key == job.VISCOSITY else ""
            _holds(
                rows.pop(f"{label} ({where})" if where else label), dimension, _ends(limits[key], found, key)
            )
        elif key in found["not_searched"]:
            assert rows.pop(label) == f"cannot be said: {found['not_searched'][key]}"
    assert rows == {}


@pytest.mark.parametrize(
    ("shares", "said"),
    [
        ((0.0, 0.5, 0.95), "(25.9 or more in 95 of 100, in some without end)"),
        ((0.0, 0.0, 0.95), "25.9 or more; in half of the draws it delivers as good as nothing"),
        ((0.0, 0.0, 0.0), "no count: it delivers as good as nothing"),
    ],
)
def test_cycles_of_a_lower_that_delivers_nothing_in_some_draws_have_no_most(shares, said):
    scenario, recommendation = answered("primer", "metric", "changes")
    delivered = tuple(share * 40.6e-6 for share in shares)
    none = replace(recommendation, job=replace(recommendation.job, delivered=delivered, swept=40.6e-6))
    with shown_in("metric"):
        rows = dict(card_of(scenario, none, TODAY).numbers)
    assert rows["Cycles a litre"].endswith(said)
    assert "-" not in rows["Cycles a litre"]


def _ends(limit, found, key):
    """The values that a row shows, in its order."""
    at = limit["holds"] or limit["searched"]
    values = [at["value"]]
    if limit["holds"] and found["chance"] is not None and limit["holds_in_95"] is not None:
        values = [limit["holds_in_95"], at["value"]]
    return [at["viscosity"] * value / at["value"] for value in values] if key == job.VISCOSITY else values


def _holds(text, dimension, values):
    """Each size of a text, that in brackets behind it too, is the next of the values."""
    text = re.sub(r"none meets the targets in 95 of 100: as it is, in \d+|in 95 of 100", "", text)
    sizes = [size for size in sizes_in(text) if size.unit]
    assert sizes
    per_value = len(sizes) // len(values)
    expected = [value for value in values for _ in range(per_value)]
    assert len(expected) == len(sizes), text
    assert [s for s, value in zip(sizes, expected, strict=True) if not _is(s, value, dimension)] == []


def _counts(text, values):
    numbers = [Size(size.number, "", False) for size in sizes_in(text.replace("in 90 of 100", ""))]
    expected = values[: len(numbers)]
    assert len(numbers) in (1, 3)
    for size, value in zip(numbers, expected, strict=True):
        assert math.isclose(float(size.number), value, abs_tol=1.001 * half_a_digit(size))


def test_shims_above_and_below_are_all_shims_and_the_drawing_has_them(case):
    scenario, recommendation, _ = case
    made, count = card_of(scenario, recommendation, TODAY), len(scenario.shims.thicknesses)
    assert len(made.shims) == count
    choice = job.named_choice(recommendation) or made.drawn[1]
    assert made.drawn[1] == choice
    assert sorted((*choice.shims_below, *choice.shims_above)) == list(range(1, count + 1))
    if made.headline.startswith("Shims"):
        below = [str(n) for n, (_, place) in enumerate(made.shims, 1) if place == "below"]
        assert below == [str(n) for n in choice.shims_below]
        assert f"{count} shims came out, {count} go back in: count them." in made.steps


@pytest.mark.parametrize("draw", ["changes", "none meets", "holds", "equal"])
def test_the_verdict_is_the_one_that_is_printed(draw):
    scenario, recommendation = answered("primer", "both", draw)
    with shown_in("both"):
        printed = verdict_lines(scenario, recommendation.verdict)
        *told, last = card_of(scenario, recommendation, TODAY).verdict
    if told[0].startswith("Right in "):
        right, means, *told = told
        often = re.search(r"\d+ of 100 \([\d.]+ to [\d.]+\)", " ".join(printed[0].split()))[0]
        assert right == f"Right in {often}, if your ranges are right."
        assert means.partition("% of swept")[0].split()[-1] + " % of swept" in " ".join(printed[0].split())
        printed = printed[1:]
    assert (draw in ("changes", "holds")) == (len(told) < 4)
    assert [_tight(line) for line in printed] == [_tight(line) for line in told]
    assert "not yet compared with any pump" in last


def test_where_no_travel_meets_the_targets_that_is_said_first_and_no_arrangement():
    for name, draw in (("putty_needs_a_ram_plate", "none"), ("primer", "none meets")):
        scenario, recommendation = answered(name, "metric", draw)
        with shown_in("metric"):
            card = card_of(scenario, recommendation, TODAY)
        assert card.headline == "No travel meets the targets"
        assert "Leave the shims" in card.steps[0]
        assert not any(step.startswith(("BELOW", "ABOVE")) for step in card.steps)
        assert ("not recommended" if draw == "none meets" else "As it is now") in card.caption
        places = [place for _, place in card.shims]
        assert places == ["below" if n + 1 in scenario.shims.below else "above" for n in range(len(places))]


def test_without_any_arrangement_there_is_a_card_that_says_so():
    scenario, recommendation = answered("primer", "both", "none meets")
    nothing = replace(recommendation, verdict=replace(NONE_MEETS, chosen=None), job=None)
    card = card_of(scenario, nothing, TODAY)
    assert card.headline == "No travel meets the targets"
    assert card.caption.startswith("As it is now")
    assert card.drawn[1].shims_below == scenario.shims.below
    assert card.numbers == ()
    _look_at(card_figures(card, METRIC_SYSTEM), METRIC_SYSTEM)


def test_at_exact_values_no_chance_is_on_it():
    scenario, recommendation = answered("primer", "metric")
    with shown_in("metric"):
        card = card_of(scenario, recommendation, TODAY)
    assert "of 100" not in " ".join(_texts(card))
    assert "nothing is said of chances" in card.verdict[0]


def test_a_limit_that_is_the_other_end_is_called_so(story):
    """A seat that leaks loses a smaller share of a faster or a thicker job: delivery is missed, and held from
    a rate and a viscosity on, up to which one must not read them."""
    settings = ("viscosity=0.5 Pa.s", "leak_gap=25 um", "landing_speed=5 m/s", "fill_fraction=50 %")
    tables = ("material", "inlet_check", "target", "target")
    given = [f"{table}.{setting}" for table, setting in zip(tables, settings, strict=True)]
    leaky = story("primer", *given, "shims.below=[]", "target.delivery=78 %")
    recommendation = job.with_job(leaky, _few_runs(leaky))
    rows = dict(card_of(leaky, recommendation, TODAY).numbers)
    limits = {limit.key: limit for limit in recommendation.job.limits}
    rate = 60.0 * limits[job.RATE].holds.value
    assert rate > 30.0
    assert float(rows["Lowest rate"].split(" /min")[0]) == pytest.approx(rate, abs=0.1)
    assert limits[job.VISCOSITY].holds.value > 1.0
    assert "Thinnest material" in rows
    assert not rows.keys() & {"Highest rate", "Thickest material"}


@pytest.mark.parametrize(
    ("meets_now", "upward", "label"),
    [
        (True, False, "Lowest temperature"),
        (False, True, "Lowest temperature"),
        (False, False, "Highest temperature"),
    ],
)
def test_a_temperature_from_which_on_it_is_too_warm_is_the_highest(meets_now, upward, label):
    scenario, recommendation = answered("primer", "metric")
    limit = recommendation.job.limits[0]
    assert limit.holds is not None
    limit = replace(limit, key=job.TEMPERATURE, meets_now=meets_now, upward=upward)
    limit = replace(limit, holds=replace(limit.holds, value=283.15))
    of_temperature = replace(recommendation.job, limits=(limit,), not_searched={})
    card = card_of(scenario, replace(recommendation, job=of_temperature), TODAY)
    assert dict(card.numbers)[label].startswith("10 degC")


def test_every_key_of_a_file_of_observations_has_its_blank():
    scenario, recommendation = answered("primer", "us", "changes")
    with shown_in("us"):
        (_, seen), (_, stall) = card_of(scenario, recommendation, TODAY).blanks
    assert [blank.key for blank in seen] == [*CYCLE_SIGNS]
    assert [blank.key for blank in stall] == ["pressure", *STALL_SIGNS, "date", "name", "lower"]
    units = {blank.key: blank.unit for blank in (*seen, *stall)}
    assert (units["vacuum_at_inlet"], units["tip_pressure"], units["give_up"]) == ("inHg", "psi", "in")
    names = [blank.name for blank in (*seen, *stall)]
    assert len({*names}) == len(names)
    assert not any("_" in name or name in units for name in names)  # a bench has words, not keys


class _Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.texts, self.tags, self.links = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for name, value in attrs if name in ("src", "href", "xlink:href")]

    def handle_data(self, data):
        self.texts.append(data)


def test_the_html_says_the_same_and_needs_nothing_else(case):
    scenario, recommendation, units = case
    page = _Page()
    page.feed(card_bytes(scenario, recommendation, "card.html", TODAY).decode())
    assert {"script", "link", "img"}.isdisjoint(page.tags)
    assert page.tags.count("svg") == 1
    assert all(link.startswith("#") for link in page.links)
    shown = _tight("".join(page.texts))
    card = card_of(scenario, recommendation, TODAY)
    assert [text for text in _texts(card) if _tight(text) not in shown] == []
    assert page.texts.count("Job card") == 1
    if units == "us":
        assert [line for line in page.texts if METRIC.search(line) and "size:" not in line] == []
