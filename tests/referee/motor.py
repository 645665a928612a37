"""A motor a second time (docs/model.md M1b): its forces, its air, and the eight segments of its cycle."""

import math

from referee.stroke import Segment
from scipy.optimize import brentq

HELD, DRIVEN, BRAKED, RESTING = "held", "driven", "braked", "resting"
GRAVITY = 9.80665
SPEED_ROUND = 1e-3
STOP_GIVES, STOP_DAMPING = 1e-4, 0.5
BRAKED_SHARE = 0.05
DEAD_AIR = 0.05
CRITICAL, STRAIGHT = 0.3, 0.99
AT_ONE_BAR = 1e5
STALLED = 20.0


def share_of_choked(r):
    """phi: flow through a valve over its choked flow, at a ratio of pressures 0 <= r <= 1."""
    if r <= CRITICAL:
        return 1.0
    if r > STRAIGHT:
        return share_of_choked(STRAIGHT) * (1 - r) / (1 - STRAIGHT)
    return math.sqrt(1 - ((r - CRITICAL) / (1 - CRITICAL)) ** 2)


def through(C, p, q):
    """Flow of air from pressure p to q, either way [Pa m3/s]."""
    return C * p * share_of_choked(q / p) if p > q else -C * q * share_of_choked(p / q)


class Motor:
    """Area, forces and segments of a motor; of the hydraulic one all there is."""

    air = False

    def __init__(self, scenario, A_c):
        """``A_c``: area of the bore."""
        drive, self.S = scenario.drive, scenario.lower.stroke
        self.p_0, self.P = scenario.suction.barometric_pressure, drive.supply_gauge_pressure
        self.area = drive.area_ratio * A_c / 2
        self.t_r, self.t_d, self.mass = drive.ramp_time, drive.dwell_time, drive.moving_mass
        self.stall = self.area * self.P
        self.friction = drive.friction * self.stall
        self.v_0 = self.S / (0.5 / drive.free_cycle_rate - self.t_d - self.t_r)
        self.stiffness = self.stall / (STOP_GIVES * self.S)
        self.damping = STOP_DAMPING * 2 * math.sqrt(self.stiffness * self.mass)
        self.longest = STALLED * 0.5 / drive.free_cycle_rate

    def force(self, t, v, airs, segment):  # noqa: ARG002
        """F of the hydraulic motor; its valve shifts within the ramp time."""
        shifted = min((t - segment.shifted) / self.t_r, 1.0)
        s = segment.way * (2 * shifted - 1)
        return self.stall * (s - v / self.v_0 * abs(v / self.v_0))

    def kinks(self, segment):
        """Times in a segment at which the force has a kink."""
        return (segment.shifted + self.t_r,)

    def resisted(self, x, v, way):
        """Weight, friction, and the stop that the piston left: a damped spring while it is back there."""
        rubbed = self.friction * v / math.hypot(v, SPEED_ROUND * self.v_0)
        depth = -x if way > 0 else x - self.S
        stop = way * self.stiffness * depth - self.damping * v if depth > 0 else 0.0
        return stop - rubbed - self.mass * GRAVITY

    def following(self, done, t, state):
        """The segment after ``done`` (None: the first), None after the last; ``state``: x, v as driven."""
        if done is None:
            return self._segment(HELD, t, math.inf, +1, t, 0.0)
        way, ahead = done.way, self.S if done.way > 0 else 0.0
        if done.kind == HELD:
            return self._segment(DRIVEN, t, math.inf, way, done.shifted, done.x0)
        if done.kind == DRIVEN:
            x, v = state
            left = abs(ahead - x)
            a = -way * v * v / (2 * left)
            return self._segment(BRAKED, t, t + 2 * left / abs(v), way, done.shifted, x, v, a)
        if done.kind == BRAKED and self.t_d > 0:
            return self._segment(RESTING, t, t + self.t_d, way, done.shifted, ahead)
        return self._segment(HELD, t, math.inf, -1, t, ahead) if way > 0 else None

    def _segment(self, kind, start, end, way, shifted, x, v=0.0, a=0.0):
        return Segment(start, end, x, v, a, 0.0, self.S, kind, way, shifted)

    def until_braked(self, x, v, way):
        """Rises through 0 where a driven piston must be braked [m]."""
        left = self.S - x if way > 0 else x
        return min(way * v * self.t_r / 2, BRAKED_SHARE * self.S) - left


class AirMotor(Motor):
    """The air below and above the piston, isothermal, through a supply and an exhaust."""

    air = True

    def __init__(self, scenario, A_c):
        """The supply's conductance is such that without load and with an equal exhaust the speed is v_0."""
        super().__init__(scenario, A_c)
        self.supply = self.p_0 + self.P
        self.dead = DEAD_AIR * self.area * self.S

        def surplus(p):
            return through(1.0, self.supply, p) - through(1.0, p, self.p_0)

        p = brentq(surplus, self.p_0, self.supply, xtol=1e-9, rtol=1e-15)
        self.C = self.area * self.v_0 / share_of_choked(self.p_0 / p)
        given = scenario.drive.exhaust_conductance
        self.C_e = self.C if given is None else given * AT_ONE_BAR

    def force(self, t, v, airs, segment):  # noqa: ARG002
        """F of the air."""
        return self.area * (airs[0] - airs[1])

    def kinks(self, segment):  # noqa: ARG002
        """None: the valve shifts at once, between two segments."""
        return ()

    def air_rates(self, x, v, airs, way):
        """dp_1/dt, dp_2/dt."""
        p_1, p_2 = airs
        flows = {+1: through(self.C, self.supply, p_1), -1: -through(self.C_e, p_1, self.p_0)}
        q_1 = flows[way]
        q_2 = -through(self.C_e, p_2, self.p_0) if way > 0 else through(self.C, self.supply, p_2)
        pushed = self.area * v
        below, above = self.dead + self.area * x, self.dead + self.area * (self.S - x)
        return (q_1 - p_1 * pushed) / below, (q_2 + p_2 * pushed) / above


def motor_of(scenario, A_c):
    """The motor of a scenario; None where the stroke is prescribed."""
    if scenario.drive.profile != "motor":
        return None
    return (AirMotor if scenario.drive.motor == "air" else Motor)(scenario, A_c)
