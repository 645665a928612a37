"""The file of a check's own table: what balltravel check-table writes and a scenario names.

Finished solves are kept in the user's cache under the digest of their shape, so that a run that was killed
goes on from there and an equal shape is never solved twice.
"""

import io
import math
import os
from contextlib import suppress
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from balltravel.closures.own.record import CheckTable
from balltravel.files.appended import append, appended_bytes
from balltravel.files.read_write import LARGEST_SCENARIO, FileError, companion_bytes, open_lazily, unsealed
from balltravel.scenario.arguments import refused
from balltravel.scenario.model import ScenarioError

if TYPE_CHECKING:
    import xarray

Row = tuple[float, ...]

WHAT = "own solves of a ball check, for a scenario's table"
FUNCTIONS = {
    "Rqq": ("mu/r^3", "pressure drop over the flow past the held ball"),
    "Rqw": ("mu/r", "pressure drop over the ball's speed, and force over the flow"),
    "S": ("mu r", "force over the speed of a ball at no pressure drop"),
    "Mqq": ("rho/r", "inertia of the liquid, of the flow"),
    "Mqw": ("rho r", "inertia of the liquid, of flow and ball"),
    "Mww": ("rho r^3", "inertia of the liquid, of the ball"),
}
"""Columns of a table: unit, with r the radius of the circle of contact, and meaning."""

SIZES = CheckTable._fields[1:-1]


def dataset_of(table: CheckTable, profile: str) -> "xarray.Dataset":
    """A table as it is written; ``profile``: the sizes or the drawing that it was made of, in words."""
    import xarray

    from balltravel import __version__

    lift, *columns = (list(column) for column in zip(*table.rows, strict=True))
    values = {
        name: ("lift", column, {"units": unit, "long_name": meaning})
        for column, (name, (unit, meaning)) in zip(columns, FUNCTIONS.items(), strict=True)
    }
    lifts = ("lift", lift, {"units": "r", "long_name": "lift over the radius of the circle of contact"})
    sizes = {name: getattr(table, name) for name in SIZES}
    about = {
        "what": WHAT,
        "balltravel_version": __version__,
        "digest": table.digest,
        "profile": profile,
        "units": "contact [m], half_angle [rad], all else over the radius of the circle of contact, contact",
    }
    return xarray.Dataset(values, {"lift": lifts}, {**about, **sizes})


@lru_cache(maxsize=16)
def table_from(data: bytes) -> CheckTable:
    """The table in the bytes of a file; raises ValueError for what is none, with the reason."""
    with open_lazily(io.BytesIO(unsealed(data))) as opened:
        held = opened.load()
    if held.attrs.get("what") != WHAT:
        raise ValueError("a result of this program, but no table of a check")
    columns = [held["lift"], *(held[name] for name in FUNCTIONS)]
    rows = tuple(zip(*(column.values.tolist() for column in columns), strict=True))
    sizes = {name: float(held.attrs[name]) for name in SIZES}
    return CheckTable(digest=str(held.attrs["digest"]), rows=rows, **sizes)


def profile_text(path: str) -> str:
    """The text of a profile's file; raises ScenarioError."""
    allowed = f"a CSV text in UTF-8 of at most {LARGEST_SCENARIO // 1024} kB"
    try:
        return companion_bytes(Path(path), os.path.abspath(path)).decode("utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no text in UTF-8"
        raise refused(path, reason, allowed, "--profile foot_valve.csv") from None


def kept_rows(digest: str) -> dict[float, Row]:
    """Rows of a shape that were solved before, by their lift; a last line that was cut off counts as none."""
    path = _kept(digest)
    try:
        data = appended_bytes(path) if path else b""
    except ScenarioError:
        return {}
    rows: dict[float, Row] = {}
    for line in data[: data.rfind(b"\n") + 1].splitlines():
        with suppress(ValueError):
            row = tuple(map(float, line.split(b",")))
            if len(row) == 1 + len(FUNCTIONS) and all(map(math.isfinite, row)):
                rows[row[0]] = row
    return rows


def keep_row(digest: str, row: Row) -> None:
    """Keep a solve; where nothing can be kept it is not, and the run goes on."""
    path = _kept(digest)
    line = ",".join(map(repr, row)).encode() + b"\n"
    with suppress(FileError, ScenarioError):
        if path:
            append(path, lambda before: line if not before or before.endswith(b"\n") else b"\n" + line)


def _kept(digest: str) -> Path | None:
    """The file in the user's cache where rows of a shape are kept; None where there is no cache."""
    with suppress(OSError, RuntimeError):  # RuntimeError: a user without a home
        folder = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
        folder.mkdir(parents=True, exist_ok=True)
        for name in ("balltravel", "checks"):
            folder = folder / name
            folder.mkdir(mode=0o700, exist_ok=True)  # of the user alone: the compiled core lies there too
        return folder / f"{digest[:32]}.csv"
    return None


def rising(rows: dict[float, Row]) -> tuple[Row, ...]:
    """Rows by rising lift."""
    ordered = tuple(rows[lift] for lift in sorted(rows))
    assert all(a[0] < b[0] for a, b in pairwise(ordered))
    return ordered
