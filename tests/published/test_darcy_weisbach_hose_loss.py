"""Darcy-Weisbach loss of three hoses with Churchill's friction; Hagen-Poiseuille where laminar."""

import math
from pathlib import Path

from balltravel.core.friction import friction_ratio
from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import with_values
from balltravel.setup.parameters import core_parameters

ROUGHNESS = 1.5e-6
STAIN = Path(__file__).parents[2] / "scenarios" / "stain.toml"


def test_hose_losses_agree_with_an_independent_library(table, agree):
    """1e-6: the columns carry ten digits, the flows eight."""
    rows = table("hose_loss.csv")
    assert len(rows) == 3
    for row in rows:
        reynolds = 4 * row["rho"] * row["Q_m3_s"] / (math.pi * row["mu_Pa_s"] * row["D_m"])
        laminar = 128 * row["mu_Pa_s"] * row["L_m"] * row["Q_m3_s"] / (math.pi * row["D_m"] ** 4)
        agree(reynolds, row["Re"], rel=1e-6)
        loss = laminar * friction_ratio(reynolds, ROUGHNESS / row["D_m"])[0]
        agree(loss, row["dP_Pa"], rel=1e-6)
        if not math.isnan(row["dP_HagenPoiseuille_Pa"]):
            agree(laminar, row["dP_HagenPoiseuille_Pa"], rel=1e-6)


def line_of(viscosity, density, diameter, length, roughness):
    """Line and material of a scenario with such a hose and nothing else in it."""
    changes = {
        "material.viscosity": viscosity,
        "material.density": density,
        "suction.hose_diameter": diameter,
        "suction.hose_length": length,
        "suction.hose_roughness": roughness,
        "suction.loss_coefficient": 0.0,
        "suction.lift": 0.0,
        "suction.port_compliance": None,
    }
    p = core_parameters(with_values(read_scenario(STAIN), changes))
    return as_record(p.suction), as_record(p.material)


def test_the_whole_suction_line_of_a_scenario_loses_that_too(table, agree):
    for row in table("hose_loss.csv"):
        line, material = line_of(row["mu_Pa_s"], row["rho"], row["D_m"], row["L_m"], ROUGHNESS)
        agree(line_loss(line, material, row["Q_m3_s"])[0], row["dP_Pa"], rel=1e-6)
        assert line_loss(line, material, -row["Q_m3_s"])[0] == -line_loss(line, material, row["Q_m3_s"])[0]


def test_the_whole_suction_line_has_the_tabulated_friction_factors(table, agree):
    """f = dp d/L over the velocity head, at every tabulated Re and roughness; 1e-8 as the formula alone."""
    d, L, rho, mu = 0.05, 2.0, 1000.0, 0.01
    for row in table("friction_factors.csv"):
        line, material = line_of(mu, rho, d, L, row["eD"] * d)
        flow = row["Re"] * math.pi * mu * d / (4.0 * rho)
        head = 0.5 * rho * (4.0 * flow / (math.pi * d**2)) ** 2
        agree(line_loss(line, material, flow)[0] * d / (L * head), row["Churchill_1977"], rel=1e-8)
