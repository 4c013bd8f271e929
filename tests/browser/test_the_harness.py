"""The browser harness must be able to say no: a notebook with planted faults, and one that is sound."""

import http.server
import itertools
import json
import threading

import lab as labs
import pytest
from PIL import Image
from sheet import SCREEN, Sheet, has_colours, screens
from tab import HARNESS, group_of, in_group

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
# More than two screens with nothing on them, between two cells with words.
BLANK = [
    "# ▶ Above",
    "import ipywidgets; ipywidgets.HTML('<div style=\"height:2400px\"></div>')",
    "# ▶ Below",
]
BESIDE_AN_OUTPUT = (330, 300)  # where JupyterLab colours its bar under the pointer
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


@pytest.fixture(scope="module")
def made(lab):
    """Put two notebooks beside the course's."""
    files = [
        notebook(lab.notebooks / "sound.ipynb", SOUND),
        notebook(
            lab.notebooks / "faulty.ipynb", FAULTY, "import sys; print('careful', file=sys.stderr)", "1 / 0"
        ),
        notebook(lab.notebooks / "blank.ipynb", *BLANK),
    ]
    yield
    for file in files:
        file.unlink()


@pytest.fixture
def open_sheet(tab, made):
    """Return a function that opens one of them and runs it."""

    def open_one(name: str) -> Sheet:
        sheet = tab.fresh(name)
        sheet.usual_screen()
        sheet.run_all()
        return sheet

    return open_one


@in_group(HARNESS)
def test_a_sound_notebook_passes_and_can_be_worked_by_keyboard(open_sheet):
    sheet = open_sheet("sound.ipynb")
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


@in_group(HARNESS)
def test_planted_faults_are_found(open_sheet):
    sheet = open_sheet("faulty.ipynb")
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


@in_group(HARNESS)
def test_blank_screens_are_found_and_none_in_a_sound_notebook(open_sheet):
    assert open_sheet("sound.ipynb").blank_screens() == []
    sheet = open_sheet("blank.ipynb")
    sheet.spread()
    sheet.page.mouse.move(*BESIDE_AN_OUTPUT)
    found = sheet.blank_screens()
    tops = screens(sheet.spread())
    assert found and tops[0] not in found and set(found) < set(tops)


@in_group(HARNESS)
def test_pictures_show_every_screen(open_sheet, tmp_path):
    sheet = open_sheet("sound.ipynb")
    files = sheet.pictures(tmp_path)
    assert len(files) == len(screens(sheet.spread()))
    for file in files:
        with Image.open(file) as picture:
            assert picture.size == tuple(SCREEN.values()) and has_colours(picture)


def test_a_test_is_put_with_the_others_of_its_page_by_its_parameters():
    assert group_of("tests/browser/test_look.py::test_it_changes[White-20-classroom]") == "20-classroom"
    assert group_of("tests/browser/test_by_keyboard.py::test_it_moves[20-classroom]") == "20-classroom"
    assert group_of("tests/browser/test_20-classroom.py::test_harness") == ""


def test_one_colour_is_told_from_two():
    blank = Image.new("RGB", (SCREEN["width"], SCREEN["height"]), "white")
    assert not has_colours(blank)
    blank.putpixel((7, 7), (255, 255, 254))
    assert has_colours(blank)


def test_a_lab_whose_port_is_taken_starts_on_another(tmp_path, monkeypatch):
    """As when two test processes are told of the same free port."""
    real = labs.free_port
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), http.server.BaseHTTPRequestHandler) as other:
        threading.Thread(target=other.serve_forever, daemon=True).start()
        taken = iter([other.server_port])
        monkeypatch.setattr(labs, "free_port", lambda: next(taken, None) or real())
        started = labs.Lab(tmp_path / "lab", [])
        other.shutdown()
    try:
        assert started.port != other.server_port
        assert started.ask("GET", "/api/status")["kernels"] == 0
    finally:
        started.stop()
