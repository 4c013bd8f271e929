"""Every notebook in a real browser: it runs, complains about nothing, names its controls and clips no word."""

import pytest
from lab import NOTEBOOKS, PICTURES
from sheet import shows_something

TABLET = 768


def test_there_are_notebooks():
    assert len(NOTEBOOKS) >= 16


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_it_runs_and_can_be_worked(open_sheet, path):
    sheet = open_sheet(path)
    sheet.run_all()
    assert sheet.errors() == []
    assert len(sheet.text().split()) > 20, "the page drew nothing"
    for file in sheet.pictures(PICTURES):  # leaves the notebook spread, every cell drawn
        assert shows_something(file), f"{file.name} is blank"
    assert sheet.nameless() == []
    assert sheet.clipped() == []
    sheet.fold_side_panel()
    sheet.spread(TABLET)
    assert sheet.clipped() == [], "on a tablet"
    assert sheet.console == []
