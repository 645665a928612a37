"""Constants of ISO 2431, ASTM D1200, ASTM D4212 (X3) and DIN 53211, looked up: kinematic viscosity in cSt."""

import math

import pytest

from balltravel.material.cups import CUPS, SHELL, ZAHN, cup_named, cup_reading, seconds_of


@pytest.fixture
def rows(table):
    found = table("flow_cups.csv")
    assert len(found) == len(CUPS) == 23
    return [(cup_named(row["cup"]), row) for row in found]


def test_every_cup_has_the_seconds_of_its_standard(rows):
    for cup, row in rows:
        assert cup.full_name == row["cup"]
        assert cup.seconds == (row["t_min_s"], row["t_max_s"])


def test_seconds_become_the_viscosity_of_the_formula(rows, agree):
    """1e-6: one formula written twice, with the constants of the table."""
    for cup, row in rows:
        for seconds in (*cup.seconds, 60.0):
            K, c = row["A_or_K"], row["B_or_c"]
            expected = K * (seconds - c) if row["form"] == "K(t-c)" else K * seconds - c / seconds
            agree(1e6 * cup_reading(cup, seconds).kinematic_viscosity, expected, rel=1e-6)


def test_seconds_become_the_tabulated_viscosity(rows):
    """0.0006 cSt: the columns are rounded to three decimals."""
    compared = 0
    for cup, row in rows:
        told = zip((*cup.seconds, 40.0, 60.0), ("nu_tmin", "nu_tmax", "nu_40s", "nu_60s"), strict=True)
        for seconds, column in told:
            if cup.seconds[0] <= seconds and not math.isnan(row[column]):
                found = 1e6 * cup_reading(cup, seconds).kinematic_viscosity
                assert found == pytest.approx(row[column], abs=6e-4)
                compared += 1
    assert compared == 91


def test_a_viscosity_becomes_the_tabulated_seconds(rows, agree):
    """2e-6: the column carries six digits."""
    told = [(cup, row["t_for_100cSt"]) for cup, row in rows if not math.isnan(row["t_for_100cSt"])]
    assert len(told) == 10
    for cup, seconds in told:
        agree(seconds_of(cup, 1e-4), seconds, rel=2e-6)


def test_orifices_from_memory_are_as_wide_as_the_constants_ask():
    """A dip cup with a capillary obeys Poiseuille: slope as the fourth power of the bore. 35 %,
    which is 8 % of a bore; the slopes differ by up to 70 times."""
    cups = [cup for cup in CUPS.values() if cup.family == SHELL]
    assert len(cups) == 8
    middle = cup_named("Shell 3")
    for cup in cups:
        assert cup.slope / middle.slope == pytest.approx((cup.diameter / middle.diameter) ** 4, rel=0.35)


def test_larger_dip_cups_have_wider_orifices():
    cups = [cup for cup in CUPS.values() if cup.family == ZAHN]
    assert [cup.diameter for cup in cups] == sorted(cup.diameter for cup in cups)
    assert [cup.slope for cup in cups] == sorted(cup.slope for cup in cups)
