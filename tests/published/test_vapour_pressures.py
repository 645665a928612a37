"""Vapour pressures of solvents against reference equations of state and other correlations."""

import math
import re

import pytest

from balltravel.site.vapour import SOLVENTS, Antoine, vapour_pressure
from balltravel.units import UnitError

NAMES = {
    "Water": "water", "Ethanol": "ethanol", "Methanol": "methanol", "Acetone": "acetone",
    "Toluene": "toluene", "o-Xylene": "o-xylene", "m-Xylene": "xylene",
    "n-Heptane": "n-heptane", "n-Octane": "n-octane", "n-Decane": "n-decane",
    "methyl ethyl ketone 78-93-3": "MEK", "n-butyl acetate 123-86-4": "butyl acetate",
    "methyl isobutyl ketone 108-10-1": "MIBK", "ethyl acetate 141-78-6": "ethyl acetate",
}  # fmt: skip
CAS = {
    "isopropanol": "67-63-0", "white spirit": "111-84-2", "methanol": "67-56-1", "ethanol": "64-17-5",
    "acetone": "67-64-1", "toluene": "108-88-3", "n-octane": "111-65-9", "n-decane": "124-18-5",
    "MIBK": "108-10-1", "ethyl acetate": "141-78-6", "butyl acetate": "123-86-4",
    "MEK": "78-93-3", "o-xylene": "95-47-6", "xylene": "108-38-3", "n-heptane": "142-82-5",
}  # fmt: skip
FROM_ZERO = ("butyl acetate", "xylene", "o-xylene")
"""Used down to 0 degC, below the range of their source (which states none for o-xylene)."""


def differences(table, names, agree, rel):
    rows = [row for row in table("vapour_pressure.csv") if names.get(row["fluid"])]
    rows = [row for row in rows if not math.isnan(row["Psat_Pa"])]
    for row in rows:
        agree(vapour_pressure(names[row["fluid"]], row["T_C"] + 273.15), row["Psat_Pa"], rel=rel)
    return len(rows)


def test_water_agrees_with_its_reference_equation(table, agree):
    """0.1 %: a saturation equation against the equation of state that it stands for."""
    assert differences(table, {"Water": "water"}, agree, 1e-3) == 10


def test_pure_solvents_agree_with_their_reference_equations(table, agree):
    """2 %: correlations of decades ago against equations of state, near the melting point too."""
    pure = {key: name for key, name in NAMES.items() if "-" not in key[-3:] and key != "Water"}
    assert len(pure) == 9
    assert differences(table, pure, agree, 0.02) == 90


def test_ketones_and_acetates_agree_with_other_correlations(table, agree):
    """5 %: as far as two correlations of one liquid differ below their stated ranges."""
    others = {key: name for key, name in NAMES.items() if "-" in key[-3:]}
    assert len(others) == 4
    assert differences(table, others, agree, 0.05) == 24


@pytest.mark.parametrize("name", CAS)
def test_the_constants_and_ranges_are_those_of_the_open_collection(name):
    """As ``chemicals`` has them, by the source that is named: a slip of a digit would show."""
    vapor = pytest.importorskip("chemicals").vapor_pressure
    solvent = SOLVENTS[name]
    if isinstance(solvent, Antoine):
        row = vapor.Psat_data_AntoinePoling.loc[CAS[name]]
        assert list(row[["A", "B", "C", "Tmax"]]) == [solvent.A, solvent.B, solvent.C, solvent.high]
    else:
        tables = {"Poling": "WagnerPoling", "McGarry": "WagnerMcGarry", "VDI": "VDI_PPDS_3"}
        table = tables[re.split(r"\W", solvent.source)[0]]
        row = getattr(vapor, f"Psat_data_{table}").loc[CAS[name]]
        assert solvent.coefficients == tuple(row[["A", "B", "C", "D"]])
        assert (solvent.critical_temperature, solvent.critical_pressure) == (row["Tc"], row["Pc"])
        assert solvent.high == row["Tc"]
    assert solvent.low == (273.15 if name in FROM_ZERO else pytest.approx(row["Tmin"], abs=0.01))


def test_water_is_told_from_its_melting_to_its_critical_point():
    """273.15 K, and 647.096 K and 22.064 MPa (IAPWS)."""
    water = SOLVENTS["water"]
    assert (water.low, water.high, water.critical_temperature) == (273.15, 647.096, 647.096)
    assert water.pressure(water.high) == pytest.approx(22.064e6, rel=1e-12)


@pytest.mark.parametrize("name", ["isopropanol", "white spirit"])
def test_what_no_reference_equation_is_at_hand_for_agrees_with_a_second_source(name, agree):
    """3 %: the constants of Perry's handbook, as ``chemicals`` has them; from 10 to 100 degC."""
    chemicals = pytest.importorskip("chemicals")
    row = chemicals.vapor_pressure.Psat_data_Perrys2_8.loc[CAS[name]]
    for kelvin in range(283, 374, 9):
        other = chemicals.dippr.EQ101(kelvin, *row[["C1", "C2", "C3", "C4", "C5"]])
        agree(vapour_pressure(name, float(kelvin)), other, rel=0.03)


@pytest.mark.parametrize("name", SOLVENTS)
def test_outside_its_range_a_solvent_is_refused_and_inside_it_rises(name):
    one = SOLVENTS[name]
    steps = [one.low + share * (min(one.high, 480.0) - one.low) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    pressures = [vapour_pressure(name, kelvin) for kelvin in steps]
    assert pressures == sorted(set(pressures))
    for kelvin in (one.low - 0.1, one.high + 0.1):
        with pytest.raises(UnitError, match=f"with {name}"):
            vapour_pressure(name, kelvin)
