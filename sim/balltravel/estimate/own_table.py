"""A check solved by itself: its own table, from its sizes in a scenario or from the wall of a drawing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from balltravel.closures.own.by_own_table import excess
from balltravel.closures.own.profile import Seat, read_profile, seat_in
from balltravel.closures.own.record import CheckTable
from balltravel.closures.own.shape import Shape, shape_of_sizes, shape_of_wall, table_of_shape
from balltravel.files.check_table import dataset_of, keep_row, kept_rows, rising
from balltravel.scenario.arguments import refused
from balltravel.scenario.model import Check, Scenario, ScenarioError, with_value
from balltravel.scenario.rules.rule import Fault
from balltravel.setup.parameters import geometry_of
from balltravel.units import UnitError, to_text

if TYPE_CHECKING:
    import xarray

    from balltravel.sweeps.cases import Progress

PROFILE = "--profile"


@dataclass(frozen=True)
class OwnTable:
    """A check's own table. ``check``: ``"inlet"`` or ``"piston"``; ``profile``: what it was made of, in
    words or as it was drawn; ``solved``: how many of its lifts were solved now, and not before."""

    table: CheckTable
    check: str
    profile: str
    solved: int

    def over_shipped(self) -> np.ndarray[Any, np.dtype[np.float64]]:
        """Rqq, alpha and S (lift, 3) over those of the nearest edge or cone without the table, less 1."""
        return np.expm1(excess(self.table)(np.log([row[0] for row in self.table.rows])))

    def dataset(self) -> "xarray.Dataset":
        """As it is written."""
        return dataset_of(self.table, self.profile)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and lists, lengths over the radius of the circle of contact."""
        names = ("lift", "Rqq", "Rqw", "S", "Mqq", "Mqw", "Mww")
        columns = map(list, zip(*self.table.rows, strict=True))
        sizes = {name: value for name, value in self.table._asdict().items() if name != "rows"}
        return {"check": self.check, **sizes, **dict(zip(names, columns, strict=True))}


def own_table(
    scenario: Scenario,
    check: str = "inlet",
    profile: str | None = None,
    progress: "Progress | None" = None,
    lifts: Sequence[float] = (),
    fineness: float = 0.0,
) -> OwnTable:
    """Solve a check of a scenario (``"inlet"`` or ``"piston"``) at ``lifts`` over its circle of contact.

    ``profile``: the text of a CSV file with the wall of seat and cage; without one the check's own sizes.
    Without ``lifts`` and ``fineness`` those of the shipped tables. What was solved before is not solved
    again. Raises ScenarioError for a wall that is none, or not this check's; ImportError or OSError without
    the libraries of the extra ``fem``.
    """
    described: Check = getattr(scenario, f"{check}_check")
    shape, words = _of_sizes(described) if profile is None else _of_wall(scenario, check, profile)
    from balltravel.closures.fem.own_check import solve_own
    from balltravel.closures.fem.points import COARSE, LIFTS

    fineness = fineness or COARSE
    digest, wanted = shape.digest(fineness), tuple(lifts) or LIFTS
    rows = {lift: row for lift, row in kept_rows(digest).items() if lift in wanted}
    missing = sorted(set(wanted) - rows.keys(), reverse=True)
    # From far to near: a wall that cannot be meshed is noticed by the quickest solve.
    for lift in missing:
        rows[lift] = solve_own(shape, lift, fineness)
        keep_row(digest, rows[lift])
        if progress:
            progress(len(rows), len(wanted))
    return OwnTable(table_of_shape(shape, fineness, rising(rows)), check, words, len(missing))


def _of_sizes(check: Check) -> tuple[Shape, str]:
    """The shape that a scenario describes, and its words."""
    sizes = {"ball": check.ball_diameter, "seat bore": check.seat_diameter, "cage": check.cage_diameter}
    if check.seat == "cone":
        sizes |= {"mouth": check.seat_mouth_diameter or 0.0, "land": check.seat_land_width}
    words = [f"{name} {to_text(size, 'length')}" for name, size in sizes.items()]
    angle = f", half angle {to_text(check.seat_half_angle, 'angle')}" if check.seat_half_angle else ""
    return shape_of_sizes(geometry_of(check)), f"{check.seat} in {check.cage}: {', '.join(words)}{angle}"


def _of_wall(scenario: Scenario, check: str, text: str) -> tuple[Shape, str]:
    """The shape of a wall in which the ball of a check sits; raises ScenarioError where it is not this
    check's."""
    try:
        wall = read_profile(text)
        ball = 0.5 * getattr(scenario, f"{check}_check").ball_diameter
        seat = seat_in(wall, ball)
        shape = shape_of_wall(wall, seat, ball)
    except UnitError as error:
        raise refused(PROFILE, error.given, error.allowed, error.example) from None
    try:
        with_value(scenario, f"{check}_check.table", table_of_shape(shape, 0.0, ()))
    except ScenarioError as error:
        bore = getattr(scenario, f"{check}_check").cage == "bore"
        drawn = _as_keys(seat, {"cage_diameter": 2.0 * wall[-1][0]} if bore else {})
        raise ScenarioError([_of_profile(fault, check, drawn) for fault in error.faults]) from None
    return shape, text


def _as_keys(seat: Seat, cage: dict[str, float]) -> str:
    """What a scenario says of a drawn seat and of the size of its cage [m], if one key has it."""
    cone = {"seat_mouth_diameter": 2.0 * seat.mouth} if seat.half_angle else {}
    sizes = {"seat_diameter": 2.0 * seat.bore, **cone, **cage}
    keys = [f'seat = "{"cone" if cone else "edge"}"']
    if cone:
        keys.append(f'seat_half_angle = "{to_text(seat.half_angle, "angle", 3)}"')
    return ", ".join([*keys, *(f'{key} = "{to_text(size, "length", 4)}"' for key, size in sizes.items())])


def _of_profile(fault: Fault, check: str, drawn: str) -> Fault:
    """The fault of a table of another check, as one of the drawing that it would be made of."""
    given = fault.given.replace("made for", "the ball finds", 1)
    allowed = fault.allowed.replace("a table of this check", f"what [{check}_check] has", 1)
    return replace(fault, key=PROFILE, given=given, allowed=allowed, example=f"as drawn, {drawn}")
