"""Numbers in the units people think in (cc, cycles/min, mm and inches, bar and psi), and columns of text."""

import math
import textwrap
from collections.abc import Iterable, Sequence

from balltravel.material.flow_laws import ANY_RATE
from balltravel.material.model import material_model
from balltravel.scenario.model import Material, Outlet, Scenario
from balltravel.setup.flow_curves import density_of
from balltravel.units import from_si, to_text

WIDTH = 100
"""Columns at which sentences are broken."""

RANGES = "Closures outside the validated range"

COLUMN_NOTE = """\
fill: drawn in over swept (filling); deliv.: delivered over swept; in lag: from the reversal until the
inlet ball (intake ball) seats (in a chamber that does not fill, mostly the time that its void,
cavitation, takes to close); ball lag: from flow reversal until the inlet ball seats; in back, pis back:
backflow through the inlet check (foot valve) and the piston check; landing: landing speed of the
inlet ball (pounding); margin: lowest chamber pressure above vapour pressure; range: share of the
cycle outside the validated range."""

BENCH: dict[str, tuple[str, str]] = {
    "viscosity": ("Pa.s", "cP"),
    "density": ("kg/m3", "lb/gal"),
    "pressure": ("bar", "psi"),
    "stress": ("Pa", ""),
    "shear rate": ("1/s", ""),
    "length": ("mm", "in"),
    "volume": ("cc", "in3"),
    "frequency": ("/min", ""),
    "time": ("ms", ""),
    "velocity": ("m/s", "in/s"),
    "flow": ("l/min", "US gpm"),
    "energy": ("mJ", ""),
    "mass": ("kg", "lb"),
    "compliance": ("cc/bar", "in3/psi"),
    "flexing": ("%/bar", ""),
    "sonic conductance": ("l/s/bar", ""),
    "resistance": ("bar.min/l", ""),
    "temperature": ("degC", "degF"),
    "activation energy": ("kJ/mol", ""),
    "thermal expansion": ("1/K", ""),
    "angle": ("deg", ""),
    "fraction": ("%", ""),
    "force": ("N", "lbf"),
    "stiffness": ("N/mm", "lbf/in"),
}
"""Dimension -> unit of the bench and the one beside it."""


def number(value: float, digits: int = 4) -> str:
    """A number with so many digits, without trailing zeros; a dash for one that is missing."""
    if not math.isfinite(value):
        return "-"
    return f"{float(f'{value:.{digits}g}') + 0.0:.{max(digits, 10)}g}"


def rounded(value: float, most: int, band: float = 0.0) -> str:
    """A number with at most so many decimals, and no more than its band allows: the last digit shown is worth
    at least the band. With a band above one, whole tens or hundreds."""
    decimals = most if band <= 0.0 else min(most, math.floor(-math.log10(band)))
    return f"{round(value, decimals) + 0.0:.{max(decimals, 0)}f}"


LONG = 300.0
"""A time [s] from which on nobody counts in milliseconds."""


def bench(value: float, dimension: str, digits: int = 4) -> str:
    """SI value in the unit of the bench: ``100 bar``."""
    unit, _ = BENCH.get(dimension, ("", ""))
    if dimension == "time" and value >= LONG:
        return to_text(value, dimension, digits)
    return f"{number(from_si(value, dimension, unit) if unit else value, digits)} {unit}".strip()


def beside(value: float, dimension: str, digits: int = 4) -> str:
    """The same in the unit beside it: ``1450 psi``; nothing where there is none."""
    unit = BENCH.get(dimension, ("", ""))[1]
    return f"{number(from_si(value, dimension, unit), digits)} {unit}" if unit else ""


def both(value: float, dimension: str, digits: int = 4) -> str:
    """Both of them: ``5 mm (0.1969 in)``."""
    second = beside(value, dimension, digits)
    return bench(value, dimension, digits) + (f" ({second})" if second else "")


def material_in_words(material: Material) -> str:
    """Its viscosity in the lower, and how that depends on the shear rate."""
    known, kelvin = material_model(material), material.temperature
    mu, tau = known.nominal_viscosity(kelvin), known.yield_stress(kelvin)
    text = f"{bench(mu, 'viscosity')} ({beside(mu, 'viscosity')})"
    if known.newtonian:
        return text
    text += f" {known.law.STATED} ({known.law.label(number)}"
    if known.fitted is not None and "yield_stress" in known.fitted.undetermined:
        return f"{text}, yield stress not determined by the readings)"
    return text + (f", yield stress {number(tau)} Pa)" if tau else ")")


def _in_hose(scenario: Scenario) -> str:
    """What the material is in a hose of another temperature, with a comma before it."""
    kelvin = scenario.suction.temperature
    if kelvin is None or kelvin == scenario.material.temperature:
        return ""
    mu = float(material_model(scenario.material).viscosity(ANY_RATE, kelvin))
    return f", in tank and hose {bench(mu, 'viscosity')} at {bench(kelvin, 'temperature')}"


def conditions(scenario: Scenario) -> str:
    """What a result was computed for: ``5000 cP, 1350 kg/m3, 30 /min, outlet 100 bar (1450 psi)``."""
    material = scenario.material
    viscosity = material_in_words(material)
    density = bench(density_of(material), "density")
    outlet = outlet_in_words(scenario.outlet)
    return f"Material of {viscosity}{_in_hose(scenario)}, {density}; {drive_in_words(scenario)}; {outlet}"


def drive_in_words(scenario: Scenario) -> str:
    """``30 cycles/min``; of a motor its supply, of a rate that is found nothing but that."""
    drive = scenario.drive
    if drive.profile == "motor":
        supply = both(drive.supply_gauge_pressure or 0.0, "pressure")
        return (
            f"{'air' if drive.motor == 'air' else 'hydraulic'} motor at {supply}, ratio {drive.area_ratio:g}"
        )
    if drive.cycle_rate is None:
        return "cycle rate by the tip"
    return f"{number(from_si(drive.cycle_rate, 'frequency', '/min'))} cycles/min"


def outlet_in_words(outlet: Outlet) -> str:
    """``outlet at 100 bar (1450 psi)``, or the tip."""
    if outlet.form == "closed":
        return "outlet closed"
    tip = "" if outlet.tip_diameter is None else f"tip of {both(outlet.tip_diameter, 'length')}"
    if outlet.gauge_pressure is None:
        return tip
    at = f"outlet at {both(outlet.gauge_pressure, 'pressure')}"
    return f"{at}, {tip}" if tip else at


def travel_set(scenario: Scenario) -> str:
    """``ball travel 5 mm (0.1969 in), shims below the cage: 1+2``."""
    below = (
        f", shims below the cage: {shim_names(scenario.shims.below)}" if scenario.shims.thicknesses else ""
    )
    return f"ball travel {both(scenario.inlet_travel, 'length')}{below}"


def shim_names(numbers: Iterable[int]) -> str:
    """``1+2``, or ``none``."""
    return "+".join(map(str, numbers)) or "none"


def plain(text: str) -> str:
    """Text without control characters, so that a title cannot command a terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def table(head: Sequence[str], rows: Iterable[Sequence[str]], right: Iterable[int] = ()) -> str:
    """Columns aligned by spaces, a line below the head; those in ``right`` are set to the right."""
    lines = [list(head), *(list(row) for row in rows)]
    width = [max(len(line[i]) for line in lines) for i in range(len(head))]
    aligned = set(right)

    def shown(line: Sequence[str]) -> str:
        cells = (
            c.rjust(w) if i in aligned else c.ljust(w)
            for i, (c, w) in enumerate(zip(line, width, strict=True))
        )
        return "  ".join(cells).rstrip()

    return "\n".join([shown(lines[0]), "-" * len("  ".join("x" * w for w in width)), *map(shown, lines[1:])])


def bullets(head: str, lines: Sequence[str]) -> list[str]:
    """A headed list, or nothing when it is empty."""
    if not lines:
        return []
    return ["", f"{head}:", *(_wrapped(plain(line)) for line in lines)]


def _wrapped(line: str) -> str:
    return textwrap.fill(line, WIDTH, initial_indent="  - ", subsequent_indent="    ")


def filled(text: str) -> str:
    """A sentence broken into lines."""
    return textwrap.fill(text, WIDTH)
