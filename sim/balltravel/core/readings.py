"""Readings of a cycle's rows: values between them, means, the least and the most; and the sizes of its lower
by which metrics are made of them."""

from dataclasses import dataclass

from balltravel.core.contact import SEATED
from balltravel.core.jit import kernel
from balltravel.core.parameters import Array, Parameters
from balltravel.core.recording import TIME


@dataclass
class Sizes:
    """What metrics must know beside rows and events: volume swept [m3], areas of bore and annulus [m2],
    stroke [m], period and the time of top dead centre [s], barometric and vapour pressure [Pa absolute], and
    the mass of each ball with the liquid that it moves [kg]."""

    swept: float = 0.0
    bore: float = 0.0
    annulus: float = 0.0
    stroke: float = 0.0
    period: float = 0.0
    top: float = 0.0
    barometric: float = 0.0
    vapour: float = 0.0
    inlet_mass: float = 0.0
    piston_mass: float = 0.0


@kernel
def sizes_of(p: Parameters, clock: Array, out: Sizes) -> None:
    """The sizes of a lower whose cycle had its segments at these times (the workspace's ``clock``) into
    ``out``."""
    out.swept = p.lower.area * p.drive.stroke
    out.bore, out.annulus = p.lower.area, -p.upper.area
    out.stroke = p.drive.stroke
    out.period, out.top = clock[p.drive.segments], clock[p.drive.turn]
    out.barometric, out.vapour = p.reference_pressure, p.material.vapour_pressure
    out.inlet_mass = p.inlet.ball_mass + p.inlet.added_mass
    out.piston_mass = p.piston.ball_mass + p.piston.added_mass


@kernel
def row_at(rows: Array, count: int, t: float) -> int:
    """The last row that is not after a time [s]; the first if all are. Two rows at one time stand before and
    after something that jumps."""
    low, high = 0, count
    while high - low > 1:
        middle = (low + high) // 2
        if rows[middle, TIME] <= t:
            low = middle
        else:
            high = middle
    return low


@kernel
def value_at(rows: Array, count: int, column: int, t: float) -> float:
    """A column at a time [s], on the straight line between two rows."""
    i = row_at(rows, count, t)
    here, since = rows[i, column], t - rows[i, TIME]
    if i == count - 1 or since <= 0.0:
        return float(here)
    return float((rows[i + 1, column] - here) / (rows[i + 1, TIME] - rows[i, TIME]) * since + here)


@kernel
def mean_of(rows: Array, count: int, column: int) -> float:
    """Mean of a column over the time of its rows."""
    total = 0.0
    for i in range(1, count):
        total += (rows[i, TIME] - rows[i - 1, TIME]) * (rows[i, column] + rows[i - 1, column]) / 2.0
    return float(total / (rows[count - 1, TIME] - rows[0, TIME]))


@kernel
def row_of_most(rows: Array, first: int, end: int, column: int) -> int:
    """The first of the rows from ``first`` to before ``end`` in which a column is largest."""
    most = first
    for i in range(first, end):
        if rows[i, column] > rows[most, column]:
            most = i
    return most


@kernel
def row_of_least(rows: Array, first: int, end: int, column: int) -> int:
    """The same where it is smallest."""
    least = first
    for i in range(first, end):
        if rows[i, column] < rows[least, column]:
            least = i
    return least


@kernel
def backward(rows: Array, first: int, last: int, volume: int, mode: int, shut: bool) -> float:
    """Volume [m3] that went backward through a check from row ``first`` to row ``last``, while it was shut or
    while it was open. Every change of the flow's sign is a row, so the differences of the volume, a state,
    are exact."""
    total = 0.0
    for i in range(first, last):
        if (rows[i, mode] == SEATED) == shut:
            total += max(rows[i, volume] - rows[i + 1, volume], 0.0)
    return total
