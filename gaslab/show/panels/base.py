"""A panel: a picture with its number on it, at most three controls, a message, and a plain text.

A panel is tested without a browser: set `panel.controls[name].value`, press
`panel.controls[name].click()`, then read `panel.view_svg` and `panel.text`.
"""

from __future__ import annotations

import functools
import itertools
import weakref
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import ipywidgets

from gaslab.escape import html_text
from gaslab.guard import InputError
from gaslab.refit.criteria import CriterionError
from gaslab.refit.fields import SiteError
from gaslab.refit.instruments import Unreadable
from gaslab.refit.job import JobError
from gaslab.show import palette
from gaslab.show.drawings.canvas import DrawingError, numbered
from gaslab.show.panels import controls as made
from gaslab.show.panels import styles
from gaslab.show.views import Verdict
from gaslab.tables import TableError
from gaslab.units import UnitError

# Errors whose own words are a sentence for the trainee. Anything else is our mistake and is let through.
SAYABLE = (InputError, SiteError, TableError, UnitError, CriterionError, JobError, Unreadable, DrawingError)
MOST_CONTROLS = 3

_numbers = itertools.count(1)
_alive: weakref.WeakSet = weakref.WeakSet()


class Troubles:
    """What a page must tell once, at the press that met it: a disk that refuses, a file that was damaged."""

    def __init__(self) -> None:
        self._look: Callable[[], Iterable[str]] = tuple
        self._told: set[str] = set()

    def watch(self, look: Callable[[], Iterable[str]], told: Iterable[str] = ()) -> None:
        """Ask `look` after each press from now on; `told` are the sentences that the page shows by itself."""
        self._look, self._told = look, set(told)

    def new(self) -> list[str]:
        """Return the sentences that were not told yet. They count as told."""
        fresh = [sentence for sentence in self._look() if sentence not in self._told]
        self._told.update(fresh)
        return fresh


troubles = Troubles()


@dataclass(frozen=True)
class Shown:
    """What a panel shows now: the picture, one or two plain lines, and a verdict if there is one."""

    svg: str
    text: str
    verdict: Verdict | None = None


class Frame:
    """What every panel has: a style, an instruction, a picture, a side of controls, and a message.

    Subclasses fill `controls` and `side`, and set the picture by `draw`.
    """

    def __init__(self, instruction: str, title: str = ""):
        self.instruction, self.title = instruction, title
        self.controls: dict[str, ipywidgets.Widget] = {}
        self.model: Any = None  # what the panel works on; each kind of panel says what that is
        self._number = next(_numbers)
        self.view_svg = ""
        self.style = ipywidgets.HTML()
        self.head = ipywidgets.HTML(
            f"{f'<h3>{html_text(title)}</h3>' if title else ''}<p>{html_text(instruction)}</p>"
        )
        self.picture = ipywidgets.HTML().add_class("gl-picture")
        self.side = ipywidgets.VBox().add_class("gl-side")
        self.message = made.message()
        body = ipywidgets.HBox([self.picture, self.side]).add_class("gl-body")
        self.widget = ipywidgets.VBox([self.style, self.head, body, self.message]).add_class("gl-panel")
        _alive.add(self)
        self.restyle()

    @property
    def text(self) -> str:
        """What the panel says now, in plain text."""
        return self.message.sentence

    def restyle(self) -> None:
        """Take the look in use."""
        self.style.value = styles.sheet(palette.current())

    def put_away(self) -> None:
        """Take no new look any more: the panel has left the page for good."""
        _alive.discard(self)

    def draw(self, svg: str) -> None:
        """Show a picture."""
        self.view_svg = numbered(svg, self._number) if svg else ""
        self.picture.value = self.view_svg

    def guarded(self, handler: Callable) -> Callable:
        """Return a callback that says an error meant for the trainee, and lets any other through."""

        @functools.wraps(handler)
        def call(*args):
            try:
                handler(*args)
            except SAYABLE as error:
                self.message.say(str(error), "bad")
            for sentence in troubles.new():
                self.message.add(sentence, "bad")

        return call

    def on_click(self, button: ipywidgets.Button, handler: Callable[[], None]) -> None:
        """Call `handler` when the button is pressed."""
        button.on_click(self.guarded(lambda _: handler()))

    def _repr_mimebundle_(self, include=None, exclude=None):
        """Return one plain sentence, and the widget for a page that can show it."""
        bundle = self.widget._repr_mimebundle_(include=include, exclude=exclude)
        data = bundle[0] if isinstance(bundle, tuple) else bundle
        return {**data, "text/plain": self.instruction}

    def __repr__(self) -> str:
        return self.instruction


def restyle_all() -> None:
    """Let every open panel take the look in use, and draw again."""
    for panel in list(_alive):
        panel.restyle()


class Panel(Frame):
    """A picture that follows its controls.

    `show` takes {name: value} and returns what to show: a number control gives SI, a choice its value.
    When it raises an error meant for the trainee, the sentence is shown, the picture stays as it was,
    and the control goes back to the value that last worked.
    """

    def __init__(
        self,
        instruction: str,
        controls: Mapping[str, ipywidgets.Widget],
        show: Callable[[dict], Shown],
        *,
        title: str = "",
        model: Any = None,
    ):
        self._show, self._going_back = show, False
        self.shown: Shown | None = None
        live = [c for c in controls.values() if not isinstance(c, ipywidgets.Button)]
        if len(live) > MOST_CONTROLS:
            raise ValueError(
                f"{len(live)} controls on one panel; at most {MOST_CONTROLS} can be followed at once"
            )
        super().__init__(instruction, title)
        self.model = model
        self.controls.update(controls)
        self.result = made.message("status")
        self.side.children = (*controls.values(), self.result)
        for control in live:
            control.observe(self._moved, "value")
        self._good = self._raw()
        self.refresh()

    def _raw(self) -> dict:
        return {name: c.value for name, c in self.controls.items() if not isinstance(c, ipywidgets.Button)}

    def values(self) -> dict:
        """Return the controls' values, numbers in SI."""
        return {
            name: c.si if isinstance(c, made.NumberControl) else c.value
            for name, c in self.controls.items()
            if not isinstance(c, ipywidgets.Button)
        }

    @property
    def text(self) -> str:
        if self.shown is None:
            return self.message.sentence
        verdict = f" {self.shown.verdict.text}" if self.shown.verdict else ""
        return self.shown.text + verdict

    def _moved(self, change) -> None:
        if not self._going_back:
            self.refresh()

    def refresh(self) -> None:
        """Show what the controls say now."""
        try:
            shown = self._show(self.values())
        except SAYABLE as error:
            self._go_back()
            self.message.say(f"{error} The value before it was kept.", "bad")
            return
        except Exception:  # our own mistake: leave the panel in a state that works, and let it be seen
            self._go_back()
            raise
        self.message.clear()
        self.shown, self._good = shown, self._raw()
        self.draw(shown.svg)
        tone = palette.TONES[shown.verdict.outcome] if shown.verdict else "plain"
        self.result.say(self.text, tone)

    def _go_back(self) -> None:
        self._going_back = True
        try:
            for name, value in self._good.items():
                self.controls[name].value = value
        finally:
            self._going_back = False

    def restyle(self) -> None:
        super().restyle()
        if self.shown is not None:  # only the picture: what was said stays, and so does what was typed
            self.guarded(lambda: self.draw(self._show(self.values()).svg))()
