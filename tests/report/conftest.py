"""The browser that tests of pages share."""

import pytest

from .browser import chromium


@pytest.fixture(scope="module")
def browser():
    """Closed behind each file of tests: a failure of one does not spoil the next."""
    with chromium() as program:
        yield program
