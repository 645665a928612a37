"""The command that primes a lower and its hose."""

import re

import pytest

NAMES = ("elastomer_thinning", "mastic", "primer", "primer_conical_seat", "stain")


@pytest.mark.parametrize("name", NAMES)
def test_every_lower_with_an_open_outlet_primes_in_some_more_cycles_than_its_hose_has_strokes(
    run_json, scenarios, name
):
    """1704 cc over 163 cc: 10.5 strokes, of which dead volume and a held-back column waste a few."""
    found = run_json("prime", scenarios / f"{name}.toml")
    strokes = found["hose_volume"] / found["swept_volume"]
    assert found["outcome"] == "reached"
    assert strokes - 0.5 < found["cycles"] < 1.5 * strokes
    assert len(found["by_cycle"]["port"]) == int(found["cycles"]) + 1
    assert found["by_cycle"]["filled"][-1] == pytest.approx(1.5, rel=1e-6)
    assert abs(found["residual"]) < 1e-4


def test_against_the_working_pressure_it_is_gas_locked_and_says_why(run, scenarios):
    code, out, _ = run("prime", scenarios / "primer.toml", "--against", "100 bar")
    assert code == 0
    assert "Gas-locked, it never primes" in out
    assert "compresses the air in the lower 5.94 times" in " ".join(out.split())
    assert "prime valve" in out


@pytest.mark.parametrize("name", ["primer", "mastic", "stain"])
def test_a_row_in_which_nothing_is_expelled_prints_no_negative_zero(run, scenarios, name):
    out = run("prime", scenarios / f"{name}.toml")[1]
    assert "expelled cc" in out
    assert not re.search(r"-0\.0+(?!\d)", out)


def test_a_lift_that_is_too_high_is_told_with_the_highest_that_is_not(run, run_json, scenarios):
    file = scenarios / "primer.toml"
    highest = run_json("prime", file)["limits"]["lift"]
    hose = ("--set", f"suction.hose_length={highest + 1:.2f} m")
    out = run("prime", file, *hose, "--set", f"suction.lift={highest + 0.3:.2f} m")[1]
    assert "The lift is too high" in out
    assert f"lifts the column {highest:.2f} m at most" in " ".join(out.split())


def test_a_worn_inlet_seat_takes_more_cycles(run_json, scenarios):
    gaps = ("0 um", "10 um", "50 um")
    found = [
        run_json("prime", scenarios / "primer.toml", "--set", f"inlet_check.leak_gap={gap}")["cycles"]
        for gap in gaps
    ]
    assert found[0] < found[1] < found[2]


def test_it_draws_and_prints_a_row_for_each_cycle(run, scenarios, tmp_path):
    path = tmp_path / "priming.png"
    code, out, _ = run("prime", scenarios / "stain.toml", "--figure", path)
    assert code == 0
    assert path.stat().st_size > 10_000
    rows = [line for line in out.splitlines() if line.split() and line.split()[0].isdigit() and "." in line]
    assert [int(row.split()[0]) for row in rows if len(row.split()) == 6] == list(range(1, 12))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--against", "100"), "--against:"),
        (("--against", "-1 bar"), "allowed: 0 bar to 100 MPa gauge"),
        (("--set", "suction.hose_length=10 cm"), "at least the lift of 0.3 m"),
        (("--figure", "priming.txt"), "allowed: a name ending in .png"),
    ],
)
def test_what_cannot_be_is_refused(run, scenarios, options, said):
    code, out, err = run("prime", scenarios / "primer.toml", *options)
    assert (code, out) == (2, "")
    assert said in err


def test_no_volume_of_air_is_printed_as_minus_nothing(run, scenarios):
    out = run("prime", scenarios / "primer.toml")[1]
    assert " 0.0\n" in out
    assert "-0.0" not in out
