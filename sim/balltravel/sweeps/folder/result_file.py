"""The finished chunks of a sweep as one netCDF-4 file, written piece by piece, so that it needs no memory."""

import io
import math
import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from balltravel.files.read_write import netcdf_bytes, seal_file, whole_file
from balltravel.sweeps.columns import Columns, schema
from balltravel.units.printable import printable

if TYPE_CHECKING:
    import xarray as xr

Piece = tuple[tuple[slice | int, ...], tuple[int, ...], slice]
"""A block within an array of any number of dimensions: where, of which shape, and which cases those are."""


def write_result(
    path: Path, frame: "xr.Dataset", shape: Mapping[str, int], blocks: Iterable[tuple[int, Columns]]
) -> None:
    """Write a result as netCDF-4, whole or not at all, with a seal behind it as write_dataset sets one.

    frame: coordinates and attributes; shape: name -> size of each dimension, the last one running fastest
    over the cases; blocks: first case and numbers of each chunk. Raises OSError.
    """
    with whole_file(path) as file:
        file.write(netcdf_bytes(frame))
        guarded = _Guarded(file)
        _write_variables(guarded, shape, blocks)
        if guarded.failure is not None:
            raise guarded.failure
        seal_file(file)


def _write_variables(
    file: "_Guarded", shape: Mapping[str, int], blocks: Iterable[tuple[int, Columns]]
) -> None:
    import h5netcdf
    import h5py

    with h5netcdf.File(file, "r+") as data:
        for name, size in shape.items():
            if name not in data.dimensions:
                data.dimensions[name] = size
        for name, kind, attributes in schema():
            text = kind == "O"
            fill = math.nan if kind == "f8" else None
            made = data.create_variable(
                name, tuple(shape), h5py.string_dtype() if text else kind, fillvalue=fill
            )
            made.attrs.update(attributes)
        for start, columns in blocks:
            count = len(columns["status"])
            for where, form, cases in pieces(start, start + count, tuple(shape.values())):
                for name, values in columns.items():
                    data[name][where] = _fit(values[cases]).reshape(form)
            if file.failure is not None:
                return


def _fit(values: NDArray[Any]) -> NDArray[Any]:
    """Numbers as they are; of texts what the file can hold: no zero bytes, no halves of characters."""
    return np.array([printable(text) for text in values], object) if values.dtype == object else values


def pieces(start: int, stop: int, shape: tuple[int, ...], first: int = 0) -> Iterator[Piece]:
    """Cut the cases from ``start`` to before ``stop`` into parts that are boxes in an array of that shape;
    ``first``: the number of the first of them among all that are to be written."""
    if len(shape) <= 1:
        cases = slice(first, first + stop - start)
        yield ((slice(start, stop),), (stop - start,), cases) if shape else ((), (), cases)
        return
    row = math.prod(shape[1:])
    while start < stop:
        whole = (stop - start) // row if start % row == 0 else 0
        end = start + whole * row if whole else min(stop, (start // row + 1) * row)
        if whole:
            where = (slice(start // row, start // row + whole), *(slice(None) for _ in shape[1:]))
            yield where, (whole, *shape[1:]), slice(first, first + end - start)
        else:
            within = start // row * row
            for inner, form, cases in pieces(start - within, end - within, shape[1:], first):
                yield (start // row, *inner), form, cases
        first, start = first + end - start, end


class _Guarded(io.RawIOBase):
    """A file for the HDF5 library, which crashes when a write fails: it never learns of one.

    The first failure is kept; what the disk does not take from then on stays in memory, so that the library
    reads what it wrote until it is told to close.
    """

    def __init__(self, file: Any) -> None:
        file.flush()
        self._file = file.raw  # a buffer would fail later, within a read
        self._at = 0
        self._kept: list[tuple[int, bytes]] = []
        self.failure: OSError | None = None

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """As a file's; what is kept counts as written."""
        if whence == os.SEEK_END:
            ends = [at + len(data) for at, data in self._kept]
            offset += max([self._file.seek(0, os.SEEK_END), *ends])
        elif whence == os.SEEK_CUR:
            offset += self._at
        self._at = offset
        return offset

    def readinto(self, room: Any) -> int:
        """As a file's, but that what is not there reads as zeros."""
        view = memoryview(room).cast("B")
        self._file.seek(self._at)
        got = self._file.readinto(view)
        view[got:] = bytes(len(view) - got)
        for at, data in self._kept:
            first, last = max(at, self._at), min(at + len(data), self._at + len(view))
            if first < last:
                view[first - self._at : last - self._at] = data[first - at : last - at]
        self._at += len(view)
        return len(view)

    def write(self, data: Any) -> int:
        """As a file's, but that it takes everything."""
        view = memoryview(data).cast("B")
        done = 0
        try:
            self._file.seek(self._at)
            while self.failure is None and done < len(view):
                done += self._file.write(view[done:])
        except OSError as error:
            self.failure = error
        if done < len(view):
            self._kept.append((self._at + done, bytes(view[done:])))
        self._at += len(view)
        return len(view)

    def flush(self) -> None:
        """Nothing, for nothing is buffered."""

    def truncate(self, size: int | None = None) -> int:
        """As a file's."""
        if self.failure is None:
            try:
                return int(self._file.truncate(size))
            except OSError as error:
                self.failure = error
        return size or 0
