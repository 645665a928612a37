"""Keys by the names that the trade has for them: those that a file may have, and those that it may not, for
which the message about an unknown key says what to write."""

DENSITIES = ("inlet_check.ball_density", "piston_check.ball_density")

OTHER_NAMES = {
    "drive.ratio": "drive.area_ratio",
    **{key.replace("density", "material"): key for key in DENSITIES},
}
"""Dotted keys by which the trade calls one of ours. The ratio of a pump is the pressure that it makes over
the one that its motor gets: our ratio of areas, as a mean of both strokes. What a ball is made of tells its
density."""

EXAMPLES = {"drive.ratio": 'ratio = "30:1"', **dict.fromkeys((*OTHER_NAMES,)[1:], 'ball_material = "steel"')}
"""How one writes each of them."""

_KREBS, _CUP = 'viscosity = "100 KU"', 'viscosity = "Zahn 3, 25 s"'
_CHECK = {
    "material": ("ball_material", ""),
    "ball": ("ball_diameter", ""),
    "seat_bore": ("seat_diameter", ""),
    "cage_bore": ("cage_diameter", ""),
}
_MEANT: dict[str, dict[str, tuple[str, str]]] = {
    "material": {
        **dict.fromkeys(("krebs", "ku", "stormer"), ("viscosity", _KREBS)),
        **dict.fromkeys(("cup", "seconds", "zahn", "ford"), ("viscosity", _CUP)),
        **dict.fromkeys(("rpm", "spindle"), ("readings", 'readings = ["12 Pa.s at 10 1/s"]')),
        **dict.fromkeys(("sg", "specific_gravity", "weight", "ppg"), ("density", 'density = "1.35 SG"')),
    },
    "lower": {"bore_diameter": ("bore", ""), "rod_diameter": ("rod", ""), "cylinder": ("bore", "")},
    "drive": {
        **dict.fromkeys(("cpm", "cycles", "rate", "speed"), ("cycle_rate", 'cycle_rate = "30 cpm"')),
        **dict.fromkeys(("air_pressure", "supply", "psi"), ("supply_gauge_pressure", "")),
    },
    "shims": {"shims": ("thicknesses", ""), "set": ("thicknesses", "")},
    "suction": {"hose": ("hose_diameter", ""), "length": ("hose_length", "")},
    "outlet": {"tip": ("tip_diameter", ""), **dict.fromkeys(("pressure", "psi"), ("gauge_pressure", ""))},
    "inlet_check": _CHECK,
    "piston_check": _CHECK,
}  # fmt: skip
"""Words of a shop that no file has as keys: by table the key that is meant, with how one writes it where
that is not plain."""


def our_key(key: str) -> str:
    """The dotted key of a scenario for one that may be the trade's."""
    return OTHER_NAMES.get(key, key)


def names_of_trade(table: str) -> list[str]:
    """The names without their table that may stand in a table beside its own keys."""
    return [key.partition(".")[2] for key in OTHER_NAMES if key.startswith(f"{table}.")]


def meant_by(key: str) -> tuple[str, str] | None:
    """The dotted key that a word of a shop means in its table, with an example, "" for the usual one."""
    table, _, word = key.rpartition(".")
    meant = _MEANT.get(table, {}).get(word.lower())
    return (f"{table}.{meant[0]}", meant[1]) if meant else None
