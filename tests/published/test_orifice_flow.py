"""The spray tip's law (M8b) in its two limits: an orifice without viscosity and one in creeping flow.

The file's rows of the Reader-Harris-Gallagher coefficient and of a flow meter that uses it are for metering
orifices in pipes. The program has no such thing: a tip's coefficient is given.
"""

import re
from collections import Counter

import pytest

from balltravel.core.narrow import narrow_flow
from balltravel.core.records import as_record
from balltravel.core.rheology import Rheology
from balltravel.scenario.model import Outlet
from balltravel.setup.outlet import tip_of

TURBULENT, CREEPING = "orifice turbulent", "orifice creeping (Sampson/Dagan)"
INPUT = r"(\w+)=([\d.e+-]+)"
NEXT_TO_NONE = 1e-12
"""A viscosity [Pa s], or a density [kg/m3], without weight beside the other."""


@pytest.fixture(scope="module")
def rows(table):
    """Case, its inputs by name, and its result."""
    return [
        (row["case"], {k: float(v) for k, v in re.findall(INPUT, row["inputs"])}, row["result"])
        for row in table("orifice_flow.csv")
    ]


def flow_through(diameter, length, coefficient, density, viscosity, dp):
    outlet = Outlet(
        form="tip",
        hose_length=10.0,
        hose_diameter=0.01,
        tip_diameter=diameter,
        tip_length=length,
        tip_discharge_coefficient=coefficient,
    )
    tip = as_record(tip_of(outlet, density))
    return narrow_flow(tip, as_record(Rheology(viscosity)), dp)[0]


def test_without_viscosity_a_tip_passes_what_bernoulli_lets_through(agree, rows):
    """Q = C_d A sqrt(2 dP/rho); 1e-6, the digits of the file."""
    found = [(given, result) for case, given, result in rows if case == TURBULENT]
    assert len(found) == 5
    for given, result in found:
        got = flow_through(given["d"], 0.0, given["Cd"], given["rho"], NEXT_TO_NONE, given["dP"])
        agree(got, result, 1e-6)


def test_a_slow_flow_through_a_tip_loses_sampsons_and_its_lengths_pressure(agree, rows):
    """dP = mu Q/r^3 (3 + 8 L/(pi r)) (Sampson 1891; Dagan, Weinbaum and Pfeffer 1982); 1e-6."""
    found = [(given, result) for case, given, result in rows if case == CREEPING]
    assert len(found) == 3
    for given, result in found:
        got = flow_through(2.0 * given["r"], given["L"], 0.8, NEXT_TO_NONE, given["mu"], result)
        agree(got, given["Q"], 1e-6)


def test_every_row_is_one_of_these_or_of_a_metering_orifice(rows):
    left = Counter(case for case, _, _ in rows if case not in (TURBULENT, CREEPING))
    assert left == {"RHG discharge coefficient": 2, "flow_meter_discharge": 1}
