"""The flow curves that the core is told: of which law, at which temperature, and where they are blunted."""

import math

import numpy as np
import pytest

from balltravel.closures.flow_curves import by_stress, in_pipe, tabulated
from balltravel.setup.flow_curves import density_of, flow_curves, rheology_of

from ..helpers.lowers import scenario

PASTE = {"flow": "Herschel-Bulkley", "viscosity": 8.0, "thinning_exponent": 0.5, "yield_stress": 20.0}
ANDRADE = {"temperature_law": "Andrade", "activation_energy": 4e4, "stated_temperature": 293.15,
           "temperature": 303.15}  # fmt: skip
GAS_CONSTANT = 8.31446261815324


def paste(rate):
    return 20.0 / rate + 8.0 * rate**-0.5


def thinner(kelvin):
    """Andrade's law: exp(E/R (1/T - 1/T0)) of the viscosity at 20 degC."""
    return math.exp(4e4 / GAS_CONSTANT * (1.0 / kelvin - 1.0 / 293.15))


def same(found, expected):
    """To 1e-6: the law is rounded in another order."""
    for mine, theirs in zip(found, expected, strict=True):
        assert mine == pytest.approx(theirs, rel=1e-6, abs=1e-8 * np.abs(theirs).max())


@pytest.mark.parametrize("rate", [0.1, 0.5, 4.0])
def test_a_yield_stress_is_blunted_at_a_twentieth_of_the_cycle_rate_and_in_the_hose_at_a_tenth_of_that(rate):
    material = scenario(material=PASTE).material
    curve, over_stress, in_hose = flow_curves(material, rate)
    same(curve, tabulated(paste, 0.05 * rate, 20.0))
    same(rheology_of(material, rate), curve)
    same(over_stress, by_stress(curve))
    same(in_hose, in_pipe(paste, 0.005 * rate, 20.0))


def test_a_newtonian_liquid_has_one_viscosity_at_the_temperature_that_is_asked_for():
    material = scenario(material=ANDRADE).material
    for kelvin, found in ((303.15, flow_curves(material, 0.5)), (283.15, flow_curves(material, 0.5, 283.15))):
        assert [curve.viscosity for curve in found] == pytest.approx([5.0 * thinner(kelvin)] * 3, rel=1e-9)
        assert [curve.step for curve in found] == [0.0] * 3
    assert rheology_of(material, 0.5).viscosity == pytest.approx(5.0 * thinner(303.15), rel=1e-9)


def test_a_density_is_that_of_the_temperature_that_is_asked_for():
    """7e-4 1/K over ten kelvin: a hundredth and a half of that squared are 5e-5."""
    material = scenario(material={**ANDRADE, "thermal_expansion": 7e-4}).material
    assert density_of(material, 293.15) == pytest.approx(1250.0, rel=1e-12)
    assert density_of(material) == pytest.approx(1250.0 * (1.0 - 0.007), rel=6e-5)
    assert density_of(material, 313.15) == pytest.approx(1250.0 * (1.0 - 0.014), rel=2.2e-4)
