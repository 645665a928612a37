"""What is kept of each accepted step."""

from balltravel.core.jit import kernel
from balltravel.core.model import SIZE, Moment
from balltravel.core.parameters import Array

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
    "inlet_mode",
    "piston_mode",
)


@kernel
def record(row: Array, t: float, n: Moment, y: Array, inlet_mode: int, piston_mode: int) -> None:
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
    row[11 + SIZE] = inlet_mode
    row[12 + SIZE] = piston_mode
