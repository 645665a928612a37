"""The only module that opens files: scenario files in, results in and out."""

import hashlib
import io
import os
import re
import stat
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from balltravel.files.document import read_entries
from balltravel.files.week import WeekMaterial, parse_scenario
from balltravel.scenario.arguments import path_given, refused, settings_given
from balltravel.scenario.model import Scenario, ScenarioError
from balltravel.scenario.ranges import UNKNOWN
from balltravel.scenario.rules.all import Fault
from balltravel.units import kind_of

if TYPE_CHECKING:
    import xarray

LARGEST_SCENARIO = 256 * 1024
RESULT = '"result.nc"'
SEAL = b"\nresult of balltravel, sha256 of all before: "
ERROR = "error"
"""The variable of a sweep that says in a sentence what went wrong with a case."""
PIECE = 1 << 20
"""Bytes of a large file that are looked at in one go."""


class FileError(Exception):
    """A file that cannot be written or read; the message names the file and the reason."""


@dataclass(frozen=True)
class ScenarioFile:
    """A scenario, the values to sweep [SI], the text it came from with its digest, the materials of its
    week, its own one first, and the units in which it asks to show results; empty where it does not say."""

    scenario: Scenario
    sweep: dict[str, list[Any]]
    text: str
    sha256: str
    week: tuple[WeekMaterial, ...] = ()
    units: str = ""


def read_scenario_file(
    path: str | Path, settings: Sequence[str] = (), grid: Sequence[str] = ()
) -> ScenarioFile:
    """Scenario and sweep of a TOML file, with the text for provenance.

    ``settings``: ``"table.key=value"``; ``grid``: ``"table.key=[values]"``; both are stronger than the file.
    ``sha256`` is of the file's bytes. Raises ScenarioError with every fault.
    """
    path, settings = path_given(path), settings_given(settings)
    data = scenario_bytes(path)
    text = _decoded(data, str(path))
    scenario, sweep, week, units = parse_scenario(
        text, str(path), settings, grid, lambda name: companion_bytes(path, name)
    )
    return ScenarioFile(scenario, sweep, text, hashlib.sha256(data).hexdigest(), week, units)


def reader_of_file(
    given: ScenarioFile, path: str | Path, settings: Sequence[str]
) -> Callable[[Sequence[str]], Scenario]:
    """Reads a file that has been read once more with these settings and further ones, without opening it."""

    def read(further: Sequence[str]) -> Scenario:
        read_companion = lambda name: companion_bytes(Path(path), name)  # noqa: E731
        return parse_scenario(given.text, str(path), [*settings, *further], (), read_companion).scenario

    return read


def as_written(given: ScenarioFile, path: str | Path, settings: Sequence[str] = ()) -> dict[str, str]:
    """The text of every value that was written as text (``"3/16 in"``), by dotted key; of an array its
    members with a comma between. ``settings``: those that the file was read with."""
    raw = {key: entry.raw for key, entry in read_entries(given.text, str(path), settings).entries.items()}
    arrays = {key: value if isinstance(value, list) else [value] for key, value in raw.items()}
    return {
        key: ", ".join(members)
        for key, members in arrays.items()
        if members and all(isinstance(member, str) and member != UNKNOWN for member in members)
    }


def read_scenario(path: str | Path, settings: Sequence[str] = ()) -> Scenario:
    """Scenario of a TOML file; see read_scenario_file."""
    return read_scenario_file(path, settings).scenario


def read_week(path: str | Path, settings: Sequence[str] = ()) -> tuple[WeekMaterial, ...]:
    """All materials of a TOML file's week, its own one first; see read_scenario_file."""
    return read_scenario_file(path, settings).week


def read_text(path: str | Path) -> str:
    """The text of another TOML file of the user; raises ScenarioError for what is no text."""
    path = path_given(path, '"today.toml"')
    return _decoded(scenario_bytes(path), str(path))


def scenario_bytes(path: Path) -> bytes:
    """What a file holds, if it is a plain file and not too large; raises ScenarioError."""
    try:
        plain = path.is_file() or not path.exists()
        data = b""
        if plain:
            with path.open("rb") as file:
                data = file.read(LARGEST_SCENARIO + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        raise _unusable(path, getattr(error, "strerror", None) or str(error)) from None
    if not plain:
        raise _unusable(path, "not a plain file")
    if len(data) > LARGEST_SCENARIO:
        raise _unusable(path, f"larger than {LARGEST_SCENARIO // 1024} kB", 1)
    return data


def companion_bytes(path: Path, name: str) -> bytes:
    """What a file holds that a scenario names, relative to the scenario's own folder; raises OSError or
    ValueError."""
    other = path.parent / name
    if other.exists() and not other.is_file():
        raise OSError(0, "not a plain file")
    with other.open("rb") as file:
        data = file.read(LARGEST_SCENARIO + 1)
    if len(data) > LARGEST_SCENARIO:
        raise OSError(0, f"larger than {LARGEST_SCENARIO // 1024} kB")
    return data


def _unusable(path: Path, given: str, line: int = 0) -> ScenarioError:
    """The error of a file that is no scenario at all; ``line`` 0: the file as a whole."""
    where = f"{path}:{line}" if line else f"{path}"
    allowed = f"a TOML text file in UTF-8 of at most {LARGEST_SCENARIO // 1024} kB"
    return ScenarioError([Fault("", given, allowed, "scenarios/primer.toml", where, line)])


def _decoded(data: bytes, name: str) -> str:
    """Text of the file; a byte order mark and Windows line ends are accepted."""
    if b"\0" in data:
        raise _unusable(Path(name), "a binary file", data[: data.index(b"\0")].count(b"\n") + 1)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _unusable(Path(name), "not UTF-8", data[: error.start].count(b"\n") + 1) from None
    return text.replace("\r\n", "\n")


def write_dataset(dataset: "xarray.Dataset", path: str | Path) -> None:
    """Write a result as netCDF, whole or not at all; see write_whole.

    A digest of its bytes is set at its end, so that read_dataset notices a changed bit.
    Raises FileError; an older file of that name then stays as it was. ScenarioError for what is no Dataset or
    no path.
    """
    path = path_given(path, RESULT)
    if not callable(getattr(dataset, "to_netcdf", None)):
        allowed = "a Dataset, as balltravel.simulate and balltravel.sweep make it"
        raise refused("dataset", kind_of(dataset), allowed, "balltravel.simulate(scenario)")
    try:
        write_whole(_netcdf(dataset), path)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name or in an attribute
        raise file_error("written", path, error) from None


def write_whole(data: bytes | memoryview, path: str | Path) -> None:
    """Write a file whole or not at all; see whole_file."""
    with whole_file(path) as file:
        file.write(data)


def write_or_tell(data: bytes | memoryview, path: str | Path) -> None:
    """As write_whole; raises FileError, which names the file and says why."""
    try:
        write_whole(data, path)
    except (OSError, ValueError) as error:
        raise FileError(f"{path}: cannot be written: {getattr(error, 'strerror', None) or error}") from None


@contextmanager
def whole_file(path: str | Path) -> Iterator[IO[bytes]]:
    """A file to write and read, which gets its name when the block ends well, and else leaves nothing:
    temporary file ``.NAME.*.part`` beside it, fsync, rename.

    A link is followed: the file that it leads to is replaced, and keeps its rights.
    Raises OSError, or ValueError for a name with a zero byte; an older file then stays as it was.
    """
    target, rights = _target(path)
    descriptor, temporary = _temporary_beside(target)
    try:
        with os.fdopen(descriptor, "w+b") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(rights)
        temporary.replace(target)
        reach_the_disk(target.parent)
    finally:
        temporary.unlink(missing_ok=True)


def check_target(path: str | Path) -> None:
    """Find out before a long run whether write_whole could write there; raises FileError."""
    try:
        descriptor, temporary = _temporary_beside(_target(path)[0])
    except (OSError, ValueError) as error:
        raise file_error("written", Path(path), error) from None
    os.close(descriptor)
    temporary.unlink()


def _target(path: str | Path) -> tuple[Path, int]:
    """The file that a name leads to, and the rights that it has or is to get; raises OSError for one that is
    no plain file or must not be written."""
    target = Path(os.path.realpath(path))
    if os.name == "nt" and not name_on_windows(target.name):
        raise OSError(0, "Windows has no files of that name")
    try:
        there = target.stat()
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return target, 0o666 & ~mask
    if stat.S_ISDIR(there.st_mode):
        raise IsADirectoryError(0, "it is a folder")
    if not stat.S_ISREG(there.st_mode):
        raise OSError(0, "it is no plain file")
    os.close(os.open(target, os.O_WRONLY))  # a file that is protected stays
    return target, stat.S_IMODE(there.st_mode) & 0o777


def name_on_windows(name: str) -> bool:
    """Whether Windows can have a file of that name in a folder: no device, none of its signs.

    Microsoft, Naming Files, Paths, and Namespaces (from memory).
    """
    stem = name.split(".")[0].rstrip().upper()
    device = stem in ("CON", "PRN", "AUX", "NUL") or re.fullmatch("(COM|LPT)[0-9\u00b9\u00b2\u00b3]", stem)
    signs = any(letter in '<>:"/\\|?*' or letter < " " for letter in name)
    return not (device or signs or name.endswith((".", " ")))


def _temporary_beside(target: Path) -> tuple[int, Path]:
    """An open new file in the same folder; a long name is cut, so that one that fits does not fail."""
    prefix = f".{target.name[:40]}."
    descriptor, name = tempfile.mkstemp(prefix=prefix, suffix=".part", dir=target.parent)
    return descriptor, Path(name)


def _netcdf(dataset: "xarray.Dataset") -> bytes:
    """The file's bytes, made in memory: on a full disk the HDF5 library crashes when the program ends.

    A seal is set behind them, which readers of netCDF do not look at (HDF5 keeps its own end of the file).
    """
    return sealed(netcdf_bytes(dataset))


def netcdf_bytes(dataset: "xarray.Dataset") -> bytes:
    """A Dataset as netCDF-4, without a seal. A cluster of dask to which this process may be connected has no
    part in it: xarray would ask its scheduler for a lock, by the name of what is in memory here."""
    dask = sys.modules.get("dask")
    buffer = io.BytesIO()
    with dask.config.set(scheduler="threads") if dask else nullcontext():
        dataset.to_netcdf(buffer, engine="h5netcdf")
    return buffer.getvalue()


def sealed(data: bytes) -> bytes:
    """The bytes and their seal behind them; see unsealed."""
    return data + _seal(data)


def _seal(data: bytes | memoryview) -> bytes:
    return SEAL + hashlib.sha256(data).hexdigest().encode() + b"\n"


def unsealed(data: bytes) -> bytes:
    """What stands before the seal; ValueError if there is none or the bytes are not those that were sealed.

    So no damaged byte reaches the HDF5 library, which can crash or never come back on one.
    """
    length = len(_seal(b""))
    contents, seal = data[:-length], data[-length:]
    if not seal.startswith(SEAL):
        raise ValueError("no result of this program, or cut short")
    if seal != _seal(contents):
        raise ValueError("damaged: its bytes do not match its digest")
    return contents


def seal_file(file: IO[bytes]) -> None:
    """Set the seal behind a file that is too large for the memory; raises OSError."""
    file.seek(0)
    seal = SEAL + hashlib.file_digest(file, "sha256").hexdigest().encode() + b"\n"  # type: ignore[arg-type]
    file.seek(0, os.SEEK_END)
    file.write(seal)


def is_sealed(path: Path) -> bool:
    """Whether a file is there whole, as it was sealed, found out piece by piece; raises OSError for one that
    cannot be read."""
    length = len(_seal(b""))
    try:
        file = path.open("rb")
    except FileNotFoundError:
        return False
    with file:
        left = os.fstat(file.fileno()).st_size - length
        digest = hashlib.sha256()
        while left > 0 and (piece := file.read(min(left, PIECE))):
            digest.update(piece)
            left -= len(piece)
        return left == 0 and file.read() == SEAL + digest.hexdigest().encode() + b"\n"


def reach_the_disk(parent: Path) -> None:
    """Make the folder's entry reach the disk, where the system lets one open a folder."""
    if hasattr(os, "O_DIRECTORY"):
        folder = os.open(parent, os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def file_error(verb: str, path: Path, error: BaseException) -> FileError:
    reason = getattr(error, "strerror", None) or next(iter(str(error).splitlines()), type(error).__name__)
    return FileError(f"{path}: cannot be {verb}: {reason}")


def read_dataset(path: str | Path) -> "xarray.Dataset":
    """A result, wholly in memory; raises FileError for a file that is missing, damaged or no result."""
    path = path_given(path, RESULT)
    try:
        contents = unsealed(path.read_bytes())
        with open_lazily(io.BytesIO(contents)) as opened:
            return opened.load()
    except (OSError, ValueError) as error:
        raise file_error("read", path, error) from None


def open_lazily(source: str | io.BytesIO) -> "xarray.Dataset":
    """A netCDF-4 file of which numbers and ``error`` are read when they are asked for.

    xarray by itself reads a variable of texts when it opens the file, and makes all texts as long as the
    longest: of a million cases, one with a sentence of a hundred letters takes 400 MB.
    """
    import xarray
    from xarray.backends import H5NetCDFStore

    store = H5NetCDFStore.open(source)
    opened = xarray.open_dataset(store, drop_variables=ERROR)
    texts = {name: texts for name, texts in store.get_variables().items() if name == ERROR}
    whole = opened.assign(texts)
    whole.set_close(opened.close)
    return whole
