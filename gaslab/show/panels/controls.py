"""The controls of a panel: a number with box, buttons and slider; a choice; a button; a message.

Each can be set from code by `.value`, so a panel is tested without a browser.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

import ipywidgets
import traitlets

from gaslab import units
from gaslab.escape import clean, html_text
from gaslab.learn.answers import read_answer
from gaslab.show import views


class Message(ipywidgets.HTML):
    """A line that speaks to a screen reader when it changes. Empty, it takes no room.

    The role is `alert` for what a person must hear at once, `status` for what may wait.
    """

    sentence = traitlets.Unicode("")
    role = "alert"

    def say(self, sentence: str, tone: str = "plain") -> None:
        """Show one sentence in a tone: plain, good, bad or doubt."""
        self.sentence = clean(sentence)
        self.value = (
            f'<div class="gl-{tone}" role="{self.role}">{html_text(sentence)}</div>' if sentence else ""
        )
        self.layout.display = "" if sentence else "none"

    def add(self, sentence: str, tone: str) -> None:
        """Show one sentence more below what is said already, in a tone of its own."""
        before, shown = self.sentence, self.value
        self.say(sentence, tone)
        self.sentence, self.value = f"{before} {self.sentence}".strip(), shown + self.value

    def clear(self) -> None:
        self.say("")


def message(role: str = "alert") -> Message:
    """Return an empty message."""
    line = Message()
    line.role = role
    line.clear()
    return line


def button(text: str, *, main: bool = False) -> ipywidgets.Button:
    """Return a button at least 44 pixels high; `main` marks the one to press next."""
    made = ipywidgets.Button(description=text, tooltip=text)
    return made.add_class("gl-main") if main else made


def choice(
    label: str, options: Mapping[str, object] | Iterable[str], value: object = None
) -> ipywidgets.Dropdown:
    """Return a named drop-down. `options` are texts, or a mapping from text to value; the first is chosen."""
    pairs = list(options.items()) if isinstance(options, Mapping) else [(text, text) for text in options]
    return ipywidgets.Dropdown(
        options=pairs, value=pairs[0][1] if value is None else value, description=label
    )


def reasons(texts: Iterable[str], label: str = "") -> ipywidgets.RadioButtons:
    """Return answers to choose from, none chosen yet. The question stands in `label` and above it."""
    return ipywidgets.RadioButtons(options=list(texts), value=None, description=label)


def entry(label: str, unit: str = "") -> ipywidgets.Text:
    """Return an empty number box that is read by `read_answer` and never by the browser."""
    return ipywidgets.Text(
        description=_named(label, unit), continuous_update=False, placeholder="type a number"
    )


def _named(label: str, unit: str) -> str:
    printed = units.printed(unit) if unit else ""
    return f"{label} [{printed}]" if printed else label


class NumberControl(ipywidgets.VBox):
    """A number that can be typed, stepped by two buttons, or slid. `value` is in `unit`; `si` is in SI.

    A text that cannot be read, or a number out of range, leaves `value` alone and says why.
    """

    value = traitlets.Float()

    def __init__(
        self, label: str, unit: str, low: float, high: float, step: float, value: float, places: int
    ):
        self.label, self.unit, self.places = label, unit, places
        self._low, self._high, self._step = (Decimal(repr(float(n))) for n in (low, high, step))
        if not low <= value <= high:
            raise ValueError(f"{label}: {value:g} is not between {low:g} and {high:g} {unit}")
        self._setting = False
        self.box = ipywidgets.Text(description=_named(label, unit), continuous_update=False)
        self.minus = ipywidgets.Button(
            description=f"{label}: less", tooltip=f"{label}: {step:g} less"
        ).add_class("gl-less")
        self.plus = ipywidgets.Button(
            description=f"{label}: more", tooltip=f"{label}: {step:g} more"
        ).add_class("gl-more")
        last = int((self._high - self._low) / self._step)
        self.slider = ipywidgets.IntSlider(min=0, max=last, value=0, readout=False, tabbable=False)
        self.message = message()
        super().__init__(value=float(value))
        self.add_class("gl-number")
        steps = ipywidgets.HBox([self.minus, self.slider, self.plus]).add_class("gl-steps")
        self.children = (self.box, steps, self.message)  # the box comes first for the keyboard
        self._mirror()
        self.observe(self._changed, "value")
        self.box.observe(self._typed, "value")
        self.slider.observe(self._slid, "value")
        self.minus.on_click(lambda _: self._nudge(-1))
        self.plus.on_click(lambda _: self._nudge(1))

    @property
    def si(self) -> float:
        """The number in SI."""
        return float(units.to_si(self.value, self.unit))

    @property
    def need(self) -> str:
        """What the box takes, in words."""
        printed = units.printed(self.unit)
        return f"a number from {self._print(self._low)} to {self._print(self._high)} {printed}".rstrip()

    @traitlets.validate("value")
    def _in_range(self, proposal):
        exact = Decimal(repr(float(proposal["value"])))
        if not exact.is_finite() or not self._low <= exact <= self._high:
            raise traitlets.TraitError(views.refused(self.label, str(proposal["value"]), self.need))
        return float(proposal["value"])

    def _print(self, number: Decimal) -> str:
        """Return the number with its usual decimals, or with all it has when they are more."""
        exponent = number.normalize().as_tuple().exponent
        assert isinstance(exponent, int), "a control holds a finite number"
        return f"{number:.{max(self.places, -exponent)}f}"

    def _typed(self, change) -> None:
        if self._setting:
            return
        text = change["new"]
        answer = read_answer(text, self.unit)
        if answer.value is None:
            self.message.say(f"{views.refused(self.label, clean(text), self.need)} {answer.question}", "bad")
        elif not self._low <= answer.value <= self._high:
            self.message.say(views.refused(self.label, clean(text), self.need), "bad")
        else:
            self.value = float(answer.value)
            self._mirror()
            self.message.say(answer.echo)

    def _slid(self, change) -> None:
        if not self._setting:
            self.value = float(self._low + change["new"] * self._step)

    def _nudge(self, way: int) -> None:
        """Go to the next step up or down; at the end, say that it is the end."""
        exact = Decimal(repr(self.value)) + way * self._step
        if self._low <= exact <= self._high:
            self.value = float(exact)
        else:
            self.message.say(f"{self.label}: that is the end; it takes {self.need}.")

    def _changed(self, change) -> None:
        self.message.clear()
        self._mirror()

    def _mirror(self) -> None:
        """Show the value in the box and on the slider, without taking it back from them."""
        exact = Decimal(repr(self.value))
        self._setting = True
        try:
            self.box.value = self._print(exact)
            self.slider.value = int(((exact - self._low) / self._step).to_integral_value())
        finally:
            self._setting = False


def number_control(
    label: str, unit: str, low: float, high: float, step: float, value: float, places: int
) -> NumberControl:
    """Return a number control in a trade unit, such as `number_control("Length", "m", 1, 20, 0.1, 3.9, 1)`."""
    return NumberControl(label, unit, low, high, step, value, places)
