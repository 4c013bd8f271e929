"""A panel: a picture and the controls that move it, in one box.

Every panel has named controls that tests and keyboards can work, a picture in one lasting
`HTML` widget, and a message line. It shows plain text where widgets are not to be had.
A value that cannot be used is told in a sentence; nothing is clamped and nothing is lost.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import ipywidgets as w

from gaslab import units
from gaslab.escape import html_text
from gaslab.guard import InputError
from gaslab.learn.answers import read_answer
from gaslab.refit.criteria import CriterionError
from gaslab.refit.fields import SiteError
from gaslab.refit.job import JobError
from gaslab.show import palette
from gaslab.show.drawings.canvas import numbered
from gaslab.tables import TableError

# What a person can put right. Anything else is a fault of the course and is not hidden.
PERSON_CAN_MEND = (InputError, SiteError, JobError, CriterionError, TableError, units.UnitError)

_numbers = itertools.count(1)


def words(text: str, role: str = "") -> str:
    """Return plain words as the HTML of a paragraph."""
    tag = f' role="{role}" aria-live="polite"' if role else ""
    return f'<p class="gaslab-words"{tag}>{html_text(text)}</p>' if text else ""


class Panel:
    """A title, one instruction sentence, controls, a picture and a message line.

    A topic makes a Panel, adds controls with `slider`, `choice` and `button`, and gives
    `draw`: a function that returns (svg, text) for the controls as they stand.
    """

    def __init__(self, title: str, instruction: str, draw: Callable[[Panel], tuple[str, str]] | None = None):
        self.title, self.instruction, self._draw = title, instruction, draw
        self.controls: dict[str, w.Widget] = {}
        self.values: dict[str, object] = {}
        self.model: dict[str, object] = {}
        self.text = ""
        self.view_svg = ""
        self._number = next(_numbers)
        self._rows: list[w.Widget] = []
        self.picture = w.HTML(layout=w.Layout(width="100%", max_width="760px"))
        self.reading = w.HTML()
        self.message = w.HTML()
        self.message.add_class("gaslab-message")
        self._widget: w.VBox | None = None

    # Controls

    def slider(
        self, name: str, label: str, value: float, low: float, high: float, step: float, unit: str = "1", places: int | None = None
    ) -> None:
        """Add a number: a labelled box and a slider that move together. `value` is in `unit`."""
        Slider(self, name, label, value, low, high, step, unit, places)

    def choice(self, name: str, label: str, options: Sequence[tuple[str, object]], value: object) -> None:
        """Add a list to choose from: (text shown, value) pairs."""
        box = w.Dropdown(
            options=list(options), value=value, description=label, style={"description_width": "initial"},
            layout=w.Layout(width="auto", max_width="560px", min_height="36px"),
        )  # fmt: skip
        self.values[name] = value
        box.observe(lambda change: self.set(name, change["new"]), names="value")
        self.controls[name] = box
        self._rows.append(box)

    def tick(self, name: str, label: str, value: bool = False) -> None:
        """Add a box to tick."""
        box = w.Checkbox(value=value, description=label, indent=False, layout=w.Layout(width="auto", min_height="28px"))
        self.values[name] = value
        box.observe(lambda change: self.set(name, change["new"]), names="value")
        self.controls[name] = box
        self._rows.append(box)

    def words_box(self, name: str, label: str, value: str = "") -> None:
        """Add a line of text to fill in."""
        box = w.Text(
            value=value, description=label, continuous_update=False, style={"description_width": "initial"},
            layout=w.Layout(width="auto", max_width="640px"),
        )  # fmt: skip
        self.values[name] = value
        box.observe(lambda change: self.values.update({name: change["new"]}), names="value")
        self.controls[name] = box
        self._rows.append(box)

    def button(self, name: str, label: str, action: Callable[[], str | None], beside: bool = False) -> w.Button:
        """Add a button. `action` may return a sentence to show."""
        press = w.Button(description=label, layout=w.Layout(width="auto", min_width="120px", height="44px"))
        press.on_click(lambda _: self.guarded(lambda: self.say(action() or "")))
        self.controls[name] = press
        if beside and self._rows and isinstance(self._rows[-1], w.HBox) and self._rows[-1].children:
            self._rows[-1].children = (*self._rows[-1].children, press)
        else:
            self._rows.append(w.HBox([press], layout=w.Layout(flex_flow="row wrap")))
        return press

    def add(self, row: w.Widget) -> None:
        """Add a row made elsewhere."""
        self._rows.append(row)

    # What happens

    def set(self, name: str, value: object) -> None:
        """Take a new value of a control and draw again."""
        self.values[name] = value
        self.refresh()

    def refresh(self) -> None:
        """Draw again from the controls as they stand."""
        if self._draw is not None:
            self.guarded(self._redraw)

    def _redraw(self) -> None:
        svg, text = self._draw(self)
        self.show_picture(svg)
        self.text = text
        self.reading.value = words(text)
        self.say("")

    def show_picture(self, svg: str) -> None:
        """Put a drawing into the panel's one picture."""
        self.view_svg = svg
        self.picture.value = numbered(svg, self._number) if svg else ""

    def say(self, sentence: str) -> None:
        """Show a sentence in the message line."""
        self.message.value = words(sentence, role="status")

    def guarded(self, work: Callable[[], object]) -> None:
        """Do something; tell in a sentence what a person can mend."""
        try:
            work()
        except PERSON_CAN_MEND as told:
            self.say(str(told))

    # How it is shown

    @property
    def widget(self) -> w.VBox:
        """The whole panel as one widget, made once."""
        if self._widget is None:
            self.refresh()
            heading = w.HTML(f"<h3>{html_text(self.title)}</h3>{words(self.instruction)}")
            self._widget = w.VBox([style(), heading, *self._arranged(), self.reading, self.message])
            self._widget.add_class("gaslab-panel")
            self._widget.layout = w.Layout(width="100%", max_width="900px")
        return self._widget

    def _arranged(self) -> list[w.Widget]:
        rows = w.VBox(self._rows, layout=w.Layout(width="100%"))
        return [self.picture, rows] if self._draw is not None or self.view_svg else [rows]

    def plain(self) -> str:
        """Return the panel where no widget can be shown: its title and its instruction."""
        return f"{self.title}. {self.instruction}"

    def _repr_mimebundle_(self, include=None, exclude=None) -> dict:
        return {**self.widget._repr_mimebundle_(), "text/plain": self.plain()}


class Slider:
    """A number box and a slider that are one control of a panel.

    The box comes first for the keyboard and takes typed numbers; the slider counts whole
    steps, so that what a screen reader speaks has no stray decimals.
    """

    def __init__(self, panel, name, label, value, low, high, step, unit, places):
        self.panel, self.name, self.label = panel, name, label
        self.low, self.high, self.step, self.unit = low, high, step, unit
        self.places = _places(step) if places is None else places
        shown = units.printed(unit)
        tail = f" [{shown}]" if shown else ""
        self.box = w.Text(
            value=self._text(value), description=f"{label}{tail}", continuous_update=False,
            style={"description_width": "initial"}, layout=w.Layout(width="auto", min_width="280px"),
        )  # fmt: skip
        self.track = w.IntSlider(
            value=self._tick(value), min=0, max=round((high - low) / step), description=f"{label}, slider",
            readout=False, continuous_update=True, layout=w.Layout(width="320px"),
        )  # fmt: skip
        self.track.add_class("gaslab-slider")
        self.box.observe(self._typed, names="value")
        self.track.observe(self._slid, names="value")
        panel.values[name] = value
        panel.controls[name], panel.controls[f"{name} slider"] = self.box, self.track
        row = w.HBox([self.box, self.track], layout=w.Layout(flex_flow="row wrap", align_items="center"))
        panel.add(row)

    def _text(self, value: float) -> str:
        return f"{units.rounded(float(value), self.places):f}"

    def _tick(self, value: float) -> int:
        return round((value - self.low) / self.step)

    def _slid(self, change) -> None:
        value = round(self.low + change["new"] * self.step, self.places + 3)
        if self._tick(self.panel.values[self.name]) == change["new"]:
            return  # the box moved the slider here
        self.panel.values[self.name] = value
        self.box.value = self._text(value)
        self.panel.refresh()

    def _typed(self, change) -> None:
        if change["new"] == self._text(self.panel.values[self.name]):
            return
        answer = read_answer(change["new"])
        if answer.value is None:
            self.panel.say(f"{self.label}: {answer.question} Still at {self._text(self.panel.values[self.name])}.")
            return
        value = float(answer.value)
        if not self.low <= value <= self.high:
            need = f"{self._text(self.low)} to {self._text(self.high)} {units.printed(self.unit)}".rstrip()
            self.panel.say(
                f"{self.label}: I read {change['new']}. It needs {need}. "
                f"Still at {self._text(self.panel.values[self.name])}."
            )
            return
        self.panel.values[self.name] = value
        self.track.value = self._tick(value)
        self.panel.refresh()
        if answer.echo:
            self.panel.say(answer.echo)


def _places(step: float) -> int:
    text = f"{step:.6f}".rstrip("0")
    return len(text.split(".")[1])


def style() -> w.HTML:
    """Return the style sheet of the look in use, as a widget that takes no room."""
    look = palette.current()
    size = 16 * look.size
    return w.HTML(
        f"<style>.gaslab-panel{{background:{look.ground};color:{look.ink};padding:12px;border-radius:8px;"
        f"font-size:{size:g}px;line-height:1.5;font-family:Arial,'Liberation Sans',sans-serif}}"
        f".gaslab-panel .widget-label,.gaslab-panel input,.gaslab-panel select,.gaslab-panel button,"
        f".gaslab-panel textarea,.gaslab-panel .widget-html-content,.gaslab-panel p,.gaslab-panel label"
        f"{{font-size:{size:g}px!important;line-height:1.5!important;color:{look.ink};white-space:normal}}"
        f".gaslab-panel h3{{font-size:{1.25 * size:g}px;margin:0 0 4px;color:{look.ink}}}"
        f".gaslab-panel p{{margin:2px 0}}"
        f".gaslab-panel input,.gaslab-panel select,.gaslab-panel textarea{{background:{look.card};"
        f"border:1px solid {look.rule}!important;min-height:{28 * look.size:g}px;height:auto!important}}"
        f".gaslab-panel button{{background:{look.wash};border:2px solid {look.rule};border-radius:6px;height:auto!important;"
        f"min-height:{44 * max(1.0, look.size * 0.7):g}px;padding:4px 14px;white-space:normal}}"
        f".gaslab-panel button:disabled{{opacity:1;color:{look.quiet};border-style:dashed}}"
        f".gaslab-panel .jupyter-widgets{{height:auto;overflow:visible}}"
        f".gaslab-panel .widget-inline-hbox{{flex-wrap:wrap}}"
        f".gaslab-panel .gaslab-slider .widget-label{{position:absolute;width:1px;height:1px;overflow:hidden;"
        f"clip-path:inset(50%)}}"
        f".gaslab-panel :focus-visible{{outline:3px solid {look.water};outline-offset:2px}}"
        f".gaslab-message p{{font-weight:bold;border-left:5px solid {look.water};padding-left:8px}}</style>",
        layout=w.Layout(height="0", margin="0", overflow="hidden"),
    )
