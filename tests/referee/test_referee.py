"""The core against the same equations written a second time (docs/model.md), integrated by scipy's Radau.

The second cycle from rest is compared, both at tight tolerances. Allowed: 1e-6 of the period, 1e-6 of swept.
"""

import pytest
from referee.cases import BY_HAND, RANDOM, TABULATED, at_random, by_hand, tabulated
from referee.comparison import compare, verdict

QUICK_TABULATED = ("primer", "mastic")
QUICK = ("ball never seats", "pressure feed", "worn seats", "hanging balls")


@pytest.mark.parametrize("name", QUICK)
def test_the_core_agrees_with_the_referee(within, name):
    verdict(within, name, compare(by_hand(name), 1e-9, 1e-8))


@pytest.mark.parametrize("name", QUICK_TABULATED)
def test_the_core_agrees_with_the_referee_on_tabulated_closures(within, name):
    verdict(within, f"{name}, tabulated", compare(tabulated(name), 1e-9, 1e-8))


@pytest.mark.soak
@pytest.mark.parametrize("name", TABULATED)
def test_the_core_agrees_with_the_referee_on_every_tabulated_law(within, name):
    verdict(within, f"{name}, tabulated", compare(tabulated(name), 1e-9, 1e-9))


@pytest.mark.soak
@pytest.mark.parametrize("name", [*BY_HAND, *range(RANDOM)])
def test_the_core_agrees_with_the_referee_on_fifty_lowers(within, name):
    scenario = by_hand(name) if isinstance(name, str) else at_random(name)
    verdict(within, str(name), compare(scenario, 1e-9, 1e-9))
