"""One JupyterLab, one browser and one tab for all browser tests of a process; the order in which they share pages."""

import os
import shutil
import tempfile
from pathlib import Path

import pytest
from lab import BROWSER_FLAGS, NOTEBOOKS, Lab, browser_path
from playwright.sync_api import sync_playwright
from sheet import OPEN_WAIT
from tab import Tab, group_of

from gaslab.commands import browser as browsers

# On one page, first the tests that only look, then those that change something. Other files come after these.
ORDER = (
    "test_cold", "test_every_notebook", "test_by_keyboard", "test_a_trainee", "test_feedback", "test_live_bench",
    "test_look", "test_restart", "test_projection",
)  # fmt: skip


def pytest_sessionstart():
    """Find the browser once, for every process of the run; with none, say so once and run nothing."""
    try:
        os.environ[browsers.NAMED] = browser_path()
    except RuntimeError as error:
        raise pytest.UsageError(str(error)) from None


def pytest_collection_modifyitems(items):
    """Put the tests of one page beside one another, in an order in which none disturbs the next."""

    def place(item) -> tuple:
        group, file = group_of(item.nodeid), item.module.__name__
        return (not group, group, ORDER.index(file) if file in ORDER else len(ORDER))

    here = [at for at, item in enumerate(items) if item.path.parent.name == "browser"]
    for at, item in zip(here, sorted((items[at] for at in here), key=place), strict=True):
        items[at] = item


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Give each process whole groups. xdist's own marks for groups are lost with pytest 9.2: it names tests anew."""
    if config.getvalue("dist") != "loadgroup":
        return None
    from xdist.scheduler import LoadScopeScheduling

    class Groups(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return group_of(nodeid) or nodeid

    return Groups(config, log)


@pytest.fixture(autouse=True)
def shared_page(request):
    """Carry the group of a test among its parameters; see tab.in_group."""
    return getattr(request, "param", "")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """After a failure the next test opens its page again, so that one fault is reported once."""
    report = yield
    tab = item.funcargs.get("tab")
    if report.failed and tab:
        tab.forget()
    return report


@pytest.fixture(scope="session")
def lab():
    # A short path, as a person's own folder has: one panel shows it in a box.
    folder = Path(tempfile.mkdtemp(prefix="lab-"))
    running = Lab(folder, NOTEBOOKS)
    yield running
    running.stop()
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def browser():
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=browser_path(), args=BROWSER_FLAGS, timeout=OPEN_WAIT
        )
        yield started
        started.close()


@pytest.fixture(scope="session")
def tab(lab, browser):
    """Return the tab in which the notebooks are opened."""
    opened = Tab(lab, browser)
    yield opened
    opened.close()
