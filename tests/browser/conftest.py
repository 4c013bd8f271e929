"""One JupyterLab and one browser for all browser tests."""

from pathlib import Path

import pytest
from lab import BROWSER_FLAGS, NOTEBOOKS, Lab, browser_path
from playwright.sync_api import sync_playwright
from sheet import SCREEN, Sheet


@pytest.fixture(scope="session")
def lab(tmp_path_factory):
    running = Lab(tmp_path_factory.mktemp("lab"), NOTEBOOKS)
    yield running
    running.stop()


@pytest.fixture(scope="session")
def browser():
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=browser_path(), args=BROWSER_FLAGS)
        yield started
        started.close()


@pytest.fixture
def open_sheet(lab, browser):
    """Return a function that opens a notebook in a fresh page, with an empty data folder."""
    lab.empty_home()
    context = browser.new_context(viewport=SCREEN)

    def open_one(path: Path | str) -> Sheet:
        sheet = Sheet(context.new_page(), Path(path).name)
        sheet.open(lab.url(sheet.name))
        return sheet

    yield open_one
    context.close()
    lab.end_kernels()


@pytest.fixture(scope="module")
def visit(lab, browser):
    """Return a function that opens a page by its number and runs it: one browser and one user for a whole module."""
    lab.empty_home()
    context = browser.new_context(viewport=SCREEN)

    def visit_one(number: str) -> Sheet:
        path = next(one for one in NOTEBOOKS if one.name.startswith(number))
        sheet = Sheet(context.new_page(), path.name)
        sheet.open(lab.url(path.name))
        sheet.run_all()
        assert sheet.errors() == []
        return sheet

    yield visit_one
    context.close()
    lab.end_kernels()
