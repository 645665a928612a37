"""What ``resistance`` prints: how much pressure each check takes, and its numbers in slow flow over lift."""

from collections.abc import Iterator

import numpy as np

from balltravel.estimate.check_resistance import Drops, Resistance, ResistanceReport
from balltravel.report.tables import bench, bench_unit, both, column, column_units, filled, number, table
from balltravel.units import from_si, to_text

_NAMES = ("lift/r", "gap/r", "Rqq", "Rqw", "Rww", "S", "Rqw/Rqq", "Rqq gap^2")

_TITLES = {"inlet": "Inlet check (foot valve)", "piston": "Piston check"}

_DROP_NOTE = """\
drop: pressure that the whole check takes with its ball held at that lift, at the piston's full speed."""

_NOTE = """\
The other columns are pure numbers, for slow flow and any viscosity. r: radius of the circle on which the ball
sits; R, R_c: radius of ball and cage; gap: shortest distance from ball to seat. Rqq: pressure for a flow past
a ball that is held; Rqw: force on the held ball for that flow, and pressure for a ball that moves; Rww: force
on a moving ball in still liquid; S: the same with no pressure drop, what slows a ball that falls."""

_EQUATIONS = """\
With viscosity mu, flow Q, ball speed w: pressure drop = mu (Rqq Q/r^3 - Rqw w/r); force on the ball = mu (Rqw
Q/r - Rww r w); S = Rww - Rqw^2/Rqq; less Poiseuille's loss of the bore below the seat and of the cage above
the ball. At a sharp edge Rqq gap^2 tends to a constant and Rqw/Rqq to pi as the gap closes; on a cone
Rqq gap^2.5 does."""


def resistance_text(report: ResistanceReport) -> str:
    """A sentence and the numbers of one check or more over their lifts."""
    checks = report.checks
    sentences = [filled(_sentence(name, check.drops)) for name, check in checks.items() if check.drops]
    parts = [*sentences, ""] if sentences else []
    for name, check in checks.items():
        parts += [*_check(name, check), ""]
    drops = [filled(_DROP_NOTE)] if sentences else []
    return "\n".join([*parts, *drops, filled(_NOTE), "", filled(_EQUATIONS)])


def _sentence(name: str, drops: Drops) -> str:
    """How much pressure it takes at full travel and at a tenth of it."""
    tenth = float(np.exp(np.interp(np.log(0.1 * drops.lift[-1]), np.log(drops.lift), np.log(drops.drop))))
    flow, viscosity = both(drops.flow, "flow", 3), to_text(drops.viscosity, "viscosity", 3)
    full, low = (bench(float(share * drops.lift[-1]), "length", 3) for share in (1.0, 0.1))
    at_full, at_low = (both(drop, "pressure", 2) for drop in (float(drops.drop[-1]), tenth))
    return (
        f"{_TITLES[name]}: with the piston at full speed, {flow} of material of {viscosity} in the seat "
        f"bore, it takes {at_full} at {full} of lift, its full travel, and would take {at_low} at {low}."
    )


def _check(name: str, check: Resistance) -> Iterator[str]:
    note = "" if check.inside else " (not inside the table of solves)"
    yield filled(f"{name}: {check.about}R/r {number(check.ball)}, R_c/r {number(check.cage)}{note}")
    matrix = (
        *(check.lift, check.gap, check.Rqq, check.Rqw, check.Rww, check.S),
        *(check.Rqw / check.Rqq, check.Rqq * check.gap**2),
    )
    rows = [[number(float(value)) for value in row] for row in zip(*matrix, strict=True)]
    head, units = list(_NAMES), []
    if check.drops is not None:
        columns = [("lift", bench_unit("length")), *zip(("drop", ""), column_units("pressure"), strict=False)]
        head = [*(name for name, _ in columns), *head]
        units = [[*(unit for _, unit in columns), *[""] * len(_NAMES)]]
        rows = [[*_bench(check.drops, i), *row] for i, row in enumerate(rows)]
    yield table(head, [*units, *rows], range(len(head)), named=len(head) - len(_NAMES) or 1)
    yield f"far from the seat: Rqw {number(check.far_Rqw)}, Rww {number(check.far_Rww)}"


def _bench(drops: Drops, i: int) -> tuple[str, ...]:
    drops_shown = (from_si(float(drops.drop[i]), "pressure", unit) for unit in column_units("pressure"))
    lift = number(column(float(drops.lift[i]), "length"), 3)
    return (lift, *(number(drop, 3) for drop in drops_shown))
