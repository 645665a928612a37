"""What a material is taken for: its law by readings, and what temperature, rest and age do to it; by hand."""

import math

import pytest

from balltravel.material.flow_fits import fit
from balltravel.material.flow_laws import Carreau, HerschelBulkley, PowerLaw
from balltravel.material.model import MaterialError, material_model
from balltravel.material.temperature_laws import GAS_CONSTANT, Andrade, Vogel, Walther
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.model import Material

ROOM = 293.15


def read(viscosity, rate=10.0, **more):
    """A reading of a viscosity [Pa s], 5 % wide."""
    return ViscosityReading(
        viscosity, rate, more.pop("kelvin", None), more.pop("u", 0.05), "by hand"
    )._replace(**more)


def material(*readings, **keys):
    """A material at room temperature."""
    return Material(density=1000.0, vapour_pressure=0.0, readings=readings, **keys)


def blamed(*readings, **keys):
    """The key at which a material is refused."""
    with pytest.raises(MaterialError) as caught:
        material_model(material(*readings, **keys))
    assert all((caught.value.given, caught.value.allowed, caught.value.example))
    return caught.value.key


def test_one_reading_is_a_newtonian_viscosity():
    known = material_model(material(read(3.0)))
    assert known.newtonian
    assert float(known.viscosity(1e3, ROOM)) == pytest.approx(3.0, rel=1e-9)
    assert known.yield_stress(ROOM) == 0.0


def test_a_reading_counts_by_its_uncertainty():
    """ln of 2 at 2 % and of 3 at 4 %: weights 4 to 1."""
    known = material_model(material(read(2.0, u=0.02), read(3.0, u=0.04)))
    expected = math.exp((4 * math.log(2.0) + math.log(3.0)) / 5)
    assert float(known.viscosity(1.0, ROOM)) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize(
    ("flow", "law"),
    [
        ("power law", PowerLaw(20.0, 0.5)),
        ("Herschel-Bulkley", HerschelBulkley(30.0, 10.0, 0.6)),
        ("Carreau", Carreau(60.0, 0.5, 2.0, 0.4)),
    ],
)
def test_readings_of_a_law_give_the_law_back(flow, law):
    rates = (0.01, 0.1, 1.0, 10.0, 100.0, 1e3, 1e4)
    known = material_model(material(*(read(float(law.viscosity(r)), r) for r in rates), flow=flow))
    assert known.law.parameters == pytest.approx(law.parameters, rel=1e-5)
    assert known.yield_stress(ROOM) == pytest.approx(law.yield_stress, rel=1e-5)


def test_the_law_is_that_of_the_fit_with_its_uncertainties():
    points = ((1.0, 40.0, 0.02), (10.0, 11.0, 0.1), (100.0, 4.5, 0.05), (1e3, 1.9, 0.05))
    known = material_model(material(*(read(mu, r, u=u) for r, mu, u in points), flow="power law"))
    rates, mus, us = zip(*points, strict=True)
    expected = fit("power law", rates, mus, us, of="viscosity")
    assert known.law == expected.law
    assert known.fitted == expected


@pytest.mark.parametrize("flow", ["power law", "Casson"])
def test_a_law_that_thins_needs_the_shear_rate_of_every_reading(flow):
    rates = [read(3.0, 1.0), read(2.0, 100.0)]
    assert blamed(*rates, read(2.0, None), flow=flow) == "material.readings"
    assert blamed(*rates, read(4.0, None, state="rested"), flow=flow) == "material.readings"


def test_too_few_shear_rates_for_the_law_are_refused():
    assert blamed(read(3.0, 1.0), read(2.0, 1.0), flow="power law") == "material.readings"


# --- temperature


def test_andrade_by_an_energy():
    known = material_model(
        material(read(3.0), temperature_law="Andrade", activation_energy=4e4, stated_temperature=ROOM)
    )
    expected = 3.0 * math.exp(4e4 / GAS_CONSTANT * (1 / 280.0 - 1 / ROOM))
    assert float(known.viscosity(10.0, 280.0)) == pytest.approx(expected, rel=1e-12)


def test_the_temperature_with_most_readings_has_the_law_and_the_other_shifts_it():
    """The shift is taken at the reading's own shear rate: 100 1/s, where the law says 2 Pa s."""
    warm = [read(20.0 / math.sqrt(r), r, kelvin=313.15) for r in (1.0, 10.0, 100.0)]
    known = material_model(
        material(read(6.0, 100.0, kelvin=ROOM), *warm, flow="power law", temperature_law="Andrade")
    )
    assert known.stated == 313.15
    assert known.ratio(ROOM) == pytest.approx(3.0, rel=1e-6)
    assert float(known.viscosity(1.0, ROOM)) == pytest.approx(60.0, rel=1e-6)
    assert float(known.viscosity(1.0, 313.15)) == pytest.approx(20.0, rel=1e-6)


def test_several_readings_at_another_temperature_count_by_their_uncertainties():
    law = [read(2.0)] * 3
    known = material_model(
        material(*law, read(4.0, kelvin=280.0, u=0.02), read(6.0, kelvin=280.0, u=0.04),
                 temperature_law="Andrade")
    )  # fmt: skip
    expected = math.exp((4 * math.log(2.0) + math.log(3.0)) / 5)
    assert known.ratio(280.0) == pytest.approx(expected, rel=1e-8)


def test_readings_half_a_kelvin_apart_are_of_one_temperature():
    assert material_model(material(read(2.0), read(3.0, kelvin=ROOM + 0.49))).stated == ROOM
    assert blamed(read(2.0), read(3.0, kelvin=ROOM + 0.51)) == "material.temperature_law"


def test_vogel_goes_through_three_temperatures():
    def vogel(kelvin):
        return math.exp(-5.0 + 800.0 / (kelvin - 150.0))

    kelvins = (283.15, ROOM, 313.15)
    known = material_model(material(*(read(vogel(k), kelvin=k) for k in kelvins), temperature_law="Vogel"))
    assert isinstance(known.over_temperature, Vogel)
    for kelvin in (*kelvins, 300.0, 330.0):
        assert float(known.viscosity(1.0, kelvin)) == pytest.approx(vogel(kelvin), rel=1e-7)


@pytest.mark.parametrize("expansion", [0.0, 8e-4])
@pytest.mark.parametrize("weighed", [280.0, ROOM])
def test_the_astm_law_gives_its_readings_back_whatever_the_density_does(expansion, weighed):
    """It holds for the kinematic viscosity: the density at each temperature comes in and goes out again."""
    cold, warm = read(0.5, kelvin=ROOM), read(0.02, kelvin=353.15)
    known = material_model(
        material(cold, cold, warm, temperature_law="ASTM D341", thermal_expansion=expansion,
                 stated_temperature=weighed)
    )  # fmt: skip
    assert isinstance(known.over_temperature, Walther)
    assert float(known.viscosity(1.0, ROOM)) == pytest.approx(0.5, rel=1e-9)
    assert float(known.viscosity(1.0, 353.15)) == pytest.approx(0.02, rel=1e-9)


def test_between_its_readings_the_astm_law_is_straight_in_its_own_coordinates():
    """Kinematic, with the density at each temperature, above 2 mm2/s where Z is nu + 0.7."""
    known = material_model(
        material(read(0.5, kelvin=ROOM), read(0.5, kelvin=ROOM), read(0.02, kelvin=353.15),
                 temperature_law="ASTM D341", thermal_expansion=8e-4, stated_temperature=280.0)
    )  # fmt: skip

    def height(kelvin):
        density = 1000.0 / (1.0 + 8e-4 * (kelvin - 280.0))
        nu = 1e6 * float(known.viscosity(1.0, kelvin)) / density
        return math.log10(math.log10(nu + 0.7))

    share = math.log10(320.0 / ROOM) / math.log10(353.15 / ROOM)
    assert height(320.0) == pytest.approx((1 - share) * height(ROOM) + share * height(353.15), rel=1e-9)


def test_the_density_holds_at_the_stated_temperature_whatever_the_readings_have():
    known = material_model(
        material(
            read(0.5, kelvin=313.15), stated_temperature=ROOM, temperature=313.15, thermal_expansion=1e-3
        )
    )
    assert known.stated == 313.15
    assert known.density_at(ROOM) == 1000.0
    assert known.density_at(313.15) == pytest.approx(1000.0 / 1.02, rel=1e-12)


@pytest.mark.parametrize("law", ["Andrade", "ASTM D341"])
def test_two_temperatures_are_enough_for_a_law_of_two_constants_and_three_too_many(law):
    two = [read(2.0), read(1.0, kelvin=310.0)]
    material_model(material(*two, temperature_law=law))
    assert blamed(*two, read(0.5, kelvin=330.0), temperature_law=law) == "material.temperature_law"


@pytest.mark.parametrize("law", ["Andrade", "Vogel", "ASTM D341"])
def test_a_temperature_law_without_data_is_refused(law):
    assert blamed(read(2.0), temperature_law=law) == "material.temperature_law"
    assert blamed(viscosity=2.0, temperature_law=law) == "material.temperature_law"


def test_vogel_with_two_temperatures_is_refused():
    assert blamed(read(2.0), read(1.0, kelvin=310.0), temperature_law="Vogel") == "material.temperature_law"


def test_a_viscosity_that_rises_with_the_temperature_is_refused():
    assert blamed(read(2.0), read(3.0, kelvin=310.0), temperature_law="Andrade") == "material.temperature_law"


def test_the_astm_law_out_of_its_range_is_refused():
    thin = [read(1.5e-4), read(1.2e-4, kelvin=310.0)]
    assert blamed(*thin, temperature_law="ASTM D341") == "material.temperature_law"


def test_an_energy_beside_readings_at_two_temperatures_is_refused():
    two = [read(2.0), read(1.0, kelvin=310.0)]
    keys = {"temperature_law": "Andrade", "activation_energy": 4e4}
    assert blamed(*two, **keys) == "material.activation_energy"


# --- rest, age, factor


def test_a_doubling_time_doubles_the_viscosity():
    known = material_model(material(viscosity=2.0, doubling_time=600.0, age=1200.0))
    assert float(known.viscosity(1.0, ROOM)) == pytest.approx(8.0, rel=1e-12)


def test_aged_readings_tell_the_growth_by_age_and_uncertainty():
    """Through the origin, ln 2 after 600 s at 5 % and ln 6 after 1200 s at 10 %:
    (600 ln 2 + 1200/4 ln 6)/(600^2 + 1200^2/4)."""
    known = material_model(
        material(read(1.0, age=60.0), read(2.0, age=660.0), read(6.0, age=1260.0, u=0.1), age=300.0)
    )
    expected = (600 * math.log(2.0) + 300 * math.log(6.0)) / (600**2 + 1200**2 / 4)
    assert known.growth == pytest.approx(expected, rel=1e-9)
    assert float(known.viscosity(1.0, ROOM)) == pytest.approx(math.exp(300 * expected), rel=1e-9)


def test_rested_readings_tell_the_ratio_at_their_own_shear_rate():
    law = [read(20.0 / math.sqrt(r), r) for r in (1.0, 10.0, 100.0)]
    known = material_model(material(*law, read(10.0, 100.0, state="rested"), flow="power law"))
    assert known.rested == pytest.approx(5.0, rel=1e-6)


def test_rested_and_aged_readings_at_another_temperature_are_taken_there():
    """At 280 K the material is twice as thick; the rested reading is three, the aged one four times that."""
    known = material_model(
        material(
            read(1.0), read(1.0), read(2.0, kelvin=280.0),
            read(6.0, kelvin=280.0, state="rested"), read(8.0, kelvin=280.0, age=600.0),
            temperature_law="Andrade",
        )
    )  # fmt: skip
    assert isinstance(known.over_temperature, Andrade)
    assert known.rested == pytest.approx(3.0, rel=1e-8)
    assert known.growth == pytest.approx(math.log(4.0) / 600.0, rel=1e-8)


def test_a_rested_reading_of_an_aged_material_is_compared_with_the_aged_one():
    known = material_model(material(read(1.0), read(2.0, age=600.0), read(6.0, age=600.0, state="rested")))
    assert known.rested == pytest.approx(3.0, rel=1e-8)


def test_a_rested_reading_at_a_temperature_of_its_own_needs_a_temperature_law():
    assert blamed(read(1.0), read(3.0, kelvin=280.0, state="rested")) == "material.temperature_law"


def test_a_viscosity_that_falls_with_age_is_refused():
    assert blamed(read(2.0), read(1.0, age=600.0)) == "material.readings"


def test_a_rested_material_thinner_than_the_worked_one_is_refused():
    assert blamed(read(2.0), read(1.0, state="rested")) == "material.readings"


def test_rested_readings_alone_are_refused():
    assert blamed(read(2.0, state="rested")) == "material.readings"


def test_an_age_without_growth_is_refused():
    assert blamed(read(2.0), age=60.0) == "material.age"
    assert blamed(viscosity=2.0, age=60.0) == "material.age"


def test_the_factor_multiplies_viscosity_and_yield_stress_at_every_temperature():
    keys = {"flow": "Herschel-Bulkley", "viscosity": 3.0, "thinning_exponent": 0.5, "yield_stress": 20.0,
            "temperature_law": "Andrade", "activation_energy": 4e4}  # fmt: skip
    one, two = (material_model(material(**keys, viscosity_factor=factor)) for factor in (1.0, 2.0))
    for kelvin in (280.0, ROOM):
        assert two.yield_stress(kelvin) == 2.0 * one.yield_stress(kelvin)
        assert two.viscosity(7.0, kelvin) == 2.0 * one.viscosity(7.0, kelvin)


def test_the_yield_stress_follows_the_viscosity_over_temperature():
    known = material_model(
        material(flow="Casson", viscosity=3.0, yield_stress=20.0, temperature_law="Andrade",
                 activation_energy=4e4)
    )  # fmt: skip
    assert known.yield_stress(280.0) == pytest.approx(20.0 * known.ratio(280.0), rel=1e-12)
    assert known.ratio(280.0) > 1.5
