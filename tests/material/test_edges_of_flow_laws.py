"""Laws of flow at the ends of their ranges, as their docstrings and docs/materials.md tell them."""

import math
import re

import numpy as np
import pytest
from scipy.optimize import brentq

from balltravel.material.flow_laws import LAWS, PARAMETERS, Carreau, Cross, PowerLaw, fitted_law

WIDE = (1e-12, 1e12)
RANGES = {
    "constant": WIDE, "consistency": WIDE, "at rest": WIDE, "plastic": WIDE, "onset": WIDE,
    "least": (0.0, 1e12), "yield stress": (0.0, 1e12), "exponent": (0.05, 2.0),
}  # fmt: skip
FITTED = [kind for kind, law in LAWS.items() if law.FITTED]
CASES = [
    (kind, name)
    for kind, law in LAWS.items()
    if law.FITTED
    for name in law.names()
    if not (name == "exponent" and kind in ("Carreau", "Cross"))
]


def law_with(kind, **other):
    """A law of its parameters' examples, but for some."""
    law = fitted_law(kind)
    values = {name: PARAMETERS[name].example for name in law.names()} | other
    return law(**values)


@pytest.mark.parametrize(("kind", "name"), CASES)
def test_a_parameter_may_lie_at_either_end_and_not_a_digit_beyond(kind, name):
    low, high = RANGES[name.replace("_", " ")]
    room = {"at_rest": 1e12} if name == "least" else {"least": 0.0} if name == "at_rest" else {}
    for end in (low, high):
        law_with(kind, **{**room, name: end})
    for beyond in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf), math.nan):
        with pytest.raises(ValueError, match=re.escape(f"allowed {low:g} to {high:g}, for example")):
            law_with(kind, **{**room, name: beyond})


@pytest.mark.parametrize("law", [Carreau, Cross])
def test_a_bounded_law_has_an_exponent_from_0_to_1_and_an_example_inside(law):
    for exponent in (0.0, 1.0):
        assert law(20.0, 0.1, 2.0, exponent).exponent == exponent
    for exponent in (-1e-300, math.nextafter(1.0, 2.0)):
        with pytest.raises(ValueError, match=r"allowed 0 to 1, for example 0\.5"):
            law(20.0, 0.1, 2.0, exponent)


@pytest.mark.parametrize("kind", FITTED)
def test_the_example_of_a_parameter_is_one_of_a_sound_law(kind):
    law = law_with(kind)
    assert law.stress(10.0) > 0.0
    assert all(PARAMETERS[name].low <= getattr(law, name) <= PARAMETERS[name].high for name in law.names())


FAR = (
    Carreau(60.0, 0.0, 0.5, 0.05), Carreau(60.0, 1e-9, 5e3, 0.0), Cross(60.0, 0.0, 3e-4, 0.2),
    Cross(60.0, 59.9, 0.5, 0.3),
)  # fmt: skip


@pytest.mark.parametrize("law", FAR)
@pytest.mark.parametrize("stress", [1e-6, 0.3, 40.0, 3e3])
def test_the_rate_at_a_stress_is_found_however_far_the_law_thins(law, stress):
    """By another search over the logarithm: 1e-10 of the rate."""
    found = float(law.rate_of(stress))

    def missing(x):
        return float(np.log(law.stress(math.exp(x)))) - math.log(stress)

    low = math.log(stress / law.at_rest) - 1.0
    if missing(300.0) > 0.0:
        assert found == pytest.approx(math.exp(brentq(missing, low, 300.0, xtol=1e-13)), rel=1e-10)


def test_a_law_of_another_name_is_refused_with_all_that_there_are():
    with pytest.raises(ValueError, match="Newtonian, power law, Herschel-Bulkley, Casson, Carreau, Cross"):
        fitted_law("Bird")
    assert PowerLaw(2.0, 0.5).yield_stress == 0.0
