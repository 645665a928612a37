"""What ``check-table`` prints: what the solves of a check change, and how a scenario names them."""

import os
from typing import Any

import numpy as np

from balltravel.estimate.own_table import OwnTable
from balltravel.report.tables import bench, bench_unit, column, filled, number, table

_CHECKS = {"inlet": "inlet check (foot valve)", "piston": "piston check"}

_NOTE = """\
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
        f"{_CHECKS[own.check].capitalize()}: the ball sits on a circle of "
        f"{bench(2.0 * made.contact, 'length')}, nearest to {'a' if made.half_angle else 'an'} {form}; "
        f"{own.solved} lifts solved{f', {kept} known from before' if kept else ''}."
    )
    worst = int(np.argmax(np.abs(over[:, 0])))
    told = (
        f"The pressure drop differs most at a lift of {bench(float(lifts[worst]), 'length', 3)}: "
        f"{100.0 * over[worst, 0]:+.2g} %."
    )
    rows = [
        [
            number(column(float(lift), "length"), 3),
            number(row[1]),
            *(f"{100.0 * part:+.2f}" for part in parts),
            number(row[3]),
        ]
        for lift, row, parts in zip(lifts, made.rows, over, strict=True)
    ]
    units = [bench_unit("length"), "", "%", "%", "%", ""]
    listed = table(("lift", "Rqq", "drop", "push", "drag", "S"), [units, *rows], range(6), ruled_after=1)
    return "\n".join([filled(head), filled(told), "", listed, "", filled(_NOTE), "", *_next(own, out)])


def _next(own: OwnTable, out: str | None) -> list[str]:
    if out is None:
        return ["Nothing was written: --out foot_valve.nc writes the table (what is solved is kept)."]
    return [
        f"In the scenario, beside {out}:",
        "",
        f"[{own.check}_check]",
        f'table = "{os.path.basename(out)}"',
    ]


def check_table_dict(own: OwnTable, out: str | None) -> dict[str, Any]:
    """Plain numbers, with the name of the file."""
    return {**own.as_dict(), "solved_now": own.solved, "written": out}
