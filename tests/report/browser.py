"""A browser without a window, for tests of pages; tests that ask for one are skipped where there is none."""

import shutil
from contextlib import contextmanager

import pytest


@contextmanager
def chromium():
    """Debian's chromium by playwright."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = shutil.which("chromium")
    if program is None:
        pytest.skip("no chromium on this machine (Debian: apt-get install chromium)")
    with api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def opened(browser, path, width=1280, height=720, reduced_motion="reduce"):
    """A page from a file; at its end nothing must have been asked of a network or said on the console."""
    page = browser.new_page(viewport={"width": width, "height": height}, reduced_motion=reduced_motion)
    asked, said = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    page.goto(path.as_uri())
    yield page
    page.close()
    assert asked == [path.as_uri()]
    assert said == []
