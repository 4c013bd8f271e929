"""Panels of questions: three from earlier chapters, how to start, and new numbers without end."""

from __future__ import annotations

import secrets
import textwrap
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial

import ipywidgets

from gaslab import units
from gaslab.learn import chapters, feedback, items, recall
from gaslab.learn.chance import Chance
from gaslab.learn.items import Variant
from gaslab.learn.marking import DecisionMark, StepMark
from gaslab.learn.progress import Progress
from gaslab.learn.variant import Limit, Step
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame
from gaslab.show.panels.common import paragraphs
from gaslab.show.panels.question import QuestionPanel

WORKED_WIDTH = 84  # characters
SHOWN = "shown"  # the outcome of a step that was shown on request
SHOW_FIRST, TRY_FIRST = "show me first", "let me try first"


def chance() -> Chance:
    """Return chance for practice: other numbers each time."""
    return Chance(secrets.token_bytes(32))


class Keeper:
    """Keeps every marked try and every decision of a question panel in the trainee's progress."""

    def __init__(self, progress: Progress):
        self.progress = progress
        self.panel: QuestionPanel | None = None

    def mark(self, variant: Variant, step: Step, mark: StepMark, value: Decimal, unit: str) -> None:
        """Keep one try. `first` is the first try at these numbers."""
        assert self.panel is not None, "a keeper is given its panel before anyone can answer"
        state = self.panel.model
        last = step.id == variant.steps[-1].id and (mark.earned or state.wrong + 1 >= feedback.TRIES)
        self._keep(variant, step, mark.outcome, mark.slip or "", last)

    def shown(self, variant: Variant, step: Step) -> None:
        """Keep that a step was shown on request: it is not earned, and the question comes round again."""
        self._keep(variant, step, SHOWN, "", step.id == variant.steps[-1].id)

    def decided(self, variant: Variant, name: str, limit: Limit, mark: DecisionMark) -> None:
        """Keep the decision on a limit. It comes after the last step, so the question is finished already."""
        kind = variant.step(limit.step).kind
        self.progress.record(variant.family, name, kind, mark.kept, mark.slip, first=True, last_step=False)

    def _keep(self, variant: Variant, step: Step, outcome: str, slip: str, last: bool) -> None:
        assert self.panel is not None, "a keeper is given its panel before anyone can answer"
        first = self.panel.model.wrong == 0
        self.progress.record(variant.family, step.id, step.kind, outcome, slip, first=first, last_step=last)


def question(progress: Progress, draw: Callable[[], Variant], title: str, **settings) -> QuestionPanel:
    """Return a question panel that keeps its tries."""
    keeper = Keeper(progress)
    panel = QuestionPanel(
        draw, title=title, on_mark=keeper.mark, on_show=keeper.shown, on_decide=keeper.decided, **settings
    )
    keeper.panel = panel
    return panel


def course_order() -> list[tuple[str, tuple[str, ...]]]:
    """Return every chapter that has families, with those that are there."""
    known = items.families()
    return [(n, tuple(f for f in chapters.words(n).families if f in known)) for n in chapters.numbers()]


class RecallPanel(Frame):
    """Up to three questions from earlier chapters, one after the other."""

    def __init__(self, chapter: str, progress: Progress):
        super().__init__("Three from earlier chapters, to keep them fresh.", "From earlier chapters")
        luck = chance()
        self.families = recall.choose(course_order(), chapter, progress.states(), luck, date.today())
        self.at = 0
        self.picture.layout.display = "none"
        self.place = ipywidgets.HTML()
        self.controls["next"] = made.button("Next question")
        self.on_click(self.controls["next"], self._next)
        self.questions = [
            question(progress, partial(items.draw, family, luck), items.family(family).title)
            for family in self.families
        ]
        self._show()

    def _show(self) -> None:
        if not self.questions:
            self.side.children = ()
            self.message.say("There is nothing to recall yet. Carry on down the page.")
            return
        self.place.value = paragraphs(f"Question {self.at + 1} of {len(self.questions)}.")
        self.side.layout.max_width = "100%"
        self.side.children = (self.place, self.questions[self.at].widget, self.controls["next"])
        self.controls["next"].layout.display = "" if self.at + 1 < len(self.questions) else "none"

    def _next(self) -> None:
        self.at += 1
        self._show()


class EntryPanel(Frame):
    """Three quick questions, then a way to start: an example first, or a try first. You may change it at any time."""

    def __init__(self, words: chapters.ChapterWords, start: Callable[[str], None]):
        super().__init__(
            "Three quick questions. They only help to choose how you start.", "How do you want to start?"
        )
        self.words, self._start, self.at, self.right = words, start, 0, 0
        self.picture.layout.display = "none"
        self.question = ipywidgets.HTML()
        self.controls.update(
            answer=made.reasons(["yes"], "Your answer"),
            check=made.button("That is my answer", main=True),
            way=made.choice("Start with", [SHOW_FIRST, TRY_FIRST]),
        )
        self.on_click(self.controls["check"], self._check)
        self.controls["way"].observe(lambda change: self._start(change["new"]), "value")
        self.side.children = (
            self.question,
            self.controls["answer"],
            self.controls["check"],
            self.controls["way"],
        )
        self.controls["way"].layout.display = "none"
        self._ask()

    def _ask(self) -> None:
        asked = self.words.entry[self.at]
        self.question.value = paragraphs(
            f"Question {self.at + 1} of {len(self.words.entry)}.", asked.question
        )
        self.controls["answer"].options = [option.text for option in asked.options]
        self.controls["answer"].value = None

    def _check(self) -> None:
        asked = self.words.entry[self.at]
        picked = next((o for o in asked.options if o.text == self.controls["answer"].value), None)
        if picked is None:
            self.message.say("Choose one answer first.", "bad")
            return
        self.right += picked.right
        self.at += 1
        said = f"{'✓' if picked.right else '✗'} {picked.says}"
        if self.at < len(self.words.entry):
            self._ask()
            self.message.say(said, "good" if picked.right else "bad")
            return
        way = TRY_FIRST if self.right == len(self.words.entry) else SHOW_FIRST
        for name in ("answer", "check"):
            self.controls[name].layout.display = "none"
        self.question.value = paragraphs(f"{self.right} of {self.at} right.")
        self.controls["way"].layout.display = ""
        self.controls["way"].value = way
        self._start(way)
        self.message.say(
            f"{said} I suggest: {way}. You can change it below.", "good" if picked.right else "plain"
        )


class PractisePanel(Frame):
    """Questions of the chapter: steps are worked at first and then left to you, from the last one back."""

    def __init__(self, families: tuple[str, ...], progress: Progress, way: str = SHOW_FIRST):
        super().__init__(
            "Choose a sum and how much of it is worked for you. New numbers never end.", "Your turn"
        )
        self.luck, self.progress = chance(), progress
        self.picture.layout.display = "none"
        self.side.layout.max_width = "100%"
        self.controls.update(
            family=made.choice("Sum", {items.family(family).title: family for family in families}),
            way=made.choice(
                "Help", {"one step left to me": 1, "two steps left to me": 2, "all of it is mine": 3}
            ),
        )
        self.controls["way"].value = 1 if way == SHOW_FIRST else 3
        for control in self.controls.values():
            control.observe(lambda change: self.fresh(), "value")
        self.run = 0
        self.fresh()

    def start(self, way: str) -> None:
        """Begin with worked steps, or with none."""
        self.controls["way"].value = 1 if way == SHOW_FIRST else 3

    def fresh(self) -> None:
        """Put up a question with the help asked for."""
        self.run = 0  # clean questions in a row, of this sum
        family = self.controls["family"].value
        count = len(items.family(family).steps)
        self.asking = question(
            self.progress, lambda: items.draw(family, self.luck), items.family(family).title,
            worked=max(0, count - self.controls["way"].value), on_done=self._done,
        )  # fmt: skip
        self.side.children = (self.controls["family"], self.controls["way"], self.asking.widget)

    def _done(self, variant: Variant, state: feedback.Progression) -> None:
        """After a clean question say when less help would do; after five in a row, that it is known."""
        self.run = self.run + 1 if state.clean else 0
        if self.run >= 5:
            self.message.say("Five right in a row. You know this one. Try another sum.", "good")
        elif state.clean and self.controls["way"].value < 3:
            self.message.say("Good. When you like, choose less help above.", "good")

    @property
    def text(self) -> str:
        return f"{self.asking.text} {self.message.sentence}".strip()


def worked_lines(families: tuple[str, ...]) -> str:
    """Return worked examples as plain text: the question, each step, and the line it ends in.

    The numbers are the same for everyone: they come from the family's name, not from the job.
    """
    return "\n\n".join("\n".join(_worked(family)) for family in families)


def _worked(family: str) -> list[str]:
    variant = items.draw(family, Chance(f"worked example of {family}".encode().ljust(32, b".")))
    lines = [variant.title, *_wrapped(variant.stem)]
    for reading in variant.reading.shows if variant.reading else ():
        shown = f"{reading.label}: {reading.value:.{reading.places}f} {units.printed(reading.unit)}"
        lines += _wrapped(shown.rstrip(), "   ")
    for number, step in enumerate(variant.steps, 1):
        lines += [*_wrapped(f"Step {number}. {step.ask}"), *_wrapped(step.worked, "   ")]
    return lines


def _wrapped(text: str, indent: str = "") -> list[str]:
    """Return a text in lines that fit the page, each with its indent."""
    return textwrap.wrap(text, WORKED_WIDTH, initial_indent=indent, subsequent_indent=indent)
