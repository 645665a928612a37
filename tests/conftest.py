"""Hypothesis without deadlines: no test may fail because the machine is busy. Soaks by ``-m soak`` only."""

from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")

SCENARIOS = Path(__file__).parents[1] / "scenarios"


def pytest_collection_modifyitems(config, items):
    if "soak" in config.option.markexpr:
        return
    skip = pytest.mark.skip(reason="a soak: run with -m soak")
    for item in items:
        if item.get_closest_marker("soak"):
            item.add_marker(skip)


@pytest.fixture
def story():
    """A shipped scenario by name, with settings as on the command line."""
    from balltravel.files.read_write import read_scenario

    def read(name, *settings):
        return read_scenario(SCENARIOS / f"{name}.toml", settings)

    return read
