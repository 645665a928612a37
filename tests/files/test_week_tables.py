"""The table [week]: further materials are the file's values with some replaced; faults have a line."""

import re
import time

import pytest

from balltravel.files.read_write import read_scenario, read_scenario_file, read_week
from balltravel.scenario.model import ScenarioError

from .test_broken_scenarios import TEXT, changed, line_of

LINES = TEXT.count("\n")


@pytest.fixture
def file(tmp_path):
    """Writes the primer's file with more behind it."""

    def write(more, text=TEXT):
        path = tmp_path / "week.toml"
        path.write_text(text + more, encoding="utf-8")
        return path

    return write


@pytest.fixture
def faults(file):
    """The faults of the primer's file with more behind it: (line, key, the whole sentence)."""

    def read(more, text=TEXT, settings=()):
        path, begun = file(more, text), time.perf_counter()
        with pytest.raises(ScenarioError) as caught:
            read_scenario_file(path, settings)
        assert time.perf_counter() - begun < 2.0
        for line in str(caught.value).splitlines():
            assert re.match(rf"{re.escape(str(path))}:\d+: .+; allowed: .+", line), line
            assert line.isprintable()
        return [(fault.line, fault.key, str(fault)) for fault in caught.value.faults]

    return read


def test_a_file_without_the_table_has_a_week_of_its_own_material(file):
    (only,) = read_week(file(""))
    assert (only.name, only.flush) == ("One lower, primer", False)
    assert only.scenario == read_scenario(file(""))


# What a material's table has, and the settings that say the same.
SAME = [
    ('"material.viscosity" = "0.1 Pa.s"', ["material.viscosity=0.1 Pa.s"]),
    ('material.viscosity = "0.1 Pa.s"\nmaterial.density = "950 kg/m3"',
     ["material.viscosity=0.1 Pa.s", "material.density=950 kg/m3"]),
    ('"material.viscosity" = "100 cSt"\n"material.density" = "950 kg/m3"',
     ["material.viscosity=100 cSt", "material.density=950 kg/m3"]),
    ('"drive.profile" = "harmonic"', ["drive.profile=harmonic"]),
    ('"material.readings" = [{ viscosity = "3 Pa.s" }]', ['material.readings=[{ viscosity = "3 Pa.s" }]']),
    ('"material.viscosity" = "1 Pa.s"\n"material.flow" = "power law"\n"material.thinning_exponent" = 0.6',
     ["material.viscosity=1 Pa.s", "material.flow=power law", "material.thinning_exponent=0.6"]),
    ('"target.landing_speed" = "0.3 m/s"\n"suction.tank_gauge_pressure" = "1 bar"',
     ["target.landing_speed=0.3 m/s", "suction.tank_gauge_pressure=1 bar"]),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "settings"), SAME)
def test_a_further_material_is_the_file_with_these_keys_set(file, keys, settings):
    path = file(f'[week]\nown_name = "primer"\n[week."another one"]\n{keys}\n')
    own, other = read_week(path)
    assert (own.name, other.name, other.flush) == ("primer", "another one", False)
    assert own.scenario == read_scenario(path)
    assert other.scenario == read_scenario(path, settings)


def test_a_viscosity_takes_the_readings_of_the_file_away(file):
    by_readings = changed("viscosity", 'readings = [{ viscosity = "3 Pa.s" }]')
    _, other = read_week(file('[week.x]\n"material.viscosity" = "2 Pa.s"\n', by_readings))
    assert other.scenario.material.viscosity == 2.0
    assert not other.scenario.material.readings


def test_a_material_starts_from_what_settings_leave_and_keeps_its_own_keys(file):
    path = file('[week.x]\nflush = true\n"drive.cycle_rate" = "60 /min"\n')
    own, other = read_week(path, ["drive.cycle_rate=20 /min", "outlet.gauge_pressure=50 bar"])
    assert own.scenario.drive.cycle_rate == pytest.approx(20 / 60)
    assert other.scenario.drive.cycle_rate == pytest.approx(1.0)
    assert other.scenario.outlet.gauge_pressure == own.scenario.outlet.gauge_pressure == 50e5
    assert other.flush


def test_a_sweep_and_a_week_do_not_know_of_each_other(file):
    path = file('[week.x]\n"material.viscosity" = "2 Pa.s"\n')
    read = read_scenario_file(path)
    assert set(read.sweep) == {"material.viscosity", "shims.below"}
    assert [one.scenario.material.viscosity for one in read.week] == [5.0, 2.0]


# What stands behind the file; line after it that is blamed, its key, words of the fault.
WRONG = [
    ("[week]\n", 1, "[week]", "no further material"),
    ('[week]\nown_name = "a"\n', 1, "[week]", "no further material"),
    ("[week.x]\n", 1, '[week."x"]', "no keys"),
    ("[week.x]\nflush = true\n", 1, '[week."x"]', "no keys"),
    ("[week]\nx = 3\n", 2, '[week."x"]', "a table of keys, or own_name"),
    ("[[week]]\n", 1, "[week]", "array"),
    ('[week.x]\n"material.viscosty" = "1 Pa.s"\n', 2, 'week."x"."material.viscosty"', "did you mean"),
    ('[week.x]\n"sweep.x" = [1]\n', 2, 'week."x"."sweep.x"', "unknown key"),
    ('[week.x]\nviscosity = "1 Pa.s"\n', 2, 'week."x"."viscosity"', "material.viscosity"),
    ('[week.x]\n"lower.bore" = "50 mm"\n', 2, 'week."x"."lower.bore"', "same all week"),
    ('[week.x]\n"shims.below" = [1]\n', 2, 'week."x"."shims.below"', "same all week"),
    ('[week.x]\n\n"material.viscosity" = "1 Pasec"\n', 3, 'week."x"."material.viscosity"', "unknown unit"),
    ('[week.x]\n"material.viscosity" = "1 Pa.s"\nflush = "yes"\n', 3, 'week."x"."flush"', "true or false"),
    ('[week.x]\n"material.flow" = "Casson"\n', 1, 'week."x"."material.yield_stress"', "must be given"),
    ('[week.x]\n"drive.cycle_rate" = "400 /min"\n', 1, 'week."x"."drive.dwell_time"', "half a cycle"),
    ('[week.x]\nmaterial.age = "1 h"\n', 2, 'week."x"."material.age"', "doubling"),
    ('[week.x]\nmaterial.viscosity = "1 Pa.s"\n"material.viscosity" = "2 Pa.s"\n', 3,
     'week."x"."material.viscosity"', "given twice"),
    ('[week]\nown_name = "x"\n[week.x]\n"material.viscosity" = "1 Pa.s"\n', 3, '[week."x"]', "own material"),
    ('[week]\nown_name = ""\n[week.x]\n"material.viscosity" = "1 Pa.s"\n', 2, "week.own_name", "1 to 40"),
    ('[week.""]\n"material.viscosity" = "1 Pa.s"\n', 1, '[week.""]', "1 to 40"),
    ('[week." x"]\n"material.viscosity" = "1 Pa.s"\n', 1, '[week." x"]', "no blank at its ends"),
    ('[week."\\u001b[2J"]\n"material.viscosity" = "1 Pa.s"\n', 1, None, "all printable"),
    (f'[week."{"n" * 41}"]\n"material.viscosity" = "1 Pa.s"\n', 1, None, "1 to 40"),
    ("".join(f'[week.m{i}]\n"material.viscosity" = "{i + 1} Pa.s"\n' for i in range(40)), 1, "[week]",
     "40 further materials"),
]  # fmt: skip


@pytest.mark.parametrize(("more", "line", "key", "words"), WRONG)
def test_a_wrong_week_is_blamed_at_its_line(faults, more, line, key, words):
    found = faults(more)
    assert any(
        at == LINES + line and words in text and key in (None, blamed) for at, blamed, text in found
    ), found


def test_a_thousand_unknown_keys_are_refused_quickly(faults):
    keys = "".join(f'"material.x{i}" = 1\n' for i in range(1000))
    assert "more faults follow" in faults(f"[week.x]\n{keys}")[-1][2]


def test_faults_of_file_and_materials_come_at_once_and_those_of_the_file_once(faults):
    more = '[week.x]\n"material.viscosity" = "1 Pasec"\n[week.y]\n"material.density" = "1 kg"\n'
    broken = changed("seat_length", 'seat_length = "-8 mm"', TEXT.replace("seat_length", "seat_lenth", 1))
    found = faults(more, broken)
    assert [(line, key) for line, key, _ in found if not key.startswith("inlet_check")] == [
        (line_of(broken, "seat_length"), "piston_check.seat_length"),
        (LINES + 2, 'week."x"."material.viscosity"'),
        (LINES + 4, 'week."y"."material.density"'),
    ]


def test_a_rule_that_only_a_material_breaks_is_blamed_on_it_alone(faults):
    ((line, key, text),) = faults('[week.x]\n"material.vapour_pressure" = "2 bar"\n')
    assert (line, key) == (LINES + 2, 'week."x"."material.vapour_pressure"')
    assert "less than the absolute pressure" in text
