"""What ``resistance`` and ``check-table`` print: how much pressure each check takes, its numbers in slow flow
over lift, and what own solves of it change."""

import math
import os
from collections.abc import Iterator
from typing import Any

import numpy as np

from balltravel.estimate.check_resistance import Drops, Resistance, ResistanceReport
from balltravel.estimate.own_table import OwnTable
from balltravel.report.tables import (
    bench,
    bench_unit,
    both,
    column,
    column_units,
    filled,
    number,
    rounded,
    table,
)
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


_TABLE_NOTE = """\
Columns 3 to 5: how far the solves lie from what the program has without them, for slow flow: drop of a flow
past the held ball; push of the flow on the ball over that drop; drag of a ball at no pressure drop, by which
it falls. S and Rqq are pure numbers, for any viscosity. Inertia of the flow and shear rates stay those of the
nearest edge or cone."""


def check_table_text(own: OwnTable, out: str | None) -> str:
    """Where the table differs from what is known without it."""
    made, over = own.table, own.over_shipped()
    lifts = np.array([row[0] for row in made.rows]) * made.contact
    form = f"cone of {np.degrees(made.half_angle):.3g} deg" if made.half_angle else "edge"
    kept = len(made.rows) - own.solved
    head = (
        f"{_TITLES[own.check]}: the ball sits on a circle of "
        f"{bench(2.0 * made.contact, 'length')}, nearest to {'a' if made.half_angle else 'an'} {form}; "
        f"{own.solved} lifts solved{f', {kept} known from before' if kept else ''}."
    )
    worst = int(np.argmax(np.abs(over[:, 0])))
    told = (
        f"The pressure drop differs most at a lift of {bench(float(lifts[worst]), 'length', 3)}: "
        f"{_percent(over[worst, 0])} %."
    )
    rows = [
        [
            number(column(float(lift), "length"), 3),
            number(row[1]),
            *map(_percent, parts),
            number(row[3]),
        ]
        for lift, row, parts in zip(lifts, made.rows, over, strict=True)
    ]
    units = [bench_unit("length"), "", "%", "%", "%", ""]
    listed = table(("lift", "Rqq", "drop", "push", "drag", "S"), [units, *rows], range(6), ruled_after=1)
    return "\n".join([filled(head), filled(told), "", listed, "", filled(_TABLE_NOTE), "", *_next(own, out)])


def _percent(share: float) -> str:
    """A share in percent with its sign: three digits, two decimals at most."""
    percent = 100.0 * share
    last = 10.0 ** (math.floor(math.log10(max(abs(percent), 1.0))) - 2)
    shown = rounded(percent, 2, last)
    return shown if shown.startswith("-") else f"+{shown}"


def _next(own: OwnTable, out: str | None) -> list[str]:
    if out is None:
        return ["Nothing was written: --out foot_valve.nc writes the table (what is solved is kept)."]
    return [
        "In a scenario in the same folder:",
        "",
        f"[{own.check}_check]",
        f'table = "{os.path.basename(out)}"',
    ]


def check_table_dict(own: OwnTable, out: str | None) -> dict[str, Any]:
    """Plain numbers, with the name of the file."""
    return {**own.as_dict(), "solved_now": own.solved, "written": out}
