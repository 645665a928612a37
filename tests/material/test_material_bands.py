"""How well a material read at several temperatures is known there."""

import math

import numpy as np
import pytest

from balltravel import with_values
from balltravel.material.model import material_model, of_the_law
from balltravel.material.viscosity_reading import ViscosityReading

WARM, COLD = 296.15, 283.15


def material(story, readings, flow="Newtonian", law="Andrade", **more):
    changes = {
        "material.viscosity": None,
        "material.flow": flow,
        "material.readings": tuple(readings),
        "material.temperature": WARM,
        "material.temperature_law": law,
        **{f"material.{key}": value for key, value in more.items()},
    }
    return with_values(story("primer"), changes).material


def share(kelvin, cold=COLD):
    """Of the way from the warm to the cold reading, by Andrade."""
    return (1.0 / kelvin - 1.0 / WARM) / (1.0 / cold - 1.0 / WARM)


@pytest.mark.parametrize("kelvin", [WARM, 290.0, COLD, 278.0, 301.0])
def test_between_two_newtonian_readings_the_band_is_that_of_a_line_through_them(story, kelvin):
    """ln mu is (1 - f) of the one and f of the other, whose errors are independent."""
    two = (
        ViscosityReading(5.0, None, WARM, 0.03, "a"),
        ViscosityReading(5.0, None, WARM, 0.03, "b"),
        ViscosityReading(9.0, None, COLD, 0.05, "c"),
    )
    f = share(kelvin)
    expected = math.hypot((1.0 - f) * 0.03 / math.sqrt(2.0), f * 0.05)
    known = material_model(material(story, two))
    assert known.band([1.0, 1e3], kelvin) == pytest.approx([expected] * 2, rel=1e-6)


def test_a_law_by_an_energy_has_a_band_at_its_own_temperature_alone(story):
    one = material(story, [ViscosityReading(5.0, None, WARM, 0.03, "a")], activation_energy=4e4)
    assert material_model(one).band(10.0, WARM) == pytest.approx(0.03)
    assert material_model(one).band(10.0, COLD) is None
    assert material_model(story("primer").material).band(10.0, 293.15) is None


@pytest.mark.parametrize("law", ["Andrade", "ASTM D341"])
def test_the_band_at_another_temperature_is_the_scatter_of_laws_fitted_to_scattered_readings(story, law):
    """A Herschel-Bulkley material read at five rates warm and at one cold; 200 draws of readings, so within a
    sixth of the scatter at three standard deviations."""
    rates, draw = np.array([1.0, 5.0, 20.0, 100.0, 400.0]), np.random.default_rng(7)
    true = 40.0 / rates + 30.0 * rates**-0.55

    def read(spread):
        noise = np.exp(spread * draw.standard_normal(6))
        warm = [
            ViscosityReading(*pair, WARM, 0.01, "a") for pair in zip(true * noise[:5], rates, strict=True)
        ]
        cold = ViscosityReading(18.0 * noise[5] ** 2, 10.0, COLD, 0.02, "c")
        return material_model(material(story, [*warm, cold], "Herschel-Bulkley", law))

    at = (30.0, 288.15)
    drawn = [math.log(float(read(0.01).viscosity(*at))) for _ in range(200)]
    assert float(read(0.0).band(*at)) == pytest.approx(np.std(drawn), rel=1.0 / 6.0)


def test_the_law_is_of_the_worked_freshest_readings_of_the_temperature_that_has_most(story):
    readings = story("mastic_by_readings").material.readings
    assert of_the_law(story("mastic_by_readings").material) == readings[:5]
    assert of_the_law(story("primer").material) == ()
