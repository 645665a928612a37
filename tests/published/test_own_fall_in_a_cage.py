"""A ball falling along a cage of still liquid: creeping limit, and own finite-element solves at finite Re."""

import math

from balltravel.closures.drag import cage_fall_speed, drag_factor
from balltravel.closures.tube import moving_wall_factor

from ..helpers.open_liquid import terminal_speed

GRAVITY = 9.80665


def test_in_heavy_material_a_caged_ball_falls_at_its_weight_over_stokes_and_wall(agree):
    """1e-7: at Re 3e-7 the inertia's share of the drag is 5e-8 or less."""
    K1 = moving_wall_factor(0.7)
    speed = cage_fall_speed(0.025, 7800.0, 1200.0, 1000.0, GRAVITY, K1, 0.7)
    weight = math.pi / 6 * 0.025**3 * 6600.0 * GRAVITY
    agree(speed, weight / (3 * math.pi * 1000.0 * 0.025 * K1), rel=1e-7)


def test_a_wide_cage_is_open_liquid():
    open_liquid = terminal_speed(0.025, 7800.0, 1200.0, 0.1, GRAVITY)
    assert cage_fall_speed(0.025, 7800.0, 1200.0, 0.1, GRAVITY, 1.0, 0.0) == open_liquid
    assert cage_fall_speed(0.025, 7800.0, 1200.0, 0.1, GRAVITY, 1.2, 0.1) < open_liquid


def errors_of(rows):
    """Ratio, Reynolds number and relative error of the drag factor."""
    for row in rows:
        ratio, reynolds = row["lambda"], row["Re"]
        factor = drag_factor(reynolds, moving_wall_factor(ratio), ratio)
        yield ratio, reynolds, factor / row["Kwall"] - 1


def test_the_drag_in_a_cage_errs_by_no_more_than_stated(within, table):
    """Stated: 1.5 % at R/R_c 0.5 to 0.9 and Re 0.1 to 100; to Re 30 0.4 % (the published K1,
    taken here, errs by 0.1 %)."""
    rows = [row for row in table("fe_sphere_Cd_tube.csv") if row["case"] == "move" and row["n"] == 14]
    assert len(rows) == 20
    found = list(errors_of(rows))
    print(f"20 solves: {min(e for *_, e in found):.3f} to {max(e for *_, e in found):+.3f}")
    for _, reynolds, error in found:
        within(error, 0.004 if reynolds <= 30 else 0.015)


def test_the_drag_in_other_cages_and_at_other_speeds_errs_by_no_more_than_stated(within, table):
    """Stated: 1.5 % at R/R_c 0.95 and Re to 100, 3 % at 0.5 and 0.8 and Re to 300, 4 % at 0.1 to 0.3 and Re
    to 100, 5 % to 200. The rows served the fit: no more than a check that it is the one in the code."""
    rows = table("fe_sphere_Cd_tube_wide_and_fast.csv")
    found = list(errors_of(rows))
    print(f"{len(found)} solves: {min(e for *_, e in found):.3f} to {max(e for *_, e in found):+.3f}")
    for ratio, reynolds, error in found:
        wide = 0.04 if reynolds <= 100 else 0.05
        within(error, wide if ratio < 0.4 else 0.015 if reynolds <= 100 else 0.03)


def test_at_rest_the_drag_factor_is_the_wall_factor():
    assert drag_factor(0.0, 24.7, 0.7) == 24.7
