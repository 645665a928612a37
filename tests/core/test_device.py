"""The kernels for a GPU: compiled without one where numba-cuda is installed, and what the host decides."""

import importlib.util
from types import SimpleNamespace

import numpy as np
import pytest

from balltravel.core import device
from balltravel.core.batch import make_outcome
from balltravel.core.records import handles_in, record_type
from balltravel.core.status import Status
from balltravel.scenario.model import ScenarioError
from balltravel.setup.cases import CaseMaker
from balltravel.setup.parameters import control_for, core_parameters
from balltravel.setup.ranges import ranges_parameters
from balltravel.sweeps.devices import CHUNKS_A_GPU, device_given
from balltravel.sweeps.grid import sweep

from ..helpers.lowers import scenario

without_numba_cuda = pytest.mark.skipif(
    importlib.util.find_spec("numba_cuda") is None, reason="numba-cuda (extra gpu) is not installed"
)


@without_numba_cuda
def test_the_kernel_for_a_gpu_compiles_from_the_same_sources(monkeypatch):
    """To PTX for compute capability 9.0. Records are read number by number, not byte by byte, and nothing
    is allocated."""
    import numba.cuda.dispatcher
    from numba.cuda import types
    from numba.cuda.np.numpy_support import from_dtype

    known = SimpleNamespace(compute_capability=(9, 0))
    monkeypatch.setattr(numba.cuda.dispatcher, "get_current_device", lambda: known)
    described = scenario()
    p = core_parameters(described)
    groups = (p, control_for(p), ranges_parameters(described))
    records = [from_dtype(record_type(group))[::1] for group in groups]
    whole = types.int64
    outcomes = from_dtype(record_type(make_outcome()))[::1]
    signature = types.void(*records, whole[::1], whole[::1], whole, whole, whole, outcomes)
    ptx, _ = device._cuda().compile_ptx(device.entry(), signature, cc=(9, 0))
    assert ptx.count(".entry ") == 1
    assert ptx.count("atom.") >= 1
    assert "malloc" not in ptx
    assert ptx.count("ld.f64") > 50 * ptx.count("ld.u8")


@pytest.fixture(scope="module")
def cases():
    changes = [
        {"material.viscosity": float(v), "drive.cycle_rate": r} for v in (3, 1, 2) for r in (0.5, 0.25)
    ]
    return CaseMaker(scenario()).make(changes)


def test_cases_are_sorted_so_that_neighbours_are_alike(cases):
    order = device.alike(cases.parameters)
    assert sorted(order) == list(range(6))
    sorted_ones = cases.parameters[order]
    thick, slow = sorted_ones["material"]["rheology"]["viscosity"], sorted_ones["drive"]["period"]
    assert thick.tolist() == [1.0, 1.0, 2.0, 2.0, 3.0, 3.0]
    assert slow.tolist() == [2.0, 4.0] * 3


def test_every_handle_of_a_record_is_known(cases):
    """The columns that are moved to a GPU are all that hold an address: five of the stroke, one of each
    check, and the flow curves."""
    handles = handles_in(cases.parameters, cases.like)
    assert len(handles) == 11
    assert all((column > 4096).all() for column in handles)


@pytest.mark.parametrize(
    ("status", "cycles", "most_rows", "left"),
    [
        (Status.OK, 3, 40_000, False),
        (Status.TOO_MANY_STEPS, 3, 40_000, True),
        (Status.TOO_MANY_STEPS, 3, 2048, False),
        (Status.TOO_MANY_EVENTS, 3, 40_000, True),
        (Status.TOO_MANY_EVENTS, 3, 2048, False),
        (Status.NOT_PERIODIC, 30, 40_000, False),
        (Status.NOT_PERIODIC, 12, 40_000, True),
        (Status.DRAWN_EMPTY, 1, 40_000, False),
    ],
)
def test_a_case_that_ended_for_want_of_room_is_left_to_the_host(status, cycles, most_rows, left):
    control = np.array([(most_rows, 30)], dtype=[("most_rows", "i8"), ("max_cycles", "i8")])
    outcomes = np.array([(status, cycles)], dtype=[("status", "i8"), ("cycles", "i8")])
    assert device.left_to_host(control, outcomes, 2048).tolist() == [left]


def test_a_device_of_another_name_or_a_gpu_that_is_not_there_is_refused():
    with pytest.raises(ScenarioError, match=r"device: 'tpu' given; allowed: cpu or gpu"):
        sweep(scenario(), {"drive.cycle_rate": [0.5]}, device="tpu")
    try:
        count = device.gpus()
    except device.NoGpuError:
        with pytest.raises(
            ScenarioError, match=r"device: gpu, but .*; allowed: a machine with an NVIDIA GPU"
        ):
            sweep(scenario(), {"drive.cycle_rate": [0.5]}, device="gpu")
    else:
        assert device_given("gpu", None).workers == CHUNKS_A_GPU * count
