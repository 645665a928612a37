"""Laws of viscosity over temperature: own worked examples by the published formulas; water against IAPWS."""

import math

import pytest

from balltravel.material.temperature_laws import Andrade, Vogel, Walther, density_at

ZERO = 273.15


@pytest.fixture
def rows(table):
    """Rows of a model by the beginning of its name."""
    found = table("temperature_viscosity.csv")
    return lambda model, count: _exactly([row for row in found if row["model"].startswith(model)], count)


def _exactly(rows, count):
    assert len(rows) == count
    return rows


@pytest.mark.parametrize(("model", "full"), [("Walther-D341-simple", False), ("Walther-D341-full", True)])
def test_an_oil_of_two_readings_follows_walther(rows, agree, model, full):
    """1e-6: the column carries seven digits."""
    oil = Walther.from_readings([(40 + ZERO, 46e-6), (100 + ZERO, 6.8e-6)], full=full)
    for row in rows(model, 6):
        agree(oil.A, row["A"], rel=1e-6)
        agree(oil.B, row["B"], rel=1e-6)
        agree(1e6 * oil.kinematic_viscosity(row["T_C"] + ZERO), row["value"], rel=1e-6)


def test_a_liquid_of_two_readings_follows_andrade(rows, agree):
    """1e-6: the column carries seven digits."""
    liquid = Andrade.from_readings([(25 + ZERO, 2.0), (45 + ZERO, 0.5)])
    for row in rows("Andrade", 4):
        agree(liquid.B, row["B"], rel=1e-6)
        agree(liquid.viscosity(row["T_C"] + ZERO), row["value"], rel=1e-6)


def test_constants_of_vogel_give_the_tabulated_water(rows, agree):
    """1e-6: the column carries seven digits."""
    for row in rows("Vogel", 9):
        water = Vogel(ZERO, 373.15, row["A"] + math.log(1e-3), row["B"], -row["C"])
        agree(water.viscosity(row["T_C"] + ZERO), row["value"], rel=1e-6)


def test_water_of_three_readings_is_that_of_the_steam_tables(rows, agree):
    """0.8 %: the largest difference is 0.77 %; readings at 0.01, 40 and 99.85 degC."""
    steam = {row["T_C"] + ZERO: row["value"] for row in rows("CoolProp", 9)}
    water = Vogel.from_readings([(T, steam[T]) for T in (0.01 + ZERO, 40 + ZERO, 99.85 + ZERO)])
    for T, viscosity in steam.items():
        agree(water.viscosity(T), viscosity, rel=0.008)


def test_three_readings_beat_two_for_water(rows):
    """Between the readings; that is what the third is for."""
    steam = {row["T_C"] + ZERO: row["value"] for row in rows("CoolProp", 9)}
    ends, T = (0.01 + ZERO, 99.85 + ZERO), 40 + ZERO
    two = Andrade.from_readings([(end, steam[end]) for end in ends]).viscosity(T)
    assert abs(two / steam[T] - 1.0) > 0.1


def test_the_full_form_of_walther_inverts_as_the_standard_tells(agree):
    """0.05 %: the standard's own inverse, a cubic in the exponent, is a fit. It shares no coefficient."""
    for nu in (0.3, 0.5, 0.8, 1.2, 1.9):
        oil = Walther.from_readings([(300.0, nu * 1e-6), (340.0, 0.8 * nu * 1e-6)])
        z = 10.0**10.0 ** (oil.A - oil.B * math.log10(300.0)) - 0.7
        told = z - math.exp(-0.7487 - 3.295 * z + 0.6119 * z**2 - 0.3193 * z**3)
        agree(1e6 * oil.kinematic_viscosity(300.0), told, rel=5e-4)


def test_density_falls_as_that_of_a_mineral_oil(agree):
    """870 kg/m3 at 15 degC and 0.0007 1/K: 855.2 at 40 degC by hand."""
    agree(density_at(40 + ZERO, 870.0, 15 + ZERO, 7e-4), 870.0 / 1.0175, rel=1e-12)
