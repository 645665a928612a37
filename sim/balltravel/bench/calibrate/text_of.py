"""The text of a scenario with the ranges that were learnt: all else stays, comments too."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from balltravel.bench.calibrate.ranges import Learnt, is_written
from balltravel.scenario.arguments import refused
from balltravel.units import to_text
from balltravel.units.spread import Spread

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Calibration

DIGITS = 4


def calibrated_text(text: str, calibration: "Calibration", day: date, source: str) -> str:
    """A scenario's text with ``{ likely = ..., within = ... }`` for every input that was learnt, what stood
    there in the comment, and above all when and from what (``source``) it was made.

    Raises ScenarioError where nothing was learnt that a scenario holds, and of keys that stand in no table.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    written = [item for item in calibration.inputs if is_written(item)]
    if not written:
        given = "nothing was learnt that a scenario's file holds"
        raise refused(
            "--out", given, "calibrate without --out", "balltravel calibrate FILE --observed today.toml"
        )
    document = tomlkit.parse(text)
    try:
        for item in written:
            _set(document, item, day)
    except (TOMLKitError, TypeError, AttributeError):
        given = "the scenario's keys stand in no tables of their own"
        raise refused("--out", given, 'tables as "[material]", their keys beneath', "[material]") from None
    return "\n".join([*_head(calibration, written, day, source), "", tomlkit.dumps(document)])


def _set(document: Any, item: Learnt, day: date) -> None:
    import tomlkit

    table_name, name = item.key.split(".")
    if table_name not in document:
        document.add(tomlkit.nl())
        document.add(table_name, tomlkit.table())
    table = document[table_name]
    before = table.get(name)
    was, said = "not in the file", ""
    if before is not None:
        was = before.as_string() if hasattr(before, "as_string") else str(before)
        said = before.trivia.comment.lstrip("# ").rstrip() if hasattr(before, "trivia") else ""
    value = tomlkit.inline_table()
    for key, number in range_written(item.after, item.dimension).items():
        value[key] = number
    table[name] = value
    told = f"calibrated {day}; before: {' '.join(was.split())}"
    table[name].comment(f"{said}; {told}" if said else told)


def range_written(spread: Spread, dimension: str) -> dict[str, Any]:
    """A normal law as a file has it."""
    middle, reach = spread.numbers
    likely: Any = to_text(middle, dimension, DIGITS) if dimension != "number" else float(f"{middle:.4g}")
    if spread.logarithmic:
        return {"likely": likely, "within": f"x {max(reach, 1.001):.4g}"}
    if dimension == "temperature":
        return {"likely": likely, "within": f"{reach:.3g} K"}
    if dimension in ("fraction", "number"):
        return {"likely": likely, "within": float(f"{reach:.3g}")}
    return {"likely": likely, "within": to_text(reach, dimension, 3)}


def _head(calibration: "Calibration", written: Sequence[Learnt], day: date, source: str) -> list[str]:
    signs = sorted({reading.name for reading in calibration.readings})
    return [
        f"# Calibrated {day} by {source}: {', '.join(signs)}.",
        f"# Chi-square {calibration.chi_square:.3g} of {len(calibration.readings)} readings. Ranges of "
        f"{len(written)} keys are narrower, each by itself:",
        "# what the readings say of several together is not in a file (docs/calibrate.md).",
    ]
