"""A strainer of holes in the suction line: what viscosity takes in it."""

import math

import pytest

from balltravel import ScenarioError
from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.estimate.shear_rates import places
from balltravel.material.flow_laws import PowerLaw
from balltravel.material.pipe_flow import drop
from balltravel.setup.parameters import core_parameters
from balltravel.sweeps.cases import run_case

HOLES = (
    'suction.strainer="holes"',
    "suction.strainer_holes=50",
    "suction.strainer_hole_diameter=4 mm",
    "suction.strainer_thickness=2 mm",
)
Q = 2e-4


def loss(scenario):
    p = core_parameters(scenario)
    return line_loss(as_record(p.suction), as_record(p.material), Q)


def test_a_newtonian_liquid_loses_poiseuille_and_sampson_in_each_hole(story):
    """128 mu t q/(pi d^4) + 24 mu q/d^3 with q = Q/N, beside the hose."""
    with_, without = loss(story("primer", *HOLES))[0], loss(story("primer"))[0]
    q, d, mu = Q / 50, 4e-3, 5.0
    assert with_ - without == pytest.approx(
        128.0 * mu * 2e-3 * q / (math.pi * d**4) + 24.0 * mu * q / d**3, rel=1e-12
    )


def test_a_power_law_loses_what_it_loses_in_pipes_of_that_length(story):
    """Rabinowitsch in N pipes; the mouths as 3 pi d/16 more length."""
    law = ("material.flow=power law", "material.viscosity=20 Pa.s", "material.thinning_exponent=0.5")
    with_, without = loss(story("primer", *law, *HOLES)), loss(story("primer", *law))
    length = 2e-3 + 3.0 * math.pi * 4e-3 / 16.0
    assert with_[0] - without[0] == pytest.approx(drop(PowerLaw(20.0, 0.5), 2e-3, length, Q / 50), rel=1e-6)
    # Of a power law the slope is n times the loss over the flow.
    assert with_[1] - without[1] == pytest.approx(0.5 * (with_[0] - without[0]) / Q, rel=1e-5)


def test_fewer_holes_fill_less_and_their_shear_rate_is_told(story):
    fills = [
        run_case(story("primer", *HOLES, f"suction.strainer_holes={n}")).metrics.fill_fraction
        for n in (200, 50, 10)
    ]
    assert fills[0] > fills[1] > fills[2]
    rates = {place.name: place.fastest for place in places(story("primer", *HOLES))}
    assert rates["strainer's holes"] == pytest.approx(
        rates["suction hose"] * (38.0 / 4.0) ** 3 / 50.0, rel=1e-12
    )


def test_the_keys_of_a_strainer_belong_to_one_with_holes(story):
    with pytest.raises(ScenarioError) as caught:
        story("primer", "suction.strainer_holes=50")
    assert 'only with suction.strainer = "holes"' in str(caught.value)
    with pytest.raises(ScenarioError) as caught:
        story("primer", 'suction.strainer="holes"')
    assert {fault.key for fault in caught.value.faults} == {
        "suction.strainer_holes", "suction.strainer_hole_diameter", "suction.strainer_thickness",
    }  # fmt: skip
