"""What balls are made of: the density of each material with its range, and where both are from."""

import difflib
from typing import NamedTuple

from balltravel.units import UnitError, cut, kind_of

_CALLISTER = "Callister (2008), table B.1 (read in a copy)"
_DOWLING = "Dowling (2013), table 3.10 (read in a copy)"
_PLASTICS = "a handbook's table of plastics (read in a copy that does not name it)"


class BallMaterial(NamedTuple):
    """Lowest, likely and highest density [kg/m3] of what is sold by this name, and the source."""

    low: float
    likely: float
    high: float
    source: str


BALL_MATERIALS: dict[str, BallMaterial] = {
    "steel": BallMaterial(7800.0, 7850.0, 7870.0, f"plain and low-alloy: {_CALLISTER}; ends from memory"),
    "stainless": BallMaterial(7650.0, 7800.0, 8000.0, f"17-7PH, 440A, 304 and 316: {_CALLISTER}"),
    "alumina": BallMaterial(3700.0, 3890.0, 3980.0, f"99.5 %: {_DOWLING}; 96 and 99.9 % from memory"),
    "zirconia": BallMaterial(5700.0, 6000.0, 6100.0, f"5800: {_DOWLING}; stabilised kinds from memory"),
    "silicon nitride": BallMaterial(3120.0, 3200.0, 3300.0, f"3180: {_DOWLING}; ends from memory"),
    "tungsten carbide": BallMaterial(
        14100.0,
        14900.0,
        15350.0,
        "3 to 15 % of cobalt by weight (from memory), 15700 and 8900 kg/m3 by their volumes",
    ),
    "glass": BallMaterial(2440.0, 2480.0, 2550.0, f"soda-lime: {_DOWLING}; ends from memory"),
    "PTFE": BallMaterial(2130.0, 2170.0, 2200.0, f"{_CALLISTER}; ends from memory"),
    "acetal": BallMaterial(1390.0, 1410.0, 1430.0, f"{_PLASTICS}; ends from memory"),
    "polyamide": BallMaterial(1120.0, 1140.0, 1160.0, f"{_PLASTICS}; lower end from memory"),
    "PEEK": BallMaterial(1300.0, 1310.0, 1320.0, "from memory, no source"),
    "polypropylene": BallMaterial(900.0, 905.0, 915.0, f"{_CALLISTER}; ends from memory"),
    "polyethylene": BallMaterial(930.0, 940.0, 970.0, f"{_PLASTICS}; lower end from memory"),
}
"""By name; one that may be several, as ceramic, is none of them."""

OTHER_NAMES = {
    "stainless steel": "stainless", "chrome steel": "steel", "carbon steel": "steel",
    "carbide": "tungsten carbide", "alumina ceramic": "alumina", "aluminum oxide": "alumina",
    "aluminium oxide": "alumina", "zirconium oxide": "zirconia", "nylon": "polyamide", "pom": "acetal",
}  # fmt: skip
"""What a shop calls one of them, in small letters."""

FAMILIES = {
    "ceramic": ("alumina", "zirconia", "silicon nitride"),
    "plastic": ("PTFE", "acetal", "polyamide", "PEEK", "polypropylene", "polyethylene"),
}
"""Names that several materials have, whose densities lie far apart."""


def ball_material_named(text: object) -> str:
    """The name in ``BALL_MATERIALS`` that a shop means, in small or large letters; raises UnitError, which
    says which names there are, or which of them a name may mean."""
    name = " ".join(text[:80].lower().split()) if isinstance(text, str) else ""
    ours = {known.lower(): known for known in BALL_MATERIALS} | OTHER_NAMES
    if name in ours:
        return ours[name]
    several = FAMILIES.get(name.removesuffix("s"), ())
    near = difflib.get_close_matches(name, ours, n=1)
    hint = f' (did you mean "{ours[near[0]]}"?)' if near and not several else ""
    hint = " (which one? their densities lie far apart)" if several else hint
    given = f'"{cut(text)}" given{hint}' if isinstance(text, str) else kind_of(text)
    allowed = " or ".join(f'"{known}"' for known in several or BALL_MATERIALS)
    raise UnitError(given, allowed, f'"{(several or tuple(BALL_MATERIALS))[0]}"')


def names_ball_material(raw: object) -> bool:
    """Whether something written is the name of one."""
    try:
        return bool(ball_material_named(raw))
    except UnitError:
        return False
