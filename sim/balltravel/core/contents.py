"""Contents of a chamber: liquid, free gas and vapour under one smooth law (M2)."""

import math

from balltravel.core.jit import kernel
from balltravel.core.parameters import Chamber, Material
from balltravel.core.ranges import Range

GAS_EXPANSION = Range(
    "volume that passes the check counts as at the atmosphere",
    "share by which free gas has made it larger",
    ((-math.inf, 0.05),),
    "our choice: the pressure drop is too low by about this share",
)
COMPRESSION = Range(
    "compression of the liquid",
    "pressure over bulk modulus",
    ((0.0, 0.05),),
    "a straight line for what is a curve: half the square, 0.1 %, at the end",
)


@kernel
def pressure(
    material: Material, reference: float, chamber: Chamber, position: float, surplus: float, gas: float = 0.0
) -> tuple[float, float, float]:
    """Absolute pressure [Pa], its derivative with the contents [Pa/m3] and with the volume [Pa/m3]. ``gas``:
    what has come out of solution, by its volume at the reference pressure [m3] (M2b).

    ``surplus`` is the contents (volume at the reference pressure, gas included) less the geometric volume
    [m3]: the difference is the state, because a pascal is only 7e-10 of the contents. With u = p - p_v (M2a)

        (M_l/beta + C) u^2 - B u - N = 0,

    taken in the form that does not cancel on either side of B = 0. Defined for any surplus above minus the
    volume; as the chamber is drawn empty u tends to 0 and never reaches it.
    """
    volume = chamber.volume + chamber.area * position
    contents = volume + surplus
    phi = material.gas_fraction
    above_vapour = reference - material.vapour_pressure
    stiffness = (1.0 - phi) / material.bulk_modulus
    a = stiffness * contents + chamber.compliance
    b = surplus - phi * contents + a * above_vapour
    n = (phi * contents + gas) * above_vapour
    root = math.sqrt(b * b + 4.0 * a * n)
    if b < 0.0:
        u = 2.0 * n / (root - b)
    else:
        u = (b + root) / (2.0 * a)
    # Differentiate a u - b - n/u = 0.
    slope = a + n / (u * u)
    common = -phi + stiffness * above_vapour + phi * above_vapour / u - stiffness * u
    return u + material.vapour_pressure, (1.0 + common) / slope, common / slope


@kernel
def by_gas(material: Material, reference: float, at: float, by_contents: float, by_volume: float) -> float:
    """Derivative of a pressure ``at`` [Pa] with the gas out of solution [Pa/m3], from its other two."""
    vapour = material.vapour_pressure
    return (reference - vapour) / (at - vapour) * (by_contents - by_volume)


@kernel
def void(material: Material, reference: float, chamber: Chamber, position: float, surplus: float) -> float:
    """Gas and vapour less the free gas's own volume at the reference pressure [m3], at least 0."""
    p, _, _ = pressure(material, reference, chamber, position, surplus)
    contents = chamber.volume + chamber.area * position + surplus
    gas = material.gas_fraction * contents
    u = p - material.vapour_pressure
    return max(0.0, gas * (reference - material.vapour_pressure) / u - gas)
