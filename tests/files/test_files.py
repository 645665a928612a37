"""Results are written whole or not at all, and a damaged file is noticed."""

import random
import subprocess
import sys

import h5py
import numpy as np
import pytest
import xarray as xr

from balltravel.files.read_write import FileError, read_dataset, write_dataset


@pytest.fixture
def dataset():
    time = xr.DataArray(np.linspace(0.0, 1.0, 5000), dims="time", attrs={"units": "s", "long_name": "time"})
    lift = xr.DataArray(np.sqrt(time.values), dims="time", attrs={"units": "m", "long_name": "lift"})
    return xr.Dataset({"lift": lift}, coords={"time": time}, attrs={"title": "invented"})


def test_what_is_written_is_read_back_identically(dataset, tmp_path):
    write_dataset(dataset, tmp_path / "run.nc")
    assert read_dataset(tmp_path / "run.nc").identical(dataset)
    assert [path.name for path in tmp_path.iterdir()] == ["run.nc"]


def test_an_older_result_is_replaced(dataset, tmp_path):
    write_dataset(dataset, tmp_path / "run.nc")
    write_dataset(dataset * 2, tmp_path / "run.nc")
    assert float(read_dataset(tmp_path / "run.nc").lift[-1]) == 2.0


def test_a_missing_folder_and_a_folder_as_target_are_told(dataset, tmp_path):
    with pytest.raises(FileError, match="cannot be written: No such file or directory"):
        write_dataset(dataset, tmp_path / "nowhere" / "run.nc")
    with pytest.raises(FileError, match="it is a folder"):
        write_dataset(dataset, tmp_path)


def test_a_full_disk_leaves_the_older_result_and_no_temporary_file(dataset, tmp_path):
    resource = pytest.importorskip("resource")
    assert resource
    write_dataset(dataset, tmp_path / "run.nc")
    before = (tmp_path / "run.nc").read_bytes()
    code = (
        "import resource, sys, numpy as np, xarray as xr\n"
        "from balltravel.files.read_write import FileError, write_dataset\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))\n"
        "try:\n    write_dataset(xr.Dataset({'a': ('x', np.arange(50_000.0))}), sys.argv[1])\n"
        "except FileError as error:\n    print(error)\n    sys.exit(7)\n"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "run.nc")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 7, done.stderr
    assert "cannot be written" in done.stdout
    assert (tmp_path / "run.nc").read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["run.nc"]


@pytest.mark.parametrize("kept", [0, 1, 100, 3000, 0.5, 0.99])
def test_a_truncated_result_is_noticed(dataset, tmp_path, kept):
    path = tmp_path / "run.nc"
    write_dataset(dataset, path)
    data = path.read_bytes()
    path.write_bytes(data[: kept if isinstance(kept, int) else int(kept * len(data))])
    with pytest.raises(FileError, match="cannot be read"):
        read_dataset(path)


def test_a_flipped_bit_is_noticed(dataset, tmp_path):
    path = tmp_path / "run.nc"
    write_dataset(dataset, path)
    whole, chance = path.read_bytes(), random.Random(7)
    for _ in range(150):
        data = bytearray(whole)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        path.write_bytes(bytes(data))
        with pytest.raises(FileError, match=r"cannot be read: (damaged|no result)"):
            read_dataset(path)


def test_other_readers_open_a_result(dataset, tmp_path):
    """The seal stands behind the netCDF data, where they do not look."""
    write_dataset(dataset, tmp_path / "run.nc")
    with xr.open_dataset(tmp_path / "run.nc", engine="h5netcdf") as opened:
        assert opened.identical(dataset)
    with h5py.File(tmp_path / "run.nc", "r") as file:
        assert np.array_equal(file["lift"][:], dataset.lift.values)


def test_results_keep_text_missing_numbers_and_lists_of_attributes(tmp_path):
    names = xr.DataArray(["a", "bc"], dims="case")
    values = xr.DataArray([np.nan, 1.0], dims="case", attrs={"levels": [1, 2], "scale": 0.1, "flag": 3})
    flags = xr.DataArray([True, False], dims="case")
    dataset = xr.Dataset({"name": names, "value": values, "flag": flags}, attrs={"text": "two\nlines µ"})
    write_dataset(dataset, tmp_path / "run.nc")
    assert read_dataset(tmp_path / "run.nc").equals(dataset)


def test_a_file_of_another_program_is_refused(dataset, tmp_path):
    dataset.to_netcdf(tmp_path / "other.nc", engine="h5netcdf")
    with pytest.raises(FileError, match="no result of this program"):
        read_dataset(tmp_path / "other.nc")


def test_a_missing_result_is_told(tmp_path):
    with pytest.raises(FileError, match=r"none\.nc: cannot be read"):
        read_dataset(tmp_path / "none.nc")
