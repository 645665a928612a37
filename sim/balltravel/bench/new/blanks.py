"""What is asked of a lower: the blanks of the worksheet and of ``balltravel new``, in the order in which one
takes a lower apart, in the words of a shop."""

from dataclasses import dataclass

from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.units import DIMENSIONS
from balltravel.units.systems import METRIC, US

SHEETS = (METRIC, US)
"""Units in which a sheet may have its blanks."""


@dataclass(frozen=True)
class Blank:
    """One blank: its name, its letter on the sheet, which of the ten questions it belongs to, and the key of
    the scenario by which it is read ("" of the material).

    ``asks``: the question; ``where``: where to measure it; ``typical``: common sizes; ``unknown``: what
    stands for it where nobody knows; ``units``: that of a sheet in metric and in US units, "" for neither.
    """

    name: str
    letter: str
    question: int
    key: str
    asks: str
    where: str
    typical: str
    unknown: str
    units: tuple[str, str] = ("mm", "in")

    def unit(self, system: str | None) -> str:
        """The unit that a sheet prints beside the blank; none where no system is chosen."""
        return self.units[SHEETS.index(system)] if system else ""

    def usual(self, system: str) -> str:
        """Common sizes in the units of a sheet."""
        metric, bracket, rest = self.typical.partition(" (")
        us, _, rest = rest.partition(")")
        return (us if bracket and system == US else metric) + rest

    @property
    def accepted(self) -> str:
        """What one may type, in words."""
        if self.key == "material":
            return MATERIAL_FORMS
        quantity = quantity_of(FIELDS[self.key])
        if quantity is None:
            return "numbers of the shims in the order of the last answer (1 + 2), or none"
        names = ", ".join(DIMENSIONS[quantity.dimension].accepted)
        fractions = "; fractions such as 1 7/8 in" if quantity.dimension == "length" else ""
        return f"a number with its unit: {names}{fractions}; a range: 20 to 30 {self.units[0]}"


MATERIAL_FORMS = (
    "a viscosity (3500 cP; 2 Pa.s to 9 Pa.s), Krebs units (95 KU), a cup and its seconds (Ford 4, 60 s), or "
    "a kind of material"
)

BLANKS = (
    Blank(
        "bore", "A", 1, "lower.bore", "Bore of the cylinder",
        "inside, by bore gauge or inside calipers, where the piston packing runs",
        "25 to 100 mm (1 to 4 in)", "a range by the other sizes",
    ),
    Blank(
        "stroke", "B", 2, "lower.stroke", "Full stroke of the piston",
        "mark the rod at the gland at both ends of its way and measure between the marks",
        "50 to 200 mm (2 to 8 in)", "1.3 to 2.6 bores",
    ),
    Blank(
        "rod", "C", 3, "lower.rod", "Diameter of the rod",
        "by calipers, where it runs through the upper (throat) packing",
        "0.6 to 0.8 of the bore: half its area at 0.71", "0.62 to 0.76 of the bore",
    ),
    Blank(
        "ball", "D", 4, "inlet_check.ball_diameter", "Diameter of the foot valve's ball (intake ball)",
        "by calipers, in three directions: a ball that is not round is worn",
        "15 to 50 mm (5/8 to 2 in)", "a range by seat, cage or bore",
    ),
    Blank(
        "seat", "E", 5, "inlet_check.seat_diameter", "Bore of the foot valve's seat",
        "the hole under the ball, by inside calipers; not the ring on which the ball sits",
        "0.6 to 0.8 of the ball", "0.62 to 0.8 of the ball",
    ),
    Blank(
        "cage", "F", 6, "inlet_check.cage_diameter", "Bore of the cage around the ball",
        "inside, between the guides, at the height of the ball",
        "1.2 to 1.4 balls", "1.2 to 1.38 balls",
    ),
    Blank(
        "shims", "G", 7, "shims.thicknesses", "Shims: the thickness of each, the whole set",
        "by micrometer, one by one, a + between them; none if there are none",
        "0.5 to 6 mm (1/64 to 1/4 in) each", "a ladder of travels to choose among",
    ),
    Blank(
        "below", "H", 7, "shims.below", "Which of them lie below the cage now",
        "numbered as you wrote them: 1, 2, 3; those not below lie above the cage",
        "some below, the others above", "below and above are both taken as possible",
        ("", ""),
    ),
    Blank(
        "travel", "J", 7, "inlet_check.base_travel", "Travel of that ball as it is now",
        "depth gauge on the ball on its seat, then on the ball held against its stop: the difference",
        "0.05 to 0.3 of the ball", "a range by the ball",
    ),
    Blank(
        "rate", "K", 8, "drive.cycle_rate", "Cycles a minute on the job",
        "count one for an up and a down stroke together, over a whole minute at the gun's rate",
        "10 to 45 /min", "10 to 45 a minute, 25 most likely",
        ("/min", "/min"),
    ),
    Blank(
        "hose", "L", 9, "suction.hose_diameter", "Inside diameter of the suction hose",
        "at its cut end; of a lower that stands in the material, of its inlet pipe",
        "20 to 76 mm (3/4 to 3 in)", "0.6 to 1 bore",
    ),
    Blank(
        "length", "M", 9, "suction.hose_length", "Length of the suction hose",
        "from the material to the foot valve; of a lower that stands in the material, of its inlet pipe",
        "0.2 to 4 m (1 to 13 ft)", "1 to 3 m",
        ("m", "ft"),
    ),
    Blank(
        "material", "N", 10, "material", "Material",
        "viscosity with its unit, KU, or cup and seconds, as warm as it is pumped; or what kind it is",
        "0.05 to 100 Pa.s (50 to 100 000 cP)", "anything from stain to mastic",
        ("", ""),
    ),
)  # fmt: skip
"""In the order in which they are asked; sizes are common ones (no source)."""

BY_NAME = {blank.name: blank for blank in BLANKS}
QUESTIONS = BLANKS[-1].question
