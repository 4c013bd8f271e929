"""A trainee alone at the machine: decisions and impossible answers, and what is said to them."""

import re

import pytest
from lab import NOTEBOOKS
from sheet import Sheet

from gaslab import tables


def press(sheet: Sheet, button) -> None:
    """Press a button by keyboard alone."""
    button.focus()
    sheet.page.keyboard.press("Enter")


def open_spread(open_sheet, name: str) -> Sheet:
    sheet = open_sheet(next(path for path in NOTEBOOKS if path.name.startswith(name)))
    sheet.run_all()
    sheet.spread()
    return sheet


@pytest.mark.parametrize("chapter", ["04", "10"])
def test_a_right_and_a_wrong_decision_get_their_own_words(open_sheet, chapter):
    decision = tables.toml_file(f"chapters/{chapter}.toml")["decision"]
    wrong = next(option for option in decision["options"] if not option["right"])
    right = next(option for option in decision["options"] if option["right"])
    sheet = open_spread(open_sheet, chapter)
    for option, other in ((wrong, right), (right, wrong)):
        choice = sheet.page.get_by_role("radio", name=option["text"], exact=True)
        panel = sheet.page.locator(".gl-panel").filter(has=choice).last
        choice.focus()
        sheet.page.keyboard.press("Space")
        sheet.page.wait_for_timeout(
            300
        )  # a person's own pace: the choice has reached the kernel and come back
        assert choice.is_checked()
        press(sheet, panel.get_by_role("button", name="That is my answer"))
        panel.get_by_text(option["says"]).wait_for(timeout=5_000)
        assert panel.get_by_text(other["says"]).count() == 0


def test_an_answer_that_is_no_number_is_told_and_kept(open_sheet):
    sheet = open_spread(open_sheet, "05")
    box = sheet.page.get_by_label(re.compile(r"^Your answer, step")).last
    panel = sheet.page.locator(".gl-panel").filter(has=box).last
    said = panel.inner_text()
    box.fill("about a bit")
    sheet.page.keyboard.press("Tab")
    press(sheet, panel.get_by_role("button", name="Check"))
    sheet.page.wait_for_function(
        "([element, old]) => element.innerText !== old", arg=[panel.element_handle(), said], timeout=5_000
    )
    assert box.input_value() == "about a bit"
    assert sheet.errors() == []
