import contextlib
import io
import json
from functools import cache
from pathlib import Path

import pytest

from balltravel.cli.main import main

ROOT = Path(__file__).parents[2]


@pytest.fixture
def run(capsys):
    """Run a command line in this process; returns exit code, standard output and standard error."""

    def call(*argv):
        try:
            code = main([str(one) for one in argv])
        except SystemExit as end:
            code = end.code
        out, err = capsys.readouterr()
        return code, out, err

    return call


@cache
def _once(*argv):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(list(map(str, argv)))
    return code, out.getvalue(), err.getvalue()


@pytest.fixture
def once():
    """As ``run``, of a line that reads shipped files, writes none and is patched nowhere: several tests that
    look at what it prints share one run of it."""
    return _once


@pytest.fixture
def run_json(run):
    """Run a command with --json and parse what it prints: strict JSON and nothing else."""

    def refuse(name):
        raise ValueError(f"{name} is no JSON")

    def call(*argv):
        code, out, err = run(*argv, "--json")
        assert code == 0, err
        return json.loads(out, parse_constant=refuse)

    return call


@pytest.fixture
def scenarios():
    return ROOT / "scenarios"
