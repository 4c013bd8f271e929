"""What a chapter asks a trainee to foretell stands nowhere on its page before the guess is locked."""

import json
import re
from html import unescape
from pathlib import Path

import pytest

from gaslab import units
from gaslab.show.chapter import SCENES, open_chapter
from gaslab.show.panels.controls import NumberControl

NOTEBOOKS = Path(__file__).resolve().parent.parent / "notebooks"
PRINTED = {units.printed(unit): unit for unit in units.TRADE_UNITS}
NUMBER = r"(?<![\w.])([−-]?\d+(?:\.\d+)?)"
WITH_UNIT = re.compile(
    NUMBER
    + r"[\s\u00a0]?("
    + "|".join(sorted(map(re.escape, filter(None, PRINTED)), key=len, reverse=True))
    + r")(?![\w³²/])"
)
BARE = re.compile(NUMBER + r"(?!\.?\w|[³²/])")
CLOCK = re.compile(r"(?:(\d+) h )?(\d+) min (\d+) s")


def panels_of(number: str, page) -> dict:
    """Return the panels that a chapter's notebook opens by name, as they are when it has just run."""
    path = next(NOTEBOOKS.glob(f"{number}-*.ipynb"))
    code = "".join("".join(cell["source"]) for cell in json.loads(path.read_text(encoding="utf-8"))["cells"])
    return {name: page.panel(name) for name in re.findall(r'page\.panel\("([a-z-]+)"\)', code)}


def words_of(panel) -> str:
    """Return all that a panel shows: its picture's words, its lines and controls; a verdict's limit is no reading."""
    text = panel.shown.text if hasattr(panel, "shown") else panel.text
    shown = [
        panel.view_svg,
        text,
        *(getattr(panel, name).value for name in ("lines", "head") if hasattr(panel, name)),
    ]
    for control in panel.controls.values():
        if isinstance(control, NumberControl):
            shown.append(f"{control.value:g} {units.printed(control.unit)}.")
    return unescape(re.sub(r"<style.*?</style>|<[^>]*>", " ", " | ".join(map(str, shown)), flags=re.S))


def given_away(words: str, value: float, unit: str, resolution: float) -> list[str]:
    """Return every number in the words that is within two steps of the value, in any unit that fits."""
    found = []
    if unit == "1":
        return [text for text in BARE.findall(words) if float(text.replace("−", "-")) == value]
    for text, printed in WITH_UNIT.findall(words):
        try:
            read = units.convert(float(text.replace("−", "-")), PRINTED[printed], unit)
        except units.UnitError:
            continue
        if abs(read - value) <= 2 * resolution:
            found.append(f"{text} {printed}")
    for hours, minutes, seconds in CLOCK.findall(words):
        total = 3600 * int(hours or 0) + 60 * int(minutes) + int(seconds)
        if unit in ("s", "min") and abs(units.convert(float(total), "s", unit) - value) <= 2 * resolution:
            found.append(f"{minutes} min {seconds} s")
    return found


@pytest.mark.parametrize("number", sorted(SCENES))
def test_no_panel_of_a_page_shows_the_number_to_foretell(number, tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    page = open_chapter(number)
    scene, unit = SCENES[number](page), page.words.prediction.unit
    panels = panels_of(number, page)
    assert panels
    shown = {
        name: given_away(words_of(panel), scene.value, unit, scene.resolution)
        for name, panel in panels.items()
    }
    assert {name: found for name, found in shown.items() if found} == {}


def test_the_search_can_find_a_number_in_another_unit_and_in_minutes():
    assert given_away("It took 3 min 44 s.", 224.0, "s", 2.0) == ["3 min 44 s"]
    assert given_away("a drop of 321 Pa", 3.2, "mbar", 0.1) == ["321 Pa"]
    assert given_away("gap −12 mm", -12.0, "mm", 1.0) == ["−12 mm"]
    assert given_away("missing: 17.", 17.0, "1", 0.5) == ["17"]
    assert given_away("a drop of 3.5 mbar, 12 mm, 170", 3.2, "mbar", 0.1) == []
