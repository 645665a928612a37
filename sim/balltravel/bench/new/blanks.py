"""What is asked of a lower: the blanks of the worksheet and of ``balltravel new``, in the order in which one
takes a lower apart, in the words of a shop."""

from dataclasses import dataclass

from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.site.ball_materials import BALL_MATERIALS
from balltravel.units import DIMENSIONS
from balltravel.units.systems import METRIC, US

SHEETS = (METRIC, US)
"""Units in which a sheet may have its blanks."""

LETTERS = "ABCDEFGHJKLMNP"
"""Of the blanks in their order; without I and O, which look like numbers."""

OF_PARTS, NO_UNITS = ("mm", "in"), ("", "")

Said = tuple[str, ...]
"""What is said in metric and in US units, or once for both."""


@dataclass(frozen=True)
class Blank:
    """One blank: its name, and the key of the scenario by which it is read ("" of the material).

    ``asks``: the question; ``where``: where to measure it; ``typical``: common sizes; ``unknown``: what
    stands for it where nobody knows; ``example``: an answer; ``units``: that of a sheet, "" for none.
    """

    name: str
    key: str
    asks: str
    where: str
    typical: Said
    unknown: Said
    example: Said
    units: tuple[str, str] = OF_PARTS

    @property
    def letter(self) -> str:
        """Its letter on the sheet."""
        return LETTERS[BLANKS.index(self)]

    def unit(self, system: str | None) -> str:
        """The unit that a number alone has: that of the sheet, or the one that goes with either system."""
        if system:
            return self.units[SHEETS.index(system)]
        return self.units[0] if len({*self.units}) == 1 else ""

    def accepted(self, system: str | None = None) -> str:
        """What one may type, in words."""
        if self.name in FORMS:
            return FORMS[self.name]
        quantity = quantity_of(FIELDS[self.key])
        assert quantity is not None
        names = ", ".join(DIMENSIONS[quantity.dimension].accepted)
        fractions = "; fractions such as 1 7/8 in" if quantity.dimension == "length" else ""
        unit = self.unit(system or METRIC)
        span = f"; a range: {'20 to 30' if unit in ('mm', '/min') else '1 to 2'} {unit}"
        between = "" if self.name == "shims" else span
        return f"a number with its unit: {names}{fractions}{between}"


def in_system(said: Said, system: str | None, both: str = "{} ({})") -> str:
    """What is said in the units of a system, or in those of both where none is chosen."""
    if len(said) == 1 or system:
        return said[-1 if system == US else 0]
    return both.format(*said)


MATERIAL_FORMS = (
    "a viscosity (3500 cP; 2 Pa.s to 9 Pa.s), Krebs units (95 KU), a cup and its seconds (Ford 4, 60 s), or "
    "a kind of material"
)
FORMS = {
    "material": MATERIAL_FORMS,
    "made of": f"{', '.join(BALL_MATERIALS)}; or its density (7800 kg/m3, 7.8 SG)",
    "below": "numbers of the shims in the order of the last answer (1 + 2), or none",
}
"""What one may type for a blank that is not a number with its unit."""

BLANKS = (
    Blank(
        "bore", "lower.bore", "Bore of the cylinder",
        "inside, by bore gauge or inside calipers, where the piston packing runs",
        ("25 to 100 mm", "1 to 4 in"), ("a range by the other sizes",), ("48 mm", "1 7/8 in"),
    ),
    Blank(
        "stroke", "lower.stroke", "Full stroke of the piston",
        "mark the rod at the gland at both ends of its way and measure between the marks",
        ("50 to 200 mm", "2 to 8 in"), ("1.3 to 2.6 times the bore",), ("90 mm", "3 1/2 in"),
    ),
    Blank(
        "rod", "lower.rod", "Diameter of the rod",
        "by calipers, where it runs through the upper (throat) packing",
        ("0.6 to 0.8 of the bore",), ("0.62 to 0.76 of the bore",), ("34 mm", "1 5/16 in"),
    ),
    Blank(
        "ball", "inlet_check.ball_diameter", "Diameter of the foot valve's ball (intake ball)",
        "by calipers, in three directions: a ball that is not round is worn",
        ("15 to 50 mm", "5/8 to 2 in"), ("a range by seat, cage or bore",), ("29.4 mm", "1 1/8 in"),
    ),
    Blank(
        "made of", "inlet_check.ball_density", "What that ball is made of",
        "a magnet holds it: steel; white or cream: a ceramic; twice as heavy as steel: tungsten carbide",
        ("steel, stainless, a ceramic, carbide",),
        ("any of them, steel most likely",), ("steel",), NO_UNITS,
    ),
    Blank(
        "seat", "inlet_check.seat_diameter", "Bore of the foot valve's seat",
        "the hole under the ball, by inside calipers; not the ring on which the ball sits",
        ("0.6 to 0.8 of the ball",), ("0.62 to 0.8 of the ball",), ("21 mm", "13/16 in"),
    ),
    Blank(
        "cage", "inlet_check.cage_diameter", "Bore of the cage around the ball",
        "inside, between the guides, at the height of the ball",
        ("1.2 to 1.4 times the ball",), ("1.2 to 1.38 times the ball",), ("37.8 mm", "1 1/2 in"),
    ),
    Blank(
        "shims", "shims.thicknesses", "Shims: the thickness of each, the whole set",
        "by micrometer, one by one, a + between them; none if there are none",
        ("0.5 to 6 mm each", "1/64 to 1/4 in each"), ("a ladder of travels to choose among",),
        ("1 + 2 + 4 mm", "1/16 + 1/8 in"),
    ),
    Blank(
        "below", "shims.below", "Which of them lie below the cage now",
        "numbered as you wrote them: 1, 2, 3; those not below lie above the cage",
        ("some below, the others above",), ("below or above, as may be",),
        ("1 + 2",), NO_UNITS,
    ),
    Blank(
        "travel", "inlet_check.base_travel", "Travel of that ball as it is now",
        "depth gauge on the ball on its seat, then on the ball held against its stop: the difference",
        ("0.05 to 0.3 of the ball",), ("a range by the ball",), ("5 mm", "3/16 in"),
    ),
    Blank(
        "rate", "drive.cycle_rate", "Cycles a minute on the job",
        "count one for an up and a down stroke together, over a whole minute at the gun's rate",
        ("10 to 45 /min",), ("10 to 45 a minute, 25 most likely",), ("30 /min",), ("/min", "/min"),
    ),
    Blank(
        "hose", "suction.hose_diameter", "Inside diameter of the suction hose",
        "at its cut end; of a lower that stands in the material, of its inlet pipe",
        ("20 to 76 mm", "3/4 to 3 in"), ("0.6 to 1 times the bore",), ("38 mm", "1 1/2 in"),
    ),
    Blank(
        "length", "suction.hose_length", "Length of the suction hose",
        "from the material to the foot valve; of a lower that stands in the material, of its inlet pipe",
        ("0.2 to 4 m", "1 to 12 ft"), ("1 to 3 m", "3 to 10 ft"), ("1.5 m", "5 ft"), ("m", "ft"),
    ),
    Blank(
        "material", "material", "Material",
        "viscosity with its unit, KU, or cup and seconds, as warm as it is pumped; or what kind it is",
        ("0.05 to 100 Pa.s", "50 to 100 000 cP"), ("anything from stain to mastic",), ("3500 cP",), NO_UNITS,
    ),
)  # fmt: skip
"""In the order in which they are asked; sizes are common ones (no source)."""

BY_NAME = {blank.name: blank for blank in BLANKS}
