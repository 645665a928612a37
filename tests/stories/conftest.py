import json
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
