"""Gas that comes out of solution and goes back (M2b)."""

import math
from dataclasses import dataclass

from balltravel.core.jit import kernel
from balltravel.core.parameters import Chamber, Material

BLUNT = 1e-3
"""Share of the reference pressure over which it is rounded off as the threshold (our choice)."""


@dataclass
class Release:
    """Gas out of solution in a chamber: its share of the contents, how fast it comes out [m3/s], and the
    derivatives of both by the contents (``_y``) and the gas itself (``_G``), of the rate by pressure too."""

    share: float = 0.0
    share_y: float = 0.0
    share_G: float = 0.0
    rate: float = 0.0
    rate_p: float = 0.0
    rate_y: float = 0.0
    rate_G: float = 0.0


@kernel
def excess(material: Material, reference: float, at: float) -> tuple[float, float]:
    """Share of the dissolved gas that a pressure [Pa] does not hold, and its slope: by Henry's law what is
    missing of the reference pressure, at which the liquid is saturated; none above it."""
    whole = reference - material.vapour_pressure
    missing = (reference - at) / whole
    root = math.sqrt(missing * missing + BLUNT * BLUNT)
    # The same twice, so that nothing cancels on either side.
    share = 0.5 * (missing + root) if missing > 0.0 else 0.5 * BLUNT * BLUNT / (root - missing)
    return share, -share / (root * whole)


@kernel
def release(
    material: Material, reference: float, chamber: Chamber, position: float, surplus: float, gas: float,
    at: float, out: Release,
) -> None:  # fmt: skip
    """Release and re-solution in a chamber at a pressure [Pa] into ``out``: towards what the pressure does
    not hold, with one time constant both ways."""
    contents = chamber.volume + chamber.area * position + surplus
    share, share_p = excess(material, reference, at)
    out.share = gas / contents
    out.share_y, out.share_G = -out.share / contents, 1.0 / contents
    out.rate = (material.dissolved * share * contents - gas) * material.release_rate
    out.rate_p = material.dissolved * share_p * contents * material.release_rate
    out.rate_y = material.dissolved * share * material.release_rate
    out.rate_G = -material.release_rate
