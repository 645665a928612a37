"""Instruments at the ends of their ranges, and the constants of their standards typed a second time."""

import math

import pytest

from balltravel.material.cups import CUPS, cup_named, cup_reading
from balltravel.material.instruments import (
    KREBS_SHEAR_RATE,
    furol_reading,
    furol_seconds,
    krebs_reading,
    universal_reading,
)
from balltravel.material.readings import ReadingError, within
from balltravel.material.temperature_laws import Andrade, Walther, density_at

F122, F210 = 323.15, (210.0 + 459.67) / 1.8

# Volume [ml] and relative scatter of a cup's seconds: dip cups by D4212, the others from memory.
FAMILIES = {"ISO": (100, 0.10 / 2.8), "Ford": (100, 0.20 / 2.8), "DIN": (100, 0.10 / 2.8),
            "Zahn": (44, 0.115), "Shell": (23, 0.115)}  # fmt: skip


@pytest.mark.parametrize("name", CUPS)
def test_a_cup_has_the_volume_and_the_scatter_of_its_standard(name):
    """The wall's shear rate is 32 V/(pi d^3 t); seconds that scatter by s make a viscosity scatter by s times
    the slope of its logarithm, at least 1 where an offset is taken off."""
    cup = cup_named(name)
    millilitres, scatter = FAMILIES[name.split()[0]]
    seconds = math.sqrt(cup.seconds[0] * cup.seconds[1])
    found = cup_reading(cup, seconds)
    assert found.shear_rate == pytest.approx(
        32e-6 * millilitres / (math.pi * cup.diameter**3 * seconds), rel=1e-9
    )
    step = 1e-5
    low, high = (cup.viscosity_at(seconds * (1.0 + s)) for s in (-step, step))
    slope = math.log(high / low) / (2.0 * step)
    assert found.relative_uncertainty == pytest.approx(scatter * slope, rel=1e-6)


@pytest.mark.parametrize(("family", "falls"), [("ISO", 0.03), ("Ford", 0.3), ("Zahn", 0.35), ("Shell", 0.2)])
def test_the_slope_of_a_cup_goes_with_the_fourth_power_of_its_bore(family, falls):
    """Hagen and Poiseuille: mm2/s a second over d^4. ISO cups have capillaries and are alike; of a hole in a
    bottom the wider loses more at its ends, so the ratio falls from cup to cup, by no more than a third."""
    cups = [cup_named(name) for name in CUPS if name.split()[0] == family]
    ratios = [cup.slope / cup.diameter**4 for cup in cups]
    for wider, narrower in zip(ratios[1:], ratios, strict=False):
        assert (1.0 - falls) * narrower <= wider <= 1.02 * narrower


def test_no_time_at_all_is_no_viscosity():
    for seconds in (0.0, -1.0, 0.5):
        with pytest.raises(ReadingError, match="ISO 4 mm"):
            cup_reading(cup_named("ISO 4 mm"), seconds)


@pytest.mark.parametrize(("kelvin", "law"), [
    (F122, lambda nu: 0.4717 * nu + 13924.0 / (nu * nu - 72.59 * nu + 6816.0)),
    (F210, lambda nu: 0.4792 * nu + 5610.0 / (nu * nu + 2130.0)),
])  # fmt: skip
def test_furol_seconds_are_those_of_the_equations_of_the_standard(kelvin, law):
    """ASTM D2161, from memory, typed a second time; and their scatter is 2 % over the slope."""
    for nu in (50.0, 80.0, 300.0, 9e3):
        assert furol_seconds(1e-6 * nu, kelvin) == pytest.approx(law(nu), rel=1e-12)
    slope = (math.log(law(80.08)) - math.log(law(79.92))) / math.log(80.08 / 79.92)
    assert furol_reading(law(80.0), kelvin).relative_uncertainty == pytest.approx(0.02 / slope, rel=1e-4)


@pytest.mark.parametrize("kelvin", [F122, F210])
def test_furol_temperatures_are_met_within_one_kelvin(kelvin):
    for off in (-0.999, 0.999):
        assert furol_seconds(1e-4, kelvin + off) == furol_seconds(1e-4, kelvin)
    for off in (-1.01, 1.01):
        with pytest.raises(ReadingError, match=r"323\.15 K"):
            furol_seconds(1e-4, kelvin + off)


def test_a_saybolt_tube_shears_at_the_wall_of_its_bore():
    """60 ml through 1.765 mm and 3.15 mm (ASTM D88, from memory): 32 V/(pi d^3 t)."""
    for reading, d in ((universal_reading(400.0, 311.0), 1.765e-3), (furol_reading(400.0, F122), 3.15e-3)):
        assert reading.shear_rate == pytest.approx(32.0 * 60e-6 / (math.pi * d**3 * 400.0), rel=1e-9)


def test_universal_seconds_scatter_by_one_per_cent():
    """Of thick oil, whose seconds go with its viscosity."""
    assert universal_reading(4e4, 311.0).relative_uncertainty == pytest.approx(0.01, rel=1e-3)


def test_a_krebs_paddle_shears_at_seventy():
    """200 r/min are 20.944 1/s; 1 - (54/85)^2 = 0.59640."""
    assert pytest.approx(2.0 * 20.94395 / 0.596401, rel=1e-5) == KREBS_SHEAR_RATE
    assert krebs_reading(85.0).relative_uncertainty == pytest.approx(0.25 / math.sqrt(3.0), rel=1e-12)


def test_an_end_that_is_off_by_rounding_counts_as_inside():
    for value in (2.0 * (1.0 - 1e-9), 3.0 * (1.0 + 1e-9)):
        within("it", value, (2.0, 3.0), "m", "2.5 m")
    for value in (2.0 * (1.0 - 2e-9), 3.0 * (1.0 + 2e-9), math.nan):
        with pytest.raises(ReadingError, match=r"2 to 3 m"):
            within("it", value, (2.0, 3.0), "m", "2.5 m")


def test_densities_from_100_to_20000_are_taken():
    for density in (100.0, 20000.0):
        density_at(300.0, density, 298.0, 7e-4)
    for density in (99.9999, 20000.1):
        with pytest.raises(ReadingError, match="density"):
            density_at(300.0, density, 298.0, 7e-4)


def test_a_law_of_walther_that_comes_to_the_end_of_its_range_is_told_up_to_there():
    """0.21 mm2/s and 2e7 mm2/s by the standard; readings at just these are taken."""
    for thick, thin in ((2e7, 1e3), (5.0, 0.21)):
        law = Walther.from_readings([(300.0, 1e-6 * thick), (320.0, 1e-6 * thin)])
        assert law.kinematic_viscosity(300.0) == pytest.approx(1e-6 * thick, rel=1e-8)
        assert law.kinematic_viscosity(320.0) == pytest.approx(1e-6 * thin, rel=1e-8)
    with pytest.raises(ReadingError, match=r"2\.1e-06 m2/s|0\.21"):
        Walther.from_readings([(300.0, 5e-6), (320.0, 0.2e-6)])


def test_what_a_refused_reading_could_be_is_ten_times_the_least():
    with pytest.raises(ReadingError) as refused:
        Andrade.from_readings([(300.0, 1e-9), (320.0, 1e-10)])
    assert "Pa.s" in str(refused.value) or "Pa s" in str(refused.value)
    assert float(refused.value.example.split()[0]) == pytest.approx(
        10.0 * float(refused.value.allowed.split()[0]), rel=1e-3
    )
