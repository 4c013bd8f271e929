"""The bench on a page: act, read, let time pass, be marked from the log, and hear the truth afterwards.

The browser's own play control moves the clock. Each frame is one message; while the last one
is being worked on, the page keeps only the newest, so frames never queue. There is no thread
and no loop here.
"""

from __future__ import annotations

import secrets
from collections import deque
from functools import partial

import ipywidgets

from gaslab import units
from gaslab.learn.answers import read_answer
from gaslab.refit import faults, instruments, procedure
from gaslab.refit.bench import Bench
from gaslab.refit.debrief import debrief
from gaslab.refit.exercises import EXERCISES, Exercise, hidden
from gaslab.show import views
from gaslab.show.bench_view import VIEWS, BenchView
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame
from gaslab.show.panels.common import paragraphs
from gaslab.show.panels.page import Page, Scenes, Topics

FRAME = 0.05  # s between two frames of the play control
SPEEDS = {"as on site": 1.0, "five times": 5.0, "twenty times": 20.0}
STEPS = {"1 second": 1.0, "10 seconds": 10.0, "1 minute": 60.0}
TRACE_POINTS = 4_000
NUMBERS = {"seconds": ("s", 10.0), "to": ("mbar", 20.5)}


class BenchPanel(Frame):
    """A live installation to work on. `model` is the bench.

    At least `fewest` faults hide in it; with None, as many as the exercise draws.
    """

    fewest: int | None = None

    def __init__(self, page: Page, exercise: Exercise, seed: int | None = None):
        super().__init__(exercise.told, exercise.title)
        self.page, self.exercise = page, exercise
        self.trace: deque = deque(maxlen=TRACE_POINTS)
        self.drawn = BenchView()
        self.log_lines = ipywidgets.HTML()
        self.status = ipywidgets.HTML()
        self._clock_controls()
        self._action_controls()
        self._reading_controls()
        self._job_controls()
        row = {"flex_flow": "row wrap", "align_items": "flex-end"}
        names = self.controls
        self.side.children = (
            self.status,
            names["look at"],
            ipywidgets.HBox([names["clock"], names["speed"]], layout=row),
            ipywidgets.HBox([names["step"], names["step on"]], layout=row),
        )
        doing, reading, ending = (
            ipywidgets.VBox(parts).add_class("gl-side")
            for parts in (
                [names["action"], self.values_box, names["do"]],
                [names["instrument"], names["place"], names["read"]],
                [names["number"], names["new"]],
            )
        )
        hands = ipywidgets.HBox([doing, reading]).add_class("gl-body")
        last = ipywidgets.HBox([names["marks"], names["truth"]], layout=row)
        self.widget.children = (*self.widget.children[:3], self.message, hands, self.log_lines, last, ending)
        self.begin(secrets.randbelow(9000) + 1000 if seed is None else seed)

    # Making

    def _clock_controls(self) -> None:
        self.controls["look at"] = made.choice("Look at", VIEWS)
        self.controls["look at"].observe(lambda change: self._picture(), "value")
        clock = ipywidgets.Play(
            min=0, max=1_000_000, step=1, value=0, interval=int(FRAME * 1000), show_repeat=False
        )
        clock.observe(self._frame, "value")
        self.controls["clock"] = clock
        self.controls["speed"] = made.choice("Clock runs", SPEEDS)
        self.controls["step"] = made.choice("Step", STEPS, 10.0)
        self.controls["step on"] = made.button("Let that pass")
        self.on_click(self.controls["step on"], lambda: self._pass(self.controls["step"].value))

    def _action_controls(self) -> None:
        self.controls["action"] = made.choice("What do you do?", ["wait"])
        self.controls["action"].observe(lambda change: self._ask_values(), "value")
        self.controls["do"] = made.button("Do it", main=True)
        self.on_click(self.controls["do"], self._do)
        self.values_box = ipywidgets.VBox()

    def _reading_controls(self) -> None:
        self.controls["instrument"] = made.choice("Read", list(instruments.INSTRUMENTS))
        self.controls["place"] = made.choice("Where", [""])
        self.controls["instrument"].observe(lambda change: self._places(), "value")
        self.controls["read"] = made.button("Read it", main=True)
        self.on_click(self.controls["read"], self._read)

    def _job_controls(self) -> None:
        self.controls.update(
            number=made.entry("Job number"),
            new=made.button("Start this job number"),
            marks=made.button("Mark my work"),
            truth=made.button("Debrief: tell me all"),
        )
        for name, act in (("new", self._new), ("marks", self._mark), ("truth", self._truth)):
            self.on_click(self.controls[name], act)

    # The job

    def begin(self, seed: int) -> None:
        """Start a job by its number: the same number is the same job again."""
        site = self.page.job.site
        self.seed = seed
        faults_in = hidden(site, self.exercise, seed, self.fewest)
        self.model: Bench = Bench(site, faults_in, seed, self.exercise.stage)
        self.trace.clear()
        self.controls["number"].value = str(seed)
        self.log_lines.value = ""
        self._offer()
        self._places()
        self._redraw()
        self.message.say(f"Job {seed} begins. The clock stands still until you start it.")

    def _called(self) -> str:
        """Return what the debrief calls the job: before a class its number's box is empty, and so it is not said."""
        return f"Job {self.seed}" if self.controls["number"].value else "This job"

    def _new(self) -> None:
        answer = read_answer(self.controls["number"].value)
        if answer.value is None or answer.value != int(answer.value) or not 0 <= answer.value <= 9999:
            self.message.say("The job number must be a whole number from 0 to 9999.", "bad")
            return
        self.begin(int(answer.value))

    # Time

    def _frame(self, change) -> None:
        if change["new"] > change["old"]:
            self._pass(FRAME * self.controls["speed"].value, quiet=True)

    def _pass(self, seconds: float, quiet: bool = False) -> None:
        count = len(self.model.log)
        self.model.advance(seconds)
        happened = [event.answer for event in self.model.log[count:]]
        self._redraw()
        if happened:
            self.message.say(" ".join(happened), "doubt")
        elif not quiet:
            self.message.say(f"{views.duration(seconds)} later.")

    # Doing and reading

    def _offer(self) -> None:
        """Offer what makes sense now, keeping what was chosen when it is still there."""
        self.offered = {one["name"]: one["takes"] for one in self.model.actions()}
        chosen = self.controls["action"].value
        self.controls["action"].options = [(name, name) for name in self.offered]
        self.controls["action"].value = chosen if chosen in self.offered else next(iter(self.offered))
        self._ask_values()

    def _ask_values(self) -> None:
        """Put up a control for each value that the action takes."""
        takes = self.offered.get(self.controls["action"].value, {})
        self.values = {}
        for name, among in takes.items():
            if isinstance(among, list):
                self.values[name] = made.choice(name.capitalize(), among)
            else:
                unit, usual = NUMBERS[name]
                self.values[name] = made.entry(name.capitalize(), unit)
                self.values[name].value = f"{usual:g}"
        if self.controls["action"].value == "put right":
            self.values["fault"].observe(lambda change: self._fault_places(), "value")
            self._fault_places()
        self.values_box.children = tuple(self.values.values())

    def _fault_places(self) -> None:
        where = faults.places(self.model.site, self.values["fault"].value, self.model.plant.stage)
        self.values["place"] = made.choice(
            "Place", {place or "no place of its own": place for place in where}
        )
        self.values_box.children = tuple(self.values.values())

    def _arguments(self) -> dict | None:
        """Return the values as the bench takes them, or None after saying what is missing."""
        found: dict[str, object] = {}
        for name, control in self.values.items():
            if not isinstance(control, ipywidgets.Text):
                found[name] = control.value
                continue
            answer = read_answer(control.value, NUMBERS[name][0])
            if answer.value is None:
                self.message.say(f"{name.capitalize()}: {answer.question}", "bad")
                return None
            found[name] = float(units.to_si(float(answer.value), NUMBERS[name][0]))
        return found

    def _do(self) -> None:
        arguments = self._arguments()
        if arguments is None:
            return
        event = self.model.do(self.controls["action"].value, **arguments)
        self._offer()
        self._places()
        self._redraw()
        self.message.say(event.answer, "bad" if event.refused else "plain")

    def _places(self) -> None:
        """Offer the places that make sense for the instrument."""
        site, stage = self.model.site, self.model.plant.stage  # a new hob may have come in
        rings = {burner.title: burner.id for burner in site.hob(stage).burners}
        units_here = [unit.id for unit in site.connected(stage)]
        joints = ("control", "regulator", *(f"{run.id} pipe" for run in site.runs), *units_here, "hose")
        where = {
            "stopwatch": rings,
            "flame": rings,
            "millivolt meter": rings,
            "tape": {"hob to hood": "hood", "main bond": "bond"},
            "leak fluid": {place: place for place in joints},
        }.get(self.controls["instrument"].value, {"here": ""})
        self.controls["place"].options = list(where.items())

    def _read(self) -> None:
        reading = self.model.read(self.controls["instrument"].value, self.controls["place"].value or "")
        self._redraw()
        self.message.say(reading.text, "plain")

    # Showing

    def _redraw(self) -> None:
        self.seen = self.model.view()
        gauge = self.seen["gauge"]
        if gauge is not None:
            self.trace.append((self.model.time / 60.0, gauge["value"] / 100.0))
        self.status.value = paragraphs(
            f"Clock {self.seen['clock']}. Control {self.seen['control']}. "
            f"Window {self.seen['window']}. {self.seen['smell']}"
        )
        lines = [f"{event.time:.0f} s  {event.name}: {event.answer}" for event in self.model.log[-6:]]
        self.log_lines.value = paragraphs("What you did, newest last:", *lines) if lines else ""
        self._picture()

    def _picture(self) -> None:
        unit = self.model.site.hob(self.model.plant.stage)
        self.draw(self.drawn.svg(self.controls["look at"].value, self.seen, unit, self.trace))

    def restyle(self) -> None:
        super().restyle()
        if self.model is not None:
            self._picture()

    # Marks and truth

    def _records(self) -> list:
        return [event.as_record() for event in self.model.log]

    def _mark(self) -> None:
        score = procedure.score(self._records(), self.model.site, self.exercise.parts)
        broken = [f"✗ {mark.rule.title}: {mark.words}" for mark in score.marks if mark.outcome == "broken"]
        kept = [f"✓ {mark.rule.title}." for mark in score.marks if mark.outcome == "kept"]
        waiting = [
            f"– {mark.rule.title}: not reached yet." for mark in score.marks if mark.outcome == "not reached"
        ]
        self.log_lines.value = paragraphs(
            f"Kept {score.kept} of {score.counted} rules.", *broken, *kept, *waiting
        )
        self.score = score
        self.message.say("Marked from what you did and read. The hidden truth played no part.", "plain")

    def _truth(self) -> None:
        told = debrief(self.model)
        count = len(told.points)
        wrong = {0: "nothing was wrong", 1: "one thing was wrong"}.get(count, f"{count} things were wrong")
        lines = [f"{self._called()}: {wrong}."]
        for point in told.points:
            at = f" ({point.fault.place})" if point.fault.place else ""
            lines += [
                f"{point.fault.kind.title}{at}, {point.fault.grade}.",
                f"What you saw: {'; '.join(point.saw[-3:]) or 'nothing: you did not look there'}.",
                f"What it meant: {point.meant}",
                f"What you missed: {point.missed}",
                f"To do: {point.to_do}",
            ]
        lines += [f"Consistent but unsafe. {words}" for words in told.consistent_but_unsafe]
        self.log_lines.value = paragraphs(*lines)
        self.debrief = told
        self.message.say(
            "This is the whole truth of the job. Start it again by its number if you like.", "plain"
        )


TOPICS: Topics = {name: partial(BenchPanel, exercise=exercise) for name, exercise in EXERCISES.items()}
SCENES: Scenes = {}
