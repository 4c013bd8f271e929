# ruff: noqa: E501  (a rule of a style sheet reads best on one line)
"""What the panels of the assessor's desk share: their errors in words, a bar with words, and long text boxes."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path

import ipywidgets

from gaslab.assess.analysis import AnalysisError
from gaslab.assess.chain import ChainError
from gaslab.assess.exports import ExportError
from gaslab.assess.frozen import FrozenError
from gaslab.assess.guide import KeyFileError
from gaslab.assess.overrides import OverrideError
from gaslab.assess.pack import PackError
from gaslab.assess.records import AttemptError
from gaslab.assess.report import ReportError
from gaslab.assess.seals import SealError
from gaslab.assess.standard import StandardError
from gaslab.assess.variants import PaperError
from gaslab.escape import clean, html_text
from gaslab.learn.items import ItemError
from gaslab.show.panels.common import Listing

SAYABLE = (
    AnalysisError, ChainError, ExportError, FrozenError, KeyFileError, OverrideError, PackError, AttemptError,
    ReportError, SealError, StandardError, PaperError, ItemError,
)  # fmt: skip
LONGEST_PATH = 1_000


# Long boxes and ticks are only on these pages; they take the letters of the panel that they stand in.
BOXES = """<style>
.gl-panel .widget-textarea { flex-direction:column !important; align-items:flex-start !important; width:100% !important; height:auto !important }
.gl-panel .widget-textarea > label { width:auto !important; max-width:100%; text-align:left !important; font-weight:700; padding:0; margin:0 }
.gl-panel .widget-textarea textarea { width:100% !important; max-width:820px; min-height:88px; background:transparent; color:inherit; border:2px solid; border-radius:8px; font-size:inherit }
.gl-panel .widget-checkbox { height:auto !important; width:100% !important }
.gl-panel .widget-checkbox label { white-space:normal !important; min-height:34px; display:flex; align-items:center; width:100% }
.gl-panel .widget-checkbox input { min-width:24px; width:24px; height:24px; margin-right:10px }
.gl-panel .widget-textarea, .gl-panel .widget-checkbox, .gl-panel .widget-hprogress, .gl-bar .widget-html { margin:2px 0 !important; box-sizing:border-box }
.gl-panel .gl-wide input { max-width:820px !important }
.gl-panel .widget-upload { height:auto; width:auto; min-height:44px }
.gl-stack { align-items:flex-start } .gl-stack > .gl-picture { max-width:760px }
</style>"""


class DeskPanel(Listing):
    """A listing whose errors from the assessor's room are said in their own words, as is a disk that refuses."""

    def restyle(self) -> None:
        super().restyle()
        self.style.value += BOXES

    def guarded(self, handler: Callable) -> Callable:
        inner = super().guarded(handler)

        @functools.wraps(handler)
        def call(*args):
            try:
                inner(*args)
            except SAYABLE as error:
                self.message.say(str(error), "bad")
            except OSError as error:
                self.message.say(
                    f"The disk or the folder refused ({error.strerror}). Nothing was changed.", "bad"
                )

        return call

    def on_change(self, control: ipywidgets.Widget, handler: Callable[[], None]) -> None:
        """Call `handler` when the control has a new value."""
        control.observe(self.guarded(lambda change: handler()), "value")


class Bar(ipywidgets.VBox):
    """How far a piece of work has come: a bar to see, and words that a screen reader can read."""

    def __init__(self):
        self.bar = ipywidgets.IntProgress(min=0, max=1, value=0, layout={"width": "100%"})
        self.words = ipywidgets.HTML()
        self.said = ""
        super().__init__([self.bar, self.words], layout={"display": "none"})
        self.add_class("gl-bar")

    def show(self, done: int, count: int) -> None:
        """Show "12 of 40"."""
        self.layout.display = ""
        self.bar.max, self.bar.value = max(count, 1), done
        self.said = f"{done} of {count}"
        self.words.value = f"<p>{html_text(self.said)}</p>"


def long_box(label: str, hint: str = "", rows: int = 4) -> ipywidgets.Textarea:
    """Return a box for several lines."""
    return ipywidgets.Textarea(
        description=label, placeholder=hint, rows=rows, continuous_update=False,
        layout={"width": "100%", "height": "auto"}, style={"description_width": "initial"},
    )  # fmt: skip


def line_box(label: str, value: str = "", hint: str = "", *, wide: bool = False) -> ipywidgets.Text:
    """Return a box for one line of words; a wide one has room for a path."""
    box = ipywidgets.Text(description=label, value=value, placeholder=hint, continuous_update=False)
    return box.add_class("gl-wide") if wide else box


def tick(label: str, value: bool = False) -> ipywidgets.Checkbox:
    """Return a box to tick, with its words beside it."""
    return ipywidgets.Checkbox(description=clean(label), value=value, indent=False, layout={"width": "100%"})


def folder_at(text: str) -> Path:
    """Return the folder that was typed, or raise AttemptError."""
    plain = text.strip()
    if not plain or len(plain) > LONGEST_PATH or "\0" in plain:
        raise AttemptError("Type where the folder is, as your file manager shows it.")
    try:
        place = Path(plain).expanduser()
        found = place.is_dir()
    except (OSError, RuntimeError, ValueError):  # a name too long, an unknown user, or marks no disk can hold
        found = False
    if not found:
        raise AttemptError(f"There is no folder {clean(plain)[:120]}. Check how it is written.")
    return place
