"""The one browser tab of a test process: JupyterLab stays open in it, and notebooks are opened one after another.

Loading JupyterLab and starting a kernel are what takes long, so tests of one notebook share its open page: first
those that only look, then those that change something. Tests of one notebook carry its name in their own; by that
they run in one process and follow one another there.
"""

from pathlib import Path

import pytest
from lab import NOTEBOOKS, Lab
from playwright.sync_api import Browser
from sheet import SCREEN, Sheet

HARNESS = "harness"
_CLOSE_OTHERS = """async keep => {
    for (const sheet of [...window.jupyterapp.shell.widgets('main')]) {
        if (sheet.context && keep.includes(sheet.context.path)) continue;
        if (sheet.sessionContext) await sheet.sessionContext.shutdown();
        sheet.dispose();
    }
}"""


def path_of(number: str) -> Path:
    """Return the notebook whose name begins with a number."""
    return next(path for path in NOTEBOOKS if path.name.startswith(number))


def in_group(number: str):
    """Put tests with the others that work on the page of this number, or on the made pages of the harness."""
    group = number if number == HARNESS else path_of(number).stem
    return pytest.mark.parametrize("shared_page", [group], ids=[group], indirect=True)


def on_page(number: str, *values):
    """Return a row of parameters in the group of a page; without values its only one is the page's number."""
    return pytest.param(*(values or [number]), id=path_of(number).stem)


def group_of(test: str) -> str:
    """Return the group that a test's name carries among its parameters, or nothing."""
    parameters = test.partition("[")[2]
    return next((group for group in [*(path.stem for path in NOTEBOOKS), HARNESS] if group in parameters), "")


class Tab:
    """A browser tab with JupyterLab. `sheets` are the notebooks open in it; the first is the one that is shared."""

    def __init__(self, lab: Lab, browser: Browser):
        self.lab, self.page = lab, browser.new_context(viewport=SCREEN).new_page()
        self.sheets: list[Sheet] = []
        self.has_run, self.loaded = False, False

    def fresh(self, name: str) -> Sheet:
        """Open a notebook for somebody who has done nothing yet, and run nothing. Every other one is closed."""
        self._keep([])
        sheet = self._open(name)
        self.lab.empty_home()
        self.has_run = False
        return sheet

    def cold(self, number: str) -> Sheet:
        """Return the page of this number with nothing run in it."""
        shared = self._shared(number)
        sheet = shared if shared and not self.has_run else self.fresh(path_of(number).name)
        sheet.usual_screen()
        return sheet

    def ran(self, number: str) -> Sheet:
        """Return the page of this number, run, as the test before left it; opened when it is not."""
        sheet = self._shared(number) or self.fresh(path_of(number).name)
        sheet.usual_screen()
        if not self.has_run:
            sheet.run_all()
            self.has_run = True
        assert sheet.errors() == []
        return sheet

    def anew(self, number: str) -> Sheet:
        """Return the page of this number as somebody sees it who has done nothing yet, with all cells run."""
        if self._shared(number) and self.has_run:
            self.lab.empty_home()
            self.sheets[0].restart()
        return self.ran(number)

    def also(self, number: str) -> Sheet:
        """Open and run another page for the same person, beside the shared one."""
        self._keep(self.sheets[:1])
        sheet = self._open(path_of(number).name)
        sheet.usual_screen()
        sheet.run_all()
        assert sheet.errors() == []
        return sheet

    def forget(self) -> None:
        """Let the next test open its page again: something went wrong in this one."""
        for sheet in self.sheets:
            sheet.hear_no_more()
        self.sheets, self.loaded = [], False

    def close(self) -> None:
        self.page.context.close()

    def _shared(self, number: str) -> Sheet | None:
        """Return the shared page if it is the one of this number, in front and alone."""
        if not self.sheets or self.sheets[0].name != path_of(number).name:
            return None
        self._keep(self.sheets[:1])
        self.sheets[0].show()
        return self.sheets[0]

    def _keep(self, kept: list[Sheet]) -> None:
        """Close all other notebooks and end their kernels, as JupyterLab's own command does."""
        for sheet in self.sheets:
            if sheet not in kept:
                sheet.hear_no_more()
        if self.loaded and len(self.sheets) > len(kept):
            self.page.evaluate(_CLOSE_OTHERS, [sheet.name for sheet in kept])
        self.sheets = list(kept)

    def _open(self, name: str) -> Sheet:
        sheet = Sheet(self.page, name)
        self.sheets.append(sheet)
        if self.loaded:
            sheet.show()
        else:
            self.page.set_viewport_size(SCREEN)
            self.lab.end_kernels()
            sheet.open(self.lab.url(name))
            self.loaded = True
        return sheet
