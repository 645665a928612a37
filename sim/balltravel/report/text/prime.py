"""What ``prime`` prints."""

import math
from collections.abc import Iterator

from balltravel.report.tables import bench, both, bullets, filled, number, plain, rounded, table
from balltravel.site.air import SeatLeak
from balltravel.study.site.priming import Priming
from balltravel.study.site.priming_setup import PrimingSetup
from balltravel.units import to_text
from balltravel.units.display import decimals_in_use, in_unit
from balltravel.units.systems import unit_in_use

MOST_ROWS = 30
"""Cycles that are printed: the first, and the last one."""


def sentence(setup: PrimingSetup, priming: Priming) -> str:
    """Whether it primes, and if not, why."""
    limits = priming.limits
    lowest = f"{both(limits.port, 'pressure')} absolute"
    if priming.outcome == "reached":
        whole = math.ceil(priming.cycles + priming.to_fill)
        return (
            f"Primes: material reaches the inlet check (foot valve) after {number(priming.cycles, 3)} cycles "
            f"({to_text(priming.time, 'time', 3)}); the lower is full after {whole} cycles at the earliest."
        )
    if priming.outcome == "gas-locked":
        return f"Gas-locked, it never primes: {_lock(setup, priming)}"
    if priming.outcome == "lift too high":
        held = (
            f", less {both(setup.starting_drop, 'pressure')} for the yield stress,"
            if setup.starting_drop
            else ""
        )
        return (
            f"The lift is too high, it never primes: the lower draws the port down to {lowest} at best; with "
            f"{both(setup.tank, 'pressure')} on the surface{held} that lifts the column "
            f"{_height(limits.lift)} at most, but {_height(setup.rise)} is needed."
        )
    stands = (
        f"Does not prime: after {len(priming.filled)} cycles material fills {_height(priming.filled[-1])} of "
        f"{_height(setup.hose_length)} of the hose"
    )
    if priming.outcome == "leak too large":
        return f"{stands}; tight seats would prime here: too much air leaks back past the worn ones."
    return f"{stands}; it is not gas-locked, but the material rises too slowly."


def _lock(setup: PrimingSetup, priming: Priming) -> str:
    limits = priming.limits
    if not math.isfinite(limits.needed):
        needs = both(setup.inlet.cracking, "pressure")
        return f"the inlet check needs {needs} to open, more than the air provides."
    return (
        f"a downstroke compresses the air in the lower {number(limits.ratio)} times, but it takes "
        f"{number(limits.needed)} times to open the piston check against "
        f"{both(setup.outlet, 'pressure')} absolute. A lower outlet pressure (a prime valve) or a "
        f"smaller dead volume (clearance volume) of the lower chamber helps; ball travel does not."
    )


def _height(metres: float) -> str:
    return f"{number(in_unit(metres, 'length', 'm'), 3)} {unit_in_use('m')}"


_COLUMNS = (
    ("filled", "length", "m", 3),
    ("climbed", "length", "m", 3),
    ("port", "pressure", "bar", 3),
    ("lowest", "pressure", "bar", 3),
    ("expelled", "volume", "cc", 1),
)
"""What is told of each cycle: dimension, metric unit and decimals."""


def _shown(priming: Priming) -> Iterator[tuple[str, ...]]:
    last = len(priming.filled)
    for i in range(last):
        if i < MOST_ROWS - 1 or i == last - 1:
            yield str(i + 1), *(_cell(priming, i, *shown) for shown in _COLUMNS)


def _cell(priming: Priming, i: int, name: str, dimension: str, unit: str, decimals: int) -> str:
    value = float(getattr(priming, name)[i])
    return rounded(in_unit(value, dimension, unit), decimals_in_use(unit, decimals))


def _leak(leak: SeatLeak) -> str:
    return "worn seat" if leak.jet > 0.0 else "tight seat"


def warnings(setup: PrimingSetup, priming: Priming) -> list[str]:
    """What the model leaves out where it would count."""
    lowest = float(priming.lowest.min())
    lines = []
    if lowest < setup.vapour:
        lines.append(
            f"The port pressure falls to {bench(lowest, 'pressure')}, below the vapour pressure of "
            f"{bench(setup.vapour, 'pressure')}: vapour, which is not in the model, then fills the hose."
        )
    return lines


NOTE = """\
filled: length of the hose filled with material; climbed: its height above the surface; port: absolute
pressure of the air in the hose at the end of the cycle, lowest: in the whole cycle; expelled: air through
the piston check, at barometric pressure. The last cycle ends when the material arrives."""


def priming_text(title: str, setup: PrimingSetup, priming: Priming) -> str:
    """A printout: the sentence, a row for each cycle, limits, warnings."""
    hose = (
        f"{bench(setup.hose_volume, 'volume')} of air in hose and port, {bench(setup.swept, 'volume')} swept"
    )
    checks = (
        f"{name} check opens at {bench(check.cracking, 'pressure', 3)} ({_leak(check.leak)})"
        for name, check in (("inlet", setup.inlet), ("piston", setup.piston))
    )
    names = ("cycle", *(f"{name} {unit_in_use(unit)}" for name, _, unit, _ in _COLUMNS))
    limits = priming.limits
    lines = [
        f"Lowest port pressure of tight checks: {both(limits.port, 'pressure')} absolute",
        f"Highest lift at which it primes: {_height(limits.lift)}; here {_height(setup.rise)}",
        f"Compression ratio: {number(limits.ratio)}; needed to expel air: {number(limits.needed)}",
    ]
    return "\n".join(
        [
            f"{plain(title)}: priming against {both(setup.outlet - setup.barometric, 'pressure')} gauge",
            hose,
            *checks,
            "",
            table(names, _shown(priming), range(len(names))),
            "",
            filled(NOTE),
            *bullets("Limits", lines),
            *bullets("Result", [sentence(setup, priming)]),
            *bullets("Warnings", warnings(setup, priming)),
        ]
    )
