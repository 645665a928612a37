"""What a shop writes for a key, as the key of a scenario that means the same."""

from dataclasses import replace

from balltravel.files.values import Entry
from balltravel.material.reading_text import tells_readings

VISCOSITY, READINGS = "material.viscosity", "material.readings"

OTHER_NAMES = {"drive.ratio": "drive.area_ratio"}
"""Dotted keys by which the trade calls one of ours. The ratio of a pump is the pressure that it makes over
the one that its motor gets: our ratio of areas, as a mean of both strokes."""


def our_key(key: str) -> str:
    """The dotted key of a scenario for one that may be the trade's."""
    return OTHER_NAMES.get(key, key)


def viscosity_as_reading(entries: dict[str, Entry], since: int = 0) -> None:
    """A viscosity that tells what an instrument showed becomes the only reading, in place.

    Where there are readings too, they stay, and so does the viscosity, to be refused; unless it alone was
    set, at a line from ``since`` on, and the readings are of the file.
    """
    viscosity, readings = entries.get(VISCOSITY), entries.get(READINGS)
    if viscosity is None or not tells_readings(viscosity.raw):
        return
    if readings is None or (since and readings.line < since <= viscosity.line):
        del entries[VISCOSITY]
        entries[READINGS] = replace(viscosity, key=READINGS, raw=[viscosity.raw], written_as=VISCOSITY)
