"""What ``resistance`` prints: the resistance of a check in creeping flow over its lift."""

from balltravel.estimate.check_resistance import ResistanceReport
from balltravel.report.tables import number, table

_RESISTANCE_NOTE = """\
Creeping flow, lengths in r, the radius of the circle on which the ball sits: dp = mu (Rqq Q/r^3 - Rqw w/r),
F = mu (Rqw Q/r - Rww r w), S = Rww - Rqw^2/Rqq; less Poiseuille's loss of the bore below the seat and of the
cage above the ball. At a sharp edge Rqq gap^2 tends to a constant and Rqw/Rqq to pi as the gap closes; on a
cone Rqq gap^2.5 does."""


def resistance_text(report: ResistanceReport) -> str:
    """The numbers of one check or more over their lifts."""
    parts: list[str] = []
    for name, check in report.checks.items():
        note = "" if check.inside else " (not inside the table of solves)"
        head = f"{name}: {check.about}R/r {number(check.ball)}, R_c/r {number(check.cage)}{note}"
        columns = (
            check.lift,
            check.gap,
            check.Rqq,
            check.Rqw,
            check.Rww,
            check.S,
            check.Rqw / check.Rqq,
            check.Rqq * check.gap**2,
        )
        rows = [[number(float(value), 5) for value in row] for row in zip(*columns, strict=True)]
        names = ("lift/r", "gap/r", "Rqq", "Rqw", "Rww", "S", "Rqw/Rqq", "Rqq gap^2")
        far = f"far from the seat: Rqw {number(check.far_Rqw, 5)}, Rww {number(check.far_Rww, 5)}"
        parts += [head, table(names, rows, range(len(names))), far, ""]
    return "\n".join([*parts, _RESISTANCE_NOTE])
