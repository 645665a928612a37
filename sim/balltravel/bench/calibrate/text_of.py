"""The text of a scenario with the ranges that were learnt: all else stays, comments too."""

from datetime import date
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.arguments import refused
from balltravel.scenario.model import FIELDS
from balltravel.study.verdict.inputs import dimension_of
from balltravel.study.verdict.materials import READINGS
from balltravel.units import in_centistokes, to_text
from balltravel.units.spread import Spread

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Calibration

DIGITS = 4


def calibrated_text(text: str, calibration: "Calibration", day: date, source: str) -> str:
    """A scenario's text with ``{ likely = ..., within = ... }`` for every input that was learnt, what stood
    there in the comment, and above all when and from what (``source``) it was made.

    Raises ScenarioError where nothing was learnt that a scenario holds, and of keys that stand in no tables.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    written = calibration.written
    if not len(written):
        given, example = (
            "nothing was learnt that a scenario holds",
            "balltravel calibrate FILE --observed today.toml",
        )
        raise refused("--out", given, "calibrate without --out", example)
    document = tomlkit.parse(text)
    try:
        for key in sorted({*written.values, *written.ranges}, key=list(FIELDS).index):
            law = written.ranges.get(key)
            new = _inline(range_written(law, dimension_of(key), written.density)) if law else None
            _set(document, key, new or written.values[key], day)
        for number, reading in written.readings.items():
            _set_reading(document, number, _reading_written(reading, written.density), day)
    except (TOMLKitError, TypeError, AttributeError, KeyError, IndexError):
        given = "the scenario's keys stand in no tables of their own"
        raise refused("--out", given, 'tables as "[material]", their keys beneath', "[material]") from None
    return "\n".join([*_head(calibration, day, source), "", tomlkit.dumps(document)])


def _inline(values: dict[str, Any]) -> Any:
    import tomlkit

    table = tomlkit.inline_table()
    for key, value in values.items():
        table[key] = value
    return table


def _set(document: Any, key: str, value: Any, day: date) -> None:
    """Another value of a key, with what stood there in its comment."""
    import tomlkit

    table_name, name = key.split(".")
    if table_name not in document:
        document.add(tomlkit.nl())
        document.add(table_name, tomlkit.table())
    table = document[table_name]
    before, was, said = table.get(name), "not in the file", ""
    if before is not None:
        was = before.as_string() if hasattr(before, "as_string") else str(before)
        said = before.trivia.comment.lstrip("# ").rstrip() if hasattr(before, "trivia") else ""
    table[name] = value
    told = f"calibrated {day}; before: {' '.join(was.split())}"
    table[name].comment(f"{said}; {told}" if said else told)


def _set_reading(document: Any, number: int, reading: dict[str, Any], day: date) -> None:
    """Another viscosity and uncertainty of a reading, in the array or in the place of a text at the viscosity
    (``viscosity = "100 KU"``)."""
    import tomlkit

    new = _inline(reading)
    material = document["material"]
    name = READINGS.partition(".")[2]
    if name in material:
        material[name][number - 1] = new
        return
    was = material.pop("viscosity")
    material[name] = tomlkit.array()
    material[name].append(new)
    material[name].comment(f"calibrated {day}; before: viscosity = {was.as_string()}")


def _reading_written(reading: ViscosityReading, density: float) -> dict[str, Any]:
    """A reading as a file has it; of a kinematic viscosity, times the ``density`` [kg/m3], in cSt."""
    text = in_centistokes(reading.viscosity, density, DIGITS) if reading.kinematic else ""
    values: dict[str, Any] = {"viscosity": text or to_text(reading.viscosity, "viscosity", DIGITS)}
    if reading.shear_rate is not None:
        values["shear_rate"] = to_text(reading.shear_rate, "shear rate", DIGITS)
    if reading.temperature is not None:
        values["temperature"] = to_text(reading.temperature, "temperature", DIGITS)
    if reading.state != "worked":
        values["state"] = reading.state
    if reading.age is not None:
        values["age"] = to_text(reading.age, "time", DIGITS)
    return {**values, "uncertainty": f"{100.0 * reading.relative_uncertainty:.3g} %"}


def range_written(spread: Spread, dimension: str, density: float) -> dict[str, Any]:
    """A normal law as a file has it; one that goes with the ``density`` [kg/m3] in cSt."""

    def text(value: float, digits: int) -> str:
        if spread.follows:
            return in_centistokes(value, density, digits)
        return to_text(value, dimension, digits)

    middle, reach = spread.numbers
    likely: Any = text(middle, DIGITS) if dimension != "number" else float(f"{middle:.4g}")
    if spread.logarithmic:
        return {"likely": likely, "within": f"x {max(reach, 1.001):.4g}"}
    if dimension == "temperature":
        return {"likely": likely, "within": f"{reach:.3g} K"}
    if dimension in ("fraction", "number"):
        return {"likely": likely, "within": float(f"{reach:.3g}")}
    return {"likely": likely, "within": text(reach, 3)}


def _head(calibration: "Calibration", day: date, source: str) -> list[str]:
    signs = ", ".join(dict.fromkeys(reading.name for reading in calibration.readings))
    of = f"chi-square {calibration.chi_square:.3g} of {len(calibration.readings)} readings"
    told = f"Calibrated {day} by {source} ({of}): {signs}. Each range by itself: what the readings tell of"
    return [f"# {line}" for line in wrap(f"{told} several inputs together is in no file.", 96)]
