"""Hypothesis without deadlines: no test may fail because the machine is busy. Soaks by ``-m soak`` only."""

import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")


def pytest_collection_modifyitems(config, items):
    if "soak" in config.option.markexpr:
        return
    skip = pytest.mark.skip(reason="a soak: run with -m soak")
    for item in items:
        if item.get_closest_marker("soak"):
            item.add_marker(skip)
