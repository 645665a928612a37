"""Krebs units: the oils of ASTM D562-10, note 1 (4 P 70 KU, 10 P 85 KU, 14 P 95 KU), and another's fit."""

import math

import numpy as np

from balltravel.material.instruments import KREBS_BAND, KREBS_RANGE, krebs_reading, krebs_units


def test_the_estimate_goes_through_the_oils_of_the_standard(table, agree):
    """1e-12: all three lie on one straight line."""
    rows = table("krebs_anchors.csv")
    assert len(rows) == 3
    for row in rows:
        agree(krebs_reading(row["KU_D562_note"]).viscosity, 1e-3 * row["viscosity_cP"], rel=1e-12)
        agree(krebs_units(1e-3 * row["viscosity_cP"]), row["KU_D562_note"], rel=1e-12)


def test_a_fit_by_others_stays_within_four_units_at_the_oils(table):
    for row in table("krebs_anchors.csv"):
        assert abs(krebs_units(1e-3 * row["viscosity_cP"]) - row["KU_log_fit"]) < 4.0


def test_a_fit_by_others_stays_within_the_band_over_the_whole_range_and_not_beyond():
    """KU = 50 + 21.12 (ln cP - 5.165), read in a public repository; the range ends where they part."""

    def off(units):
        return abs(0.04 * (units - 60.0) / (1e-3 * math.exp((units - 50.0) / 21.12 + 5.165)) - 1.0)

    assert max(off(units) for units in np.linspace(*KREBS_RANGE, 200)) < KREBS_BAND
    assert off(KREBS_RANGE[1] + 2.0) > KREBS_BAND
