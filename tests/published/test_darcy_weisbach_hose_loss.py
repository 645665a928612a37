"""Darcy-Weisbach loss of three hoses with Churchill's friction; Hagen-Poiseuille where laminar."""

import math

from balltravel.core.friction import friction_ratio

ROUGHNESS = 1.5e-6


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
