"""ASTM D2161: Saybolt seconds. Referee: the basic equation and a table in the library ``chemicals``."""

import math

import numpy as np
import pytest

from balltravel.material.instruments import (
    FUROL_TEMPERATURES,
    furol_seconds,
    universal_reading,
    universal_seconds,
)

F100 = 310.92777777777775
F210 = 372.0388888888889


def test_universal_seconds_agree_with_the_table(table, agree):
    """1e-6 at 100 degF: the column carries eight digits; at 210 degF seven."""
    rows = table("saybolt.csv")
    assert len(rows) == 14
    for row in rows:
        nu = row["nu_cSt"] * 1e-6
        agree(universal_seconds(nu, F100), row["SUS_100F"], rel=1e-6)
        agree(universal_seconds(nu, F210), row["SUS_at_210F=SUS*(1+0.000061*110)"], rel=1e-6)


def test_seconds_of_the_table_become_its_viscosities(table, agree):
    """1e-6, what seconds of eight digits leave at the thin end."""
    for row in table("saybolt.csv"):
        agree(universal_reading(row["SUS_100F"], F100).kinematic_viscosity, row["nu_cSt"] * 1e-6, rel=1e-6)


def test_the_basic_equation_agrees_with_an_independent_library(agree):
    """1e-12: one formula written twice."""
    viscosity = pytest.importorskip("chemicals.viscosity")
    for nu in np.geomspace(1.81, 9999.0, 500):
        agree(universal_seconds(nu * 1e-6, F100), viscosity.Saybolt_universal_eq(nu), rel=1e-12)


def test_the_factors_of_thick_liquids_are_those_of_the_standard(agree):
    """B = 4.632 at 100 degF and 4.664 at 210 degF (ASTM D2161, 5.2), told to four digits."""
    agree(universal_seconds(1e-3, F100) / 1000.0, 4.632, rel=1.5e-4)
    agree(universal_seconds(1e-3, F210) / 1000.0, 4.664, rel=1.5e-4)


def test_furol_seconds_agree_with_another_table(table, agree):
    """4 %: the Hydraulic Institute's table is its own, 454.6 s where the standard has 471.7. A wrong sign of
    the second term would be off by 20 % at 50 cSt."""
    rows = [
        row for row in table("saybolt.csv") if not math.isnan(row["SFS_HI_table"]) and row["nu_cSt"] >= 50
    ]
    assert len(rows) == 7
    for row in rows:
        agree(furol_seconds(row["nu_cSt"] * 1e-6, FUROL_TEMPERATURES[0]), row["SFS_HI_table"], rel=0.04)
