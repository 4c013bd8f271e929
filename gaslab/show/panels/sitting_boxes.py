"""The boxes of a paper as it is sat: a number with its unit, or yes or no. What is chosen or typed is kept at once."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets

from gaslab import units
from gaslab.assess import pack
from gaslab.assess.sitting import Part
from gaslab.escape import html_text
from gaslab.learn.answers import read_answer
from gaslab.learn.variant import NO, YES
from gaslab.show.panels import controls as made

Keep = Callable[[Part, tuple[str, str], str | None], bool]


class PartBox:
    """One number to give: its words, a box, a choice of unit, and what was kept."""

    def __init__(self, part: Part, number: int, saved: tuple[str, str], keep: Keep):
        self.part, self.saved, self._keep = part, saved, keep
        asked = f"{part.ask} {part.precision} ({part.marks})"
        self.ask = ipywidgets.HTML(f"<p><b>Step {number:d}.</b> {html_text(asked)}</p>")
        self.text = made.entry(f"Your answer, step {number}")
        offered = [(units.printed(pack.unit_key(name)) or name, name) for name in part.units]
        self.unit = made.choice(f"Unit, step {number}", {"choose a unit": "", **dict(offered)})
        self.said = made.message("status")
        self.text.value = saved[0]
        self.unit.value = saved[1] if saved[1] in part.units else ""
        for control in (self.text, self.unit):
            control.observe(lambda change: self._changed(), "value")
        self.widget = ipywidgets.VBox([self.ask, self.text, self.unit, self.said])

    def _changed(self) -> None:
        now = (self.text.value, self.unit.value)
        if now == self.saved or (not now[0].strip() and not self.saved[0].strip()):
            return  # a unit alone is no answer yet
        answer = read_answer(now[0])
        if self._keep(self.part, now, None if answer.value is None else f"{answer.value:f}"):
            self.saved = now
            unit = units.printed(pack.unit_key(now[1])) if now[1] else "with no unit chosen yet"
            read = (
                f"{answer.value} {unit}".strip()
                if answer.value is not None
                else f"as you typed it. {answer.question}"
            )
            self.said.say(f"Kept: {read}." if answer.value is not None else f"Kept {read}")

    def doubt(self) -> str:
        """Return what the candidate may have overlooked here, or ""."""
        text, unit = self.saved
        if not text.strip():
            return "no answer yet."
        if read_answer(text).value is None:
            return "no number can be read from what you typed."
        return "" if unit else "no unit is chosen."


class DecisionBox:
    """One decision: its words, yes or no, and what was kept."""

    def __init__(self, part: Part, number: int, saved: tuple[str, str], keep: Keep):
        self.part, self.saved, self._keep = part, saved, keep
        self.ask = ipywidgets.HTML(f"<p><b>Decide.</b> {html_text(f'{part.ask} ({part.marks})')}</p>")
        self.choice = made.reasons([YES, NO], f"Your decision {number}")
        self.choice.value = saved[0] if saved[0] in (YES, NO) else None
        self.said = made.message("status")
        self.choice.observe(lambda change: self._changed(), "value")
        self.widget = ipywidgets.VBox([self.ask, self.choice, self.said])

    def _changed(self) -> None:
        chosen = self.choice.value
        if chosen is None or chosen == self.saved[0]:
            return
        if self._keep(self.part, (chosen, ""), None):
            self.saved = (chosen, "")
            self.said.say(f"Kept: {chosen}.")

    def doubt(self) -> str:
        """Return what the candidate may have overlooked here, or ""."""
        return "" if self.saved[0] in (YES, NO) else "no decision yet."


def box_of(part: Part, number: int, saved: tuple[str, str], keep: Keep) -> PartBox | DecisionBox:
    """Return the box that fits a part."""
    return DecisionBox(part, number, saved, keep) if part.decides else PartBox(part, number, saved, keep)
