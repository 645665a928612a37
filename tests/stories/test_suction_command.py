"""The command that tells how much suction head there is and how much is needed."""

import re

import pytest

from balltravel.files.read_write import read_scenario
from balltravel.study.site.suction_head import suction_report

DRUM = tuple(
    f"suction.{one}"
    for one in (
        "vessel=cylinder",
        "vessel_diameter=570 mm",
        "vessel_depth=850 mm",
        "vessel_level=500 mm",
        "inlet_above_bottom=900 mm",
        "pickup_above_bottom=30 mm",
    )
)


def settings(*given):
    return [word for one in given for word in ("--set", one)]


def row(out, name):
    """The four numbers of a row: m, ft, bar, psi."""
    line = next(line for line in out.splitlines() if line.startswith(name))
    return [float(word) for word in line[len(name) :].split()]


def test_heads_stand_in_four_units_that_agree(run, scenarios):
    """A foot is 0.3048 m, a psi 6894.757 Pa; half of the last digit shown."""
    code, out, _ = run("suction", scenarios / "primer.toml")
    assert code == 0
    weight = 1350.0 * 9.80665
    for name in ("pressure on the surface (absolute)", "hose friction", "NPSH available", "NPSH required"):
        m, ft, bar, psi = row(out, name)
        assert ft == pytest.approx(m / 0.3048, abs=0.007)
        assert bar == pytest.approx(m * weight / 1e5, abs=1.2e-4)
        assert psi == pytest.approx(m * weight / 6894.757, abs=0.007)
    assert row(out, "static head")[0] == -0.3
    assert row(out, "pressure on the surface (absolute)")[2] == 1.0132
    names = ("static head", "hose friction", "fittings and loss coefficient", "strainer", "acceleration")
    parts = [row(out, name)[0] for name in ("pressure on the surface (absolute)", *names, "vapour pressure")]
    assert sum(parts) == pytest.approx(row(out, "NPSH available")[0], abs=0.004)
    margin = row(out, "NPSH available")[0] - row(out, "NPSH required")[0]
    assert row(out, "margin")[0] == pytest.approx(margin, abs=0.002)
    assert "take 3 % more than with ample" in " ".join(out.split())
    assert "Vessel" not in out


def test_json_has_the_numbers_of_the_report(run_json, scenarios):
    found = run_json("suction", scenarios / "stain.toml")
    report = suction_report(read_scenario(scenarios / "stain.toml"))
    assert found["heads"]["available"] == report.heads.available
    assert found["required"]["head"] == report.required.head
    assert found["margin"] == report.margin
    assert found["ratio"] == report.ratio
    assert found["vessel"] is None


def test_height_and_heavier_material_take_the_margin_away(run_json, scenarios):
    def found(*given):
        return run_json("suction", scenarios / "primer.toml", *settings(*given))

    low, high = found(), found("suction.altitude=3000 m")
    # 101325 Pa less the 70121 Pa at 3000 m; the margin a little less, for half a per cent of gas is less gas.
    lost = (101325.0 - 70121.0) / (1350.0 * 9.80665)
    assert low["heads"]["available"] - high["heads"]["available"] == pytest.approx(lost, rel=1e-3)
    assert 0.85 * lost < low["margin"] - high["margin"] < lost
    assert found("material.viscosity=12 Pa.s")["margin"] < 0.0


def test_a_starved_lower_is_told(run, scenarios):
    out = run("suction", scenarios / "primer.toml", *settings("material.viscosity=12 Pa.s"))[1]
    assert "less NPSH is available than it requires" in out
    out = run("suction", scenarios / "primer.toml", *settings("outlet.gauge_pressure=0 bar"))[1]
    assert "the outlet pressure is too low" in out
    out = run("suction", scenarios / "stain.toml", *settings("drive.profile=harmonic"))[1]
    assert "do not coincide" in " ".join(out.split())


def test_what_gas_takes_is_told_apart_from_starving(run, scenarios):
    """28 cc of a litre: 3 % of gas, at what is left of the atmosphere, have not yet been packed."""
    gassy = settings("material.free_gas_fraction=3 %")
    out = " ".join(run("suction", scenarios / "primer.toml", *gassy)[1].split())
    assert "The lower starves" not in out
    assert re.search(r"free gas take 2\.\d % of swept more .* without starving", out)
    assert "without starving" not in run("suction", scenarios / "primer.toml")[1]


def test_a_drum_is_told_with_its_level(run, scenarios):
    out = run("suction", scenarios / "primer.toml", *settings(*DRUM))[1]
    usable = 1000.0 * 3.141593 / 4.0 * 0.57**2 * 0.47
    assert f"{usable:.3g} l" in out
    fall, cycles = re.search(r"falls by ([\d.]+) um per cycle; after ([\d.]+) such", out).groups()
    assert float(fall) * 1e-3 * float(cycles) == pytest.approx(470.0, rel=2e-3)
    assert "targets hold down to the pickup" in out
    heavy = settings(*DRUM, "suction.inlet_above_bottom=2 m", "material.viscosity=9.2 Pa.s")
    out = " ".join(run("suction", scenarios / "primer.toml", *heavy)[1].split())
    level = re.search(r"targets hold (down to a level of [\d.]+ mm|at no level|down to the pickup)", out)
    assert level


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("none.toml",), "none.toml: No such file"),
        (("primer", "--set", "suction.altitude=1 bar"), "another kind"),
        (("primer", "--figure", "x.png"), "unrecognized arguments"),
    ],
)
def test_bad_input_is_refused(run, scenarios, argv, words):
    argv = [scenarios / "primer.toml" if one == "primer" else one for one in argv]
    code, out, err = run("suction", *argv)
    assert (code, out) == (2, "")
    assert words in err
