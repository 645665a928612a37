"""Scenario files that are wrong: every fault at once, in the order of the lines, quickly, and in words."""

import os
import random
import re
import time
from pathlib import Path

import pytest

from balltravel.files.read_write import read_scenario, read_scenario_file
from balltravel.scenario.model import ScenarioError

STORY = Path(__file__).parents[2] / "scenarios" / "primer.toml"
TEXT = STORY.read_text(encoding="utf-8")


def line_of(text, start):
    """Number of the only line that begins so."""
    (number,) = [n for n, line in enumerate(text.splitlines(), 1) if line.startswith(start)]
    return number


def changed(old, new, text=TEXT):
    """The story with the only line that begins with ``old`` replaced."""
    lines = text.splitlines()
    lines[line_of(text, old) - 1] = new
    return "\n".join(lines) + "\n"


@pytest.fixture
def faults(tmp_path):
    """Reads a text or bytes as a scenario file and gives its faults."""

    def read(content, settings=(), grid=()):
        path = tmp_path / "broken.toml"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        begun = time.perf_counter()
        with pytest.raises(ScenarioError) as caught:
            read_scenario_file(path, settings, grid)
        assert time.perf_counter() - begun < 2.0
        for line in str(caught.value).splitlines():
            assert re.match(rf"({re.escape(str(path))}:\d+|--(set|over) [^:]*): .+; allowed: .+", line), line
        return caught.value.faults

    return read


# The beginning of the story's line, what stands there instead, the key that is blamed, words of the fault.
ONE_LINE = [
    ("viscosity", 'viscosity = "5 mm"', "material.viscosity", "another kind"),
    ("viscosity", 'viscosity = "5 Pasec"', "material.viscosity", "unknown unit"),
    ("viscosity", 'viscosity = "5000"', "material.viscosity", "has no unit"),
    ("viscosity", "viscosity = 5000", "material.viscosity", "mPa.s, cP, Pa.s"),
    ("viscosity", 'viscosity = "5,5 Pa.s"', "material.viscosity", "comma"),
    ("viscosity", 'viscosity = "-5 Pa.s"', "material.viscosity", "0.1 mPa.s to 10000 Pa.s"),
    ("viscosity", 'viscosity = "0 Pa.s"', "material.viscosity", "0.1 mPa.s to 10000 Pa.s"),
    ("viscosity", 'viscosity = "1e9 Pa.s"', "material.viscosity", "0.1 mPa.s to 10000 Pa.s"),
    ("viscosity", 'viscosity = "nan Pa.s"', "material.viscosity", "plain number"),
    ("viscosity", 'viscosity = "1e400 Pa.s"', "material.viscosity", "too large"),
    ("viscosity", "viscosity = nan", "material.viscosity", "bare number nan"),
    ("viscosity", "viscosity = []", "material.viscosity", "an array"),
    ("viscosity", "viscosity = {}", "material.viscosity", "a table"),
    ("viscosity", "viscosity = 2024-01-01", "material.viscosity", "a date"),
    ("loss_coefficient", "loss_coefficient = inf", "suction.loss_coefficient", "plain number"),
    ("loss_coefficient", "loss_coefficient = 1e400", "suction.loss_coefficient", "plain number"),
    ("loss_coefficient", "loss_coefficient = true", "suction.loss_coefficient", "true or false"),
    ("loss_coefficient", "loss_coefficient = 0x" + "f" * 3000, "suction.loss_coefficient", "too large"),
    ("free_gas_fraction", 'free_gas_fraction = "120 %"', "material.free_gas_fraction", "0 % to 50 %"),
    ("rod", 'rod = "48 mm"', "lower.rod", "a rod smaller than the bore, which is 48 mm"),
    (
        'ball_diameter = "29',
        'ball_diameter = "21 mm"',
        "inlet_check.ball_diameter",
        "larger than the bore of its seat",
    ),
    ('ball_diameter = "29', 'ball_diameter = "38 mm"', "inlet_check.ball_diameter", "smaller than its cage"),
    ("below", "below = [1, 1]", "shims.below", "more than once"),
    ("below", "below = [4]", "shims.below", "the numbers 1 to 3"),
    ("below", "below = [0]", "shims.below", "the numbers 1 to 3"),
    ("below", "below = [1.0]", "shims.below", "an array of shim numbers"),
    ("below", 'below = "1"', "shims.below", "an array of shim numbers"),
    ("thicknesses", 'thicknesses = ["1 mm", 2]', "shims.thicknesses", "bare number"),
    ("thicknesses", 'thicknesses = "1 mm"', "shims.thicknesses", "an array of at most"),
    ("profile", 'profile = "constant sped"', "drive.profile", 'did you mean "constant speed"'),
    ("profile", "profile = 3", "drive.profile", '"constant speed" or "harmonic"'),
    ("dwell_time", 'dwell_time = "0.94 s"', "drive.dwell_time", "less than half a cycle, which is 1 s"),
    (
        "vapour_pressure",
        'vapour_pressure = "1.1 bar"',
        "material.vapour_pressure",
        "less than the absolute pressure",
    ),
    ("bore", 'boer = "48 mm"', "lower.boer", 'did you mean "lower.bore"'),
    ("[suction]", "[sucktion]", "[sucktion]", "did you mean [suction]?"),
    ("title", "title = 5", "title", "text of 1 to 200 characters"),
    ("title", 'title = ""', "title", "text of 1 to 200 characters"),
    ("title", 'viscosity = "5 Pa.s"', "viscosity", 'did you mean "material.viscosity"'),
    ("hose_length", 'hose_length = "1.5 m', "", "not TOML"),
    ("hose_length", "hose_length = 1.5 m", "", "a quantity as text in quotes"),
    ("loss_coefficient", 'lift = "1.5 m"', "", "not TOML"),
    (
        '"material.viscosity"',
        '"material.viscosity" = "5 Pa.s"',
        'sweep."material.viscosity"',
        "an array of 1",
    ),
    (
        '"material.viscosity"',
        '"material.viscosity" = ["1 Pa.s", "5 m"]',
        'sweep."material.viscosity"',
        "another kind",
    ),
    ('"material.viscosity"', '"material.viscosty" = ["1 Pa.s"]', "material.viscosty", "did you mean"),
    ('"shims.below"', '"shims.below" = [1, 2]', 'sweep."shims.below"', "an array of shim numbers"),
]


@pytest.mark.parametrize(("old", "new", "key", "words"), ONE_LINE)
def test_a_wrong_line_is_blamed_by_number_and_key(faults, old, new, key, words):
    found = faults(changed(old, new))
    line = line_of(TEXT, old) + ("lift" in new)  # a key given twice is noticed at the second
    blamed = [fault for fault in found if fault.key == key and fault.where.endswith(f":{line}")]
    assert blamed, found
    assert words in str(blamed[0])


def test_several_faults_come_at_once_in_the_order_of_the_lines(faults):
    text = changed("viscosity", 'viscosity = "5 mm"')
    text = changed("rod", 'rod = "60 mm"', text)
    text = changed("stroke", "", text)
    text = changed("lift", 'lfit = "0.3 m"', text)
    text = changed("below", "below = [1, 9]", text)
    found = faults(text)
    assert [fault.key for fault in found] == [
        "material.viscosity",
        "lower.stroke",
        "lower.rod",
        "shims.below",
        "suction.lfit",
    ]
    lines = [fault.line for fault in found]
    assert lines == sorted(lines)
    assert found[1].line == line_of(text, "[lower]")


def test_missing_required_keys_and_tables_are_all_named(faults):
    found = faults('[material]\nviscosity = "5 Pa.s"\n')
    assert [fault.key for fault in found] == [
        "title",
        "material.density",
        "material.vapour_pressure",
        *(
            f"[{table}]"
            for table in ("lower", "inlet_check", "piston_check", "shims", "drive", "suction", "outlet")
        ),
    ]


@pytest.mark.parametrize(
    ("written", "example"),
    [
        ("bore = 2 3/8 in", 'bore = "2 3/8 in"'),
        ("bore = 48 mm  # new", 'bore = "48 mm"'),
        ('bore = 2 3/8"', "bore = '2 3/8\"'"),
        ("bore = wide", 'bore = "wide"'),
    ],
)
def test_a_size_without_quotes_is_shown_with_its_quotes(faults, written, example):
    (found,) = faults(changed("bore", written))
    assert written.partition("  #")[0] in found.given
    assert "without quotes" in found.given
    assert (found.example, found.line) == (example, line_of(TEXT, "bore"))


@pytest.mark.parametrize("key", ["stroke", "vapour_pressure", "lift", "ramp_time"])
def test_a_misspelt_key_is_one_error_and_is_not_missing_too(faults, key):
    line = next(line for line in TEXT.splitlines() if line.startswith(key))
    (found,) = faults(changed(key, line.replace(key, f"{key[:-1]}{key[-1]}s", 1)))
    assert f'.{key}"?' in found.given


def test_an_empty_file_misses_everything(faults):
    assert len(faults("")) == 9


def test_a_table_that_is_no_table_is_one_fault(faults):
    (found,) = faults("material = 3\n" + re.sub(r"\[material\].*?\n\n", "", TEXT, flags=re.DOTALL))
    assert (found.key, found.line) == ("material", 1)


def test_a_table_given_as_an_array_of_tables_is_refused(faults):
    (found,) = faults(changed("[material]", "[[material]]"))
    assert "an array given" in str(found)


def test_a_missing_value_hides_no_other_fault(faults):
    text = changed("bore", 'bore = "48"', changed("cycle_rate", 'cycle_rate = "40 rpm"'))
    assert [fault.key for fault in faults(text)] == ["lower.bore", "drive.cycle_rate"]


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_windows_line_ends_and_a_byte_order_mark_keep_the_line_numbers(faults, mark):
    text = changed("stroke", 'stroke = "9 furlongs"')
    (found,) = faults(mark + text.replace("\n", "\r\n").encode())
    assert found.line == line_of(text, "stroke")


def test_windows_line_ends_and_a_byte_order_mark_are_read(tmp_path):
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    assert read_scenario(path) == read_scenario(STORY)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("x = " + "[" * 100_000 + "]" * 100_000, "characters"),
        ("x = " + "[\n" * 50_000, "nested"),
        ("x = " + "[" * 100 + "]" * 100, "nested"),
        ("x = " + "{a=" * 50, "nested"),
        (".".join("a" * 20_000) + " = 1", "characters"),
        (".".join("a" * 1_000) + " = 1", "too many parts"),
        ("[" + " . ".join("a" * 500) + "]", "too many parts"),
        ("x = {" + ".".join("a" * 500) + " = 1}", "too many parts"),
        ("".join(f"k{n} = 1\n" for n in range(20_000)), "too many keys"),
        (
            "".join(f"y{n} = {{" + ",".join(f"a{k}=1" for k in range(400)) + "}\n" for n in range(50)),
            "too many keys",
        ),
        ("a = '''" * 20_000, "characters"),
        ("a = '''\n" * 20_000, None),
        ('"\n' * 80_000, None),
        ("x = " + "1" * 3_900, None),
        ("# " + "x" * 300_000, "larger than 256 kB"),
        (b"\x89HDF\r\n\x1a\n\0\0\0\0", "binary"),
        (bytes(range(1, 256)), "not UTF-8"),
        (b'title = "gr\xfcn"', "not UTF-8"),
        ("title = 'x'\rviscosity = 3", "not TOML"),
    ],
)
def test_hostile_files_are_refused_within_two_seconds(faults, content, words):
    found = faults(content)
    assert words is None or words in str(found[0])


def test_not_utf8_names_the_line(faults):
    (found,) = faults(b'# one\n# two\ntitle = "gr\xfcn"\n')
    assert found.line == 3


@pytest.mark.parametrize("name", ["missing.toml", "no/such/folder.toml", "", "x" * 5000, "nul\0byte"])
def test_a_file_that_is_not_there_is_named(tmp_path, name):
    with pytest.raises(ScenarioError, match="allowed: a TOML text file"):
        read_scenario(tmp_path / name)


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(ScenarioError, match="not a plain file"):
        read_scenario(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_nobody_writes_to_does_not_hang(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(ScenarioError, match="not a plain file"):
        read_scenario(tmp_path / "pipe")


def test_a_file_that_cannot_be_opened_is_refused(tmp_path):
    loop = tmp_path / "loop.toml"
    loop.symlink_to(loop)
    with pytest.raises(ScenarioError, match=r"loop\.toml: "):
        read_scenario(loop)


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may read everything"
)
def test_a_file_without_read_permission_is_refused(tmp_path):
    path = tmp_path / "secret.toml"
    path.write_text(TEXT)
    path.chmod(0)
    with pytest.raises(ScenarioError, match="Permission denied"):
        read_scenario(path)


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("material.viscosity=5 mm", "another kind"),
        ("material.viscosity=3,5 Pa.s", "comma"),
        ("material.viscosity=3500", "bare number 3500"),
        ("material.viscosity=", "plain number"),
        ("material.viscosty=5 Pa.s", "did you mean"),
        ("viscosity=5 Pa.s", 'did you mean "material.viscosity"'),
        ("material.viscosity", "no = sign"),
        ("", "no = sign"),
        ("=5", "unknown key"),
        ("shims.below=[1,1]", "more than once"),
        ("shims.below=[1,", "an array of shim numbers"),
        ("lower.rod=5 cm", "a rod smaller than the bore"),
        ("title=" + "x" * 5000, "characters"),
        ("lower.bore=" + "[" * 3000, None),
        ("lower.bore=1 mm\nrod = 3", None),
        (".".join("a" * 9000) + "=1", None),
    ],
)
def test_a_wrong_setting_is_blamed_as_a_setting(faults, setting, words):
    found = faults(TEXT, settings=[setting])
    assert found[-1].where.startswith("--set ")
    assert words is None or words in str(found[-1])


def test_faults_of_the_file_come_before_those_of_the_settings(faults):
    settings = ["lower.stroke=-1 mm", "lower.bore=2 s"]
    found = faults(changed("lift", 'lift = "3 bar"'), settings=settings)
    assert [fault.key for fault in found] == ["suction.lift", "lower.stroke", "lower.bore"]


def test_a_setting_heals_a_fault_of_the_file(tmp_path):
    path = tmp_path / "healed.toml"
    path.write_text(changed("viscosity", 'viscosity = "5 mm"'), encoding="utf-8")
    assert read_scenario(path, ["material.viscosity=5 Pa.s"]).material.viscosity == 5.0


def test_a_kinematic_sweep_with_a_swept_density_is_refused(faults):
    grid = ['material.viscosity=["100 cSt"]', 'material.density=["900 kg/m3", "950 kg/m3"]']
    assert "density is not known" in str(faults(TEXT, grid=grid)[0])


def test_mutated_files_give_a_scenario_or_faults_and_nothing_else(tmp_path):
    chance = random.Random(20240)
    path = tmp_path / "mutant.toml"
    refused = []
    for _ in range(300):
        data = bytearray(TEXT.encode())
        for _ in range(chance.randrange(1, 6)):
            place = chance.randrange(len(data))
            cut = chance.choice((0, 1, 1, 30))
            data[place : place + cut] = chance.choice(
                (b"", b'"', b"[", b"=", b".", b"\n", b"nan", b"\xff", b"-", b"9e9")
            )
        path.write_bytes(bytes(data))
        try:
            read_scenario(path)
        except ScenarioError as error:
            refused.append(error)
    assert 100 < len(refused) < 300
    assert all(fault.where for error in refused for fault in error.faults)
