"""A thinning mastic and a Newtonian one of equal viscosity at rest get different travels, for they are not
equal at the seat."""

from pathlib import Path

import pytest

from balltravel import read_scenario, recommend, with_values
from balltravel.estimate.suction_losses import check_loss, peak_flow
from balltravel.material.model import material_model
from balltravel.setup.parameters import core_parameters

ROOT = Path(__file__).parents[2]


def test_equal_at_rest_they_get_different_travels_for_their_viscosity_at_the_seat():
    """The thinning one fills at the shortest travel; the Newtonian one starves at all and asks for the
    longest."""
    newtonian = with_values(read_scenario(ROOT / "scenarios" / "mastic.toml"), {"material.viscosity": 20.0})
    thinning = with_values(
        newtonian,
        {
            "material.flow": "Carreau",
            "material.thinning_exponent": 0.6,
            "material.thinning_onset": 0.5,
            "material.least_viscosity": 0.1,
        },
    )
    kelvin = newtonian.material.temperature
    at_rest = [float(material_model(s.material).viscosity(1e-6, kelvin)) for s in (newtonian, thinning)]
    assert abs(at_rest[0] / at_rest[1] - 1.0) < 1e-9
    loss = [check_loss(p, peak_flow(p))[0] for p in map(core_parameters, (newtonian, thinning))]
    assert loss[0] > 5.0 * loss[1]
    starved, filled = (recommend(s, draws=0) for s in (newtonian, thinning))
    assert starved.recommended is None
    assert starved.best_available.ball_travel == pytest.approx(9e-3)
    assert filled.recommended.ball_travel == 2e-3
