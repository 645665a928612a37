"""The core's law of a check beside the referee's at single points, of liquids that thin (model.md M5, M9a).

What may differ: the core's table of the viscosity (within 1e-6 of the law), and round-off.
"""

import numpy as np
import pytest
from referee.cases import SCENARIOS
from referee.model import Model

from balltravel.core.check import Law, law
from balltravel.core.records import as_record
from balltravel.files.read_write import read_scenario
from balltravel.setup.parameters import core_parameters

TABLE = 1e-6
POINTS = 1000
MATERIALS: dict[str, tuple[str, ...]] = {
    "elastomer": (),
    "much yield stress": ("material.thinning_exponent=0.3", "material.yield_stress=2000 Pa"),
    "Bingham": ("material.thinning_exponent=1", "material.yield_stress=200 Pa"),
    "no yield stress": ("material.thinning_exponent=0.3", "material.yield_stress=0 Pa"),
    "cone": (
        'inlet_check.seat="cone"', "inlet_check.seat_half_angle=45 deg",
        "inlet_check.seat_diameter=18 mm", "inlet_check.seat_mouth_diameter=25 mm",
    ),
}  # fmt: skip
STEEP = (
    ("Bingham", 0, 7.00880857e-07, -2.66911396e-04, 2.88746382e03),
    ("cone", 1, 1.17063985e-03, 6.49441129e-02, -5.00358692e03),
    ("elastomer", 1, 4.924489e-03, 2.8530524e-03, 6.4145802e02),
    ("no yield stress", 1, 3.2572455e-03, 3.0020809e-01, 1.8340621e03),
)
"""Material, check, lift [m], ball speed [m/s], drop [Pa]: the flow past the edge is near 0, where the stress
rises steeply on both sides and Newton's method jumps from one to the other."""


def apart(scenario, points):
    """Differences of flow and of force, over the sizes of their terms, at (check, z, w, dp)."""
    p, model = core_parameters(scenario), Model(scenario)
    checks, material = [as_record(c) for c in (p.inlet, p.piston)], as_record(p.material)
    found = []
    for n, z, w, dp in points:
        out, area = as_record(Law()), model.checks[n].A_s
        law(checks[n], material, z, w, dp, out)
        Q, F = model.checks[n].law(dp, z, w)
        found.append(abs(out.flow - Q) / (area * abs(w) + abs(Q)))
        found.append(abs(out.force - F) / (area * abs(dp) + abs(F)))
    return np.array(found)


def scenario_of(name):
    return read_scenario(SCENARIOS / "elastomer_thinning.toml", list(MATERIALS[name]))


@pytest.mark.parametrize("name", MATERIALS)
def test_flow_and_force_are_those_of_the_series_of_edge_and_cage(within, name):
    scenario, rng = scenario_of(name), np.random.default_rng(7)
    travels = (scenario.inlet_travel, scenario.piston_check.travel)

    def either(low, high):
        return float(rng.choice([-1, 1]) * np.exp(rng.uniform(np.log(low), np.log(high))))

    points = [
        (n, travels[n] * abs(either(1e-3, 1.0)), either(1e-5, 0.5), either(1.0, 1e5))
        for n in rng.integers(0, 2, POINTS)
    ]
    found = apart(scenario, points)
    print(f"{name}: flow and force within {found.max():.1e} of their terms at {POINTS} points")
    within(found, TABLE)


@pytest.mark.parametrize("point", STEEP, ids=[one[0] for one in STEEP])
def test_a_flow_near_none_past_the_edge_is_found(point):
    assert apart(scenario_of(point[0]), [point[1:]]).max() <= TABLE
