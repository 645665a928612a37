"""The page of a job by the command: beside what is printed, with the numbers of --json; bad names refused."""

import re

import pytest


def read(path):
    text = path.read_text(encoding="utf-8")
    body = text.partition("<body>")[2].replace("&#34;", '"').replace("&amp;", "&")
    return text, " ".join(re.sub(r"<[^>]*>", " ", body).split())


def test_a_page_of_drawn_values_has_the_numbers_of_json_and_the_settings(run_json, scenarios, tmp_path):
    path = tmp_path / "job.html"
    one_shim = ("--set", 'shims.thicknesses=["2 mm"]', "--set", "shims.below=[]")
    found = run_json("recommend", scenarios / "primer.toml", *one_shim, "--draws", "32", "--report", path)
    page, text = read(path)
    chosen = found["verdict"]["chosen"]
    promise = next(each for each in found["verdict"]["prospects"] if each["choice"] == chosen)
    low, middle, high = (f"{100 * promise[f'delivery_{share}']:.1f}" for share in (5, 50, 95))
    assert f"{middle} ({low} to {high})" in text
    draws = found["verdict"]["draws"]
    assert f"Draws {draws} draws, seed 0" in text
    assert 'Set beside the file shims.thicknesses=["2 mm"]' in text
    assert f"{1e6 * found['job']['delivered'][1]:.3g} cc" in text
    below = "+".join(map(str, chosen["shims_below"])) or "none"
    assert f"Shims below: {below}" in text
    assert re.search(r"shims\.thicknesses</th><td[^>]*>2 mm[^<]*</td><td>--set</td>", page)
    assert found["job"]["limits"]


def test_a_page_at_exact_values_says_what_is_printed_and_nothing_of_chances(run, scenarios, tmp_path):
    path = tmp_path / "job.html"
    code, out, err = run(
        "recommend", scenarios / "stain.toml", "--exactly", "--units", "us", "--report", path
    )
    assert (code, "job.html: written" in " ".join(err.split())) == (0, True)
    _, text = read(path)
    printed = " ".join(out.split())
    assert "Every value was taken as exact" in text
    assert re.search(r"Recommended.*?: ball travel [\d.]+ in\.", printed)[0] in text
    assert "draws, seed" not in text


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--report", "job.pdf"], "allowed: a name ending in .html"),
        (["--report", "no_such_folder/job.html"], "no folder no_such_folder"),
        (["--report", "job.html", "--week"], "--report: of one material; allowed: without --week"),
    ],
)
def test_what_makes_no_page_is_refused_before_a_run(run, scenarios, options, told):
    code, _, err = run("recommend", scenarios / "week_of_a_coater.toml", *options)
    assert code == 2
    assert told in " ".join(err.split())
