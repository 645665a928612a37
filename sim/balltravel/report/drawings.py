"""Which figures a sweep can be drawn as, by its keys alone: known before it runs."""

from collections.abc import Mapping

from balltravel.scenario.model import FIELDS, quantity_of

ARRANGEMENT_KEYS = ("shims.below", "inlet_check.base_travel")
RATE_KEY = "drive.cycle_rate"

DRAWINGS = {
    "map": "several values of shims.below or inlet_check.base_travel, and of two other keys with numbers",
    "envelope": "several values of drive.cycle_rate and one other key with numbers; the shims may vary too",
    "losses": "several values of one key",
}
"""Name of a figure -> what a sweep must have for it."""


def drawings_of(sizes: Mapping[str, int]) -> list[str]:
    """The names of the figures that fit a grid, by how many values each of its keys has."""
    varied = [key for key, size in sizes.items() if size > 1]
    arrangement = [key for key in varied if key in ARRANGEMENT_KEYS]
    others = [key for key in varied if key not in ARRANGEMENT_KEYS]
    numbers = [key for key in others if quantity_of(FIELDS[key]) is not None]
    fitting = {
        "map": bool(arrangement) and len(numbers) == len(others) == 2,
        "envelope": RATE_KEY in numbers and len(numbers) == len(others) == 2 and len(arrangement) <= 1,
        "losses": len(varied) == 1,
    }
    return [name for name in DRAWINGS if fitting[name]]
