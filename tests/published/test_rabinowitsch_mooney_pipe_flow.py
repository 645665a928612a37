"""Rabinowitsch (1929) and Mooney (1931): laminar pipe flow of six laws, by quadrature in thirty digits."""

import math

import pytest

from balltravel.material.flow_laws import Carreau, Casson, Cross, HerschelBulkley, Newtonian, PowerLaw
from balltravel.material.pipe_flow import drop, flow, starting_drop, wall_rate

# the table's names of laws and of their parameters
LAWS = {
    "Newtonian": lambda mu: Newtonian(mu),
    "PowerLaw": lambda K, n: PowerLaw(K, n),
    "Bingham (Buckingham-Reiner)": lambda tau0, mu_p: HerschelBulkley(tau0, mu_p, 1.0),
    "HerschelBulkley": lambda tau0, K, n: HerschelBulkley(tau0, K, n),
    "Casson": lambda tau0, eta_inf: Casson(tau0, eta_inf),
    "Carreau": lambda eta0, etainf, **other: Carreau(eta0, etainf, 1.0 / other["lambda"], other["n"]),
    "Cross": lambda eta0, etainf, **other: Cross(eta0, etainf, 1.0 / other["lambda"], 1.0 - other["m"]),
}


def named(text):
    """Numbers of a cell such as ``K=5.0 n=0.5``, by name."""
    return {key: float(value) for key, value in (part.split("=") for part in text.split() if "=" in part)}


@pytest.fixture
def rows(table):
    """Law, its pipe (radius, length) and its row, of all sixteen."""
    rows = table("rheology_pipe_flow.csv")
    assert len(rows) == 16
    assert {row["model"] for row in rows} == set(LAWS)
    for row in rows:
        row["params"] = row["params"].replace(" Pa.s", "")
        row["extra"] = (
            {} if isinstance(row["extra"], float) else named(row["extra"].replace("plug radius", "plug"))
        )
    return [(LAWS[row["model"]](**named(row["params"])), (row["R_m"], row["L_m"]), row) for row in rows]


def test_closed_forms_agree_with_the_quadrature(rows, agree):
    """1e-9: the column has twelve digits."""
    closed = [entry for entry in rows if not math.isnan(entry[2]["Q_closed_form_m3_s"])]
    assert len(closed) == 12
    for law, pipe, row in closed:
        agree(flow(law, *pipe, row["dP_Pa"]), row["Q_quadrature_m3_s"], rel=1e-9)


def test_laws_without_a_closed_form_agree_with_the_quadrature(rows, agree):
    """1e-9, twelve digits here too."""
    open_ones = [entry for entry in rows if math.isnan(entry[2]["Q_closed_form_m3_s"])]
    assert len(open_ones) == 4
    for law, pipe, row in open_ones:
        agree(flow(law, *pipe, row["dP_Pa"]), row["Q_quadrature_m3_s"], rel=1e-9)


def test_drops_of_the_tabulated_flows_agree(rows, agree):
    """1e-9: the flow's twelve digits; the drop of a material that flows asks for no more of them."""
    for law, pipe, row in rows:
        agree(drop(law, *pipe, row["Q_quadrature_m3_s"]), row["dP_Pa"], rel=1e-9)


def test_rates_at_the_wall_and_viscosities_agree(rows, agree):
    """1e-9: columns of ten digits or more."""
    found = 0
    for law, pipe, row in rows:
        extra = row["extra"]
        if "gammaw" in extra:
            agree(wall_rate(law, *pipe, row["dP_Pa"]), extra["gammaw"], rel=1e-9)
            found += 1
        for rate in (1.0, 100.0):
            if f"eta({rate:g}/s)" in extra:
                agree(float(law.viscosity(rate)), extra[f"eta({rate:g}/s)"], rel=1e-9)
                found += 1
    assert found == 16


def test_the_plug_of_a_bingham_material_has_the_tabulated_radius(rows, agree):
    """The plug is to the pipe as the drop at which flow starts to the drop; rounding only."""
    plugs = [entry for entry in rows if "plug" in "".join(entry[2]["extra"])]
    assert len(plugs) == 3
    for law, (radius, length), row in plugs:
        plug = radius * starting_drop(law, radius, length) / row["dP_Pa"]
        agree(plug, next(value for key, value in row["extra"].items() if "plug" in key), rel=1e-12)


def test_friction_of_power_laws_is_sixteen_over_the_reynolds_number_of_metzner_and_reed(rows, agree):
    """Metzner and Reed (1955); 1e-9: columns of ten digits."""
    thinned = [entry for entry in rows if "f_Fanning" in entry[2]["extra"]]
    assert len(thinned) == 4
    for law, (radius, length), row in thinned:
        extra = row["extra"]
        speed = flow(law, radius, length, row["dP_Pa"]) / (math.pi * radius**2)
        fanning = 0.5 * row["dP_Pa"] * radius / length / (0.5 * extra["rho"] * speed**2)
        agree(fanning, extra["f_Fanning"], rel=1e-9)
        agree(fanning, 16.0 / extra["ReMR"], rel=1e-9)
