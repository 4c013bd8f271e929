"""The size of the words and the ground they stand on: chosen on the first page, taken by every page, readable in each.

Contrast of 4.5:1 for text: success criterion 1.4.3 of WCAG 2.2.
"""

import pytest
from at_panel import AtPanel
from seen import contrast_faults
from sheet import Sheet
from tab import in_group

WALL_INK = "#333333"  # the axes on the classroom screen; no other look has this grey
_STYLE = """panel => {
    const lesson = document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-MarkdownOutput p');
    const of = element => parseFloat(getComputedStyle(element).fontSize);
    return {ground: getComputedStyle(panel).backgroundColor, panel: of(panel.querySelector('p')), lesson: of(lesson)};
}"""


@pytest.fixture
def first(tab):
    """Return the first page, where the look is chosen."""
    return tab.ran("00")


def style(panel: AtPanel) -> dict:
    return panel.outer.evaluate(_STYLE)


def take(sheet: Sheet, look: str) -> dict:
    """Choose a look and return the styles once they have changed."""
    panel = AtPanel(sheet, "Words and ground")
    panel.pick("Look", look)
    panel.hears(f"The look is now: {look}.")
    return style(panel)


@in_group("00")
def test_each_look_changes_ground_or_size_and_stays_readable(first):
    usual = style(AtPanel(first, "Words and ground"))
    for look in ("White", "Dark"):
        found = take(first, look)
        assert found["ground"] != usual["ground"], look
        first.spread()
        assert contrast_faults(first, 4.5) == [], look
    large = take(first, "Cream, large text")
    assert large["ground"] == usual["ground"]
    assert large["panel"] >= 1.3 * usual["panel"]
    assert large["lesson"] >= 1.3 * usual["lesson"], "the lesson's own text must grow with the panels"


@in_group("00")
def test_another_page_takes_the_large_text_and_clips_nothing(first, tab):
    usual = 17.0  # pixels, the size of the usual look
    take(first, "Cream, large text")
    sheet = tab.also("04")
    found = style(AtPanel(sheet, "Leak and drop"))
    assert found["panel"] >= 1.3 * usual and found["lesson"] >= 1.3 * usual
    sheet.spread()
    assert sheet.clipped() == []
    assert sheet.errors() == []


@in_group("00")
def test_another_page_takes_the_dark_ground(first, tab):
    take(first, "Dark")
    sheet = tab.also("12")
    sheet.spread()
    assert contrast_faults(sheet, 4.5) == []


@in_group("20")
@pytest.mark.parametrize(
    ("topic", "title", "box", "typed"),
    [
        ("Leak and drop", "Leak and drop", "Leak [dm³/h]", "2.40"),
        ("Bench tightness", "The bench: tightness", "Job number", "1234"),
    ],
)
def test_an_open_picture_takes_the_classroom_screen_at_once(tab, topic, title, box, typed):
    """Black on white on the wall, whatever the look was; then back to the very same picture. What was typed stays."""
    sheet = tab.ran("20")
    choosing, screen = AtPanel(sheet, "One thing on the screen"), AtPanel(sheet, "The classroom screen")
    choosing.pick("Instrument", topic)
    choosing.press("Put it on the screen")
    shown = AtPanel(sheet, title, inner=True)
    if box == "Job number":
        shown.pick("Look at", "gauge over time")
    shown.type(box, typed)
    shown.until(lambda: "mbar]" in shown.picture(), "the chart was not drawn")
    usual = shown.picture()
    assert WALL_INK not in usual.lower()
    screen.press("Classroom screen on")
    shown.until(lambda: WALL_INK in shown.picture().lower(), "it kept the old look")
    assert shown.control(box).input_value() == typed
    screen.press("Back to my own screen")
    shown.until(lambda: shown.picture() == usual, "it did not go back")
    assert sheet.errors() == []
