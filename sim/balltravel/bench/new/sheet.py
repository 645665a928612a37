"""What stands on the worksheet beside the blanks, and in whose units a printed sheet was."""

import re

from balltravel.bench.new.blanks import SHEETS

TITLE = "Worksheet: measure your lower"
INTRO = "Fill in what you know. Then type it in: balltravel new --answers SHEET; explained: balltravel new."
CAUTIONS = (
    "Before you open anything: shut off and lock out the drive, relieve pressure on both sides of checks.",
    "A jet pierces skin: an injection wound is an emergency, even if it looks small. Keep hands off leaks.",
    "Ground pump, hose and pail; no ignition sources; ventilate. Protect eyes and hands. Balls fall out.",
    "Manual, safety data sheet, local codes, licensed practice decide. Never exceed the lowest rated part.",
)
"""Common practice, no source."""

_MARK = re.compile(rb"balltravel worksheet, units (\w+)")


def mark_of_sheet(system: str) -> str:
    """What a sheet says of its units, where nobody sees it."""
    return f"balltravel worksheet, units {system}"


def system_of_sheet(data: bytes) -> str:
    """The units of a sheet by its file; raises ValueError for what is none."""
    match = _MARK.search(data)
    if match is None or match[1].decode() not in SHEETS:
        raise ValueError("no worksheet")
    return match[1].decode()
