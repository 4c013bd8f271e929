"""One panel of an open notebook, as a person meets it: its picture, its words and its controls."""

from __future__ import annotations

import re
import time
from collections.abc import Callable

from playwright.sync_api import Locator
from sheet import Sheet

WAIT = 180.0  # s for a panel to answer; a busy machine is slow, and no test is about time
CELLS = ".jp-NotebookPanel:not(.lm-mod-hidden)"
_WALK = """panel => {
    const at = document.activeElement;
    if (!panel.contains(at)) return null;
    const said = at.ariaLabel || (at.labels && at.labels.length && at.labels[0].textContent)
        || at.textContent || at.title || '';
    const group = at.type === 'radio' ? at.closest('.widget-radio').querySelector('label').textContent : '';
    return (group || said).trim();
}"""


class AtPanel:
    """The panel with a title; `inner` is the question inside a panel of questions."""

    def __init__(self, sheet: Sheet, title: str, *, inner: bool = False):
        self.sheet, self.page = sheet, sheet.page
        heading = self.page.locator("h3").filter(has_text=re.compile(f"^{re.escape(title)}$"))
        self.outer = self.page.locator(f"{CELLS} .gl-panel").filter(has=heading).first
        self.outer.wait_for(state="attached")
        self.root = self.outer.locator(".gl-panel").last if inner else self.outer
        self.root.scroll_into_view_if_needed()
        self.until(
            lambda: bool(self.words()), f"{title} was not drawn"
        )  # a cell is drawn when it comes in sight

    def control(self, name: str) -> Locator:
        """Return a control that is in sight, by the name that a screen reader says."""
        by_label = self.root.get_by_label(name, exact=True)
        by_button = self.root.get_by_role("button", name=name, exact=True)
        return by_label.or_(by_button).locator("visible=true").first

    def picture(self) -> str:
        """Return the picture's markup, or nothing."""
        found = self.root.locator(".gl-picture svg").locator("visible=true")
        return found.first.evaluate("svg => svg.outerHTML") if found.count() else ""

    def drawn_words(self) -> list[str]:
        """Return the words drawn in the picture, in order."""
        return [
            text.strip()
            for text in self.root.locator(".gl-picture svg").first.locator("text").all_text_contents()
        ]

    def words(self) -> str:
        """Return everything the panel says outside its picture."""
        return " ".join(self.root.inner_text().split())

    def said(self) -> str:
        """Return what the panel's live regions say: the lines that a screen reader hears."""
        spoken = self.root.locator("[role=alert], [role=status]").locator("visible=true")
        return " ".join(" ".join(spoken.all_inner_texts()).split())

    def settle(self) -> None:
        """Wait, as a person's own pace does, until the kernel has taken in what was typed or chosen."""
        self.sheet.settle()

    def press(self, name: str) -> None:
        """Press a button by keyboard."""
        self.control(name).focus()
        self.page.keyboard.press("Space")

    def type(self, name: str, text: str) -> None:
        """Type into a box by keyboard, in place of what stands there."""
        self.control(name).focus()
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")
        self.settle()

    def pick(self, name: str, option: str) -> None:
        """Choose from a drop-down."""
        self.control(name).select_option(label=option)
        self.settle()

    def choose(self, option: str) -> None:
        """Choose one of the answers by its own words."""
        self.root.get_by_role("radio", name=option, exact=True).check()
        self.settle()

    def until(self, holds: Callable[[], bool], what: str) -> None:
        """Wait until something holds; fail with what the panel says instead."""
        start = time.monotonic()
        while not holds():
            if time.monotonic() - start > WAIT:
                raise AssertionError(f"{what}. The panel says: {self.words()}")
            self.page.wait_for_timeout(40)

    def hears(self, *parts: str) -> str:
        """Wait until the panel says every part, and return all that it says."""
        self.until(lambda: all(part in self.said() for part in parts), f"it did not say {parts}")
        return self.said()

    def tab_through(self, most: int = 60) -> list[str]:
        """Return the names met by pressing Tab from the panel's first control until the panel is left."""
        first = self.root.locator("button, input, select, [tabindex='0']").locator("visible=true").first
        first.focus()
        met = []
        for _ in range(most):
            name = self.root.evaluate(_WALK)
            if name is None:
                break
            met.append(name)
            self.page.keyboard.press("Tab")
        return met
