"""Kernels that Python calls as they stand give the same bits as when they are compiled."""

import numba
import numpy as np
import pytest

from balltravel.core.friction import friction_ratio
from balltravel.core.model import line_loss
from balltravel.core.motor import share_of_sonic
from balltravel.core.narrow import narrow_flow
from balltravel.core.parameters import Material, Narrow, Suction
from balltravel.core.rheology import Rheology, at_square, flow_curve, viscosity

from ..helpers.boxes import boxed, thin

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing is compiled")
RNG = np.random.default_rng(7)
LIQUIDS = [boxed(Rheology(3.7)), boxed(thin(60.0, exponent=0.45, onset=0.5, yield_stress=5.0, blunt=0.01))]


def sizes(low, high, count=2000):
    return (10.0 ** RNG.uniform(low, high, count)).tolist()


def same(formula, *arguments):
    """Plain and compiled, all numbers of it."""
    plain, compiled = formula.plain(*arguments), formula.compiled(*arguments)
    assert np.array_equal(np.atleast_1d(plain), np.atleast_1d(compiled)), (formula.__name__, arguments)


@pytest.mark.parametrize("liquid", LIQUIDS)
def test_viscosities_are_the_same(liquid):
    for rate in [0.0, *sizes(-9.0, 9.0)]:
        same(at_square, liquid, rate)
        same(flow_curve, liquid, rate)
        same(viscosity, liquid, rate)


def test_hose_friction_and_the_flow_of_air_are_the_same():
    for reynolds, rough, ratio in zip(
        sizes(-10.0, 8.0), sizes(-6.0, -1.3), RNG.uniform(0.0, 1.0, 2000), strict=True
    ):
        same(friction_ratio, reynolds, rough)
        same(share_of_sonic, float(ratio))


@pytest.mark.parametrize("liquid", LIQUIDS)
def test_the_losses_of_hoses_and_the_flows_of_tips_are_the_same(liquid):
    material = boxed(Material(Rheology(1.0), Rheology(1.0), 1350.0, 1.5e9, 0.005, 2000.0))
    for flow, d, dp in zip(
        sizes(-9.0, -2.0, 300), sizes(-3.0, -1.0, 300), sizes(-1.0, 8.0, 300), strict=True
    ):
        line = Suction(1e6, 40.0 / d**4, 1e6, 1e5, d, 1e-4, Rheology(1.0), 1e9, 1e7, 1e8)
        line = boxed(
            line._replace(rheology=thin(60.0, exponent=0.45, onset=0.5, yield_stress=5.0, blunt=0.01))
        )
        same(line_loss, line, material, flow)
        same(narrow_flow, boxed(Narrow(1.0 / d**4, 1e3 / d**4, 10.0 / d**3)), liquid, dp)
