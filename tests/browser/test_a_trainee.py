"""A trainee alone at the machine: controls by keyboard, answers and what is said to them, and work that stays."""

import re

import pytest
from lab import NOTEBOOKS
from sheet import Sheet

from gaslab import tables

LIVE = [path for path in NOTEBOOKS if "01" <= path.name[:2] <= "12"]
# A panel with a drawing and a number that can be moved; the drawing's words change with it.
MOVABLE = ".gl-panel:has(.gl-picture svg):has(button[title$=' more'])"


def press(sheet: Sheet, button) -> None:
    """Press a button by keyboard alone."""
    button.focus()
    sheet.page.keyboard.press("Enter")


def open_spread(open_sheet, name: str) -> Sheet:
    sheet = open_sheet(next(path for path in NOTEBOOKS if path.name.startswith(name)))
    sheet.run_all()
    sheet.spread()
    return sheet


def move(sheet: Sheet, panel) -> tuple[str, str, str, str]:
    """Move the first number of a panel by keyboard; return picture and text of the panel before and after."""
    picture = panel.locator(".gl-picture").first
    box = panel.locator("input[type=text]").first
    before = picture.inner_html(), box.input_value()
    press(sheet, panel.locator("button[title$=' more']:enabled").first)
    sheet.page.wait_for_function(
        "([element, old]) => element.innerHTML !== old",
        arg=[picture.element_handle(), before[0]],
        timeout=5_000,
    )
    return before[0], picture.inner_html(), before[1], box.input_value()


@pytest.mark.parametrize("path", LIVE, ids=lambda p: p.stem)
def test_a_control_moved_by_keyboard_moves_picture_and_text(open_sheet, path):
    sheet = open_spread(open_sheet, path.name)
    panels = sheet.page.locator(MOVABLE)
    assert panels.count() > 0
    before, after, number_before, number_after = move(sheet, panels.first)
    assert words(before) != words(after), "the words that stand for the picture must change too"
    assert number_before != number_after
    assert sheet.console == []


def words(svg: str) -> str:
    """Return the text in a picture: its title, its description and its labels."""
    return re.sub(r"<[^>]*>", " ", svg)


@pytest.mark.parametrize("chapter", ["04", "05", "10"])
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


def test_the_job_outlives_the_kernel_and_reaches_the_next_chapter(open_sheet, lab):
    sheet = open_spread(open_sheet, "05")
    panel = sheet.page.locator(MOVABLE).filter(
        has=sheet.page.get_by_role("button", name="Keep this pipe in my job")
    )
    move(sheet, panel)
    press(sheet, panel.get_by_role("button", name="Keep this pipe in my job"))
    sheet.page.wait_for_timeout(1_000)
    kept = (lab.home / "job-alder-court.json").read_text(encoding="utf-8")
    assert '"runs.kitchen.length"' in kept
    lab.end_kernels()
    assert "Nothing has been changed yet" not in changed_words(open_sheet, "05")
    assert "Nothing has been changed yet" not in changed_words(open_sheet, "04")


def changed_words(open_sheet, name: str) -> str:
    sheet = open_spread(open_sheet, name)
    assert "Where the job stands" in sheet.text()
    return sheet.text()
