"""The assessor's desk worked by its buttons, and what a browser would make of what its panels show."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import ipywidgets

from gaslab.assess import desk, folders, pack, records
from gaslab.learn.family import Precision, print_number
from gaslab.refit.folder import user_data_folder
from gaslab.show.panels import base
from gaslab.show.panels.desk_marking import MarkingPanel
from gaslab.show.panels.desk_setting import SettingPanel
from gaslab.show.panels.sitting import SittingPanel

DATE = "2031-11-28"
CHOSEN = (("04", "leak-from-drop", True), ("10", "gas-rate-metric", False), ("08", "purge-volume", False))


def set_paper() -> SettingPanel:
    """Set a paper of three questions in two forms."""
    panel = SettingPanel()
    c = panel.controls
    for chapter, family, critical in CHOSEN:
        c["chapter"].value, c["family"].value, c["critical"].value = chapter, family, critical
        c["add"].click()
    c["date"].value, c["forms"].value, c["candidates"].value = DATE, 2, "GAS-0001\nGAS-0002"
    c["build"].click()
    assert panel.folder is not None, panel.text
    return panel


def made_up_batch() -> MarkingPanel:
    """Make the made-up batch and mark it."""
    panel = MarkingPanel()
    panel.controls["made_up"].click()
    panel.controls["mark"].click()
    return panel


def sit(folder: Path, form: str, candidate: str, answer) -> SittingPanel:
    """Sit a form by its panel. `answer(step)` gives (text, unit as printed on the paper)."""
    panel = SittingPanel(folder / folders.HAND_OUT / form / pack.JSON_NAME)
    panel.controls["candidate"].value = candidate
    panel.controls["begin"].click()
    steps = {(i.identifier, s.id): s for i in desk.key_of_folder(folder).forms[form] for s in i.steps}
    for place, box in panel.boxes.items():
        box.text.value, box.unit.value = answer(steps[place])
    return panel


def right(step) -> tuple[str, str]:
    return print_number(step.value, Precision(step.places, step.figures)), pack.unit_name(step.unit)


def hand_in(panel: SittingPanel) -> str:
    for name in ("look_over", "hand_in", "sure"):
        panel.controls[name].click()
    return panel.model.receipt


def marked(folder: Path) -> MarkingPanel:
    """Bring every attempt of this user's folder back to a paper and mark it."""
    for path in (user_data_folder() / "attempts").glob(f"*{records.ENDING}"):
        (folder / desk.CAME_BACK / path.name).write_bytes(path.read_bytes())
    panel = MarkingPanel()
    panel.controls["paper"].value = folder.name
    panel.controls["mark"].click()
    return panel


class Tags(HTMLParser):
    """Counts what a browser would make of a text."""

    def __init__(self, text: str):
        super().__init__(convert_charrefs=True)
        self.bad: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        allowed = {
            "style",
            "h1",
            "h2",
            "h3",
            "h4",
            "p",
            "b",
            "br",
            "div",
            "section",
            "span",
            "table",
            "caption",
            "tr",
            "th",
            "td",
        }
        drawing = {"svg", "title", "desc", "rect", "line", "circle", "path", "text"}
        if tag not in allowed | drawing:
            self.bad.append(tag)
        self.bad += [name for name, value in attrs if name.startswith("on") or "javascript:" in (value or "")]


def every_widget(panel: base.Frame):
    """Yield every widget of a panel, wherever it stands."""
    waiting, seen = [panel.widget], set()
    while waiting:
        one = waiting.pop()
        if one.model_id not in seen:
            seen.add(one.model_id)
            yield one
            waiting += getattr(one, "children", ())


def html_faults(panel: base.Frame) -> list[str]:
    faults = []
    for one in every_widget(panel):
        if isinstance(one, ipywidgets.HTML):
            faults += Tags(one.value).bad
            if re.search("[\u202a-\u202e\u2066-\u2069\u200b-\u200f\x00-\x08]", one.value):
                faults.append("a mark that is not seen")
    return faults


def type_everywhere(panel: base.Frame, text: str) -> int:
    """Put a text in every box of a panel."""
    boxes = [w for w in every_widget(panel) if isinstance(w, (ipywidgets.Text, ipywidgets.Textarea))]
    for box in boxes:
        box.value = text
    return len(boxes)
