"""Twelve notebooks worked by keyboard alone: the picture follows, the words follow, and the way is the right way.

Which way a number goes is known outside this project: from the laws of physics or from the trade.
Each row names what it rests on.
"""

import re
from dataclasses import dataclass

import pytest
from at_panel import AtPanel
from seen import contrast_faults
from tab import on_page

from gaslab import tables

UP, DOWN = 1, -1


@dataclass(frozen=True)
class Move:
    """One control of one panel, moved by keyboard, and what must become of the number in its words."""

    page: str
    panel: str
    control: str
    number: str  # a pattern with one group: the number in the panel's words
    way: int
    because: str
    typed: str = ""  # empty: three presses of the button that gives more


MOVES = [
    Move("01", "Water gauge and electronic gauge", "Pressure", r"holds up ([\d.]+) mm", UP, "hydrostatics"),
    Move("02", "What the burner feels", "Nitrogen", r"Wobbe number ([\d.]+)", DOWN, "nitrogen does not burn"),
    Move("03", "Oven and pipe", "Pipe stands out", r"oven: ([-−]?[\d.]+) mm", DOWN, "it takes up the gap"),
    Move("04", "Leak and drop", "Leak", r"minutes: ([\d.]+) mbar", UP, "Boyle's law"),
    Move("05", "Pipe size and loss", "Kitchen run", r"to hob: ([\d.]+) mbar", UP, "loss goes with length", "9.5"),
    Move("06", "Room and opening", "Length", r"Volume ([\d.]+) m³", UP, "length × width × height"),
    Move("07", "Noise, shaking and dust", "Jigsaw", r"([\d.]+) dB\(A\)", UP, "dose goes with time", "110"),
    Move("08", "Purging the run", "Volume to purge", r"ring: ([\d.]+) min", UP, "time = volume ÷ flow", "20"),
    Move("09", "Pressure along the pipe", "Rings", r"at the hob ([\d.]+) mbar", DOWN, "loss goes with flow", "100"),
    Move("10", "Meter and watch", "Time", r"How sure: ± ([\d.]+) %", DOWN, "a digit is a smaller share", "600"),
    Move("11", "Voltage over time", "Time constant", r"Shuts after ([\d.]+) s", UP, "Newton's cooling"),
    Move("12", "Air, gases and flame", "Air, times what it needs", r"CO₂ ([\d.]+) %", DOWN, "air thins the products"),
]  # fmt: skip


def number(pattern: str, words: str) -> float:
    found = re.search(pattern, words)
    assert found, f"{pattern} is not in: {words}"
    return float(found.group(1).replace("−", "-"))


def told(panel: AtPanel) -> str:
    """Return the panel's words and those drawn in its picture."""
    return " ".join([panel.said(), *panel.drawn_words()])


@pytest.fixture(params=[on_page(move.page, move) for move in MOVES])
def opened(request, tab):
    """Return the shared page of one row, run, and the row."""
    return tab.ran(request.param.page), request.param


def box_of(panel: AtPanel, control: str) -> str:
    """Return the whole name of a control's box: its name and its unit."""
    names = panel.root.locator("input").evaluate_all(
        "inputs => inputs.map(one => (one.ariaLabel || (one.labels[0] || one).textContent).trim())"
    )
    return next(name for name in names if name.split(" [")[0] == control)


def test_tab_meets_every_control_in_order_and_leaves(opened):
    sheet, move = opened
    panel = AtPanel(sheet, move.panel)
    met = panel.tab_through()
    assert len(met) < 60, "Tab never leaves the panel"
    assert all(met), f"a stop without a name: {met}"
    wanted = panel.root.locator("select, button, input:not([type=radio])").locator("visible=true").count()
    assert len(met) == wanted
    at = met.index(box_of(panel, move.control))
    assert met[at + 1 : at + 3] == [f"{move.control}: less", f"{move.control}: more"]


def test_a_control_moves_the_picture_and_the_words(opened):
    sheet, move = opened
    panel = AtPanel(sheet, move.panel)
    picture, words = panel.picture(), panel.said()
    before = number(move.number, told(panel))
    if move.typed:
        panel.type(box_of(panel, move.control), move.typed)
    else:
        for _ in range(3):
            panel.press(f"{move.control}: more")
    panel.until(lambda: panel.said() != words and panel.picture() != picture, "words and picture stayed")
    panel.until(
        lambda: (number(move.number, told(panel)) - before) * move.way > 0,
        f"{move.because}: {before} went the wrong way",
    )
    assert sheet.errors() == []


def test_a_number_that_cannot_be_is_told_and_nothing_moves(opened):
    sheet, move = opened
    panel = AtPanel(sheet, move.panel)
    panel.settle()
    box, picture = box_of(panel, move.control), panel.picture()
    panel.type(box, "ten to twenty")
    panel.until(lambda: "ten to twenty" in panel.said() and move.control in panel.said(), "it was not told")
    assert panel.picture() == picture
    panel.type(box, "-99999")
    panel.until(lambda: "a number from" in panel.said(), "the range was not told")
    assert panel.picture() == picture


def test_answers_are_chosen_by_keyboard_and_each_gets_its_own_words(opened):
    """JupyterLab keeps the arrow keys for itself, so each answer is a stop for Tab, and Space chooses."""
    sheet, move = opened
    panel = AtPanel(sheet, "On site")
    answers = panel.root.get_by_role("radio")
    answers.first.focus()
    sheet.page.keyboard.press("Tab")
    sheet.page.keyboard.press("Space")
    assert answers.nth(1).is_checked()
    options = tables.toml_file(f"chapters/{move.page}.toml")["decision"]["options"]
    assert sum(option["right"] for option in options) == 1
    for option in sorted(options, key=lambda one: one["right"]):
        choice = panel.root.get_by_role("radio", name=option["text"], exact=True)
        choice.focus()
        sheet.page.keyboard.press("Space")
        panel.settle()
        assert choice.is_checked()
        panel.press("That is my answer")
        said = panel.hears("✓" if option["right"] else "✗", option["says"])
        assert not [other["says"] for other in options if other is not option and other["says"] in said]


def test_a_list_is_opened_by_keyboard(opened):
    """JupyterLab keeps the arrow keys for itself; Space opens the list, and then they are the list's own."""
    sheet, _ = opened
    question = AtPanel(sheet, "Your turn")
    kind = question.control("Sum")
    first = kind.input_value()
    kind.focus()
    for key in ("Space", "ArrowDown", "Enter"):
        sheet.page.keyboard.press(key)
    question.until(lambda: kind.input_value() != first, "the list stayed as it was")
    question.until(lambda: kind.input_value() in question.root.locator("h3").all_inner_texts(), "no new sum")


def test_nothing_moves_by_itself(opened):
    sheet, _ = opened
    before = sheet.text()
    sheet.page.wait_for_timeout(1200)
    assert sheet.text() == before


def test_every_word_stands_out_from_its_ground(opened):
    """4.5:1 for text, WCAG 2.2, success criterion 1.4.3, from the styles as the browser worked them out."""
    sheet, _ = opened
    sheet.spread()
    assert contrast_faults(sheet, 4.5) == []
