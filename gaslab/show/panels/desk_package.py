"""Look into a question package that the desk wrote: titles, steps and marks. Nothing in it is run or unpacked."""

from __future__ import annotations

import ipywidgets

from gaslab.assess.frozen import Item
from gaslab.assess.qti_read import QtiError, read_package
from gaslab.show.panels.desk_common import DeskPanel
from gaslab.show.panels.opening import table

HEADS = ("question", "title", "what is asked", "marks")


class PackagePanel(DeskPanel):
    """One upload. `model` is the questions of the package that was brought, without a word about their answers."""

    def __init__(self):
        super().__init__(
            "Bring a question package, to see what is in it. Nothing in it is run.",
            "Look at a question package",
        )
        bring = ipywidgets.FileUpload(accept=".zip", multiple=False, description="Bring a question package")
        self.controls["bring"] = bring
        bring.observe(self.guarded(self._brought), "value")
        self.side.layout.max_width = "100%"
        self.side.children = (bring,)
        self.widget.children = (self.style, self.head, self.side, self.message, self.lines)

    def _brought(self, change) -> None:
        if not change["new"]:
            return
        self.model = ()
        self.tell()
        try:
            self.model = read_package(bytes(change["new"][0]["content"]))
        except QtiError as fault:
            self.message.say(f"{fault} Only a package that this desk wrote can be looked at.", "bad")
            return
        self.lines.value = table(
            "What is in the package", HEADS, [row for q in self.model for row in _rows(q)]
        )
        count, marks = len(self.model), sum(item.marks for item in self.model)
        self.message.say(
            f"{count} question{'' if count == 1 else 's'}, {marks} mark{'' if marks == 1 else 's'} in all. "
            "The answers are in the file too. Keep it like a key.",
            "good",
        )


def _rows(item: Item) -> list[tuple[object, ...]]:
    """Return a row for each step and each decision of a question; its name and title stand once."""
    asked = [(step.ask, step.marks) for step in item.steps]
    asked += [(f"Yes or no: {decision.limit.ask}", decision.marks) for decision in item.decisions]
    title = f"{item.title} (critical)" if item.critical else item.title
    heads = [(item.identifier, title), *[("", "")] * (len(asked) - 1)]
    return [(*head, *part) for head, part in zip(heads, asked, strict=True)]


TOPICS = {"package": lambda page: PackagePanel()}
SCENES: dict = {}
