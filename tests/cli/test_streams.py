"""Standard streams that are closed, full or gone: no traceback, and the exit code that the help names."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

PRIMER = Path(__file__).parents[2] / "scenarios" / "primer.toml"
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="closes streams as a POSIX shell does")


def shell(redirection, *arguments):
    """The command with a redirection of a POSIX shell; its code and both outputs."""
    command = [sys.executable, "-m", "balltravel.cli", *map(str, arguments)]
    line = f'"$@" {redirection}'
    done = subprocess.run(["sh", "-c", line, "sh", *command], capture_output=True, text=True, check=False)
    assert "Traceback" not in done.stderr + done.stdout
    assert "Exception ignored" not in done.stderr
    return done.returncode, done.stdout, done.stderr


def test_a_closed_standard_output_is_told_by_code_1_and_one_line():
    said = "standard output: cannot be written: it is closed\n"
    assert shell(">&-", "check", PRIMER) == (1, "", said)
    assert shell(">&-", "check", PRIMER, "--json") == (1, "", said)


def test_with_a_closed_standard_error_the_result_is_printed_and_nothing_else():
    assert shell("2>&-", "check", PRIMER) == shell("", "check", PRIMER)
    assert shell("2>&-", "check", "no such file") == (2, "", "")


def test_a_closed_standard_input_changes_nothing():
    assert shell("<&-", "check", PRIMER) == shell("", "check", PRIMER)
    assert shell("<&- >&- 2>&-", "check", PRIMER) == (1, "", "")


def test_a_file_does_not_get_the_number_of_a_closed_stream(tmp_path):
    """What a library says of itself would land in it."""
    code = (
        "import os, sys\n"
        "from balltravel.cli.output import hold_closed_streams\n"
        "hold_closed_streams()\n"
        "print(os.open(sys.argv[1], os.O_CREAT | os.O_WRONLY) > 2)\n"
    )
    done = subprocess.run(
        ["sh", "-c", '"$@" <&- 2>&-', "sh", sys.executable, "-c", code, tmp_path / "x"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stdout == "True\n"


@pytest.mark.parametrize("arguments", [("check", PRIMER), ("--help",)], ids=["result", "help"])
def test_a_reader_that_goes_away_is_no_fault(arguments):
    reader, writer = os.pipe()
    os.close(reader)
    command = [sys.executable, "-m", "balltravel.cli", *map(str, arguments)]
    done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, text=True, check=False)
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_full_streams_are_told_as_far_as_there_is_somebody_to_tell():
    line = "standard output: cannot be written: No space left on device\n"
    assert shell(">/dev/full", "--help") == (1, "", line)
    assert shell("2>/dev/full", "check", "no such file") == (2, "", "")


HOSTILE = "a\x1b[31mb\rc\u202ed\nX: written"


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", HOSTILE),
        ("check", PRIMER, HOSTILE),
        ("check", PRIMER, "--set", f"material.{HOSTILE}=1"),
        ("check", PRIMER, "--set", f"material.viscosity={HOSTILE}"),
        ("check", PRIMER, "--set", f"title={HOSTILE}"),
        ("simulate", PRIMER, "--out", f"{HOSTILE}/x.nc"),
        ("simulate", PRIMER, "--figure", HOSTILE),
        ("prime", PRIMER, "--against", HOSTILE),
        ("wear", PRIMER, "--gap", HOSTILE),
        ("material", "--kind", HOSTILE),
    ],
)
def test_control_characters_of_the_command_line_do_not_reach_the_terminal(arguments):
    code, out, err = shell("", *arguments)
    assert (code, out) == (2, "")
    assert all(line.isprintable() for line in err.split("\n"))
    assert not re.search("^X: written", err, re.MULTILINE)


def test_a_name_that_holds_control_characters_is_escaped_where_it_is_written(capsys):
    from balltravel.cli.output import SoFar

    SoFar().tell("a\x1b[31m\n.nc")
    assert capsys.readouterr().err == "a\\x1b[31m\\n.nc: written\n"


def test_control_characters_in_a_result_are_escaped(capsys):
    from balltravel.cli.output import SoFar, print_text

    assert print_text("a title\x1b]0;x\x07\nand a line", SoFar()) == 0
    assert capsys.readouterr().out == "a title\\x1b]0;x\\x07\nand a line\n"


def test_a_total_that_grows_is_told_with_what_it_was_before():
    from balltravel.cli.output import Pace

    pace = Pace()
    assert pace.words(500, 512) == ""
    assert pace.words(520, 1024).startswith(" (512 were not enough)")
    assert pace.words(1024, 1024) == " (512 were not enough)"
