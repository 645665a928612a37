"""The bench test of ``check`` in an oil of one's own."""

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
