"""The answer about the material to the table [material]: a viscosity, Krebs units, a cup, a kind of material,
or nothing that is known."""

import math

from balltravel.bench.new.answers import BEGINS_AS_NUMBER, likely, value_or_range
from balltravel.bench.new.blanks import BY_NAME, MATERIAL_FORMS
from balltravel.bench.new.known import OURS
from balltravel.bench.new.lines import Line, Lines
from balltravel.material.kinds import FAST, KINDS, SLOW, Kind, kind_named
from balltravel.material.reading_text import is_reading, table_of
from balltravel.scenario.arguments import refused
from balltravel.units import UnitError, cut, to_si, to_text

LETTER = BY_NAME["material"].letter
DENSITY = {"low": "800 kg/m3", "likely": "1300 kg/m3", "high": "1700 kg/m3"}
VAPOUR = {"low": "0.1 kPa", "likely": "2 kPa", "high": "10 kPa"}
EXPONENT_WITHIN, LEAST_EXPONENT = 0.1, 0.3
"""Of a kind of material (our choice)."""

_DENSITY_SAID = (
    "Not measured: coatings without zinc (docs/materials.md: common practice, no source). Weigh a full litre."
)
_VAPOUR_SAID = (
    "Not known: from hardly volatile to fast solvents (docs/materials.md: common practice, no source)."
)


def material_lines(typed: str | None) -> Lines:
    """The keys of [material] by what was typed; None for a material of which nothing is known. Raises
    ScenarioError."""
    if typed is None:
        return _anything()
    if is_reading(typed):
        likely("material.readings", [typed], likely("material.density", DENSITY))
        read = Line(typed, f"{LETTER}: what an instrument showed. Answered.", True)
        return {"material.viscosity": read, **_usual(), **_as_warm(typed)}
    if BEGINS_AS_NUMBER.match(typed):
        raw = value_or_range(typed)
        likely("material.viscosity", raw, likely("material.density", DENSITY))
        said = f"{LETTER}: answered. How it thins under shear is not known, so a range of that is drawn."
        return {"material.viscosity": Line(raw, said, True), **_usual()}
    return _of_kind(_kind(typed))


def likely_viscosity(typed: str | None) -> float:
    """A viscosity [Pa s] of what was typed, of a kind in fast flow: only to size what nobody asked."""
    if typed is None:
        raw = material_lines(None)["material.viscosity"].raw
        return math.sqrt(math.prod(to_si(raw[end], "viscosity") for end in ("low", "high")))
    density = float(likely("material.density", DENSITY))
    if is_reading(typed):
        return float(likely("material.readings", [typed], density)[0].viscosity)
    if BEGINS_AS_NUMBER.match(typed):
        return float(likely("material.viscosity", value_or_range(typed), density))
    fast = _kind(typed).fast_viscosity
    return math.sqrt(fast.low * fast.high)


def _kind(typed: str) -> Kind:
    """The kind of a name, or of a part of one that only it has; raises ScenarioError."""
    among = [kind for name, kind in KINDS.items() if typed.lower() in name]
    if len(among) == 1:
        return among[0]
    try:
        return kind_named(typed)
    except UnitError as error:
        given = f'"{cut(typed)}" given'
        hint = error.given.partition("(")[2]
        given += f" ({hint}" if hint else ""
        raise refused("", given, f"{MATERIAL_FORMS}: {', '.join(KINDS)}", "3500 cP") from None


def _of_kind(kind: Kind) -> Lines:
    """The common ranges of a kind, its flow as a power law through the middles of slow and fast flow."""
    said = f"{kind.name}, its common range (docs/materials.md: common practice, no source)."
    slow, fast = (math.sqrt(span.low * span.high) for span in (kind.slow_viscosity, kind.fast_viscosity))
    exponent = 1.0 + math.log(fast / slow) / math.log(FAST / SLOW)
    exponents = [
        round(min(max(exponent + off, LEAST_EXPONENT), 1.0), 2)
        for off in (-EXPONENT_WITHIN, 0.0, EXPONENT_WITHIN)
    ]
    return {
        "material.flow": Line(
            "power law", f"{LETTER}: {kind.name}: how it thins under shear, by a power law {OURS}."
        ),
        "material.viscosity": Line(
            _span(kind.slow_viscosity, "viscosity"), f"Viscosity at {SLOW:g} 1/s: {said}"
        ),
        "material.thinning_exponent": Line(
            dict(zip(("low", "likely", "high"), exponents, strict=True)),
            f"Exponent of the power law, through the middles of the kind at {SLOW:g} and {FAST:g} 1/s; how "
            "far off is our choice.",
        ),
        "material.density": Line(_span(kind.density, "density"), f"Density: {said}"),
        "material.vapour_pressure": Line(_span(kind.vapour_pressure, "pressure"), f"Vapour pressure: {said}"),
        "material.largest_particle": Line(
            to_text(kind.largest_particle.high, "length"), f"Largest particle: the coarsest of {said}"
        ),
    }


def _span(span: tuple[float, float], dimension: str) -> dict[str, str]:
    low, high = (to_text(end, dimension, 3) for end in span)
    return {"low": low, "high": high}


def _as_warm(typed: str) -> Lines:
    """The temperature of a reading that tells one, at which it was asked for: as it is pumped."""
    warm = table_of(typed).get("temperature")
    why = (
        f"{LETTER}: that of the reading. Answered. If it is pumped warmer or colder, write that temperature "
        'here, and below it: temperature_law = "Andrade" and activation_energy = "unknown".'
    )
    return {"material.temperature": Line(warm, why, True)} if warm else {}


def _usual() -> Lines:
    """What goes with a viscosity, and was not asked."""
    return {
        "material.density": Line(DENSITY, _DENSITY_SAID),
        "material.vapour_pressure": Line(VAPOUR, _VAPOUR_SAID),
    }


def _anything() -> Lines:
    """From the thinnest stain to the thickest mastic of docs/materials.md."""
    thin = min(kind.slow_viscosity.low for kind in KINDS.values())
    thick = max(kind.slow_viscosity.high for kind in KINDS.values())
    said = (
        f"{LETTER}: not known: from the thinnest stain to the thickest mastic (docs/materials.md: common "
        "practice, no source). Nothing is worth more than to measure it."
    )
    return {
        "material.viscosity": Line(_span((thin, thick), "viscosity"), said),
        **_usual(),
    }
