"""Every notebook in a real browser: it runs, complains about nothing, names its controls and clips no word.

Each one is opened as a trainee opens it from the list of files, in a JupyterLab that is already there. Pictures of
all screens for a person to look at are left in the long run, or when GASLAB_PICTURES=1.
"""

import pytest
from lab import NOTEBOOKS, PICTURES, TAKE_PICTURES
from tab import on_page

TABLET = 768


def test_there_are_notebooks():
    assert len(NOTEBOOKS) >= 16


@pytest.mark.parametrize("number", [on_page(path.name[:2]) for path in NOTEBOOKS])
def test_it_runs_and_can_be_worked(tab, number):
    sheet = tab.ran(number)
    assert len(sheet.text().split()) > 20, "the page drew nothing"
    assert sheet.blank_screens() == []  # leaves the notebook spread, every cell drawn
    if TAKE_PICTURES:
        sheet.pictures(PICTURES)
    assert sheet.nameless() == []
    assert sheet.clipped() == []
    sheet.fold_side_panel()
    sheet.spread(TABLET)
    assert sheet.clipped() == [], "on a tablet"
    assert sheet.errors() == [] and sheet.console == []
