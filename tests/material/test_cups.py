"""Flow cups: round trips, refusals that name a better cup, uncertainty and shear rate by hand."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.material.cups import CUPS, FORD, ISO, ZAHN, cup_for, cup_named, cup_reading, seconds_of
from balltravel.material.readings import ReadingError

cups = st.sampled_from(sorted(CUPS.values(), key=lambda cup: cup.name))
shares = st.floats(0.0, 1.0)


def refusal(call, *args):
    with pytest.raises(ReadingError) as caught:
        call(*args)
    return caught.value


@given(cups, shares)
def test_seconds_come_back_from_the_viscosity(cup, share):
    seconds = cup.seconds[0] + share * (cup.seconds[1] - cup.seconds[0])
    viscosity = cup_reading(cup, seconds).kinematic_viscosity
    assert seconds_of(cup, viscosity) == pytest.approx(seconds, rel=1e-12)


@given(cups, shares, shares)
def test_a_thicker_liquid_takes_longer(cup, a, b):
    low, high = sorted(cup.range[0] + share * (cup.range[1] - cup.range[0]) for share in (a, b))
    if high > low * (1.0 + 1e-9):
        assert seconds_of(cup, high) > seconds_of(cup, low)


@given(cups, shares)
def test_the_uncertainty_is_that_of_the_seconds_carried_through_the_formula(cup, share):
    seconds = cup.seconds[0] + share * (cup.seconds[1] - cup.seconds[0])
    h = 1e-6
    slope = math.log(cup.viscosity_at(seconds * (1 + h)) / cup.viscosity_at(seconds * (1 - h))) / (2 * h)
    found = cup_reading(cup, seconds).relative_uncertainty
    assert found == pytest.approx(slope * cup.family.scatter, rel=1e-6)
    assert found >= cup.family.scatter * (1.0 - 1e-12)


def test_a_dip_cup_scatters_most_at_its_short_end():
    """Zahn 2 at 20 s: 20/(20 - 14) times 11.5 %."""
    assert cup_reading(cup_named("Zahn 2"), 20.0).relative_uncertainty == pytest.approx(
        0.115 * 20 / 6, rel=1e-9
    )


def test_the_shear_rate_is_that_of_the_mean_flow_in_the_orifice():
    """ISO 4 mm, 60 s: 4 (100 ml/60 s)/(pi (2 mm)^3)."""
    by_hand = 4 * (1e-4 / 60) / (math.pi * 0.002**3)
    assert cup_reading(cup_named("ISO 4 mm"), 60.0).shear_rate == pytest.approx(by_hand, rel=1e-12)
    assert 200 < by_hand < 300


def test_every_cup_reads_between_ten_and_ten_thousand_reciprocal_seconds():
    for cup in CUPS.values():
        for seconds in cup.seconds:
            assert 10.0 < cup_reading(cup, seconds).shear_rate < 1e4


def test_a_cup_of_unknown_orifice_tells_no_shear_rate():
    assert cup_reading(replace(cup_named("Ford 4"), diameter=None), 60.0).shear_rate is None


def test_the_source_names_cup_standard_and_seconds():
    assert cup_reading(cup_named("Ford 4"), 60.0).source == "ASTM D1200 Ford 4 cup, 60 s"


@pytest.mark.parametrize("name", ["ISO 4 mm", "iso 4mm", "ISO 2431 4 mm", "iso24314mm"])
def test_a_cup_is_found_with_or_without_its_standard(name):
    assert cup_named(name) is CUPS["ISO 4 mm"]


def test_an_unknown_cup_is_refused_with_the_nearest_name():
    error = refusal(cup_named, "Forrd 4")
    assert error.given == 'unknown cup "Forrd 4" (did you mean "Ford 4"?)'
    assert "Zahn 5" in error.allowed


def test_too_many_seconds_name_the_wider_cup_of_the_family():
    error = refusal(cup_reading, cup_named("ISO 3 mm"), 160.0)
    assert error.given == "160 s in the cup ISO 3 mm"
    assert error.allowed == "30 to 100 s, which is 6.623 to 42.3 mm2/s"
    assert error.example == "the cup ISO 4 mm, about 54 s"  # 0.443 160 - 200/160 = 69.63 cSt
    assert seconds_of(CUPS["ISO 4 mm"], 69.63e-6) == pytest.approx(53.5, abs=0.1)


def test_too_few_seconds_name_the_narrower_cup_of_the_family():
    error = refusal(cup_reading, cup_named("Ford 4"), 15.0)  # 40.5 cSt
    assert error.example.startswith("the cup Ford 2, about ")


def test_another_family_is_named_where_the_own_has_no_cup():
    error = refusal(cup_reading, cup_named("ISO 6 mm"), 130.0)  # 893 cSt
    assert not error.example.startswith("the cup ISO")
    assert error.example.startswith("the cup ")


def test_too_thick_for_every_cup_asks_for_another_instrument():
    error = refusal(cup_reading, cup_named("Zahn 5"), 300.0)
    assert "no cup known here" in error.allowed
    assert error.example == "a viscosity at a stated shear rate"


@pytest.mark.parametrize("seconds", [-1.0, 0.0, math.nan, math.inf])
def test_seconds_that_are_none_are_refused(seconds):
    assert "30 to 100 s" in refusal(cup_reading, cup_named("ISO 4 mm"), seconds).allowed


@pytest.mark.parametrize("viscosity", [-1e-4, 0.0, math.nan, math.inf, 1.0])
def test_a_viscosity_outside_the_cup_is_refused(viscosity):
    assert "34.43 to 135 mm2/s" in refusal(seconds_of, cup_named("ISO 4 mm"), viscosity).allowed


@given(cups, st.floats(1e-3, 1e4))
def test_the_cup_that_a_refusal_names_can_read_it(cup, seconds):
    viscosity = cup.viscosity_at(seconds)
    better = cup_for(viscosity, cup.family)
    if better is None:
        assert not any(other.range[0] <= viscosity <= other.range[1] for other in CUPS.values())
    else:
        assert seconds_of(better, viscosity) > 0
        assert better.family == cup.family or not any(
            other.range[0] <= viscosity <= other.range[1]
            for other in CUPS.values()
            if other.family == cup.family
        )


def test_the_cup_for_a_viscosity_is_the_one_nearest_to_its_middle():
    """100 cSt: 87 s in Ford 2, 50 s in Ford 3, 30 s in Ford 4; the middles are 63, 45 and 45 s."""
    assert cup_for(1e-4, FORD) is CUPS["Ford 3"]
    assert cup_for(1e-4, ISO) is CUPS["ISO 4 mm"]
    assert cup_for(1e-4, ZAHN) is CUPS["Zahn 2"]
