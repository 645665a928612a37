"""Numbers in the units people think in (cc, cycles/min, mm or inches, bar or psi), and columns of text."""

import math
import re
import textwrap
from collections.abc import Iterable, Sequence

from balltravel.material.flow_laws import ANY_RATE
from balltravel.material.model import material_model
from balltravel.scenario.model import Material, Outlet, Scenario
from balltravel.setup.flow_curves import density_of
from balltravel.units import AS_BOUGHT, DIGITS, from_si, in_figures, to_text
from balltravel.units.display import in_unit
from balltravel.units.printable import WIDTH
from balltravel.units.systems import BOTH, US, in_use, unit_in_use

LEAST_TEXT = 20
"""Columns that are left at least to a last column of text that is broken into lines."""

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
"""Dimension -> metric unit of the bench and the US one beside it. Where US units are in use, the bench has
what stands for the metric one in ``units.systems``."""


def number(value: float, digits: int = AS_BOUGHT, unit: str = "") -> str:
    """A number with so many digits, without trailing zeros; a dash for one that is missing. ``unit``: what it
    is in, as inches have thousandths at most, and fractions."""
    return in_figures(value, digits, unit) if math.isfinite(value) else "-"


def rounded(value: float, most: int, band: float = 0.0) -> str:
    """A number with at most so many decimals, and no more than its band allows: the last digit shown is worth
    at least the band. With a band above one, whole tens or hundreds."""
    decimals = most if band <= 0.0 else min(most, math.floor(-math.log10(band)))
    return f"{round(value, decimals) + 0.0:.{max(decimals, 0)}f}"


LONG = 300.0
"""A time [s] from which on nobody counts in milliseconds."""


BY_SIZE = ("length", "volume")
"""Dimensions of which nobody in the US counts all sizes in inches or cc."""


def bench_unit(dimension: str) -> str:
    """The unit of a dimension in columns and on axes; empty where it has none."""
    return unit_in_use(BENCH.get(dimension, ("", ""))[0], dimension)


def column_units(dimension: str) -> tuple[str, ...]:
    """Those of a number that a table shows in both systems; of one of them where that is in use."""
    return BENCH[dimension] if in_use.get() == BOTH else (bench_unit(dimension),)


def column(value: float, dimension: str) -> float:
    """SI value in the unit of the bench, for a column or an axis."""
    return in_unit(value, dimension, BENCH.get(dimension, ("", ""))[0]) if dimension in BENCH else value


def bench(value: float, dimension: str, digits: int = AS_BOUGHT) -> str:
    """SI value in the unit of the bench: ``100 bar``."""
    by_size = in_use.get() == US and dimension in BY_SIZE
    if by_size or (dimension == "time" and value >= LONG):
        return to_text(value, dimension, digits)
    unit = bench_unit(dimension)
    return f"{number(column(value, dimension), digits, unit)} {unit}".strip()


def beside(value: float, dimension: str, digits: int = AS_BOUGHT) -> str:
    """The same in the unit beside it: ``1450 psi``; nothing where there is none, or one system is in use."""
    unit = BENCH.get(dimension, ("", ""))[1] if in_use.get() == BOTH else ""
    return f"{number(from_si(value, dimension, unit), digits, unit)} {unit}" if unit else ""


def both(value: float, dimension: str, digits: int = AS_BOUGHT) -> str:
    """Both of them, unless one system is in use: ``5 mm (0.197 in)``."""
    second = beside(value, dimension, digits)
    return bench(value, dimension, digits) + (f" ({second})" if second else "")


def in_mercury(value: float, digits: int = 3) -> str:
    """A gauge pressure at the inlet as a US vacuum gauge has it; empty where other units are in use."""
    return f"{number(from_si(value, 'pressure', 'inHg'), digits)} inHg" if in_use.get() == US else ""


def material_in_words(material: Material) -> str:
    """Its viscosity in the lower, and how that depends on the shear rate."""
    known, kelvin = material_model(material), material.temperature
    mu, tau = known.nominal_viscosity(kelvin), known.yield_stress(kelvin)
    text = both(mu, "viscosity")
    if known.newtonian:
        return text
    text += f" {known.law.STATED} ({known.law.label(number)}"
    if known.fitted is not None and "yield_stress" in known.fitted.undetermined:
        return f"{text}, yield stress not determined by the readings)"
    return text + (f", yield stress {bench(tau, 'stress')})" if tau else ")")


def viscosity_stated(material: Material) -> str:
    """Where the viscosity by which a material is named holds: ``at 10 1/s``, ``at rest``; of a Newtonian one
    empty, as it is the same everywhere."""
    known = material_model(material)
    return "" if known.newtonian else known.law.STATED.partition(",")[0]


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
    """``ball travel 4 mm (0.157 in), shim 2 (2 mm) below the cage``."""
    shims = scenario.shims
    below = f", {shims_in_words(shims.thicknesses, shims.below)} below the cage" if shims.thicknesses else ""
    return f"ball travel {both(scenario.inlet_travel, 'length')}{below}"


def shims_in_words(thicknesses: Sequence[float], numbers: Sequence[int]) -> str:
    """``shim 3 (4 mm)``, ``shims 1 (1 mm) and 2 (2 mm)`` or ``no shim``; ``thicknesses`` of all shims [m]."""
    sizes = _shim_sizes(thicknesses)
    each = [f"{n} ({sizes[n - 1]})" for n in numbers]
    if not each:
        return "no shim"
    last = f" and {each[-1]}" if len(each) > 1 else each[0]
    return f"shim{'s' * (len(each) > 1)} {', '.join(each[:-1])}{last}"


def _shim_sizes(thicknesses: Sequence[float]) -> list[str]:
    """Thicknesses [m] in words, with more digits where two that differ would look alike."""
    for digits in (AS_BOUGHT, *range(DIGITS + 1, 7)):
        words = [bench(thickness, "length", digits) for thickness in thicknesses]
        if len({*words}) == len({*thicknesses}):
            break
    return words


def shim_names(numbers: Iterable[int]) -> str:
    """``1+2``, or ``none``."""
    return "+".join(map(str, numbers)) or "none"


def plain(text: str) -> str:
    """Text without control characters, so that a title cannot command a terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def table(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    right: Iterable[int] = (),
    *,
    named: int = 1,
    apart: Iterable[int] = (),
    ruled_after: int = 0,
) -> str:
    """Columns aligned by spaces, a line below the head and so many rows that belong to it; those in ``right``
    are set to the right.

    A table wider than the page is broken: its last column into lines if that is text, else all columns into
    parts one below the other, which repeat the first ``named`` ones. ``apart``: columns at which a part may
    begin, any by default.
    """
    lines, aligned = [list(head), *(list(row) for row in rows)], set(right)
    width = [max(len(line[i]) for line in lines) for i in range(len(head))]
    rest = WIDTH - sum(width[:-1]) - 2 * (len(width) - 1)
    if width[-1] > rest >= LEAST_TEXT and len(head) - 1 not in aligned:
        width[-1] = rest
        lines = [broken for line in lines for broken in _last_cell_broken(line, rest)]
    parts = _parts(width, named, set(apart) or set(range(len(head))))
    over = sum(width[i] + 2 for i in parts[-1]) - 2 - WIDTH
    if width[-1] - over >= LEAST_TEXT and over > 0 and len(head) - 1 not in aligned:
        width[-1] -= over
        lines = [broken for line in lines for broken in _last_cell_broken(line, width[-1])]
    return "\n\n".join(_aligned(lines, width, part, aligned, ruled_after) for part in parts)


def _last_cell_broken(line: list[str], width: int) -> list[list[str]]:
    """A line of a table and those below it that hold the rest of its last cell."""
    first, *more = textwrap.wrap(line[-1], width) or [""]
    return [[*line[:-1], first], *([""] * (len(line) - 1) + [text] for text in more)]


def _parts(width: Sequence[int], named: int, starts: set[int]) -> list[list[int]]:
    """Columns of each part of a table that is too wide: as many as the page holds, those named first."""
    kept = list(range(min(named, len(width))))
    groups: list[list[int]] = []
    for column in range(len(kept), len(width)):
        if column in starts or not groups:
            groups.append([])
        groups[-1].append(column)
    parts, taken = [kept], sum(width[i] + 2 for i in kept) - 2
    for group in groups:
        more = sum(width[i] + 2 for i in group)
        if taken + more > WIDTH and len(parts[-1]) > len(kept):
            parts.append(list(kept))
            taken = sum(width[i] + 2 for i in kept) - 2
        parts[-1] = [*parts[-1], *group]
        taken += more
    return parts


def _aligned(
    lines: Sequence[Sequence[str]], width: Sequence[int], part: list[int], right: set[int], ruled_after: int
) -> str:
    def shown(line: Sequence[str]) -> str:
        cells = (line[i].rjust(width[i]) if i in right else line[i].ljust(width[i]) for i in part)
        return "  ".join(cells).rstrip()

    def empty(line: Sequence[str]) -> bool:
        """Whether this part has nothing of a line that says something elsewhere."""
        return any(line) and not any(line[i] for i in part)

    rule = "-" * (sum(width[i] for i in part) + 2 * (len(part) - 1))
    above, below = lines[: ruled_after + 1], lines[ruled_after + 1 :]
    said = [[shown(line) for line in block if not empty(line)] for block in (above, below)]
    return "\n".join([*said[0], rule, *said[1]])


def bullets(head: str, lines: Sequence[str]) -> list[str]:
    """A headed list, or nothing when it is empty."""
    if not lines:
        return []
    return ["", f"{head}:", *(_wrapped(plain(line)) for line in lines)]


def _wrapped(line: str) -> str:
    return filled(line, "  - ", "    ")


def filled(text: str, first: str = "", further: str = "") -> str:
    """A sentence broken into lines, never between a number and its unit."""
    joined = re.sub(r"(?<=\d) (?=\S)", "\u00a0", text)
    lines = textwrap.fill(joined, WIDTH, initial_indent=first, subsequent_indent=further)
    return lines.replace("\u00a0", " ")
