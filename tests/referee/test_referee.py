"""The core against the same equations written a second time (docs/model.md), integrated by scipy's Radau.

The second cycle from rest is compared, both at tight tolerances. Allowed: 1e-6 of the period, 1e-6 of swept.
"""

import pytest
from referee.cases import BY_HAND, RANDOM, TABULATED, at_random, by_hand, tabulated
from referee.comparison import compare

QUICK_TABULATED = ("primer", "mastic")
QUICK = ("ball never seats", "pressure feed", "worn seats")


def verdict(record_property, name, found):
    record_property("contact_times_over_period", float(found.contact))
    record_property("volumes_over_swept", float(found.volume))
    record_property("volumes_over_swept_at_the_usual_tolerance", float(found.usual_volume))
    record_property("contact_times_over_period_at_the_usual_tolerance", float(found.usual_contact))
    record_property("near_misses", found.near_misses)
    record_property("gentlest_contact_over_mean_speed", float(found.gentlest))
    record_property("nearly_neutral_balls", found.nearly_neutral)
    print(
        f"{name}: contacts {found.contact:.1e} of the period, volumes {found.volume:.1e} of swept; "
        f"at the usual tolerance {found.usual_contact:.1e}, {found.usual_volume:.1e}; "
        f"gentlest contact {found.gentlest:.1e}, near misses {found.near_misses}, "
        f"nearly neutral {found.nearly_neutral}"
    )
    assert found.same, (found.core, found.referee)
    assert found.contact <= 1e-6
    assert found.volume <= 1e-6


@pytest.mark.parametrize("name", QUICK)
def test_the_core_agrees_with_the_referee(record_property, name):
    verdict(record_property, name, compare(by_hand(name), 1e-9, 1e-8))


@pytest.mark.parametrize("name", QUICK_TABULATED)
def test_the_core_agrees_with_the_referee_on_tabulated_closures(record_property, name):
    verdict(record_property, f"{name}, tabulated", compare(tabulated(name), 1e-9, 1e-8))


@pytest.mark.soak
@pytest.mark.parametrize("name", TABULATED)
def test_the_core_agrees_with_the_referee_on_every_tabulated_law(record_property, name):
    verdict(record_property, f"{name}, tabulated", compare(tabulated(name), 1e-9, 1e-9))


@pytest.mark.soak
@pytest.mark.parametrize("name", [*BY_HAND, *range(RANDOM)])
def test_the_core_agrees_with_the_referee_on_fifty_lowers(record_property, name):
    scenario = by_hand(name) if isinstance(name, str) else at_random(name)
    verdict(record_property, str(name), compare(scenario, 1e-9, 1e-9))
