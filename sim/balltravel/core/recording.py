"""What is kept of each accepted step."""

from balltravel.core.jit import kernel
from balltravel.core.model import GAS_LOWER, LOWER, SIZE, Moment
from balltravel.core.parameters import Array, Parameters
from balltravel.core.shared import lookup

COLUMNS = (
    "time",
    "piston_position",
    "piston_speed",
    "port_surplus",
    "line_flow",
    "lower_surplus",
    "upper_surplus",
    "inlet_lift",
    "inlet_ball_speed",
    "piston_lift",
    "piston_ball_speed",
    "driven_position",
    "driven_speed",
    "air_below",
    "air_above",
    "outlet_hose_flow",
    "store_surplus",
    "port_gas",
    "lower_gas",
    "drawn_volume",
    "passed_volume",
    "delivered_volume",
    "line_volume",
    "position_integral",
    "packing_volume",
    "rod_volume",
    "sprayed_volume",
    "port_pressure",
    "lower_pressure",
    "upper_pressure",
    "inlet_flow",
    "piston_flow",
    "outlet_flow",
    "tip_pressure",
    "tip_flow",
    "void_volume",
    "inlet_mode",
    "piston_mode",
)

EVENT_COLUMNS = 4
"""Of the list of events: kind, check, time, value."""

# Where a reader of the rows finds its columns.
TIME, POSITION, SPEED = (COLUMNS.index(name) for name in ("time", "piston_position", "piston_speed"))
INLET_LIFT, PISTON_LIFT = COLUMNS.index("inlet_lift"), COLUMNS.index("piston_lift")
INLET_FLOW, PISTON_FLOW = COLUMNS.index("inlet_flow"), COLUMNS.index("piston_flow")
LINE_FLOW, OUTLET_FLOW = COLUMNS.index("line_flow"), COLUMNS.index("outlet_flow")
INLET_MODE, PISTON_MODE = COLUMNS.index("inlet_mode"), COLUMNS.index("piston_mode")
DRAWN, PASSED = COLUMNS.index("drawn_volume"), COLUMNS.index("passed_volume")
DELIVERED, LINE_VOLUME = COLUMNS.index("delivered_volume"), COLUMNS.index("line_volume")
PACKING, ROD = COLUMNS.index("packing_volume"), COLUMNS.index("rod_volume")
POSITION_INTEGRAL, VOID = COLUMNS.index("position_integral"), COLUMNS.index("void_volume")
PORT_SURPLUS, LOWER_SURPLUS, UPPER_SURPLUS = (
    COLUMNS.index(f"{name}_surplus") for name in ("port", "lower", "upper")
)
PORT_PRESSURE, LOWER_PRESSURE, UPPER_PRESSURE, TIP_PRESSURE = (
    COLUMNS.index(f"{name}_pressure") for name in ("port", "lower", "upper", "tip")
)

rows_of = lookup(1, len(COLUMNS))
events_of = lookup(1, EVENT_COLUMNS)
"""A kernel's way to the rows and the events of a workspace."""


@kernel
def void_volume(p: Parameters, n: Moment, y: Array) -> float:
    """Gas and vapour in the lower chamber less the free gas's own volume at the atmosphere [m3] (M2)."""
    contents = p.lower.volume + p.lower.area * n.x + y[LOWER]
    free = p.material.gas_fraction * contents
    vapour = p.material.vapour_pressure
    expanded = (p.reference_pressure - vapour) / (n.lower - vapour)
    return float(max(0.0, (free + y[GAS_LOWER]) * expanded - free))


@kernel
def record(
    p: Parameters, row: Array, t: float, n: Moment, y: Array, inlet_mode: int, piston_mode: int
) -> None:
    """Write one instant into ``row``, in the order of COLUMNS."""
    row[0] = t
    row[1] = n.x
    row[2] = n.v
    for i in range(SIZE):
        row[3 + i] = y[i]
    row[3 + SIZE] = n.port
    row[4 + SIZE] = n.lower
    row[5 + SIZE] = n.upper
    row[6 + SIZE] = n.inlet.law.flow
    row[7 + SIZE] = n.piston.law.flow
    row[8 + SIZE] = n.outflow
    row[9 + SIZE] = n.store
    row[10 + SIZE] = n.tip
    row[11 + SIZE] = void_volume(p, n, y)
    row[12 + SIZE] = inlet_mode
    row[13 + SIZE] = piston_mode
