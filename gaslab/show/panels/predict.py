"""Say first, then look: predict, run, record what was seen, choose the reason.

The run button stays shut until a prediction is locked. The prediction is never marked; it is
drawn broken on the scale beside the reading. The reading the trainee saw is checked to within
the step of the instrument before any explanation shows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import ipywidgets

from gaslab import units
from gaslab.learn.answers import read_answer
from gaslab.learn.chapters import Prediction
from gaslab.show.drawings.canvas import numbered
from gaslab.show.drawings.scale import prediction_scale
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame

PREDICT, RUN, RECORD, EXPLAIN, DONE = "predict", "run", "record", "explain", "done"
TRIES = 3  # looks at the picture before the reading is told


@dataclass
class Told:
    """What the trainee has said so far, in the prediction's unit."""

    state: str = PREDICT
    prediction: Decimal | None = None
    recorded: Decimal | None = None
    tries: int = 0
    reason: str = ""


@dataclass(frozen=True)
class Run:
    """What the run shows: a number in the prediction's unit, its printed form, and the instrument's step."""

    value: float
    text: str
    resolution: float


class PredictPanel(Frame):
    """The four stages as one panel. `model` is a `Told`; `model.state` is where it stands.

    `scene(run)` draws the picture before (`None`) and after the run. `run()` is called once, when the
    trainee presses Run. `low` and `high` are the ends of the scale and come from the question.
    `on_record(value)` and `on_done(model)` let a page keep what was said. `hand_in(value)` gives the
    HTML of a link with which a locked guess goes to the class.
    """

    def __init__(
        self,
        prediction: Prediction,
        low: float,
        high: float,
        run: Callable[[], Run],
        scene: Callable[[Run | None], str],
        *,
        on_record: Callable[[Decimal], None] | None = None,
        on_done: Callable[[Told], None] | None = None,
        hand_in: Callable[[Decimal], str] | None = None,
        title: str = "",
    ):
        super().__init__(prediction.question, title)
        self.prediction, self._low, self._high = prediction, low, high
        self._run, self._scene, self._on_record, self._on_done = run, scene, on_record, on_done
        self._hand_in, self.handing = hand_in, ipywidgets.HTML()
        self.model: Told = Told()
        self.outcome: Run | None = None
        texts = [option.text for option in prediction.reasons.options]
        self.controls.update(
            guess=made.entry("Your guess", prediction.unit),
            lock=made.button("Lock my guess", main=True),
            run=made.button("Run"),
            seen=made.entry("The reading you see", prediction.unit),
            check=made.button("Check my reading", main=True),
            reason=made.reasons(texts, prediction.reasons.question),
            answer=made.button("That is my reason", main=True),
        )
        for name, act in (
            ("lock", self._lock),
            ("run", self._press_run),
            ("check", self._check),
            ("answer", self._answer),
        ):
            self.on_click(self.controls[name], act)
        self.scale = ipywidgets.HTML().add_class("gl-picture")
        body = self.widget.children[2]
        body.children = (
            ipywidgets.VBox([self.picture, self.scale]).add_class("gl-picture").add_class("gl-stack"),
            self.side,
        )
        self.side.children = (*self.controls.values(), self.message, self.handing)
        self.widget.children = self.widget.children[:3]
        self._stand()

    def _stand(self) -> None:
        """Show what belongs to the stage, and nothing of a later one."""
        stage = self.model.state
        shown = {
            PREDICT: ("guess", "lock", "run"), RUN: ("guess", "lock", "run"), RECORD: ("seen", "check"),
            EXPLAIN: ("reason", "answer"), DONE: ("reason",),
        }[stage]  # fmt: skip
        for name, control in self.controls.items():
            control.layout.display = "" if name in shown else "none"
        locked = self.model.prediction is not None
        self.controls["guess"].disabled = self.controls["lock"].disabled = locked
        self.controls["run"].disabled = stage != RUN
        self.controls["reason"].disabled = stage == DONE
        self._picture()

    def _picture(self) -> None:
        self.draw(self._scene(self.outcome))
        guess = self.model.prediction
        if guess is None:
            self.scale.value = ""
            return
        svg = prediction_scale(
            self._low,
            self._high,
            units.printed(self.prediction.unit),
            predictions=[float(guess)],
            result=self.outcome.value if self.outcome else None,
            result_text=self.outcome.text if self.outcome else "",
        )
        # The scale shows the reading in figures, so it waits until the trainee has read the picture.
        read = self.model.state in (EXPLAIN, DONE)
        self.scale.value = numbered(svg, self._number) if read or self.outcome is None else ""

    def _lock(self) -> None:
        if self.model.state != PREDICT:
            return
        answer = read_answer(self.controls["guess"].value, self.prediction.unit)
        if answer.value is None:
            self.message.say(f"Your guess: {answer.question}", "bad")
            self.controls["guess"].focus()
            return
        self.model.prediction, self.model.state = answer.value, RUN
        if self._hand_in is not None:
            self.handing.value = self._hand_in(answer.value)
        self._stand()
        self.message.say(f"{answer.echo} Locked. Now press Run.".strip())

    def _press_run(self) -> None:
        if self.model.state != RUN:
            return
        self.outcome = self._run()
        self.model.state = RECORD
        self._stand()
        self.message.say("Read the picture. Type what you see.")
        self.controls["seen"].focus()

    def _check(self) -> None:
        if self.model.state != RECORD:
            return
        answer = read_answer(self.controls["seen"].value, self.prediction.unit)
        if answer.value is None:
            self.message.say(f"The reading: {answer.question}", "bad")
            self.controls["seen"].focus()
            return
        assert self.outcome is not None, "a reading is recorded after the run"
        self.model.tries += 1
        step = Decimal(repr(self.outcome.resolution))
        # A float carries dust in its last figures; a millionth of a step is no reading error.
        near = abs(answer.value - Decimal(repr(self.outcome.value))) <= step * Decimal("1.000001")
        if not near and self.model.tries < TRIES:
            self.message.say(
                f"{answer.echo} Look again. Check the figure and the unit on the picture.".strip(), "doubt"
            )
            self.controls["seen"].focus()
            return
        self._recorded(answer.value, self.outcome, near)

    def _recorded(self, value: Decimal, outcome: Run, near: bool) -> None:
        self.model.recorded, self.model.state = value, EXPLAIN
        if self._on_record is not None:
            self._on_record(value)
        self._stand()
        said = (
            f"You read it well: {outcome.text}."
            if near
            else f"It shows {outcome.text}. Your {value} is kept as you read it."
        )
        self.message.say(f"{said} Now choose the reason.", "good" if near else "doubt")
        self.controls["reason"].focus()

    def _answer(self) -> None:
        if self.model.state != EXPLAIN:
            return
        chosen = next(
            (o for o in self.prediction.reasons.options if o.text == self.controls["reason"].value), None
        )
        if chosen is None:
            self.message.say("Choose one reason first.", "bad")
            return
        self.model.reason = chosen.text
        if not chosen.right:
            self.message.say(f"✗ Not that one. {chosen.says} Choose again.", "doubt")
            return
        self.model.state = DONE
        self._stand()
        self.message.say(f"✓ {chosen.says}", "good")
        if self._on_done is not None:
            self._on_done(self.model)

    def restyle(self) -> None:
        super().restyle()
        if isinstance(self.model, Told):
            self._picture()
