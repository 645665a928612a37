"""A thread's runs share one workspace: what one leaves there changes nothing in the next."""

from pathlib import Path

import numpy as np
import pytest

from balltravel.files.read_write import read_scenario
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import run_core, run_stall

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("primer", "stain_by_air", "roof_elastomer_from_a_drum", "elastomer_thinning", "mastic")


def rows_of(name: str):
    run = run_core(core_parameters(read_scenario(SCENARIOS / f"{name}.toml")))
    return run.rows, run.events, run.clock


@pytest.mark.parametrize("before", NAMES)
def test_a_run_has_the_same_bits_after_any_other(before):
    first = {name: rows_of(name) for name in NAMES}
    air = core_parameters(read_scenario(SCENARIOS / "stain_by_air.toml"))
    run_stall(air, True)
    rows_of(before)
    for name in NAMES:
        for array, again in zip(first[name], rows_of(name), strict=True):
            np.testing.assert_array_equal(array, again)
        rows_of(before)
