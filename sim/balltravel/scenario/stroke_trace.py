"""A measured stroke, as a table of times and piston positions."""

import math
from collections.abc import Sequence
from itertools import pairwise

from balltravel.units import UnitError, to_si

MOST_TRACE, LEAST_TRACE = 5000, 8
"""Samples of a measured stroke at most and at least."""

CLOSED = 0.02
"""How far from bottom dead centre a trace may begin and end, over the stroke."""

MUCH_BACK = 0.1
"""How far a trace may run against its stroke, over the stroke (our choice): more is another stroke."""

HEADER = "time (s), position (mm)"
EXAMPLE = 'trace = "stroke.csv"'


def read_trace(text: str) -> tuple[tuple[float, float], ...]:
    """Times [s] and positions [m] of a CSV text: a header that names the units, then a row a sample.

    Lines that begin with # are remarks. Raises UnitError: what was given, what is allowed, an example.
    """
    lines = [
        (number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip() and line[0] != "#"
    ]
    if not lines:
        raise UnitError("an empty file", f"a header and {LEAST_TRACE} samples or more", HEADER)
    units = _units(lines[0][1])
    if len(lines) - 1 > MOST_TRACE:
        raise UnitError(f"{len(lines) - 1} samples", f"at most {MOST_TRACE}", HEADER)
    return tuple(_sample(number, line, units) for number, line in lines[1:])


def _no_header() -> UnitError:
    """Of what was found nothing is said: a scenario may name any file, also one that is nobody's business."""
    allowed = "two columns, each with its unit in brackets: one of time, one of length"
    return UnitError("a first line that is no header", allowed, HEADER)


def _units(header: str) -> tuple[str, str]:
    """Units of both columns."""
    columns = [column.strip() for column in header.split(",")]
    if len(columns) == 2 and all(column.endswith(")") and "(" in column for column in columns):
        time, position = (column[column.index("(") + 1 : -1].strip() for column in columns)
        try:
            to_si(f"1 {time}", "time"), to_si(f"1 {position}", "length")
        except UnitError:
            raise _no_header() from None
        return time, position
    raise _no_header()


def _sample(number: int, line: str, units: tuple[str, str]) -> tuple[float, float]:
    cells = [cell.strip() for cell in line.split(",")]
    if len(cells) != 2:
        raise UnitError(
            f"line {number}: {line[:60]!r}", "a time and a position, with a comma between", "0.01, 1.5"
        )
    try:
        time, position = to_si(f"{cells[0]} {units[0]}", "time"), to_si(f"{cells[1]} {units[1]}", "length")
    except UnitError as error:
        raise UnitError(f"line {number}: {error.given}", error.allowed, "0.01, 1.5") from None
    return time, position


def trace_fault(trace: Sequence[tuple[float, float]]) -> tuple[str, str, str] | None:
    """What is wrong with a trace of one cycle from bottom dead centre on; None if nothing is."""
    if len(trace) < LEAST_TRACE:
        return f"{len(trace)} samples", f"{LEAST_TRACE} to {MOST_TRACE} of one cycle", EXAMPLE
    times, positions = zip(*trace, strict=True)
    if any(not math.isfinite(value) for value in (*times, *positions)):
        return "a sample that is no number", "finite times and positions", EXAMPLE
    late = next((n for n, (a, b) in enumerate(pairwise(times)) if b <= a), None)
    if late is not None:
        return f"sample {late + 2} is not later than the one before", "times that rise", EXAMPLE
    low, high = min(positions), max(positions)
    if high <= low:
        return "a piston that does not move", "one stroke up and one down", EXAMPLE
    ends = max(positions[0], positions[-1]) - low
    if ends > CLOSED * (high - low):
        share = 100.0 * ends / (high - low)
        allowed = (
            f"a cycle from bottom dead centre to bottom dead centre, within {100 * CLOSED:g} % of the stroke"
        )
        return f"it begins or ends {share:.3g} % of the stroke above its lowest position", allowed, EXAMPLE
    back = backward(positions)
    if back > MUCH_BACK * (high - low):
        share = 100.0 * back / (high - low)
        allowed = "one cycle alone: one stroke up and one down, with no more than noise against them"
        return f"it runs back by {share:.3g} % of the stroke within a stroke", allowed, EXAMPLE
    return None


def backward(positions: Sequence[float]) -> float:
    """How far a trace runs against its stroke at most [m]: below what it has reached on the way up, or above
    it on the way down."""
    top = positions.index(max(positions))
    most, least, back = positions[0], positions[top], 0.0
    for x in positions[: top + 1]:
        most = max(most, x)
        back = max(back, most - x)
    for x in positions[top:]:
        least = min(least, x)
        back = max(back, x - least)
    return back
