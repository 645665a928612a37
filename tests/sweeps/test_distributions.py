"""Samples follow the distributions that they are drawn from, evenly, and the same for the same seed."""

import numpy as np
import pytest
from scipy import stats

from balltravel import ScenarioError, distributions, sweep

from ..cli.test_light import loaded_by
from ..helpers.lowers import scenario

VISCOSITY, RATE = "material.viscosity", "drive.cycle_rate"
METHODS = ("sobol", "latin hypercube", "random")
OF = {VISCOSITY: ("100 cP", 10.0, "log"), RATE: stats.norm(0.5, 0.05), "suction.lift": (0.0, "1 m")}


@pytest.mark.parametrize("method", METHODS)
def test_each_key_follows_its_distribution_and_is_independent_of_the_others(method):
    """Kolmogorov and Smirnov, at 1 in 1000; a correlation of 4096 independent pairs is below 0.06 but once in
    10 000."""
    drawn = distributions(OF, 4096, method=method, seed=3)
    assert stats.kstest(np.log10(drawn[VISCOSITY]), stats.uniform(-1.0, 2.0).cdf).pvalue > 1e-3
    assert stats.kstest(drawn[RATE], OF[RATE].cdf).pvalue > 1e-3
    assert stats.kstest(drawn["suction.lift"], stats.uniform(0.0, 1.0).cdf).pvalue > 1e-3
    assert np.abs(np.corrcoef(list(drawn.values())) - np.eye(3)).max() < 0.06


@pytest.mark.parametrize("method", ["sobol", "latin hypercube"])
def test_points_that_are_spread_evenly_have_one_in_each_share(method):
    drawn = distributions({"suction.lift": (0.0, 1.0), VISCOSITY: (1.0, 2.0)}, 64, method=method)
    for low, values in ((0.0, drawn["suction.lift"]), (1.0, drawn[VISCOSITY])):
        assert sorted(np.floor(64.0 * (values - low))) == list(range(64))


@pytest.mark.parametrize("method", METHODS)
def test_a_seed_gives_the_same_values_and_another_others(method):
    first, again, other = (distributions(OF, 16, method=method, seed=seed) for seed in (1, 1, 2))
    assert all((first[key] == again[key]).all() for key in OF)
    assert all((first[key] != other[key]).any() for key in OF)


@pytest.mark.parametrize(
    ("of", "arguments", "words"),
    [
        (OF, {"cases": 1000}, "power of two"),
        (OF, {"cases": 1000}, "example: 512 or 1024"),
        (OF, {"cases": 0}, "cases: "),
        (OF, {"cases": 8, "method": "halton"}, "method: "),
        (OF, {"cases": 8, "seed": -1}, "seed: "),
        ({}, {"cases": 8}, "no key given"),
        ({VISCOSITY: 5.0}, {"cases": 8}, VISCOSITY),
        ({VISCOSITY: (2.0, 1.0)}, {"cases": 8}, "low below high"),
        ({"suction.lift": (-1.0, 1.0, "log")}, {"cases": 8}, "above zero"),
        ({VISCOSITY: (1.0, 2.0, "lin")}, {"cases": 8}, VISCOSITY),
        ({VISCOSITY: ("1 mm", "2 Pa.s")}, {"cases": 8}, "another kind"),
        ({"material.viscosty": (1.0, 2.0)}, {"cases": 8}, "did you mean"),
        ({"shims.below": (1, 2)}, {"cases": 8}, "shims.below"),
    ],
)
def test_what_cannot_be_drawn_is_refused(of, arguments, words):
    with pytest.raises(ScenarioError) as caught:
        distributions(of, **arguments)
    assert words in str(caught.value)


def test_samples_are_run_as_they_were_drawn():
    drawn = distributions({VISCOSITY: (1.0, 5.0), RATE: (0.2, 0.5)}, 4, seed=5)
    data = sweep(scenario(), samples=drawn)
    assert data.material_viscosity.values.tolist() == drawn[VISCOSITY].tolist()
    assert data.fill_fraction.dims == ("case",)


def test_a_tail_beyond_the_limits_of_its_key_is_refused_before_anything_runs():
    with pytest.raises(ScenarioError) as caught:
        sweep(scenario(), samples=distributions({RATE: stats.norm(0.1, 0.2)}, 64))
    assert all(fault.key == RATE for fault in caught.value.faults)


def test_random_samples_load_no_scipy():
    code = (
        "import balltravel\nballtravel.distributions({'material.viscosity': (1.0, 2.0)}, 8, method='random')"
    )
    assert "scipy" not in loaded_by(code)[0]
