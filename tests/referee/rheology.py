"""M9 a second time: the flow curve, and the exponent that it has at a shear rate."""

import math
from dataclasses import dataclass

BLUNT = 0.05
HOSE_RATE = 0.785


@dataclass(frozen=True)
class FlowCurve:
    """Viscosity at rest, exponent, onset, yield stress and the rate at which that is blunted."""

    mu: float
    n: float = 1.0
    onset: float = 1.0
    tau_y: float = 0.0
    blunt: float = 1.0

    @property
    def newtonian(self):
        """Exponent 1 and no yield stress."""
        return self.n == 1 and self.tau_y == 0

    def viscosity(self, rate):
        """Viscosity at a shear rate >= 0 [Pa s]."""
        if self.newtonian:
            return self.mu
        thin = self.mu * (1 + (rate / self.onset) ** 2) ** ((self.n - 1) / 2)
        return thin + self.tau_y / math.sqrt(rate**2 + self.blunt**2)


def flow_curve(material, cycle_rate):
    """The flow curve of a scenario's material."""
    if material.flow == "Newtonian":
        return FlowCurve(material.viscosity)
    return FlowCurve(
        material.viscosity,
        material.thinning_exponent or 1.0,
        material.thinning_onset or 1.0,
        material.yield_stress or 0.0,
        BLUNT * cycle_rate,
    )
