"""A trainee alone at the machine: an impossible answer, and what is said to it.

Right and wrong decisions, each with its own words, are in test_by_keyboard.py for every page that asks for one.
"""

import re

from tab import in_group


@in_group("05")
def test_an_answer_that_is_no_number_is_told_and_kept(tab):
    sheet = tab.ran("05")
    sheet.spread()
    box = sheet.page.get_by_label(re.compile(r"^Your answer, step")).last
    panel = sheet.page.locator(".gl-panel").filter(has=box).last
    said = panel.inner_text()
    box.fill("about a bit")
    sheet.page.keyboard.press("Tab")
    sheet.settle()
    panel.get_by_role("button", name="Check").focus()
    sheet.page.keyboard.press("Enter")
    sheet.page.wait_for_function(
        "([element, old]) => element.innerText !== old", arg=[panel.element_handle(), said]
    )
    assert box.input_value() == "about a bit"
    assert sheet.errors() == []
