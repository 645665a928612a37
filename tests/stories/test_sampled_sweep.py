"""A sweep over draws of all that is not known, as a user meets it."""

import re
from pathlib import Path

import pytest
import xarray as xr

import balltravel

FEW = ("--over", "shims.below=[[2], [1, 2]]", "--over", 'material.viscosity=["5 Pa.s"]', "--samples", "8")


@pytest.fixture(scope="module")
def cases():
    """The same from Python: the viscosity of the grid is not drawn."""
    from balltravel.study.swept.samples import drawn_samples

    scenario = balltravel.read_scenario(Path(__file__).parents[2] / "scenarios" / "primer.toml")
    grid = {"material.viscosity": [5.0], "shims.below": [(2,), (1, 2)]}
    return balltravel.sweep(scenario, grid, samples=drawn_samples(scenario, 8, 0, grid).values)


def test_the_page_has_a_line_a_combination_and_what_python_says_of_it(run, scenarios, cases):
    code, out, _ = run("sweep", scenarios / "primer.toml", *FEW)
    assert code == 0
    assert max(map(len, out.splitlines())) <= 100
    assert re.search(r"8 draws of what is not known \(\d\d keys\), 16 cases in all\.", out)
    met = 100.0 * balltravel.chance(cases).chance.squeeze()
    middle = 100.0 * cases.volumetric_efficiency.squeeze().median("case")
    for below, k in (("2", 0), ("1+2", 1)):
        cells = next(
            line.split() for line in out.splitlines() if re.match(rf"5 Pa.s +{re.escape(below)} ", line)
        )
        assert float(cells[4]) == pytest.approx(float(met[k]), abs=0.5)
        assert float(cells[7]) == pytest.approx(float(middle[k]), abs=0.05)


def test_into_a_folder_it_goes_on_with_the_same_seed_and_refuses_another(run, scenarios, tmp_path, cases):
    argv = ("sweep", scenarios / "primer.toml", *FEW, "--out", tmp_path / "drawn")
    assert run(*argv)[0] == 0
    code, _, err = run(*argv)
    assert code == 0
    assert "16 of 16 cases are there already" in err
    with xr.open_dataset(tmp_path / "drawn" / "result.nc", engine="h5netcdf") as kept:
        assert kept.volumetric_efficiency.dims == ("case", "material_viscosity", "shims_below")
        assert (kept.volumetric_efficiency.values == cases.volumetric_efficiency.values).all()
    code, out, err = run(*argv, "--seed", "1")
    assert (code, out) == (2, "")
    assert "it holds another study" in " ".join(err.split())


def test_a_file_has_the_same_numbers_and_json_too(run_json, scenarios, tmp_path, cases):
    values = run_json("sweep", scenarios / "primer.toml", *FEW, "--out", tmp_path / "drawn.nc")
    assert values["dims"][0] == "case"
    assert (
        values["variables"]["volumetric_efficiency"]["values"] == cases.volumetric_efficiency.values.tolist()
    )
    with xr.open_dataset(tmp_path / "drawn.nc", engine="h5netcdf") as kept:
        assert (kept.volumetric_efficiency.values == cases.volumetric_efficiency.values).all()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--samples", "100"), "100 given; allowed: a power of two, 1 to 65536; example: 128"),
        (("--seed", "3"), "--seed: nothing is drawn; allowed: with --samples; example: --samples 128"),
        (("--samples", "8", "--figure", "drawn.png"), "a sweep over samples; allowed: without --samples"),
    ],
)
def test_samples_that_cannot_be_are_refused(run, scenarios, options, words):
    code, out, err = run("sweep", scenarios / "primer.toml", *options)
    assert (code, out) == (2, "")
    assert words in " ".join(err.split())
