"""Losses outside the checks a second time: lines (docs/model.md M4, M8a) and narrow passages (M8b, M8c)."""

import math

from referee.closures import churchill_ratio
from referee.full_law import rising_root

INCH = 0.0254
ENTRIES = {"sharp entry": (160, 0.5), "rounded entry": (160, 0.04), "projecting entry": (160, 1.0)}
FITTINGS = {
    "elbow 90 screwed": (800, 0.4),
    "elbow 45": (500, 0.2),
    "return bend": (1000, 0.35),
    "tee branch screwed": (500, 0.7),
    "full bore valve": (300, 0.1),
    "ball valve reduced": (500, 0.15),
    "globe valve": (1500, 4.0),
    "swing check valve": (1500, 1.5),
}
"""K_1 and K_t of docs/scenario.md."""


class Line:
    """A hose with what sits in it: its loss at a flow either way [Pa]."""

    def __init__(self, length, diameter, roughness, rho, curve, K=0.0):
        """``curve``: a FlowCurve; ``K``: minor losses in velocity heads. ``strainer``, which may be set:
        number of holes, their diameter, thickness of the plate."""
        self.L, self.d, self.A = length, diameter, math.pi * diameter**2 / 4
        self.eps, self.rho, self.curve, self.K = roughness / diameter, rho, curve, K
        self.K_1, self.strainer, self.compliance = 0.0, None, 0.0

    def add_fittings(self, names):
        """M4d."""
        self.K_1 += sum((FITTINGS.get(name) or ENTRIES[name])[0] for name in names)
        self.K += sum(
            ENTRIES[name][1] if name in ENTRIES else FITTINGS[name][1] * (1 + INCH / self.d) for name in names
        )

    def loss(self, Q):
        """M4a to M4d."""
        U = abs(Q) / self.A
        mu = self.curve.in_pipe(8 * U / self.d)
        Re = self.rho * U * self.d / mu
        wall = 128 * mu * self.L / (math.pi * self.d**4) * churchill_ratio(Re, self.eps) * Q
        fittings = self.K_1 * mu * Q / (2 * self.d * self.A)
        return wall + fittings + self.K * self.rho / (2 * self.A**2) * Q * abs(Q) + self._strained(Q)

    def _strained(self, Q):
        """M4c."""
        if not self.strainer:
            return 0.0
        N, d, t = self.strainer
        mu = self.curve.in_pipe(8 * abs(Q) / (N * math.pi * d**2 / 4) / d)
        return 128 * mu * (t + 3 * math.pi * d / 16) * Q / (math.pi * d**4 * N)


class Narrow:
    """M8b: dp = mu a Q + b Q|Q|, with the viscosity at a shear rate of so much times the flow."""

    def __init__(self, a, b, rate, curve):
        self.a, self.b, self.rate, self.curve = a, b, rate, curve

    def drop(self, Q):
        """Pressure that a flow takes."""
        return self.curve.viscosity(self.rate * abs(Q)) * self.a * Q + self.b * Q * abs(Q)

    def flow(self, dp):
        """Flow under a pressure drop, either way."""
        if dp == 0:
            return 0.0
        if self.curve.newtonian:
            k = self.curve.mu * self.a
            return 2 * dp / (k + math.sqrt(k * k + 4 * self.b * abs(dp)))
        return rising_root(lambda Q: self.drop(Q) - dp, abs(dp) / (self.curve.viscosity(0.0) * self.a))


def hose_of(outlet, rho, curve):
    """The hose of an outlet with a tip."""
    line = Line(outlet.hose_length, outlet.hose_diameter, outlet.hose_roughness, rho, curve)
    line.compliance = outlet.hose_compliance
    return line


def tip_of(outlet, rho, curve):
    """The tip of an outlet."""
    r, length = outlet.tip_diameter / 2, outlet.tip_length
    a = (3 + 8 * length / (math.pi * r)) / r**3
    b = rho / (2 * (outlet.tip_discharge_coefficient * math.pi * r**2) ** 2)
    return Narrow(a, b, 0.8 * 4 / (math.pi * r**3), curve)


def packing_of(D, gap, length, rho, curve):
    """M8c: a worn packing around a diameter; None where it is tight."""
    if not gap:
        return None
    around = math.pi * D
    b = 1.5 * rho / (2 * (around * gap) ** 2)
    return Narrow(12 * length / (around * gap**3), b, 0.75 * 6 / (around * gap**2), curve)
