"""The command that tells what was understood of a material."""

import json
import math
import re
import tomllib

import matplotlib.image
import numpy as np
import pytest

from balltravel.material.kinds import KINDS

POWER_LAW = (
    "--set", "material.flow=power law", "--set", "material.viscosity=20 Pa.s",
    "--set", "material.thinning_exponent=0.6",
)  # fmt: skip


def said(run, *argv):
    code, out, err = run("material", *argv)
    assert (code, err) == (0, "")
    return " ".join(out.split())


def read_once(scenarios, tmp_path, reading, more=""):
    """The primer with its viscosity by readings instead."""
    text = (scenarios / "primer.toml").read_text()
    given = f"readings = [{reading}]\n{more}"
    text = re.sub(r"^viscosity = .*\nflow = .*$", given, text, flags=re.MULTILINE)
    path = tmp_path / "read.toml"
    path.write_text(text.partition("[sweep]")[0])
    return path


def test_viscosities_are_those_of_the_law_in_both_units(run, scenarios):
    out = said(run, scenarios / "primer.toml", *POWER_LAW)
    assert "power law: consistency 20 Pa s^n; exponent 0.6." in out
    for rate in (1, 10, 100, 1000, 10000):
        mu = 20.0 * rate**-0.4
        assert f" {rate} {mu:.3g} {float(f'{1e3 * mu:.3g}'):.10g} - " in out
    assert "no readings, so its accuracy is unknown" in out
    assert "Yield stress:" not in out
    assert "Warnings:" not in out


def test_a_newtonian_material_in_cups_and_krebs_units(run, run_json, scenarios):
    """ISO 2431: nu = 3.28 t - 220/t of the 5 mm cup; ASTM D1200: 3.85 (t - 4.49) of the No. 4; ASTM D562: 85
    KU at 10 P."""
    stain = ("--set", "material.viscosity=0.1 Pa.s", "--set", "material.density=1000 kg/m3")
    cups = {
        one["cup"]: one["seconds"]
        for one in run_json("material", scenarios / "stain.toml", *stain)["temperatures"][0]["cups"]
    }
    iso = (100.0 + math.sqrt(100.0**2 + 4.0 * 1.37 * 200.0)) / (2.0 * 1.37)
    assert cups["ISO 2431 4 mm"] == pytest.approx(iso, rel=1e-6)
    ford = {"ASTM D1200 Ford 3": 100.0 / 2.31 + 6.58, "ASTM D1200 Ford 4": 100.0 / 3.85 + 4.49}
    (name,) = set(cups) - {"ISO 2431 4 mm"}
    assert cups[name] == pytest.approx(ford[name], rel=1e-6)
    assert "about 85 KU" in said(run, scenarios / "stain.toml", "--set", "material.viscosity=1 Pa.s")
    assert "No ISO or Ford cup and no Krebs" in said(run, scenarios / "primer.toml")


def test_a_thinning_material_empties_a_cup_at_the_viscosity_of_the_cups_own_rate(run_json, scenarios):
    thin = (*POWER_LAW, "--set", "material.viscosity=1 Pa.s")
    found = run_json("material", scenarios / "stain.toml", *thin)
    density = found["temperatures"][0]["density"]
    constants = {3: (0.443, 200.0), 4: (1.37, 200.0), 5: (3.28, 220.0), 6: (6.9, 570.0)}
    (iso,) = [one for one in found["temperatures"][0]["cups"] if one["cup"].startswith("ISO")]
    size = int(iso["cup"].split()[2])
    (slope, kinetic), bore = constants[size], 1e-3 * size
    t = iso["seconds"]
    rate = 4.0 * (100e-6 / t) / (math.pi * (0.5 * bore) ** 3)
    assert iso["rate"] == pytest.approx(rate, rel=1e-9)
    assert 1e-6 * (slope * t - kinetic / t) == pytest.approx(rate**-0.4 / density, rel=1e-6)


def test_one_reading_is_a_newtonian_law_with_twice_its_own_uncertainty_as_band(run, scenarios, tmp_path):
    path = read_once(scenarios, tmp_path, '{ viscosity = "5 Pa.s", uncertainty = "4 %" }')
    out = said(run, path)
    assert "Newtonian: constant 5.00 +/- 0.20 Pa s." in out
    assert "Fitted to the 1 reading, at 20 degC (68 degF)" in out
    assert "no more readings than parameters" in out
    assert " 100 5 5000 8 % " in out


def test_what_the_readings_do_not_determine_is_said_and_not_printed(run, run_json, scenarios, tmp_path):
    """A power law has no yield stress to be seen."""
    readings = ", ".join(
        f'{{ shear_rate = "{rate} 1/s", viscosity = "{20.0 * rate**-0.4:.4g} Pa.s" }}'
        for rate in (50, 100, 200, 400)
    )
    path = read_once(scenarios, tmp_path, readings, 'flow = "Herschel-Bulkley"')
    out = said(run, path)
    assert "yield stress not determined by the readings; consistency" in out
    assert "The readings do not determine it" in out
    assert "holds the ball" not in out
    assert "stands by itself" not in out
    found = run_json("material", path)["parameters"][0]
    assert found == {"name": "yield_stress", "unit": "Pa", "value": None, "uncertainty": None}


def test_the_demonstration_tells_of_its_readings_temperatures_and_rest(run, run_json, scenarios):
    path = scenarios / "mastic_by_readings.toml"
    out = said(run, path)
    assert "Fitted to 5 of 7 readings, at 23 degC (73.4 degF), 1 to 400 1/s" in out
    assert "lower 25 degC (77 degF)" in out
    assert "tank and hose 15 degC (59 degF)" in out
    assert " 1000 " in out
    assert "guess: beyond the shear rates of the readings" in out
    found = run_json("material", path)
    lower, hose, stated = found["temperatures"]
    # Andrade through 18.4 Pa s at 10 degC and the law's viscosity at 23 degC, both at 10 1/s.
    warm = stated["viscosities"][1]["viscosity"]
    share = (1.0 / 288.15 - 1.0 / 296.15) / (1.0 / 283.15 - 1.0 / 296.15)
    assert hose["viscosities"][1]["viscosity"] == pytest.approx(warm * (18.4 / warm) ** share, rel=1e-9)
    assert lower["ratio"] < 1.0 < hose["ratio"]
    assert [one["beyond"] for one in lower["viscosities"]] == [False, False, False, True, True]
    assert [one["band"] is None for one in lower["viscosities"]] == [False, False, False, True, True]
    assert [one["fitted"] for one in found["readings"]] == [True] * 5 + [False] * 2
    # Rested: 130 Pa s where the worked law has its viscosity at 1 1/s.
    assert found["rested"] == pytest.approx(130.0 / stated["viscosities"][0]["viscosity"], rel=1e-9)
    assert "the readings reach from 1 to 400 1/s" in out


def test_yield_holds_balls_starts_the_hose_and_stands_as_a_bank(run, run_json, scenarios):
    path, rest = scenarios / "elastomer_thinning.toml", ("--set", "material.rested_ratio=2")
    out = said(run, path, *rest)
    # 4 tau/(rho g), 4 L tau/d
    assert pytest.approx(4.5e-3, abs=0.05e-3) == 4.0 * 15.0 / (1350.0 * 9.80665)
    assert "stands by itself up to 4.5 mm (0.18 in), after a rest 9.1 mm (0.36 in) high" in out
    assert pytest.approx(2368.0, abs=1.0) == 4.0 * 1.5 / 0.038 * 15.0
    assert "starts to flow at 0.024 bar (0.34 psi), after a rest 0.047 bar (0.69 psi)" in out
    assert "inlet check: 15 Pa lets the ball fall in still material, 30 Pa after a rest too" in out
    found = run_json("material", path, *rest)["yields"]
    assert found["bank"] == pytest.approx([4.0 * 15.0 / (1350.0 * 9.80665), 8.0 * 15.0 / (1350.0 * 9.80665)])
    held = said(run, path, "--set", "material.yield_stress=200 Pa")
    assert "200 Pa holds the ball up in still material" in held
    assert "so nothing flows" in said(run, path, "--set", "material.yield_stress=1000 Pa")


def test_growth_with_age_is_told_and_counts(run, run_json, scenarios):
    aged = ("--set", "material.doubling_time=40 min", "--set", "material.age=20 min")
    out = said(run, scenarios / "primer.toml", *aged)
    assert "doubles in 40 min: at an age of 20 min it is 1.41 times that when fresh" in out
    found = run_json("material", scenarios / "primer.toml", *aged)
    assert found["aged"] == pytest.approx(math.sqrt(2.0))
    assert found["temperatures"][0]["viscosities"][0]["viscosity"] == pytest.approx(5.0 * math.sqrt(2.0))


@pytest.mark.parametrize("story", ["mastic_by_readings", "primer", "elastomer_thinning"])
def test_the_figure_is_drawn(run, scenarios, tmp_path, story):
    path = tmp_path / "flow.png"
    code, _, err = run("material", scenarios / f"{story}.toml", "--figure", path)
    assert (code, err) == (0, f"{path}: written\n")
    picture = matplotlib.image.imread(path)
    assert 0.005 < (picture[..., :3].mean(axis=2) < 0.9).mean() < 0.5


def test_the_figure_shows_law_band_readings_and_every_place(scenarios):
    from balltravel import read_scenario
    from balltravel.estimate.material_report import material_report
    from balltravel.report.figures.material import material_figure

    scenario = read_scenario(scenarios / "mastic_by_readings.toml")
    found = material_report(scenario)
    upper, lower = material_figure(scenario, found).axes
    assert upper.get_ylabel() == "viscosity in the lower, at 25 degC [Pa s]"
    assert lower.get_xlabel() == "shear rate [1/s]"
    assert [label.get_text() for label in lower.get_yticklabels()] == [one.name for one in found.places]
    words = [text.get_text() for text in upper.get_legend().get_texts()]
    assert len(words) == 6
    bars = [(bar.get_x(), bar.get_x() + bar.get_width()) for bar in lower.patches[:9]]
    expected = [(one.slowest, one.fastest) for one in found.places if one.slowest < one.fastest]
    assert np.array(bars) == pytest.approx(np.array(expected))


def test_the_kinds_are_listed_with_their_ranges(run, run_json):
    out = said(run, "--kinds")
    for kind in KINDS.values():
        assert f"{kind.name} {kind.density.low:g} to {kind.density.high:g}" in out
    assert "without a source" in out
    assert run_json("material", "--kinds")["stain"]["density"] == [800.0, 1050.0]


def test_a_kinds_example_can_be_pasted_into_a_scenario(run, run_json, scenarios, tmp_path):
    code, block, _ = run("material", "--kind", "Roof Elastomer")
    assert code == 0
    assert tomllib.loads(block)["material"]["flow"] == "Herschel-Bulkley"
    text = (scenarios / "primer.toml").read_text()
    path = tmp_path / "pasted.toml"
    head, _, rest = text.partition("[material]")
    path.write_text(f"{head}{block}\n[lower]{rest.partition('[lower]')[2]}".partition("[sweep]")[0])
    mu = 20.0 + 30.0 * 10.0**0.45
    found = run_json("material", path)["temperatures"][0]["viscosities"][1]
    assert found["viscosity"] == pytest.approx(mu / 10.0, rel=1e-9)
    assert json.loads(run("material", "--kind", "stain", "--json")[1])["example"]["viscosity"] == 0.06


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        ((), "a scenario file, or --kinds, or --kind NAME"),
        (("--kinds", "--kind", "stain"), "one of them"),
        (("--kind", "stian"), 'did you mean "stain"?'),
        (("--kind", ""), "unknown kind of material"),
        (("--kinds", "--figure", "x.png"), "allowed with a scenario file"),
        (("--kind", "stain", "--set", "material.density=1 kg/l"), "allowed with a scenario file"),
        (("none.toml",), "none.toml: No such file"),
        (("primer", "--figure", "flow.docx"), "allowed: a name ending in"),
        (("primer", "--set", "material.viscosity=5"), "a bare number"),
        (("primer", "--kinds"), "one of them"),
    ],
)  # fmt: skip
def test_bad_input_is_refused(run, scenarios, argv, words):
    argv = [scenarios / "primer.toml" if one == "primer" else one for one in argv]
    code, out, err = run("material", *argv)
    assert (code, out) == (2, "")
    assert words in err
    assert "Traceback" not in err


def test_readings_that_contradict_each_other_are_refused_with_the_line(run, scenarios, tmp_path):
    path = read_once(scenarios, tmp_path, '{ viscosity = "5 Pa.s", state = "rested" }')
    code, out, err = run("material", path)
    assert (code, out) == (2, "")
    said = " ".join(err.split())
    assert re.search(r"read\.toml:\d+: material\.readings: no reading of the worked material", said)
