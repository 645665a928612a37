"""What the kernels need to know of a lower, its material and its drive: plain numbers in SI units."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.rheology import Rheology
from balltravel.core.shared import Shared, lookup

Array = NDArray[np.float64]

MOST_SEGMENTS = 256
"""Segments of a stroke at most: a measured one is a curve of many pieces."""

LIFT_INTERVALS = 240
"""Intervals of a check's table."""

NO_MOTOR, HYDRAULIC, AIR = 0, 1, 2
"""What drives the piston: a given stroke, a liquid or air behind a motor's piston (M1b)."""

# Functions of lift in a check's table (M5, M6, M9), gap in seat radii: G/gap^2, alpha, S, S of a ball that
# leaves; (alpha - kappa)/gap; in each direction K_p gap^2 of laminar flow, that of turbulent flow and the
# Reynolds number of onset (M5h); K_L gap (M5j); over the added mass far from the seat the inertia of a stream
# through the seat, over the square of its speed there, and the added mass, and the coupling over its value
# far from the seat (M6b); and for a liquid that thins the cage's part R G/gap^2, alpha and S, the first shear
# rate at the edge (times gap^2) and in the cage, and the second over the first (M9a).
CONDUCTANCE, ALPHA, SLIP, OPENING_SLIP, OFFSET = range(5)
FORWARD, BACKWARD = 5, 8
LIFT_FORCE, STREAM, MASS, COUPLING = range(11, 15)
CAGE, CAGE_ALPHA, CAGE_SLIP, EDGE_RATE, EDGE_SECOND, CAGE_RATE, CAGE_SECOND = range(15, 22)
FUNCTIONS = 22

lift_rows = lookup(LIFT_INTERVALS, FUNCTIONS, 4)
pieces = lookup(MOST_SEGMENTS + 1)
"""A kernel's way to a check's table and to a column of a drive's segments."""


class Material(NamedTuple):
    """The material pumped.

    rheology: viscosity over shear rate; by_stress: over stress. density [kg/m3], bulk_modulus [Pa],
    gas_fraction [-] (free gas by volume at the reference pressure), vapour_pressure [Pa absolute];
    dissolved [-] (gas that would come out at no pressure at all, by volume at the reference pressure) and
    release_rate, one over the time constant with which it does [1/s] (M2b).
    """

    rheology: Rheology
    by_stress: Rheology
    density: float
    bulk_modulus: float
    gas_fraction: float
    vapour_pressure: float
    dissolved: float = 0.0
    release_rate: float = 0.0


class Check(NamedTuple):
    """A ball check: geometry [m], inertia [kg], weight and spring [N, N/m], and its closure table.

    table: shape (LIFT_INTERVALS, FUNCTIONS, 4), cubic coefficients of the intervals in u = ln(1 +
    z/table_origin), for the functions of lift named above. added_mass and coupling_mass [kg/m2] (force of
    the accelerating liquid on the ball per dQ/dt, M6b) are those far from the seat. measured_force: 1 if
    kappa and the lift force come from the table, 0 for the kappa of a freely carried ball.
    """

    seat_radius: float
    ball_radius: float
    travel: float
    ball_mass: float
    added_mass: float
    coupling_mass: float
    net_weight: float
    spring_preload: float
    spring_rate: float
    leak_gap: float
    pad_radius: float
    roughness: float
    landing_gap: float
    table_origin: float
    table_step: float
    table: Shared
    measured_force: float = 0.0


class Chamber(NamedTuple):
    """A space that holds material: volume [m3] at piston position 0, its growth with position [m2], and the
    compliance of its wall [m3/Pa]."""

    volume: float
    area: float
    compliance: float


class Suction(NamedTuple):
    """The suction line (M4): inertance [kg/m4], laminar resistance over viscosity [1/m3], minor loss
    [Pa s2/m6], driving pressure at rest [Pa absolute], diameter [m], relative roughness [-]; the material in
    it as a pipe sees it: viscosity that loses as much, over 8 U/d. ``strainer``: laminar resistance of its
    holes over viscosity [1/m3], with ``strainer_rate``, 8 U/d in a hole over the flow [1/m3]; 0 for none.
    ``fittings``: laminar resistance of fittings over viscosity [1/m3]."""

    inertance: float
    laminar: float
    minor: float
    pressure: float
    diameter: float
    relative_roughness: float
    rheology: Rheology
    strainer: float = 0.0
    strainer_rate: float = 0.0
    fittings: float = 0.0


class Drive(NamedTuple):
    """The stroke as segments (M1): start times (segments + 1), and position, speed and acceleration at each
    start, in arrays of at least so many.

    angular_speed > 0 stands for a crank: position S/2 (1 - cos(omega t)) in every segment. jerk [m/s3] of
    each segment; turn: the segment that begins at top dead centre. With a motor the segments are the eight of
    M1b, and period the time that a cycle takes about, by a steady balance of its forces.
    """

    segments: int
    period: float
    stroke: float
    angular_speed: float
    start: Shared
    position: Shared
    speed: Shared
    acceleration: Shared
    jerk: Shared = np.zeros(MOST_SEGMENTS)
    turn: int = 0


class Motor(NamedTuple):
    """What drives the piston (M1b): kind, piston area [m2], supply [Pa absolute], speed without load [m/s],
    moving mass [kg], friction of packings and motor [N], time of a ramp and of the dwell [s]; of an air motor
    the conductances of its supply and of its exhaust [m3/s] and the volume at each end of its stroke [m3].
    limit: time [s] after which a stroke that has not ended counts as stalled."""

    kind: int = NO_MOTOR
    area: float = 0.0
    supply: float = 0.0
    free_speed: float = 1.0
    mass: float = 1.0
    friction: float = 0.0
    ramp_time: float = 0.0
    dwell_time: float = 0.0
    conductance: float = 0.0
    exhaust: float = 0.0
    dead_volume: float = 0.0
    limit: float = 0.0


class Narrow(NamedTuple):
    """A narrow passage (M8b): laminar resistance over viscosity [1/m3], head lost over the square of the flow
    [Pa s2/m6], and shear rate over the flow [1/m3]; a resistance of 0 stands for no passage at all."""

    laminar: float = 0.0
    head: float = 0.0
    rate: float = 0.0


class Outlet(NamedTuple):
    """Outlet hose and tip (M8a): the hose as a line, and as a store at its far end; ``hose`` 0: none of it,
    the outlet is a pressure behind a resistance."""

    hose: int
    line: Suction
    store: Chamber
    tip: Narrow


NO_HOSE = Outlet(
    0,
    Suction(1.0, 0.0, 0.0, 0.0, 1.0, 0.0, Rheology(1.0)),
    Chamber(1.0, 0.0, 0.0),
    Narrow(),
)
"""An outlet of fixed pressure."""


class Parameters(NamedTuple):
    """Everything that a simulation needs; outlet_pressure absolute [Pa], outlet_resistance [Pa s/m3],
    reference_pressure [Pa absolute] is the atmosphere at which volumes are counted. ``more``: 1 where the
    states of motor, outlet hose or gas feed back as well."""

    material: Material
    inlet: Check
    piston: Check
    port: Chamber
    lower: Chamber
    upper: Chamber
    suction: Suction
    drive: Drive
    outlet_pressure: float
    outlet_resistance: float
    reference_pressure: float
    gravity: float
    outlet: Outlet = NO_HOSE
    motor: Motor = Motor()
    piston_packing: Narrow = Narrow()
    rod_packing: Narrow = Narrow()
    more: int = 0


class Control(NamedTuple):
    """How the integration is run: relative tolerance, scales of the states (24), their far ends (24; 0 for
    none), cycles at most, rows of a cycle at most, the change from cycle to cycle that counts as none (in
    delivered volume over swept), and the number of states whose error counts."""

    rtol: float
    scale: Array
    end: Array
    max_cycles: int
    most_rows: int
    periodic_tolerance: float
    counted: int = 0
