"""Kinds of material by trade: ranges that are common, and one invented example of each.

From common practice and from memory, **without a source**: no number here was measured for this project or
read in a publication, and none is of a material that one can buy. Not a datasheet. Good for a first run and
to see which figures to ask for or to measure; a recommendation wants those of the material itself.

A range is where most materials of the kind lie at 20 degC, ready to pump: mixed, thinned as usual, worked
(after stirring). One may well lie outside.
"""

import difflib
from dataclasses import dataclass
from typing import NamedTuple

from balltravel.material.flow_laws import LAWS, FlowLaw
from balltravel.material.table import Material
from balltravel.units import DIMENSIONS, UnitError, to_si, to_text
from balltravel.units.keys import quantity_of
from balltravel.units.systems import US, in_use

SLOW = 1.0  # [1/s], stands for slow flow
FAST = 1000.0  # [1/s], stands for fast flow through a narrow gap
ROOM = 293.15  # [K]


class Range(NamedTuple):
    """Least and largest that is common, in SI; both ends belong to it."""

    low: float
    high: float

    def holds(self, value: float) -> bool:
        """Whether a value [SI] lies inside."""
        return self.low <= value <= self.high


def _example(**values: float | str) -> dict[str, float | str]:
    """Values [SI] of a scenario's [material] by its keys; the law is that of the worked material."""
    return {**values, "temperature": ROOM}


@dataclass(frozen=True, kw_only=True)
class Kind:
    """Common ranges [SI] of one kind of material at 20 degC, and one invented example inside them.

    ``slow_viscosity`` and ``fast_viscosity`` [Pa s]: worked, at ``SLOW`` and ``FAST``. ``yield_stress`` [Pa]
    begins at 0 where many have none. ``largest_particle`` [m]: the coarsest grain. ``vapour_pressure`` [Pa]
    of the most volatile part. ``rested_ratio`` [1]: viscosity at ``SLOW``, rested over worked. ``pot_life``
    [s]: of those that are mixed of two components, None where most come as one.
    """

    name: str
    density: Range
    slow_viscosity: Range
    fast_viscosity: Range
    yield_stress: Range
    largest_particle: Range
    vapour_pressure: Range
    rested_ratio: Range
    pot_life: Range | None
    example: dict[str, float | str]

    @property
    def law(self) -> FlowLaw:
        """The example's law of flow. Raises ValueError where a parameter lacks or is out of its range."""
        return LAWS[str(self.example["flow"])].from_keys(self.example)

    @property
    def thixotropic(self) -> bool:
        """Whether it usually comes thixotropic: all of the common ones thicken at rest."""
        return self.rested_ratio.low > 1.0


_STAIN = Kind(
    name="stain",
    density=Range(800.0, 1050.0),
    slow_viscosity=Range(0.01, 0.5),
    fast_viscosity=Range(0.005, 0.1),
    yield_stress=Range(0.0, 0.5),
    largest_particle=Range(1e-6, 20e-6),
    vapour_pressure=Range(200.0, 6000.0),  # from white spirit to alcohol; water is 2.34 kPa
    rested_ratio=Range(1.0, 1.3),
    pot_life=None,
    example=_example(
        flow="Newtonian",
        viscosity=0.06,
        density=920.0,
        vapour_pressure=600.0,
        free_gas_fraction=0.002,
        largest_particle=10e-6,
    ),
)

_LACQUER = Kind(
    name="lacquer",
    density=Range(850.0, 1200.0),
    slow_viscosity=Range(0.05, 1.0),
    fast_viscosity=Range(0.03, 0.3),
    yield_stress=Range(0.0, 0.5),
    largest_particle=Range(1e-6, 20e-6),
    vapour_pressure=Range(1000.0, 25e3),  # from butyl acetate to acetone
    rested_ratio=Range(1.0, 1.5),
    pot_life=Range(2 * 3600.0, 24 * 3600.0),
    example=_example(
        flow="Carreau",
        viscosity=0.35,
        thinning_exponent=0.75,
        thinning_onset=20.0,
        least_viscosity=0.05,
        density=960.0,
        vapour_pressure=9500.0,
        free_gas_fraction=0.002,
        largest_particle=12e-6,
    ),
)

_ENAMEL = Kind(
    name="enamel",
    density=Range(1000.0, 1400.0),
    slow_viscosity=Range(0.3, 8.0),
    fast_viscosity=Range(0.1, 0.6),
    yield_stress=Range(0.0, 5.0),
    largest_particle=Range(5e-6, 30e-6),
    vapour_pressure=Range(200.0, 2400.0),  # from white spirit to water
    rested_ratio=Range(1.1, 3.0),
    pot_life=None,
    example=_example(
        flow="Casson",
        viscosity=0.25,
        yield_stress=1.5,
        rested_ratio=1.4,
        density=1150.0,
        vapour_pressure=900.0,
        free_gas_fraction=0.005,
        largest_particle=20e-6,
    ),
)

_ZINC_RICH_PRIMER = Kind(
    name="zinc-rich primer",
    density=Range(2000.0, 3200.0),
    slow_viscosity=Range(1.0, 20.0),
    fast_viscosity=Range(0.1, 0.8),
    yield_stress=Range(0.0, 15.0),
    largest_particle=Range(20e-6, 100e-6),
    vapour_pressure=Range(700.0, 10e3),  # from xylene to ketones
    rested_ratio=Range(1.2, 4.0),
    pot_life=Range(4 * 3600.0, 24 * 3600.0),
    example=_example(
        flow="Cross",
        viscosity=12.0,
        thinning_exponent=0.35,
        thinning_onset=0.5,
        least_viscosity=0.15,
        rested_ratio=2.0,
        density=2500.0,
        vapour_pressure=900.0,
        free_gas_fraction=0.005,
        largest_particle=60e-6,
    ),
)

_EPOXY_LINING = Kind(
    name="epoxy lining",
    density=Range(1300.0, 1700.0),
    slow_viscosity=Range(3.0, 80.0),
    fast_viscosity=Range(0.5, 5.0),
    yield_stress=Range(0.0, 30.0),
    largest_particle=Range(30e-6, 200e-6),  # flakes are longer
    vapour_pressure=Range(10.0, 1200.0),  # from benzyl alcohol to solvents such as xylene
    rested_ratio=Range(1.3, 5.0),
    pot_life=Range(20 * 60.0, 2 * 3600.0),
    example=_example(
        flow="power law",
        viscosity=20.0,
        thinning_exponent=0.7,
        rested_ratio=2.5,
        density=1450.0,
        vapour_pressure=50.0,
        free_gas_fraction=0.01,
        largest_particle=80e-6,
    ),
)

_BLOCK_FILLER = Kind(
    name="block filler",
    density=Range(1250.0, 1600.0),
    slow_viscosity=Range(10.0, 100.0),
    fast_viscosity=Range(0.2, 1.0),
    yield_stress=Range(5.0, 40.0),
    largest_particle=Range(60e-6, 300e-6),
    vapour_pressure=Range(2200.0, 2400.0),  # water
    rested_ratio=Range(1.2, 4.0),
    pot_life=None,
    example=_example(
        flow="Herschel-Bulkley",
        viscosity=12.0,
        thinning_exponent=0.5,
        yield_stress=15.0,
        rested_ratio=1.5,
        density=1420.0,
        vapour_pressure=2300.0,
        free_gas_fraction=0.02,
        largest_particle=150e-6,
    ),
)

_ROOF_ELASTOMER = Kind(
    name="roof elastomer",
    density=Range(1100.0, 1500.0),
    slow_viscosity=Range(20.0, 150.0),
    fast_viscosity=Range(0.4, 3.0),
    yield_stress=Range(5.0, 60.0),
    largest_particle=Range(20e-6, 100e-6),
    vapour_pressure=Range(200.0, 2400.0),  # from white spirit to water
    rested_ratio=Range(1.3, 4.0),
    pot_life=None,
    example=_example(
        flow="Herschel-Bulkley",
        viscosity=30.0,
        thinning_exponent=0.45,
        yield_stress=20.0,
        rested_ratio=2.0,
        density=1350.0,
        vapour_pressure=2300.0,
        free_gas_fraction=0.02,
        largest_particle=40e-6,
    ),
)

_FIREPROOFING_MASTIC = Kind(
    name="fireproofing mastic",
    density=Range(1000.0, 1450.0),
    slow_viscosity=Range(30.0, 500.0),
    fast_viscosity=Range(1.0, 10.0),
    yield_stress=Range(20.0, 300.0),
    largest_particle=Range(75e-6, 500e-6),  # fibres are longer
    vapour_pressure=Range(10.0, 3000.0),  # from epoxies without solvent, over water, to toluene
    rested_ratio=Range(1.5, 5.0),
    pot_life=Range(20 * 60.0, 2 * 3600.0),
    example=_example(
        flow="Casson",
        viscosity=1.5,
        yield_stress=50.0,
        rested_ratio=2.5,
        density=1300.0,
        vapour_pressure=2300.0,
        free_gas_fraction=0.02,
        largest_particle=250e-6,
    ),
)

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        _STAIN,
        _LACQUER,
        _ENAMEL,
        _ZINC_RICH_PRIMER,
        _EPOXY_LINING,
        _BLOCK_FILLER,
        _ROOF_ELASTOMER,
        _FIREPROOFING_MASTIC,
    )
}


def kind_named(name: str) -> Kind:
    """A kind by its name, whatever case, spaces and hyphens. Raises UnitError, naming the nearest."""
    spellings = {_folded(known): kind for known, kind in KINDS.items()}
    key = _folded(name)
    if key not in spellings:
        near = difflib.get_close_matches(key[:100], spellings, n=1)
        hint = f' (did you mean "{spellings[near[0]].name}"?)' if near else ""
        raise UnitError(f'unknown kind of material "{name}"{hint}', ", ".join(KINDS), '"stain"')
    return spellings[key]


def _folded(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


_COMMENTS = {
    "flow": "law of flow of the worked material",
    "rested_ratio": "viscosity after a long rest over that of the worked material",
    "density": "at that temperature",
    "vapour_pressure": "absolute, of the most volatile part, at that temperature",
    "free_gas_fraction": "air stirred in, by volume at barometric pressure",
    "largest_particle": "the coarsest grain; a gap under the ball is compared with it",
    "temperature": "at which all this holds",
}  # of keys that give no parameter of the law


def as_toml(kind: Kind) -> str:
    """The kind's example as a table ``[material]`` of a scenario file, ending in a line end.

    Read back by `units.to_si` the numbers are those of the example, to the last bit.
    """
    comments = {**_COMMENTS, **kind.law.asked_keys()}
    slow, fast = (to_text(float(kind.law.viscosity(rate)), "viscosity", 3) for rate in (SLOW, FAST))
    lines = [
        f"# Invented: there is no such {kind.name}; its numbers have a common size and no source.",
        f"# Worked, {slow} at {SLOW:g} 1/s and {fast} at {FAST:g} 1/s.",
        "[material]",
    ]
    for key, value in kind.example.items():
        lines.append(f"{f'{key} = {_toml_value(key, value)}':<36}# {comments[key]}")
    return "\n".join(lines) + "\n"


def _toml_value(key: str, value: float | str) -> str:
    quantity = quantity_of(Material.model_fields[key])
    if quantity is None or isinstance(value, str):
        return f'"{value}"'
    dimension = quantity.dimension
    return f"{value!r}" if dimension == "number" else f'"{_exact_text(value, dimension)}"'


def _exact_text(value: float, dimension: str) -> str:
    """A readable text, or one in SI with all digits, that `units.to_si` reads as just this value; in US units
    as it does to four digits."""
    readable = to_text(value, dimension)
    exact = in_use.get() == US or to_si(readable, dimension) == value
    return readable if exact else f"{value!r} {DIMENSIONS[dimension].si}".strip()
