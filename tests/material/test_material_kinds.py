"""Kinds of material: examples inside their ranges, their TOML, and the page that shows both."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.material.flow_laws import LAWS
from balltravel.material.kinds import FAST, KINDS, SLOW, Range, as_toml, kind_named
from balltravel.material.table import Material
from balltravel.units import UnitError, from_si, to_si

PAGE = Path(__file__).parents[2] / "docs" / "materials.md"
RANGES = [name for name in KINDS["lacquer"].__dataclass_fields__ if name not in ("name", "example")]
DIMENSIONS = {
    "viscosity": "viscosity",
    "thinning_exponent": "number",
    "thinning_onset": "shear rate",
    "least_viscosity": "viscosity",
    "yield_stress": "stress",
    "rested_ratio": "number",
    "density": "density",
    "vapour_pressure": "pressure",
    "free_gas_fraction": "fraction",
    "largest_particle": "length",
    "temperature": "temperature",
}
KEYS_OF_LAWS = {
    "Newtonian": set(),
    "power law": {"thinning_exponent"},
    "Herschel-Bulkley": {"thinning_exponent", "yield_stress"},
    "Casson": {"yield_stress"},
    "Carreau": {"thinning_onset", "thinning_exponent", "least_viscosity"},
    "Cross": {"thinning_onset", "thinning_exponent", "least_viscosity"},
}
OF_LAWS_ONLY = set.union(*KEYS_OF_LAWS.values())
COLUMNS = (
    ("density", "density", "density", "kg/m3"),
    ("viscosity at 1 1/s", "slow_viscosity", "viscosity", "Pa.s"),
    ("viscosity at 1000 1/s", "fast_viscosity", "viscosity", "Pa.s"),
    ("yield stress", "yield_stress", "stress", "Pa"),
    ("coarsest grain", "largest_particle", "length", "um"),
    ("vapour pressure", "vapour_pressure", "pressure", "kPa"),
)  # heading, field, dimension, unit

every_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)


def read_back(kind):
    """The values [SI] of the kind's TOML, read with the standard library and `units` alone."""
    table = tomllib.loads(as_toml(kind))["material"]
    return {key: value if key == "flow" else to_si(value, DIMENSIONS[key]) for key, value in table.items()}


def test_there_are_eight_kinds_under_their_names():
    assert [kind.name for kind in KINDS.values()] == list(KINDS)
    assert set(KINDS) == {
        "stain",
        "lacquer",
        "enamel",
        "zinc-rich primer",
        "epoxy lining",
        "block filler",
        "roof elastomer",
        "fireproofing mastic",
    }


def test_all_laws_that_are_fitted_occur():
    assert {kind.example["flow"] for kind in KINDS.values()} == {
        name for name, law in LAWS.items() if law.FITTED
    }


@every_kind
def test_the_viscosities_of_the_example_lie_inside_the_ranges(kind):
    assert kind.slow_viscosity.holds(float(kind.law.viscosity(SLOW)))
    assert kind.fast_viscosity.holds(float(kind.law.viscosity(FAST)))


@every_kind
def test_the_other_values_of_the_example_lie_inside_the_ranges(kind):
    example = kind.example
    assert kind.yield_stress.holds(example.get("yield_stress", 0.0))
    assert kind.rested_ratio.holds(example.get("rested_ratio", 1.0))
    for key in ("density", "vapour_pressure", "largest_particle"):
        assert getattr(kind, key).holds(example[key]), key
    assert example["temperature"] == 293.15


@every_kind
def test_the_ranges_are_in_order_and_go_together(kind):
    for name in RANGES:
        if (span := getattr(kind, name)) is not None:
            assert 0.0 <= span.low < span.high, name
    for end in (0, 1):  # a stress at 1 1/s is above the yield stress, and no kind thickens
        assert kind.slow_viscosity[end] >= kind.yield_stress[end] / SLOW
        assert kind.slow_viscosity[end] > kind.fast_viscosity[end] >= kind.yield_stress[end] / FAST
    assert kind.rested_ratio.low >= 1.0


@every_kind
def test_an_example_has_just_the_keys_that_its_law_needs(kind):
    assert set(kind.example) & OF_LAWS_ONLY == KEYS_OF_LAWS[kind.example["flow"]]


@every_kind
def test_the_example_of_a_thixotropic_kind_has_a_rested_ratio(kind):
    assert ("rested_ratio" in kind.example) == kind.thixotropic


def test_each_key_goes_to_its_parameter_of_the_law():
    assert KINDS["lacquer"].law == LAWS["Carreau"](0.35, 0.05, 20.0, 0.75)
    assert KINDS["zinc-rich primer"].law == LAWS["Cross"](12.0, 0.15, 0.5, 0.35)
    assert KINDS["block filler"].law == LAWS["Herschel-Bulkley"](15.0, 12.0, 0.5)
    assert KINDS["enamel"].law == LAWS["Casson"](1.5, 0.25)
    assert KINDS["epoxy lining"].law == LAWS["power law"](20.0, 0.7)
    assert KINDS["stain"].law == LAWS["Newtonian"](0.06)


def test_a_law_with_a_parameter_missing_is_refused():
    with pytest.raises(ValueError, match="exponent"):
        _ = replace(KINDS["epoxy lining"], example={"flow": "power law", "viscosity": 20.0}).law


@every_kind
def test_the_toml_gives_just_the_numbers_of_the_example(kind):
    assert read_back(kind) == kind.example


@given(st.data())
def test_the_toml_of_any_numbers_gives_them_to_the_last_bit(data):
    values = {
        key: data.draw(st.floats(1e-6, 1e6))
        for key in DIMENSIONS
        if key not in OF_LAWS_ONLY | {"free_gas_fraction"}
    }
    values |= {"flow": "Newtonian", "free_gas_fraction": data.draw(st.floats(0.0, 0.5))}
    assert read_back(replace(KINDS["stain"], example=values)) == values


@every_kind
def test_the_toml_says_first_that_it_is_invented_and_explains_every_key(kind):
    lines = as_toml(kind).splitlines()
    assert lines[0].startswith(f"# Invented: there is no such {kind.name};")
    assert lines[2] == "[material]"
    assert all(re.fullmatch(r"[a-z_]+ = .*\S +# \S.*", line) for line in lines[3:])
    assert max(map(len, lines)) <= 110


def test_the_toml_tells_the_viscosities_of_the_law():
    # 15 + 12 = 27 Pa at 1 1/s; (15 + 12 sqrt(1000))/1000 = 0.3945 Pa s at 1000 1/s
    assert "# Worked, 27 Pa.s at 1 1/s and 394 mPa.s at 1000 1/s." in as_toml(KINDS["block filler"])


@pytest.mark.parametrize(
    "name", ["zinc-rich primer", "Zinc-Rich Primer", "zinc rich primer", "zincrichprimer"]
)
def test_a_kind_is_found_whatever_case_spaces_and_hyphens(name):
    assert kind_named(name) is KINDS["zinc-rich primer"]


def test_an_unknown_kind_is_refused_with_the_nearest_and_all_names():
    with pytest.raises(UnitError) as caught:
        kind_named("epoxi linning")
    assert caught.value.given == 'unknown kind of material "epoxi linning" (did you mean "epoxy lining"?)'
    assert caught.value.allowed == ", ".join(KINDS)
    assert caught.value.example == '"stain"'


@pytest.mark.parametrize("name", ["", "water"])
def test_nothing_is_suggested_where_nothing_is_near(name):
    with pytest.raises(UnitError) as caught:
        kind_named(name)
    assert caught.value.given == f'unknown kind of material "{name}"'


def test_an_end_belongs_to_its_range():
    assert [Range(1.0, 2.0).holds(value) for value in (0.999, 1.0, 2.0, 2.001)] == [False, True, True, False]


def ranges_table():
    """The ranges of all kinds as lines of Markdown, one row a kind."""
    heads = ["kind", *(f"{heading} [{unit}]" for heading, _, _, unit in COLUMNS)]
    heads += ["usually thixotropic", "rested over worked viscosity", "pot life of two components"]
    rows = [heads, ["---"] * len(heads), *map(row, KINDS.values())]
    return [f"| {' | '.join(cells)} |" for cells in rows]


def row(kind):
    ranges = (
        " to ".join(f"{from_si(end, dimension, unit):g}" for end in getattr(kind, field))
        for _, field, dimension, unit in COLUMNS
    )
    ratio = " to ".join(f"{end:g}" for end in kind.rested_ratio)
    pot_life = " to ".join(map(hours_or_minutes, kind.pot_life)) if kind.pot_life else "mostly one component"
    return [kind.name, *ranges, "yes" if kind.thixotropic else "no", ratio, pot_life]


def hours_or_minutes(seconds):
    unit = "h" if seconds >= 3600.0 else "min"
    return f"{from_si(seconds, 'time', unit):g} {unit}"


def test_the_table_of_the_page_has_the_ranges_of_the_code():
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if line.startswith("|")] == ranges_table()


def test_the_page_shows_every_example_as_the_code_writes_it():
    blocks = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    assert blocks == [as_toml(kind) for kind in KINDS.values()]


def test_the_page_says_before_all_else_that_nothing_in_it_has_a_source():
    title, opening, *_ = PAGE.read_text(encoding="utf-8").split("\n\n")
    assert title.startswith("# ")
    assert "without a source" in " ".join(opening.split())
    assert "not a datasheet" in " ".join(opening.split())


@every_kind
def test_an_example_is_a_table_of_a_scenario_by_keys_that_are_tested_here(kind):
    assert set(kind.example) <= {"flow", *DIMENSIONS}
    assert Material(**kind.example).model_dump(exclude_unset=True) == kind.example
