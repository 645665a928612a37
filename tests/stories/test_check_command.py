"""The bench test of ``check`` in an oil of one's own."""

import re

import pytest

from balltravel.estimate.preview import bench_fall
from balltravel.files.read_write import read_scenario


def test_the_bench_test_is_for_the_oil_that_one_has(run, scenarios):
    code, out, err = run(
        "check", scenarios / "primer.toml", "--oil", "30 Pa.s, 900 kg/m3", "--oil=5 P, 0.9 kg/l"
    )
    assert (code, err) == (0, "")
    line = next(line for line in out.splitlines() if line.startswith("bench test: 30 Pa.s, 900 kg/m3"))
    check = read_scenario(scenarios / "primer.toml").inlet_check
    assert f"{bench_fall(check, 0.005, 30.0, 900.0).time * 1e3:.0f} ms" in line
    thin = next(line for line in out.splitlines() if line.startswith("bench test: 500 mPa.s"))
    assert "too thin: " in thin


@pytest.mark.parametrize("oil", ["3 Pa.s", "3 m, 900 kg/m3", "3 Pa.s, 5 kg/m3", "1e9 Pa.s, 900 kg/m3", ""])
def test_an_oil_that_is_none_is_refused(run, scenarios, oil):
    code, out, err = run("check", scenarios / "primer.toml", f"--oil={oil}")
    assert (code, out) == (2, "")
    assert err.startswith("--oil: ")
    assert "allowed: " in err
    assert "example: " in err


def test_check_lists_the_stated_ranges_and_counts_the_typical_ones(run, scenarios):
    stated = "material.viscosity={ low = '2 Pa.s', likely = '5 Pa.s', high = '9 Pa.s' }"
    code, out, _ = run("check", scenarios / "primer.toml", "--set", stated)
    assert code == 0
    assert "Not known exactly: 29 keys with a typical range, 1 key with a stated one" in out
    assert re.search(r"^material\.viscosity +2 to 9 Pa\.s, likely 5 Pa\.s$", out, re.MULTILINE)
    assert max(map(len, out.splitlines())) <= 100


def test_check_lists_every_range_with_its_source(run, run_json, scenarios):
    for name in ("primer", "roof_elastomer_from_a_drum", "stain_by_air"):
        file = scenarios / f"{name}.toml"
        code, out, _ = run("check", file, "--ranges")
        listed = re.findall(r"^(\w+\.\w+) ", out, re.MULTILINE)
        told = run_json("check", file)["not_known_exactly"]
        assert code == 0
        assert listed == list(told)
        assert max(map(len, out.splitlines())) <= 100
        assert all(item["from"] and item["range"] and item["law"]["law"] for item in told.values())


def test_check_shows_five_stated_ranges_and_says_that_there_are_more(run, scenarios):
    keys = ("bore", "rod", "lower_dead_volume", "upper_dead_volume", "stroke")
    values = ("48 mm", "34 mm", "33 cc", "33 cc", "90 mm")
    settings = [
        f"lower.{key}={{ likely = '{value}', within = '2 %' }}"
        for key, value in zip(keys, values, strict=True)
    ]
    settings.append("material.density={ likely = '1350 kg/m3', within = '2 %' }")
    _, out, _ = run("check", scenarios / "primer.toml", *(word for s in settings for word in ("--set", s)))
    assert "6 keys with a stated one (5 are shown)" in out
    assert len(re.findall(r"^[\w.]+ +.* within 2 %$", out, re.MULTILINE)) == 5
