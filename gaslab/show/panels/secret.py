"""A fault in secret: the bench before a class, its job number out of sight."""

from __future__ import annotations

import ipywidgets

from gaslab.learn.answers import read_answer
from gaslab.refit.bench import Bench
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame
from gaslab.show.panels.live import EXERCISES, BenchPanel

NUMBER = "The job number must be a whole number from 1 to 9999."


def job_number(text: str) -> int | None:
    """Return a job number from what was typed, or None."""
    answer = read_answer(text)
    if answer.value is None or answer.value != int(answer.value) or not 1 <= answer.value <= 9999:
        return None
    return int(answer.value)


class ClassBench(BenchPanel):
    """The bench with its job number out of sight, and something always wrong with it.

    `run` 0 is the job as everyone has it, or, where that hides nothing, the same job with one fault put in;
    other runs give new numbers.
    """

    fewest = 1

    def __init__(self, page, exercise, number: int, run: int = 0):
        self.run = run
        super().__init__(page, exercise, number)
        for name in ("number", "new"):
            self.controls[name].layout.display = "none"

    def begin(self, seed: int) -> None:
        super().begin(seed)
        if self.run:
            # The same faults, but every instrument and every wobble falls out anew.
            self.model = Bench(
                self.model.site, self.model.faults, 10_000 * self.run + seed, self.exercise.stage
            )
            self._offer()
            self.trace.clear()
            self._redraw()
        self.controls["number"].value = ""
        self.message.say("The job begins. The clock stands still until you start it.")


class SecretFault(Frame):
    """Put a fault in by a job number that the class does not see; give the same job again, with new numbers."""

    def __init__(self, page):
        super().__init__(
            "Type a job number. Here it always hides a fault, the same one each time.", "A fault in secret"
        )
        self.page, self.run = page, 0
        self.picture.layout.display = "none"
        titles = {exercise.title: name for name, exercise in EXERCISES.items()}
        self.controls.update(
            exercise=made.choice("Exercise", titles),
            # Dots on the wall in place of the figures.
            number=ipywidgets.Password(
                description="Job number", continuous_update=False, placeholder="1 to 9999"
            ),
            put=made.button("Put it in", main=True),
            again=made.button("Same job again"),
            fresh=made.button("Same job, new numbers"),
        )
        for name, act in (("put", self._put), ("again", self._again), ("fresh", self._fresh)):
            self.on_click(self.controls[name], act)
        self.place = ipywidgets.VBox()
        self.side.children = (*self.controls.values(), self.message)
        self.widget.children = (*self.widget.children[:3], self.place)
        self.bench: ClassBench | None = None

    def _put(self) -> None:
        number = job_number(self.controls["number"].value)
        if number is None:
            self.message.say(NUMBER, "bad")
            return
        self.hidden_number, self.run = number, 0
        self.exercise = EXERCISES[self.controls["exercise"].value]
        self.controls["number"].value = ""
        self._begin("It is in. The job number is not shown again, so write it down.")

    def _again(self) -> None:
        self._begin("The same job from the start.", needs=True)

    def _fresh(self) -> None:
        self.run += self.bench is not None
        self._begin("The same faults. Every reading is new.", needs=True)

    def _begin(self, words: str, needs: bool = False) -> None:
        if needs and self.bench is None:
            self.message.say("Put a job in first.", "bad")
            return
        if self.bench is not None:
            self.bench.put_away()
        self.bench = ClassBench(self.page, self.exercise, self.hidden_number, self.run)
        self.place.children = (self.bench.widget,)
        self.message.say(words, "good")
