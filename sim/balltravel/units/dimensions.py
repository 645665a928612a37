"""What a quantity is measured in: units told to people, and those it is shown in."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Dimension:
    """SI unit, the units told to people, an example, and the unit shown from which SI magnitude on."""

    si: str
    accepted: tuple[str, ...]
    example: str
    shown: tuple[tuple[str, float], ...]
    bare: bool = False


_PRESSURE = ("bar", "mbar", "Pa", "kPa", "MPa", "psi", "inHg")
_LENGTH = ("mm", "um", "cm", "m", "in", "ft", "mil")

DIMENSIONS: dict[str, Dimension] = {
    "viscosity": Dimension(
        "Pa.s", ("mPa.s", "cP", "Pa.s", "P", "cSt", "mm2/s"), "3500 mPa.s", (("mPa.s", 0), ("Pa.s", 1))
    ),
    "density": Dimension("kg/m3", ("kg/m3", "kg/l", "g/cc", "SG", "lb/gal"), "1.25 kg/l", (("kg/m3", 0),)),
    "pressure": Dimension("Pa", _PRESSURE, "1.5 bar", (("bar", 1e5), ("kPa", 1e3), ("Pa", 0), ("MPa", 1e8))),
    "length": Dimension("m", _LENGTH, "29.4 mm", (("mm", 1e-3), ("um", 0), ("m", 1))),
    "volume": Dimension(
        "m3",
        ("cc", "ml", "l", "mm3", "m3", "in3", "US gal", "US qt", "US fl oz", "imp gal"),
        "30 cc",
        (("cc", 0), ("l", 1e-2)),
    ),
    "frequency": Dimension("1/s", ("/min", "cycles/min", "cpm", "1/s"), "30 /min", (("/min", 0),)),
    "shear rate": Dimension("1/s", ("1/s",), "10 1/s", (("1/s", 0),)),
    "stress": Dimension("Pa", ("Pa", "kPa"), "20 Pa", (("Pa", 0),)),
    "time": Dimension(
        "s", ("ms", "s", "min", "h"), "30 ms", (("ms", 0), ("s", 1), ("min", 300), ("h", 7200))
    ),
    "mass": Dimension("kg", ("g", "kg", "lb"), "104 g", (("g", 0), ("kg", 1))),
    "velocity": Dimension(
        "m/s", ("m/s", "mm/s", "m/min", "in/s", "ft/s"), "0.5 m/s", (("m/s", 0.1), ("mm/s", 0))
    ),
    "force": Dimension("N", ("N", "mN", "kN", "lbf"), "2 N", (("N", 0), ("kN", 1e4))),
    "stiffness": Dimension("N/m", ("N/m", "N/mm", "lbf/in"), "0.5 N/mm", (("N/m", 0), ("N/mm", 1e4))),
    "compliance": Dimension("m3/Pa", ("cc/bar", "m3/Pa", "in3/psi"), "10 cc/bar", (("cc/bar", 0),)),
    "sonic conductance": Dimension(
        "m3/s/Pa", ("l/s/bar", "l/min/bar", "m3/s/Pa"), "8 l/s/bar", (("l/s/bar", 0),)
    ),
    "resistance": Dimension("Pa.s/m3", ("Pa.s/m3", "bar.min/l"), "1e9 Pa.s/m3", (("Pa.s/m3", 0),)),
    "flow": Dimension(
        "m3/s",
        ("l/min", "cc/min", "cc/s", "cc/h", "m3/s", "US gpm", "imp gpm"),
        "9.5 l/min",
        (("l/min", 1e-5), ("cc/min", 0)),
    ),
    "activation energy": Dimension("J/mol", ("kJ/mol", "J/mol"), "40 kJ/mol", (("kJ/mol", 0),)),
    "thermal expansion": Dimension("1/K", ("1/K", "%/K"), "0.0007 1/K", (("1/K", 0),)),
    "flexing": Dimension("1/Pa", ("%/bar", "1/Pa", "%/psi"), "0.5 %/bar", (("%/bar", 0),)),
    "energy": Dimension("J", ("mJ", "J"), "5 mJ", (("mJ", 0), ("J", 1))),
    "angle": Dimension("rad", ("deg", "rad"), "45 deg", (("deg", 0),)),
    "temperature": Dimension("K", ("degC", "degF", "K", "C", "F"), "20 degC", (("degC", 0),)),
    "fraction": Dimension("", ("%", "a bare number"), "95 %", (("%", 0),), bare=True),
    "number": Dimension("", ("a bare number",), "0.7", (("", 0),), bare=True),
}
