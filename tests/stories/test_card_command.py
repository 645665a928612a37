"""A job card by the command and from Python: both forms, what is refused, what --json has of it."""

import re

import pytest
from pypdf import PdfReader

import balltravel
from balltravel.scenario.model import ScenarioError


def test_a_card_with_its_verdict_says_what_json_says(run_json, scenarios, tmp_path):
    path = tmp_path / "card.pdf"
    one_shim = ("--set", 'shims.thicknesses=["3 mm"]', "--set", "shims.below=[]")
    found = run_json(
        "recommend", scenarios / "primer.toml", *one_shim, "--draws", "32", "--units", "metric",
        "--card", path,
    )  # fmt: skip
    pages = [page.extract_text() for page in PdfReader(path).pages]
    assert len(pages) == 2
    text, job = " ".join(pages[0].split()), found["job"]
    low, middle, high = (f"{1e6 * volume:.0f}" for volume in job["delivered"])
    assert f"Delivers a cycle {middle} cc ({low} to {high} in 90 of 100)" in text
    assert job["choice"] == found["verdict"]["chosen"]
    below, above = (
        "+".join(map(str, job["choice"][key])) or "none" for key in ("shims_below", "shims_above")
    )
    assert f"Shims below: {below}, above: {above}" in text
    rate = next(limit for limit in job["limits"] if limit["key"] == "drive.cycle_rate")
    surely, likely = (f"{60.0 * value:.3g}" for value in (rate["holds_in_95"], rate["holds"]["value"]))
    assert f"Highest rate {surely} /min in 95 of 100 ({likely} /min at the likely values)" in text
    assert 30.0 < float(surely) <= float(likely)
    assert job["draws"] == 32


def test_a_card_at_exact_values_has_no_chances_and_is_html_too(run, scenarios, tmp_path):
    path = tmp_path / "card.html"
    code, out, err = run("recommend", scenarios / "primer.toml", "--exactly", "--units", "us", "--card", path)
    assert (code, f"{path}: written" in " ".join(err.split())) == (0, True)
    assert "Recommended" in out
    text = path.read_text()
    assert "of 100" not in text
    assert not re.search(r"\d mm\b", text.partition("</style>")[2])


def test_python_gets_the_card_and_its_numbers(scenarios, tmp_path):
    scenario = balltravel.read_scenario(scenarios / "primer.toml")
    counted = []
    made = balltravel.card(
        scenario, balltravel.recommend(scenario, draws=0), tmp_path / "card.pdf",
        progress=lambda done, whole: counted.append((done, whole)),
    )  # fmt: skip
    assert len(PdfReader(tmp_path / "card.pdf").pages) == 2
    assert made.as_dict()["job"]["shims"] == 3
    assert counted[-1] == (2, 2)
    with pytest.raises(ScenarioError, match=r"a name ending in \.pdf or \.html"):
        balltravel.card(scenario, made, tmp_path / "card.doc")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--card", "card.doc"], "allowed: a name ending in .pdf or .html"),
        (["--card", "no_such_folder/card.pdf"], "no folder no_such_folder"),
        (["--card", "card.pdf", "--week"], "--card: of one material; allowed: without --week"),
    ],
)
def test_what_makes_no_card_is_refused_before_a_run(run, scenarios, options, told):
    code, _, err = run("recommend", scenarios / "week_of_a_coater.toml", *options)
    assert code == 2
    assert told in " ".join(err.split())
