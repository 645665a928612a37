from pathlib import Path

import pytest

from balltravel.files.read_write import read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture
def story():
    """A shipped scenario by name, with settings as on the command line."""

    def read(name, *settings):
        return read_scenario(SCENARIOS / f"{name}.toml", settings)

    return read
