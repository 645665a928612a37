"""The core's law of a check beside the referee's at single points, of liquids that thin (model.md M5, M9a).

What may differ: the core's table of the viscosity (within 1e-6 of the law), and round-off.
"""

import numpy as np
import pytest
from referee.cases import SCENARIOS
from referee.mixtures import packings, strainer, tip
from referee.model import Model

from balltravel.core.check import Law, law
from balltravel.core.model import line_loss
from balltravel.core.narrow import narrow_flow
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
        Q, F = model.checks[n].law(dp, z, w, moving=False)
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


def parted(name):
    """The thinning material in a lower with a tip, worn packings, a strainer and fittings."""
    more = (*tip(4, 22, 8, "outlet.tip_length=3 mm"), *packings(80, 60))
    more += strainer(200, 2.5, "sharp entry", "elbow 90 screwed", "ball valve reduced")
    return read_scenario(SCENARIOS / "elastomer_thinning.toml", [*MATERIALS[name], *more])


@pytest.mark.parametrize("name", [name for name in MATERIALS if name != "cone"])
def test_tip_packings_and_line_pass_as_much_of_a_liquid_that_thins(within, name):
    """Tip and packings by the flow under a drop, hoses with strainer and fittings by the loss at a flow: from
    a hundredth of the mean flow on, where the core's table of the hose is within 1e-6 of its law."""
    scenario, rng = parted(name), np.random.default_rng(11)
    p, model = core_parameters(scenario), Model(scenario)
    material, mean = as_record(p.material), model.A_c * model.S * model.f
    narrow = ((p.outlet.tip, model.tip), (p.piston_packing, model.packing), (p.rod_packing, model.rod))
    lines = ((p.suction, model.line), (p.outlet.line, model.hose))
    found = []
    for size in np.exp(rng.uniform(np.log(1e-2), np.log(3.0), 100)) * rng.choice([-1, 1], 100):
        for core, other in narrow:
            dp = 1e7 * size
            flow = other.flow(dp)
            found.append(narrow_flow(as_record(core), material.rheology, dp)[0] / flow - 1)
        for core, other in lines:
            found.append(line_loss(as_record(core), material, mean * size)[0] / other.loss(mean * size) - 1)
    print(f"{name}: tip, packings and lines within {np.abs(found).max():.1e} at {len(found)} points")
    within(found, TABLE)
