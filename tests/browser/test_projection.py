"""The classroom screen in a real browser at 1920 x 1080: text large enough, dark enough, nothing cut off.

At 8 m from a picture 1.35 m high with 1080 lines, 41 pixels are 41/1080 x 1.35 m = 51 mm of text size. Its
capitals, 0.72 of that, are seen under 37/8000 rad = 15.9 minutes of arc: about the least of 16 that
ISO 9241-303 allows (from memory). The contrast of 7:1 is success criterion 1.4.6 of WCAG 2.2.
"""

import json

import pytest
from lab import LONG, NOTEBOOKS, PICTURES, TAKE_PICTURES
from projector import cut, hexadecimal, texts
from tab import in_group, on_page

from gaslab.show import kept_look, palette

WALL = {"width": 1920, "height": 1080}
LEAST, CONTRAST = 41.0, 7.0
CLASSROOM = "20"
ROOM_FOR_A_PAGE = 960  # of 1080 lines; JupyterLab's own bars take the rest


def faults_of(panel) -> list[str]:
    """Return what the back row could not read in a panel."""
    bad = [f"cut off: {words}" for words in cut(panel)]
    for text in texts(panel):
        if text["size"] < LEAST:
            bad.append(f"{text['size']:.1f} pixels: {text['words'][:50]}")
        found = palette.contrast(hexadecimal(text["colour"]), hexadecimal(text["ground"]))
        if found < CONTRAST:
            colours = f"{hexadecimal(text['colour'])} on {hexadecimal(text['ground'])}"
            bad.append(f"{found:.1f}:1 ({colours}): {text['words'][:50]}")
    return bad


@pytest.fixture
def wall(tab):
    """Return a classroom page that is on, as wide as the wall."""
    sheet = tab.ran(CLASSROOM)
    sheet.fold_side_panel()
    sheet.page.set_viewport_size(WALL)
    sheet.run_all()
    sheet.page.get_by_role("button", name="Classroom screen on").click()
    sheet.page.get_by_text("On. Hide the side bar").wait_for()
    yield sheet
    sheet.page.get_by_role("button", name="Back to my own screen").click()


def panel_of(sheet, title: str):
    panel = sheet.page.locator(".jp-OutputArea-output > .gl-panel, .jp-OutputArea-output .gl-panel").filter(
        has=sheet.page.locator(f"h3:text-is('{title}')")
    )
    return panel.first


def look_at(sheet, panel, name: str) -> None:
    """Bring a panel to the top of the page, and take its picture for a person to look at if pictures are wanted."""
    sheet.settle()
    panel.evaluate("panel => panel.scrollIntoView({block: 'start'})")
    sheet.still()
    if TAKE_PICTURES:
        PICTURES.mkdir(parents=True, exist_ok=True)
        sheet.page.screenshot(path=PICTURES / f"wall-{name}.png")


@in_group(CLASSROOM)
def test_the_measure_can_say_no(tab):
    """The same page before the screen is turned on: text is too small for the back row, and the measure says so."""
    sheet = tab.ran(CLASSROOM)
    sheet.page.set_viewport_size(WALL)
    panel = panel_of(sheet, "Lesson cards")
    panel.scroll_into_view_if_needed()
    found = faults_of(panel)
    assert any("pixels" in fault for fault in found)
    words = panel.locator("p").first
    usual = words.get_attribute("style") or ""
    words.evaluate("words => { words.style.color = '#999999' }")
    assert any(":1 (#999999" in fault for fault in faults_of(panel))
    words.evaluate("words => { words.style.cssText = 'position:relative; left:3000px' }")
    assert any("out of its panel" in fault for fault in faults_of(panel))
    words.evaluate("(words, usual) => words.setAttribute('style', usual)", usual)


@in_group(CLASSROOM)
def test_every_panel_of_the_classroom_page_can_be_read_from_the_back_row(wall):
    panels = wall.page.locator(".jp-OutputArea-output .gl-panel")
    assert panels.count() == 7
    for at in range(7):
        panel = panels.nth(at)
        panel.scroll_into_view_if_needed()
        look_at(wall, panel, f"page-{at + 1}")
        assert texts(panel), "nothing was measured"
        assert faults_of(panel) == []
    assert wall.errors() == [] and wall.console == []


@in_group(CLASSROOM)
def test_commit_lock_reveal_on_the_wall(wall):
    page = wall.page
    panel = panel_of(wall, "Show of hands")
    panel.get_by_label("Chapter").select_option(label="04 The tightness test")
    panel.get_by_role("button", name="Put the question").click()
    page.get_by_role("button", name="Add these hands").wait_for()
    look_at(wall, panel, "hands-1")
    drawing = panel.locator("svg").bounding_box()
    top = panel.bounding_box()["y"]
    assert drawing["y"] + drawing["height"] - top <= ROOM_FOR_A_PAGE, "question and instrument on one screen"
    assert faults_of(panel) == []
    for guess, hands in (("0.4", "12"), ("2", "7"), ("8", "3")):
        panel.get_by_label("Guess [mbar]").fill(guess)
        panel.get_by_label("Hands up").fill(hands)
        panel.get_by_role("button", name="Add these hands").click()
        panel.get_by_text(f"{guess} mbar: {hands}").wait_for()
        wall.settle()
        wall.still()  # the picture changed its height; a click must not meet a page on the move
    look_at(wall, panel, "hands-2")
    assert faults_of(panel) == []
    panel.get_by_role("button", name="Lock the guesses").click()
    panel.get_by_text("Locked.").wait_for()
    look_at(wall, panel, "hands-3")
    assert faults_of(panel) == []
    assert panel.bounding_box()["height"] <= ROOM_FOR_A_PAGE
    assert "It shows" not in panel.inner_text()
    panel.get_by_role("button", name="Reveal").click()
    panel.get_by_text("It shows").wait_for()
    look_at(wall, panel, "hands-4")
    assert faults_of(panel) == []


@in_group(CLASSROOM)
def test_every_instrument_can_stand_alone_on_the_wall(wall):
    panel = panel_of(wall, "One thing on the screen")
    names = [name.strip() for name in panel.get_by_label("Instrument").locator("option").all_text_contents()]
    assert len(names) > 20
    bad = {}
    for name in names:
        panel.get_by_label("Instrument").first.select_option(label=name)
        panel.get_by_role("button", name="Put it on the screen").click()
        wall.settle()
        alone = panel.locator(".gl-panel").first
        look_at(wall, alone, "-".join(name.lower().split()))
        assert texts(alone), name
        found = faults_of(alone)
        drawing = alone.locator("svg")
        if drawing.count():
            box, frame = drawing.first.bounding_box(), alone.bounding_box()
            if box["y"] + box["height"] - frame["y"] > ROOM_FOR_A_PAGE:
                found.append("the instrument is not on one screen")
        if found:
            bad[name] = found
    assert bad == {}


@in_group(CLASSROOM)
def test_one_question_alone_on_the_wall(wall):
    panel = panel_of(wall, "One thing on the screen")
    panel.get_by_label("Show").select_option(label="a question")
    panel.get_by_label("Question").select_option(label="From drop to leak")
    panel.get_by_role("button", name="Put it on the screen").click()
    alone = panel.locator(".gl-panel").first
    alone.locator("svg").first.wait_for()
    look_at(wall, alone, "question")
    assert faults_of(alone) == []


LESSONS = [path.name[:2] for path in NOTEBOOKS if not path.name.startswith(CLASSROOM)]


@pytest.mark.parametrize("number", [on_page(number) for number in (LESSONS if LONG else ("04", "15"))])
def test_a_lesson_opened_in_the_classroom_look_can_be_read_from_the_back_row(lab, tab, number):
    """The look is chosen once, on page 00. In the long run every page is measured, in the test two of them."""
    sheet = tab.ran(number)
    lab.empty_home()
    (lab.home / kept_look.NAME).write_text(json.dumps({"look": palette.STAGE.key}), encoding="utf-8")
    sheet.fold_side_panel()
    sheet.page.set_viewport_size(WALL)
    sheet.restart()
    sheet.spread(WALL["width"])
    panels = sheet.page.locator(".jp-OutputArea-output .gl-panel")
    assert panels.count() >= 2
    bad = {at: faults_of(panels.nth(at)) for at in range(panels.count())}
    assert {at: found for at, found in bad.items() if found} == {}
    assert all(texts(panels.nth(at)) for at in range(panels.count()))
