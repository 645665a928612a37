"""What a shop can do: no limit is sought where none can go, and what must be bought is a size that exists."""

import re

import pytest

from balltravel.scenario.model import with_values
from balltravel.site.ball_materials import BALL_MATERIALS
from balltravel.study.search.inputs import INPUTS
from balltravel.study.search.shop import (
    HOSE_BORES,
    LIGHTEST_BALL,
    ShopRange,
    ball_materials,
    hose_bores,
    next_sizes,
    tip_bores,
    travels_by_shims,
)
from balltravel.study.search.walk import Base, reader_of
from balltravel.units import to_si

from ..helpers.lowers import scenario

BY_KEY = {item.key: item for item in INPUTS}
SEARCHED = [item for item in INPUTS if item.harder is not None]


@pytest.mark.parametrize("item", SEARCHED, ids=lambda item: item.key)
def test_every_input_whose_limit_is_sought_says_between_which_values_a_shop_can_choose_and_why(story, item):
    for name in ("mastic", "stain_by_air", "roof_elastomer_from_a_drum", "putty_needs_a_ram_plate"):
        shop = item.shop_range(story(name))
        assert len(shop.why) > 10
        # A reason has its source, or says that it has none; a vessel and a cage are there to be looked at.
        assert re.search("no source|our choice|from memory|rim", shop.why)
        if item.is_active(story(name)):
            low, high = item.ends(story(name))
            assert low < high


def test_nothing_is_searched_that_no_shop_can_do(story):
    """Where a tip of seven times the area, a drum on a mast, frozen paint or a ball of gold was told of."""
    air, drum = story("stain_by_air"), story("roof_elastomer_from_a_drum")
    tip = BY_KEY["outlet.tip_diameter"]
    low, high = tip.ends(air)
    assert (high / tip.now(air)) ** 2 < 2.1
    assert (low / tip.now(air)) ** 2 > 0.45
    assert BY_KEY["suction.lift"].ends(air) == (-2.0, 4.0)
    assert BY_KEY["suction.lift"].ends(with_values(air, {"suction.lift": -0.5})) == (-2.0, 4.0)
    assert BY_KEY["inlet_check.ball_density"].ends(air) == (1100.0, 15000.0)
    assert BY_KEY["material.viscosity_factor"].ends(air) == (0.25, 4.0)
    assert BY_KEY["drive.supply_gauge_pressure"].ends(air) == (1.0, 8.0)
    assert BY_KEY["drive.supply_gauge_pressure"].ends(drum) == (22.5, 135.0)
    assert BY_KEY["suction.tank_gauge_pressure"].ends(air) == (0.0, 5.0)


def test_neither_lower_nor_pail_is_colder_than_a_coating_may_be(story):
    """The hose of this drum is 12 K colder than its lower and goes along with it."""
    drum = story("roof_elastomer_from_a_drum")
    warm, pail = BY_KEY["material.temperature"], BY_KEY["suction.temperature"]
    assert warm.ends(drum) == (17.0, 60.0)
    texts = warm.settings(drum, 17.0)
    assert texts == ("material.temperature=17 degC", "suction.temperature=5 degC")
    assert pail.ends(drum) == (5.0, 60.0)
    hotter = with_values(drum, {"suction.temperature": drum.material.temperature + 10.0})
    assert warm.ends(hotter) == (5.0, 50.0)


def test_a_range_has_ends_of_its_own_and_ends_by_what_there_is_now():
    assert ShopRange("", 1.0, 10.0, 0.5, 1.5).ends(4.0) == (2.0, 6.0)
    assert ShopRange("", 1.0, 10.0, 0.5, 1.5).ends(8.0) == (4.0, 10.0)
    assert ShopRange("", -2.0, 4.0).ends(0.3) == (-2.0, 4.0)
    assert ShopRange("", -2.0, 4.0, 0.5, 1.5).ends(-1.0) == (-2.0, 4.0)


def test_tips_are_named_by_their_bore_in_thousandths_of_an_inch():
    sizes = tip_bores(scenario())
    for size in sizes:
        assert re.fullmatch(r"0\.0\d\d in \(\d\.\d+ mm\)", size.name)
        ((key, text),) = (setting.split("=") for setting in size.settings)
        assert key == "outlet.tip_diameter"
        assert 1e3 * to_si(text, "length") == pytest.approx(size.value, rel=1e-12)
    assert sizes[0].name == "0.007 in (0.178 mm)"
    assert len(sizes) == 65


def test_hoses_have_their_bores_in_mm_and_inches_and_balls_a_material():
    """A bore in mm is that in inches within 2 %, and not wider: a hose sold in inches does as well."""
    for mm, inches in HOSE_BORES:
        assert 0.98 <= mm / (1e3 * to_si(f"{inches} in", "length")) <= 1.0
    assert "38 mm (1 1/2 in)" in {size.name for size in hose_bores(scenario())}
    balls = ball_materials(scenario())
    assert [size.value for size in balls] == sorted(size.value for size in balls)
    assert "alumina, 3890 kg/m3" in {size.name for size in balls}
    for size in balls:
        name, (setting,) = size.name.split(",")[0], size.settings
        low, _, high, _ = BALL_MATERIALS[name]
        assert LIGHTEST_BALL <= low <= to_si(setting.partition("=")[2], "density") <= high


def test_the_next_size_lies_on_the_side_that_holds():
    sizes = hose_bores(scenario())
    assert next_sizes(sizes, 30.0, at_most=False)[0].value == 31.5
    assert next_sizes(sizes, 30.0, at_most=True)[0].value == 25.0
    assert next_sizes(sizes, 31.5, at_most=True)[0].value == 31.5
    assert next_sizes(sizes, 200.0, at_most=False) == ()


def test_travels_are_those_that_the_set_of_shims_gives(story):
    sizes = travels_by_shims(story("mastic"))
    assert [size.value for size in sizes] == pytest.approx([2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0])
    assert (sizes[4].name, sizes[4].settings) == ("6 mm, shims below: 3", ("shims.below=[3]",))
    assert story("mastic", *sizes[4].settings).inlet_travel == pytest.approx(6e-3)


def test_a_named_solvents_vapour_pressure_follows_a_temperature_that_is_varied(story):
    warm = BY_KEY["material.temperature"]
    for read in (
        lambda drum: reader_of(drum),
        lambda _: lambda texts: story("roof_elastomer_from_a_drum", *texts),
    ):
        drum = story("roof_elastomer_from_a_drum")
        base = Base(read(drum))
        hot = base.with_settings(warm.settings(drum, 40.0))
        # Water: 7.38 kPa at 40 degC (steam tables, from memory).
        assert hot.material.vapour_pressure == pytest.approx(7.38e3, rel=2e-3)
        assert hot.material.vapour_pressure > 2.0 * drum.material.vapour_pressure
