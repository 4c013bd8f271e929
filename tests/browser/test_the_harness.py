"""The browser harness must be able to say no: a notebook with planted faults, and one that is sound."""

import itertools
import json

import pytest
from lab import Lab
from PIL import Image
from sheet import SCREEN, screens, shows_something

SOUND = """# ▶ Sound
import ipywidgets
box = ipywidgets.FloatText(description="Length [m]", value=2.0)
slider = ipywidgets.FloatSlider(value=2.0, max=10, readout=False)
link = ipywidgets.jslink((box, "value"), (slider, "value"))
ipywidgets.HBox([box, slider])"""
FAULTY = """# ▶ Faulty
import ipywidgets
picture = ipywidgets.HTML('<svg role="img" width="3000" height="9"></svg>')
ipywidgets.VBox([ipywidgets.FloatSlider(), ipywidgets.Text(), picture, ipywidgets.Button(description="Go " * 40)])"""


EMPTY = {"execution_count": None, "outputs": [], "metadata": {}}


def notebook(path, *cells):
    kernel = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
    book = {
        "cells": [
            {"cell_type": "code", "id": f"cell-{at}", "source": code, **EMPTY} for at, code in enumerate(cells)
        ],
        "metadata": {"kernelspec": kernel, "language_info": {"name": "python"}},
        "nbformat": 4,
        "nbformat_minor": 5,
    }  # fmt: skip
    path.write_text(json.dumps(book), encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def lab(tmp_path_factory):
    """A JupyterLab over these two notebooks in place of the course's."""
    folder = tmp_path_factory.mktemp("made")
    made = [
        notebook(folder / "sound.ipynb", SOUND),
        notebook(folder / "faulty.ipynb", FAULTY, "import sys; print('careful', file=sys.stderr)", "1 / 0"),
    ]
    running = Lab(tmp_path_factory.mktemp("harness"), made)
    yield running
    running.stop()


def test_a_sound_notebook_passes_and_can_be_worked_by_keyboard(open_sheet):
    sheet = open_sheet("sound.ipynb")
    sheet.run_all()
    sheet.spread()
    assert (sheet.errors(), sheet.nameless(), sheet.clipped(), sheet.console) == ([], [], [], [])
    box = sheet.page.get_by_label("Length [m]")
    slider = sheet.page.get_by_role("slider")
    before = slider.get_attribute("aria-valuenow")
    box.focus()
    sheet.page.keyboard.press("ArrowUp")
    sheet.page.keyboard.press("Tab")
    assert box.input_value() == "3"
    assert slider.get_attribute("aria-valuenow") != before


def test_planted_faults_are_found(open_sheet):
    sheet = open_sheet("faulty.ipynb")
    sheet.run_all()
    complaints = " ".join(sheet.errors())
    assert "division by zero" in complaints and "careful" in complaints
    sheet.spread()
    nameless = " ".join(sheet.nameless())
    assert "slider" in nameless and "textbox" in nameless and "image" in nameless
    clipped = " ".join(sheet.clipped())
    assert "does not fit: Go" in clipped and "wider than the page" in clipped
    sheet.page.evaluate("console.error('planted')")
    assert "planted" in sheet.console


@pytest.mark.parametrize("height", [800, 801, 1_600, 8_003, 15_000])
def test_every_picture_is_a_whole_screen_and_none_is_left_out(height):
    tops = screens(height)
    assert tops[0] == 0 and tops[-1] + SCREEN["height"] == height
    assert all(0 < below - above <= SCREEN["height"] for above, below in itertools.pairwise(tops))


def test_a_blank_picture_is_told_from_one_that_shows_a_word(open_sheet, tmp_path):
    sheet = open_sheet("sound.ipynb")
    blank = tmp_path / "blank.png"
    Image.new("RGB", (SCREEN["width"], SCREEN["height"]), "white").save(blank)
    assert not shows_something(blank)
    drawn = sheet.pictures(tmp_path)
    assert drawn and all(shows_something(file) for file in drawn)
