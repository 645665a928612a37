"""What the command refuses it quotes as it was written, says what is wrong with it, and says all at once."""

import re

import pytest

from balltravel.core.status import Status
from balltravel.scenario.model import ScenarioError
from balltravel.study.site.wear import wear_report


@pytest.fixture
def refusal(run, scenarios):
    """The lines by which a command on the primer is refused; nothing is printed as a result."""

    def call(command, *options):
        code, out, err = run(command, scenarios / "primer.toml", *options)
        assert (code, out) == (2, "")
        return err.replace("\n    ", " ").splitlines()

    return call


@pytest.mark.parametrize("gap", ["0 um", "0 in", "0.01 um", "2 mm", "-1 um", "1/4 in"])
def test_wear_refuses_a_gap_that_cannot_be_and_quotes_it(gap, refusal):
    (line,) = refusal("wear", f"--gap={gap}")
    assert line == f'--gap: "{gap}" given; allowed: 0.1 um to 1 mm; example: "30 um"'


def test_python_refuses_such_a_gap_in_the_same_words(story):
    with pytest.raises(ScenarioError, match=r"^gap: 0 mm given; allowed: 0\.1 um to 1 mm; example: 3e-05$"):
        wear_report(story("primer"), 0.0)


@pytest.mark.parametrize(
    ("written", "wrong"),
    [
        ('["20 /min", "40 /min"', "an array without its closing bracket ]"),
        ('[["20 /min"]', "an array without its closing bracket ]"),
        ('"20 /min", "40 /min"]', "an array without its opening bracket ["),
        ("[20 /min, 40 /min]", "an array with something else than numbers and texts in double quotes"),
        ("20 /min", "no array"),
        ("", "no array"),
    ],
)
def test_a_sweep_says_what_is_wrong_with_the_array_that_was_written(written, wrong, refusal, run, scenarios):
    """And its example, typed as it stands, is taken."""
    (line,) = refusal("sweep", "--over", f"drive.cycle_rate={written}")
    assert f"drive.cycle_rate: {written} given, {wrong}" in line
    assert "allowed: an array of 1 to 10000 values in brackets, or log(0.5 Pa.s, 20 Pa.s, 7)" in line
    example = re.search(r"example: '(.*)'$", line)[1]
    assert example == 'drive.cycle_rate=["30 /min"]'
    assert run("sweep", scenarios / "primer.toml", "--over", example)[0] == 0


def test_the_title_has_no_place_in_a_sweep(refusal):
    (line,) = refusal("sweep", "--over", 'title=["a"]')
    assert "the title swept" in line
    assert "allowed: title" not in line


@pytest.mark.parametrize("count", ["0", "-2", "2000", "two", "1.5"])
def test_a_number_of_threads_is_refused_by_the_command_as_by_python(count, refusal, story):
    from balltravel import sweep

    line = " ".join(refusal("sweep", f"--workers={count}"))
    given = int(count) if count.lstrip("-").isdigit() else count
    with pytest.raises(ScenarioError) as caught:
        sweep(story("primer"), workers=given)
    assert line.endswith(str(caught.value).removeprefix("workers: "))


@pytest.mark.parametrize(
    ("setting", "given"),
    [
        ("lower.rod=5 in", '"5 in" (127 mm) given'),
        ("piston_check.cage_diameter=1 7/8 in", '"1 7/8 in" (47.63 mm) given'),
        ("lower.rod=48 mm", "48 mm given"),
    ],
)
def test_an_error_between_two_keys_quotes_what_was_written(setting, given, run, scenarios):
    code, _, err = run("check", scenarios / "primer.toml", "--set", setting, "--set", "lower.bore=47 mm")
    assert code == 2
    key = setting.partition("=")[0]
    assert f"{key}: {given}; allowed: " in " ".join(err.split())


def test_a_missing_table_is_reported_with_every_key_that_it_then_needs(run, tmp_path, scenarios):
    """So that a file with all that is named has no second round of errors."""
    path = tmp_path / "bare.toml"
    path.write_text('title = "bare"\n', encoding="utf-8")
    code, _, err = run("check", path)
    err = err.replace("\n    ", " ")
    assert code == 2
    named = {
        table: re.split(r", | \(", keys)
        for table, keys in re.findall(r"\[(\w+)\]: missing table; allowed: a table with ([^;]*);", err)
    }
    primer = tmp_path / "filled.toml"
    primer.write_text(_only(named, scenarios / "primer.toml"), encoding="utf-8")
    assert run("check", primer)[::2] == (0, "")


def _only(named, path):
    """A scenario cut down to the title and the keys that are named."""
    lines, table = [], ""
    for line in path.read_text(encoding="utf-8").splitlines():
        header, key = re.match(r"\[(\w+)\]", line), re.match(r"(\w+) *=", line)
        table = header[1] if header else table
        if (header and table in named) or (key and (not table or key[1] in named.get(table, ()))):
            lines.append(line)
    return "\n".join(lines)


def test_no_advice_names_an_option_that_the_command_has_not(run):
    for status in Status:
        assert "loosen" not in status.advice
    assert "from Python" in Status.STEP_TOO_SMALL.advice
    assert "--rtol" not in run("simulate", "--help")[1]


def test_one_length_is_printed_alike_however_it_was_made(run, scenarios):
    """3/16 in, which is 4.7625 mm, in one shim and as 1/8 in and 1/16 in: whatever its last bits are."""
    settings = ('shims.thicknesses=["3/16 in", "1/8 in", "1/16 in"]', "shims.below=[2, 3]")
    settings += ("inlet_check.base_travel=0 mm", "piston_check.travel=3/16 in")
    options = [word for setting in settings for word in ("--set", setting)]
    code, out, _ = run("check", scenarios / "primer.toml", *options)
    assert code == 0
    assert set(re.findall(r"4\.7\d+ mm \(.*?\)", out)) == {"4.76 mm (3/16 in)"}


def test_a_viscosity_known_at_another_temperature_only_is_refused_with_the_way_on(refusal, run, scenarios):
    known = ("--set", "material.viscosity=100 KU at 25 degC", "--set", "material.temperature=10 degC")
    (line,) = refusal("check", *known)
    assert "10 degC given, viscosity stated at 25 degC" in line
    assert line.endswith('example: temperature_law = "Andrade", activation_energy = "unknown"')
    way_on = (
        "--set", 'material.temperature_law="Andrade"', "--set", 'material.activation_energy="unknown"',
    )  # fmt: skip
    assert run("check", scenarios / "primer.toml", *known, *way_on)[0] == 0


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("material.flow", "no flow at all"),
        ("material.temperature_law", 'activation_energy = "unknown"'),
        ("lower.bore", "no range is usual for it everywhere"),
    ],
)
def test_unknown_where_nothing_can_be_drawn_says_what_to_write(key, said, refusal):
    (line,) = refusal("check", "--set", f'{key}="unknown"')
    assert f'{key}: "unknown" given; allowed: ' in line
    assert said in line


def test_a_command_line_that_lacks_something_says_where_help_is(run, scenarios):
    code, out, err = run("diagnose", scenarios / "primer.toml")
    assert (code, out) == (2, "")
    assert "--observed; balltravel diagnose --help explains" in " ".join(err.split())


def test_the_command_alone_prints_its_help(run):
    assert run() == run("--help")
