"""Say first, then look: guess and lock, run, write down what you see, choose the reason.

The run button sleeps until a guess is locked. The guess is drawn on the picture with a
dashed mark; it is never marked right or wrong. The reading is checked to within what the
instrument can show, before the reason is asked for.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as w

from gaslab import units
from gaslab.learn.answers import read_answer
from gaslab.learn.chapters import ChapterWords, Choice
from gaslab.show.drawings.scale import prediction_scale
from gaslab.show.panels.base import Panel, words

GUESS, RUN, RECORD, REASON, DONE = "guess", "run", "record", "reason", "done"
STEPS = {
    GUESS: "Step 1 of 4. Make your guess and lock it.",
    RUN: "Step 2 of 4. Your guess is locked. Now run it.",
    RECORD: "Step 3 of 4. Write down what you see.",
    REASON: "Step 4 of 4. Choose the reason.",
    DONE: "Done. Carry on down the page.",
}


@dataclass(frozen=True)
class Scene:
    """What a prediction is about: the true value in the chapter's unit, how finely it can be
    read, and `draw(guess, shown)` that returns the picture without or with the truth on it."""

    value: float
    resolution: float
    draw: Callable[[float | None, bool], str]


def on_scale(title: str, value: float, unit: str, low: float, high: float, places: int, resolution: float) -> Scene:
    """Return a scene drawn on a bare scale whose ends come from the question, never from the answer."""
    printed = units.printed(unit)
    shown = f"{units.rounded(value, places):f}"

    def draw(guess: float | None, reveal: bool) -> str:
        return prediction_scale(
            low, high, printed, title=title, predictions=() if guess is None else (guess,),
            result=float(shown) if reveal else None, result_text=f"{shown} {printed}".strip(),
        )  # fmt: skip

    return Scene(float(shown), resolution, draw)


class PredictPanel(Panel):
    """The four steps for one chapter. `scene` is asked for when the trainee runs, so it sees the job as it is then."""

    def __init__(self, chapter: ChapterWords, scene: Callable[[], Scene], keep: Callable[[float], None] | None = None):
        prediction = chapter.prediction
        super().__init__("Say first, then look", prediction.question)
        self.prediction, self._scene_of, self._keep = prediction, scene, keep
        self.step, self.guess, self.seen = GUESS, None, None
        unit = units.printed(prediction.unit)
        tail = f" [{unit}]" if unit else ""
        self.words_box("guess", f"My guess{tail}")
        self.button("lock", "Lock my guess", self._lock)
        self.button("run", "Run it", self._run, beside=True)
        self.words_box("reading", f"What I see{tail}")
        self.button("check", "Check my reading", self._check)
        self._reasons = choose(prediction.reasons, chapter.number, self._reason)
        self.controls["reason"] = self._reasons.box
        self.add(self._reasons.widget)
        self.show_picture(self._scene_of().draw(None, False))
        self._arrange()

    def _arrange(self) -> None:
        """Wake and put to sleep what belongs to this step."""
        now = list(STEPS).index(self.step)
        for name, first, last in (
            ("guess", 0, 0), ("lock", 0, 0), ("run", 1, 1), ("reading", 2, 2), ("check", 2, 2), ("reason", 3, 3),
        ):  # fmt: skip
            self.controls[name].disabled = not first <= now <= last
        self._reasons.widget.layout.display = "" if now >= 3 else "none"
        self.text = STEPS[self.step]
        self.reading.value = words(self.text)

    def _number(self, name: str) -> float | None:
        answer = read_answer(self.values[name])
        if answer.value is None:
            self.say(answer.question)
            return None
        return float(answer.value)

    def _lock(self) -> str:
        guess = self._number("guess")
        if guess is None:
            return read_answer(self.values["guess"]).question
        self.guess, self.step = guess, RUN
        self._arrange()
        return f"Locked at {guess:g}. A guess is never marked."

    def _run(self) -> str:
        scene = self._scene_of()
        self.model.update(value=scene.value, resolution=scene.resolution)
        self.show_picture(scene.draw(self.guess, True))
        self.step = RECORD
        self._arrange()
        return "Look at the picture. The dashed mark is your guess."

    def _check(self) -> str:
        seen = self._number("reading")
        if seen is None:
            return read_answer(self.values["reading"]).question
        if abs(seen - self.model["value"]) > self.model["resolution"] * (1.0 + 1e-9):
            return f"You wrote {seen:g}. Look again at the number on the picture, and at its unit."
        self.seen, self.step = seen, REASON
        if self._keep is not None:
            self._keep(seen)
        self._arrange()
        return "Yes, that is what it shows."

    def _reason(self, says: str, right: bool) -> None:
        if right:
            self.step = DONE
            self._arrange()
        self.say(says)


@dataclass(frozen=True)
class Chooser:
    """A question with answers to choose from, as widgets."""

    box: w.RadioButtons
    widget: w.VBox


def order(count: int, salt: str) -> list[int]:
    """Return an order of options that is the same for everyone but not the file's own.

    >>> sorted(order(3, "04")) == [0, 1, 2]
    True
    """
    return sorted(range(count), key=lambda i: zlib.crc32(f"{salt}/{i}".encode()))


def choose(choice: Choice, salt: str, chosen: Callable[[str, bool], None]) -> Chooser:
    """Return the options of a choice. Each pick calls `chosen(says, right)`."""
    options = [choice.options[i] for i in order(len(choice.options), f"{salt}/{choice.question}")]
    box = w.RadioButtons(
        options=[(option.text, number) for number, option in enumerate(options)], value=None,
        description=choice.question, style={"description_width": "initial"},
        layout=w.Layout(width="100%", flex_flow="column"),
    )  # fmt: skip

    def picked(change):
        if change["new"] is not None:
            option = options[change["new"]]
            chosen(option.says, option.right)

    box.observe(picked, names="value")
    box.add_class("gaslab-choice")
    return Chooser(box, w.VBox([box], layout=w.Layout(width="100%")))
