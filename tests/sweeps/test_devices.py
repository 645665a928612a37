"""A sweep on another device: its folder is another study, and one that goes away flags nothing."""

import pytest

from balltravel import ScenarioError
from balltravel.core.device import NoGpuError
from balltravel.sweeps.folder.resumable import run_plan_into
from balltravel.sweeps.pools import GoneError

from ..helpers.plans import Viscosities, stand_in

RTOL, PLAN = 1e-4, Viscosities(50)


def test_a_folder_of_another_device_is_another_study(tmp_path):
    """Whose numbers may differ in the last digit."""
    run_plan_into(PLAN, tmp_path / "of", rtol=RTOL, compute=stand_in, device="gpu")
    with pytest.raises(ScenarioError, match="on a gpu"):
        run_plan_into(PLAN, tmp_path / "of", rtol=RTOL, compute=stand_in)


def no_gpu(*_):
    raise NoGpuError("no NVIDIA GPU with a driver is found on this machine")


def test_a_gpu_that_goes_away_ends_the_sweep_and_flags_nothing(tmp_path):
    with pytest.raises(GoneError, match="no NVIDIA GPU"):
        run_plan_into(PLAN, tmp_path / "of", rtol=RTOL, compute=no_gpu, workers=1)
    assert not list((tmp_path / "of").glob("*.npz"))
