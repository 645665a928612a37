"""What a scenario's text alone decides does not wait for libraries that only a run needs."""

import subprocess
import sys
from pathlib import Path

import pytest

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HEAVY = ("h5netcdf", "h5py", "matplotlib", "numba", "pandas", "rich", "xarray")

# pint asks whether there is a scipy: that loads these, ten milliseconds; all else of it is heavy.
SCIPYS_OWN = ("__config__", "_cyutility", "_distributor_init", "_lib", "version")
LOADED = f"""
import sys
heavy = set({HEAVY!r}) & set(sys.modules)
heavy |= {{m for m in sys.modules if m.startswith("scipy.") and m.split(".")[1] not in {SCIPYS_OWN!r}}}
print(sorted(heavy), file=sys.stderr)
"""


def loaded_by(code):
    """Heavy modules that a fresh interpreter has after that code, and what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{LOADED}"], capture_output=True, text=True, check=True
    )
    *told, heavy = done.stderr.splitlines()
    return heavy, done.stdout, told


def command(*argv):
    words = [str(word) for word in argv]
    return loaded_by(
        f"from balltravel.cli.main import main\ntry:\n    main({words!r})\nexcept SystemExit:\n    pass"
    )


def test_importing_the_package_loads_nothing_heavy():
    assert loaded_by("import balltravel") == ("[]", "", [])


def test_help_loads_nothing_heavy():
    heavy, out, _ = command("--help")
    assert heavy == "[]"
    assert "recommend" in out


@pytest.mark.parametrize("name", ["primer", "elastomer_thinning", "putty_needs_a_ram_plate", "stain_by_air"])
@pytest.mark.parametrize("what", ["check", "material"])
def test_check_and_material_load_nothing_heavy(name, what):
    """A Newtonian material, two that thin, and a motor with a hose and a tip."""
    heavy, out, _ = command(what, SCENARIOS / f"{name}.toml")
    assert heavy == "[]"
    assert len(out.splitlines()) > 20


def test_ranges_load_nothing_heavy():
    """But for a distribution of scipy.stats, which is asked there."""
    stated = [
        "material.viscosity={ low = '2 Pa.s', likely = '5 Pa.s', high = '9 Pa.s' }",
        "lower.bore={ likely = '48 mm', within = '0.05 mm' }",
        "material.density={ likely = '1350 kg/m3', within = '3 %' }",
        "drive.ramp_time=unknown",
    ]
    words = [word for setting in stated for word in ("--set", setting)]
    heavy, out, _ = command("check", SCENARIOS / "primer.toml", "--ranges", *words)
    assert heavy == "[]"
    assert "2 to 9 Pa.s, likely 5 Pa.s" in out


def test_reading_a_scenario_loads_nothing_heavy():
    code = f"import balltravel\nprint(balltravel.read_scenario({str(SCENARIOS / 'primer.toml')!r}).title)"
    assert loaded_by(code) == ("[]", "One lower, primer\n", [])


def test_the_errors_of_a_broken_file_load_nothing_heavy(tmp_path):
    broken = tmp_path / "broken.toml"
    text = (SCENARIOS / "primer.toml").read_text(encoding="utf-8")
    broken.write_text(text.replace('bore = "48 mm"', 'bore = "48 mn"'), encoding="utf-8")
    heavy, out, told = command("check", broken)
    assert (heavy, out) == ("[]", "")
    assert any("lower.bore" in line for line in told)


def test_a_run_does_load_what_this_looks_for():
    """So that the tests above can fail."""
    heavy, _, _ = command("simulate", SCENARIOS / "primer.toml", "--json")
    assert all(f"'{name}'" in heavy for name in ("numba", "scipy.optimize"))
