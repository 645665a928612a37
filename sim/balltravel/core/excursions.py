"""A cycle held against the range of every closure: how long each is outside its own, and how far."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.contact import SEATED
from balltravel.core.jit import kernel
from balltravel.core.parameters import Array, Parameters, Suction
from balltravel.core.recording import (
    INLET_FLOW,
    INLET_LIFT,
    INLET_MODE,
    LINE_FLOW,
    LOWER_PRESSURE,
    OUTLET_FLOW,
    PISTON_FLOW,
    PISTON_LIFT,
    PORT_PRESSURE,
    TIME,
    UPPER_PRESSURE,
)
from balltravel.core.rheology import local_exponent, viscosity

# The uses of closures, in the order of their results: five of the inlet check, the same of the piston check,
# then those of the gas, both hoses and the chambers.
BALL_OVER_SEAT, BALL_OVER_CAGE, LIFT, SEAT_REYNOLDS, EXPONENT = range(5)
OF_A_CHECK = 5
EXPANSION, LINE_REYNOLDS, LINE_ROUGHNESS, OUTLET_REYNOLDS, OUTLET_ROUGHNESS, COMPRESSED = range(10, 16)
USES = 16

SHARE, WORST, NEAREST = range(3)
"""What is said of a use: the share of the cycle outside the range, the value farthest out, and the end of the
range that is nearest to it; nan for both where none is outside."""

NO_END = 1e-300
"""Stands for the size of an end of a range that is 0, in whose sizes distances are taken."""


class Ranges(NamedTuple):
    """Ranges of all uses, and what their quantities need beside Parameters.

    inside: shape (USES, 4), ends of the two intervals of each range, both belonging to it; a range of one
    interval has it twice, a use that a lower does not have goes from -inf to inf. seat_diameter and
    cage_radius [m], and shear rate in the seat's bore over the flow [1/m3]: of inlet and piston check.
    gas_fraction: free gas as described [-]; hose_density: of the material in the suction hose [kg/m3].
    """

    inside: Array
    seat_diameter: Array
    cage_radius: Array
    bore_rate: Array
    gas_fraction: float
    hose_density: float


NO_RANGES = Ranges(np.tile([-math.inf, math.inf], (USES, 2)), np.ones(2), np.ones(2), np.ones(2), 0.0, 1.0)
"""Of a run that is not held against any."""


@kernel
def check_quantity(p: Parameters, ranges: Ranges, row: Array, k: int, use: int) -> float:
    """Of the inlet (0) or the piston check (1): ball over seat and over cage, lift over seat radius, Reynolds
    number in the seat's bore, exponent of the flow curve at the shear rate there."""
    check = p.inlet if k == 0 else p.piston
    if use == BALL_OVER_SEAT:
        return check.ball_radius / check.seat_radius
    if use == BALL_OVER_CAGE:
        return float(check.ball_radius / ranges.cage_radius[k])
    if use == LIFT:
        return float(row[INLET_LIFT if k == 0 else PISTON_LIFT] / check.seat_radius)
    flow = abs(row[INLET_FLOW if k == 0 else PISTON_FLOW])
    rate = flow * ranges.bore_rate[k]
    if use == EXPONENT:
        return local_exponent(p.material.rheology, rate)
    mu = viscosity(p.material.rheology, rate)
    return float(4.0 * p.material.density * flow / (math.pi * mu * ranges.seat_diameter[k]))


@kernel
def expansion(p: Parameters, gas_fraction: float, row: Array) -> float:
    """How much larger than at the atmosphere what flows through the inlet check is, by its free gas, at the
    mean of the pressures before and behind it; 0 where the check is shut."""
    if row[INLET_MODE] == SEATED or row[INLET_FLOW] <= 0.0:
        return 0.0
    vapour = p.material.vapour_pressure
    mean = 0.5 * (row[PORT_PRESSURE] + row[LOWER_PRESSURE])
    return float(gas_fraction * ((p.reference_pressure - vapour) / (mean - vapour) - 1.0))


@kernel
def hose_reynolds(line: Suction, density: float, flow: float) -> float:
    """Reynolds number in a hose, with the viscosity by which it loses pressure."""
    d = line.diameter
    mu = viscosity(line.rheology, 32.0 * abs(flow) / (math.pi * d**3))
    return 4.0 * density * abs(flow) / (math.pi * mu * d)


@kernel
def quantity(p: Parameters, ranges: Ranges, row: Array, use: int) -> float:
    """The quantity by whose range a use is held, in one row."""
    if use < 2 * OF_A_CHECK:
        return check_quantity(p, ranges, row, use // OF_A_CHECK, use % OF_A_CHECK)
    if use == EXPANSION:
        return expansion(p, ranges.gas_fraction, row)
    if use == COMPRESSED:
        return float(max(row[LOWER_PRESSURE], row[UPPER_PRESSURE]) / p.material.bulk_modulus)
    if use == LINE_REYNOLDS:
        return hose_reynolds(p.suction, ranges.hose_density, row[LINE_FLOW])
    if use == OUTLET_REYNOLDS:
        return hose_reynolds(p.outlet.line, p.material.density, row[OUTLET_FLOW])
    return p.suction.relative_roughness if use == LINE_ROUGHNESS else p.outlet.line.relative_roughness


@kernel
def nearest_end(ends: Array, value: float) -> float:
    """The end of a range that is nearest to a value outside it."""
    nearest = ends[0]
    for k in range(1, 4):
        if abs(value - ends[k]) < abs(value - nearest):
            nearest = ends[k]
    return float(nearest)


@kernel
def hold(
    p: Parameters, ranges: Ranges, rows: Array, count: int, use: int, marking: bool, mask: NDArray[np.int8],
    out: Array,
) -> None:  # fmt: skip
    """Hold one use against its range, into ``out`` (3). A row's share of the cycle is half of the steps on
    both of its sides."""
    ends, last = ranges.inside[use], count - 1
    share, farthest, beyond = 0.0, -1.0, 0
    out[WORST], out[NEAREST] = math.nan, math.nan
    for i in range(count):
        value = quantity(p, ranges, rows[i], use)
        if ends[0] <= value <= ends[1] or ends[2] <= value <= ends[3]:
            continue
        beyond += 1
        share += 0.5 * (rows[min(i + 1, last), TIME] - rows[max(i - 1, 0), TIME])
        if marking:
            mask[i] = 1
        # Distances in the size of the end: one quantity's range is 50 wide, another's a twentieth.
        end = nearest_end(ends, value)
        far = abs(value - end) / max(abs(end), NO_END)
        if far > farthest:
            farthest, out[WORST], out[NEAREST] = far, value, end
    out[SHARE] = 1.0 if beyond == count else share / (rows[last, TIME] - rows[0, TIME])


@kernel
def excursions(
    p: Parameters, ranges: Ranges, rows: Array, count: int, marking: bool, mask: NDArray[np.int8], out: Array
) -> None:
    """Hold a whole cycle against the ranges of all uses.

    rows: (at least ``count``, COLUMNS), SI units. Into ``out`` (USES, 3) the share, the worst value and the
    nearest end of each use; with ``marking``, ``mask`` (at least ``count``) is set where any is outside.
    """
    for use in range(USES):
        if ranges.inside[use, 0] == -math.inf and ranges.inside[use, 1] == math.inf:
            out[use, SHARE], out[use, WORST], out[use, NEAREST] = 0.0, math.nan, math.nan
        else:
            hold(p, ranges, rows, count, use, marking, mask, out[use])
