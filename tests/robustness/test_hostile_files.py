"""Files made to choke a reader: each was slow, greedy or fatal once, or aims at a limit from just below."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from robustness.law import judge
from robustness.mutants import SCENARIOS, spoilt
from robustness.tally import largest

from balltravel.files.document import MOST_FAULTS
from balltravel.files.read_write import LARGEST_SCENARIO, read_scenario_file
from balltravel.files.swept import MOST_CASES
from balltravel.scenario.model import ScenarioError

TEXT = (SCENARIOS[0].parent / "primer.toml").read_text(encoding="utf-8")
BEFORE_SWEEP = TEXT.split("[sweep]")[0]
VISCOSITIES = BEFORE_SWEEP + '[sweep]\n"material.viscosity" = [\n'
CHECKS = ("inlet_check", "piston_check")
HUGE = "0x" + "f" * 3900


def full(start, line, end=""):
    """The line again and again, up to the largest file that is read."""
    room = LARGEST_SCENARIO - len(start) - len(end)
    return start + line * (room // len(line)) + end


def units():
    """Thousands of spellings of as many units, each of a value that is allowed."""
    names = [
        f"Pa.s.m{n}/m{n}.{a}/{a}.kg{k}/kg{k}.{b}/{b}"
        for n in range(1, 10)
        for k in range(1, 10)
        for a in ("mm", "in", "l", "g", "s")
        for b in ("bar", "N", "h", "J")
    ]
    return (
        BEFORE_SWEEP
        + '[sweep]\n"material.viscosity" = [\n'
        + "".join(f'"1 {name}",\n' for name in names)
        + "]\n"
    )


HOSTILE = {
    "title of thousands of digits": TEXT.replace('"One lower, primer"', HUGE),
    "profile of thousands of digits": TEXT.replace('"constant speed"', HUGE),
    "shim number of thousands of digits": TEXT.replace("[1, 2] ", f"[\n{HUGE}\n]"),
    "shims of thousands of digits": TEXT.replace('["1 mm", "2 mm", "4 mm"]', HUGE),
    "volume that overflows in litres": TEXT.replace('"33 cc"', '"1e308 m3"'),
    "rate that overflows in cycles a minute": TEXT.replace('"30 /min"', '"1e308 1/s"'),
    "title with a zero byte": TEXT.replace("One lower, primer", "\\u0000"),
    "title that moves the cursor": TEXT.replace("One lower, primer", "\\u001b[2J"),
    "thousands of keys nearly right": "".join(f"inlet_check_ball_diamet{n} = 1\n" for n in range(1999)),
    "thousands of keys nearly right in a table": "[inlet_check]\n"
    + "".join(f"ball_diamet{n} = 1\n" for n in range(1999)),
    "unclosed text on every line": full("", '"' + '\\"' * 1990 + "\n"),
    "unclosed long text on every line": full("x = [\n", '\\"""\n'),
    "unclosed long text on every line and a backslash": full("x = [\n", '\\"""\n', "\\"),
    "long text closed by the next line": full("x = [\n", '"""\\\n'),
    "unclosed literal text": full("x = [\n", "'''\n"),
    "quotes beside the end of a long text hide brackets": 'x = ["""a"""", ' + "[" * 3000,
    "quotes beside the end of a long text hide a key": full(
        "", 'x = {a = """a"""", ' + ".".join("b" * 1900) + " = 1}\n"
    ),
    "array of numbers": full("x = [", "1,\n", "]"),
    "array of arrays": full('[sweep]\n"lower.bore" = [', "[],", "]")[:3900] + "]",
    "array of arrays on lines": full('[sweep]\n"lower.bore" = [', "\n[],", "]"),
    "array of tables": full("x = [", "\n{},", "]"),
    "many tables of arrays": "[[a]]\n" * 1999,
    "many tables in tables": "".join(f"[a.b.c.d.e.f.g{n}]\n" for n in range(1999)),
    "many inline tables": "x = [" + "{a.b.c.d.e.f.g=1},\n" * 1990 + "]",
    "many dates": full("x = [", "2024-01-01T00:00:00.123456789+01:00,\n", "]"),
    "long numbers": full("x = [", "1" * 3990 + ",\n", "]"),
    "many escapes": full("x = [", '"' + "\\U0001F600" * 390 + '",\n', "]"),
    "empty lines": full("", "\n"),
    "comments": full("", "#\n"),
    "thousands of units": units(),
    "units to high powers": VISCOSITIES + ('"0.1e0330 ' + "in9." * 18 + 'in9",\n') * 2500 + "]\n",
    "ten thousand values": VISCOSITIES + "".join(f'"{n + 1} mPa.s",\n' for n in range(10_000)) + "]\n",
    "a sweep of millions": TEXT
    + "".join(f'"{key}.seat_length" = [' + '"0 mm",\n' * 900 + "]\n" for key in CHECKS),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_or_read_within_the_law(folder, name):
    path, data = folder / "hostile.toml", HOSTILE[name].encode()
    assert len(data) <= LARGEST_SCENARIO  # so that it is the contents that are judged
    path.write_bytes(data)
    assert judge(path, data, name) == (name in ("thousands of units", "ten thousand values"))


def faults(folder, text):
    path = folder / "hostile.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        read_scenario_file(path)
    return caught.value.faults


def test_of_thousands_of_faults_the_first_forty_are_told_and_that_more_follow(folder):
    found = faults(folder, HOSTILE["thousands of keys nearly right"])
    assert [fault.line for fault in found] == list(range(1, MOST_FAULTS + 2))
    assert found[-1].given == "more faults follow"


def test_a_sweep_of_more_combinations_than_can_be_held_is_refused_before_it_runs(folder):
    (found,) = faults(folder, HOSTILE["a sweep of millions"])
    assert found.given == "the sweep has 19440000 combinations"
    assert found.allowed == f"at most {MOST_CASES}"


def test_a_key_swept_twice_in_two_spellings_is_refused(folder):
    (found,) = faults(folder, TEXT + 'lower.stroke = ["80 mm"]\n"lower.stroke" = ["90 mm"]\n')
    assert (found.key, found.given) == ("lower.stroke", "swept twice")


def test_a_truth_value_for_a_choice_is_told_in_one_given(folder):
    (found,) = faults(folder, TEXT.replace('"constant speed"', "true"))
    assert found.given == "true or false given"


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="only Linux tells the peak so")
def test_no_file_takes_200_megabytes(folder):
    """In a fresh process: the growth of the largest memory ever held, after one good file was read."""
    contents = [data.encode() for data in HOSTILE.values()]
    contents += [spoilt(np.random.default_rng([60, n])) for n in range(100)]
    for number, data in enumerate(contents):
        (folder / f"{number:03}.toml").write_bytes(data)
    code = (
        "import re, sys\n"
        "from balltravel.files.read_write import read_scenario_file\n"
        "def read(path):\n"
        "    try:\n        read_scenario_file(path)\n"
        "    except ValueError:\n        pass\n"
        "    return int(re.search('VmHWM:\\\\s*([0-9]+) kB', open('/proc/self/status').read())[1])\n"
        "first = read(sys.argv[1])\n"
        "print(first, max(read(path) for path in sys.argv[2:]))\n"
    )
    files = [str(SCENARIOS[2]), *map(str, sorted(folder.iterdir()))]
    done = subprocess.run([sys.executable, "-c", code, *files], capture_output=True, text=True, check=True)
    first, last = map(int, done.stdout.split())
    largest("largest growth of memory over all hostile files, MB", (last - first) / 1024, "fresh process")
    assert last - first < 200 * 1024
