"""Where an instructor enters a limit from the edition in force. It stays on this machine; the sheet prints it."""

from __future__ import annotations

from datetime import date

import ipywidgets

from gaslab import units
from gaslab.learn.answers import read_answer
from gaslab.refit import limits, overlay
from gaslab.refit.folder import FileFault
from gaslab.show.panels import controls as made
from gaslab.show.panels.common import Listing, paragraphs

WORDS = {
    "edition": "Edition in force",
    "clause": "Clause",
    "entered_by": "Entered by",
}


def open_limits() -> dict[str, limits.Criterion]:
    """Return the limits in force that could not be confirmed, by a short name."""
    return {
        row.key.replace("-", " ").capitalize(): row
        for rows in limits.rows().values()
        for row in rows
        if row.status == "enter" and not row.superseded
    }


class EnterLimit(Listing):
    """Enter one limit with its edition, clause, name and date."""

    def __init__(self, page):
        super().__init__(
            "Only enter what you read in the edition in force. It is printed on every sheet.", "Enter a limit"
        )
        self.rows = open_limits()
        self.controls["which"] = made.choice("Limit", list(self.rows))
        self.about = ipywidgets.HTML()
        self.controls["value"] = made.entry("Value")
        for name, label in WORDS.items():
            self.controls[name] = ipywidgets.Text(description=label, continuous_update=False)
        self.controls["entered_on"] = ipywidgets.Text(
            description="Date, as 2026-03-01", value=date.today().isoformat(), continuous_update=False
        )
        self.controls["applies_when"] = ipywidgets.Text(
            description="Only when, such as installation_volume<=0.01 m3 (empty: always)",
            continuous_update=False,
        )
        self.controls["put"] = made.button("Enter this limit", main=True)
        self.controls["which"].observe(lambda change: self._unit(), "value")
        self.on_click(self.controls["put"], self._put)
        which, *others = self.controls.values()
        self.side.children = (which, self.about, *others)
        self._unit()
        damaged = overlay.mend()
        self._show()
        if damaged:
            self.message.say(damaged, "bad")

    def _row(self) -> limits.Criterion:
        return self.rows[self.controls["which"].value]

    def _unit(self) -> None:
        row = self._row()
        self.about.value = paragraphs(f"{row.quantity.capitalize()} ({row.basis}).")
        unit = units.printed(row.unit)
        self.controls["value"].description = f"Value [{unit}]" if unit else "Value"

    def _put(self) -> None:
        row = self._row()
        answer = read_answer(self.controls["value"].value, row.unit)
        if answer.value is None:
            self.message.say(f"Value: {answer.question}", "bad")
            return
        words = {name: self.controls[name].value.strip() for name in (*WORDS, "entered_on", "applies_when")}
        try:
            overlay.enter(overlay.Entry(key=row.key, value=float(answer.value), unit=row.unit, **words))
        except (overlay.OverlayError, FileFault) as fault:
            self.message.say(f"{fault}", "bad")
            return
        except OSError as error:
            self.message.say(
                f"The disk or the folder refused ({error.strerror}). Nothing was entered.", "bad"
            )
            return
        self._show()
        self.message.say(
            "Entered. Findings on this machine now use it, and the sheet prints who entered it.", "good"
        )

    def _show(self) -> None:
        try:
            entries = overlay.load()
        except overlay.OverlayError as fault:
            self.tell(str(fault))
            return
        told = [
            f"{entry.key}: {entry.value:g} {units.printed(entry.unit)}, {entry.edition}, {entry.clause}, "
            f"by {entry.entered_by} on {entry.entered_on}."
            for entry in entries
        ]
        self.tell(*(told or ["No limit has been entered on this machine."]))


TOPICS = {"enter-limit": EnterLimit}
SCENES: dict = {}
