"""Area of the gap between ball and seat edge (limit 8)."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balltravel.closures.ball_over_seat import CheckGeometry, gap_over_seat_radius, loss_coefficient
from balltravel.closures.families import closures_at
from balltravel.core.check import Law, law
from balltravel.core.lift import gap_of
from balltravel.core.records import as_record

from ..helpers.boxes import liquid
from ..helpers.lowers import lower, with_travel


def frustum(r: float, R: float, lift: float) -> float:
    """pi r_s L (1 - R^2/L^2), the cone from the seat's edge to the ball along the line to its centre."""
    L2 = r * r + (math.sqrt(R * R - r * r) + lift) ** 2
    return math.pi * r * math.sqrt(L2) * (1.0 - R * R / L2)


def rotated(r: float, R: float, lift: float) -> float:
    """The same area by turning the shortest line from the edge to the ball about the axis: Pappus."""
    angle = np.linspace(0.0, 0.5 * math.pi, 400_001)
    centre = math.sqrt(R * R - r * r) + lift
    across, along = R * np.sin(angle), centre - R * np.cos(angle)
    distance = np.hypot(across - r, along)
    k = int(distance.argmin())
    return float(math.pi * (r + across[k]) * distance[k])


@pytest.mark.parametrize("lift", [1e-4, 1e-3, 4e-3, 0.02])
@pytest.mark.parametrize("ratio", [1.05, 1.4, 2.0])
def test_the_formula_is_the_cone_of_the_shortest_gap(agree, ratio: float, lift: float) -> None:
    agree(rotated(0.01, 0.01 * ratio, lift), frustum(0.01, 0.01 * ratio, lift), 1e-5)


@given(ratio=st.floats(1.01, 3.0), lift=st.floats(1e-6, 3.0))
def test_the_jet_of_the_closures_goes_through_that_area(ratio: float, lift: float) -> None:
    """K_p = (A_s/(C_d A_gap))^2 where the cage is far away."""
    geometry = CheckGeometry(0.01, 0.01, 0.01 * ratio, 100.0, 0.05, 0.7, 0.0)
    z = np.array([0.01 * lift])
    K = loss_coefficient(geometry, z) / gap_over_seat_radius(geometry, z) ** 2
    area = math.pi * 0.01**2 / (0.7 * np.sqrt(K))
    assert area == pytest.approx(frustum(0.01, 0.01 * ratio, 0.01 * lift), rel=1e-9)


@settings(deadline=None)  # the first example compiles
@given(lift=st.floats(0.0, 0.005))
def test_the_gap_of_the_kernel_is_the_gap_of_the_closures(lift: float) -> None:
    check = lower().inlet
    geometry = CheckGeometry(check.seat_radius, 0.01, check.ball_radius, 0.0189, 0.045, 0.7, 0.0)
    gap, slope = gap_of(as_record(check), lift)
    assert gap == pytest.approx(float(gap_over_seat_radius(geometry, np.array([lift]))[0]), rel=1e-12)
    assert slope >= 0.0


@pytest.mark.parametrize("lift", [2e-4, 1e-3, 3e-3, 4.9e-3])
def test_a_thin_liquid_flows_through_the_compiled_check_by_torricelli(agree, lift: float) -> None:
    """Q = C_d A_gap sqrt(2 dp/rho), in a cage so wide that nothing is lost behind the ball."""
    check, rho, dp = lower().inlet, 1000.0, 1e5
    geometry = CheckGeometry(check.seat_radius, 0.01, check.ball_radius, 0.5, 0.045, 0.7, 1e-9)
    wide = with_travel(check, check.travel, lambda z: closures_at(geometry, z))
    out = as_record(Law())
    law(as_record(wide), liquid(1e-9, rho), lift, 0.0, dp, out)
    expected = 0.7 * frustum(check.seat_radius, check.ball_radius, lift) * math.sqrt(2.0 * dp / rho)
    # The spline of the table; viscosity takes 1e-6.
    agree(out.flow, expected, 1e-5)
