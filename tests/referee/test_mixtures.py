"""The core against the second solver: lowers with a motor, a tip, worn packings, dissolved gas, a strainer.

The second cycle from rest, as in test_referee.py; with a motor when each segment of its stroke ends, too.
"""

import pytest
from referee.comparison import compare, verdict
from referee.mixtures import BY_PART, RANDOM, by_part, mixture, thinning

SLOW = (
    "hydraulic motor, no dwell, 20 kg", "air motor", "air motor dives through a void", "air motor at a tip",
)  # fmt: skip
QUICK = [name for name in BY_PART if name not in SLOW]


@pytest.mark.parametrize("name", QUICK)
def test_the_core_agrees_with_the_referee_on_each_part(within, name):
    verdict(within, name, compare(by_part(name), 1e-9, 1e-8))


@pytest.mark.soak
@pytest.mark.parametrize("name", SLOW)
def test_the_core_agrees_with_the_referee_on_air_motors_and_a_heavy_piston(within, name):
    verdict(within, name, compare(by_part(name), 1e-9, 1e-8))


@pytest.mark.soak
@pytest.mark.parametrize("number", range(RANDOM))
def test_the_core_agrees_with_the_referee_on_mixtures(within, number):
    verdict(within, str(number), compare(mixture(number), 1e-9, 1e-8))


@pytest.mark.soak
def test_the_core_agrees_with_the_referee_on_tip_packings_and_strainer_of_a_material_that_thins(within):
    verdict(within, "thinning", compare(thinning(), 1e-9, 1e-8))
