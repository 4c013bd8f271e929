"""Panels that many chapters share: the job, choices, the words and ground, records and checks."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets

from gaslab import units
from gaslab.escape import html_text
from gaslab.learn.answers import read_answer
from gaslab.learn.chapters import Choice
from gaslab.refit import changed, checks, tosheet
from gaslab.refit.job import Job
from gaslab.refit.work_actions import CHOICES
from gaslab.show import kept_look, palette, views
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame, restyle_all


def paragraphs(*texts: str) -> str:
    """Return texts as HTML paragraphs, escaped."""
    return "".join(f"<p>{html_text(text)}</p>" for text in texts if text)


class Listing(Frame):
    """An instruction, some lines of text and controls; no picture."""

    def __init__(self, instruction: str, title: str):
        super().__init__(instruction, title)
        self.lines = ipywidgets.HTML()
        self.picture.layout.display = "none"
        self.widget.children = (self.style, self.head, self.lines, self.side, self.message)

    def tell(self, *texts: str) -> None:
        """Show lines of text."""
        self.told = texts
        self.lines.value = paragraphs(*texts)

    @property
    def text(self) -> str:
        return " ".join((*getattr(self, "told", ()), self.message.sentence)).strip()


class JobPanel(Listing):
    """Where the job stands: what was changed and where, and how to undo it."""

    def __init__(self, job: Job, chapter: str):
        super().__init__(
            "This page and all the others work on one job. Here is what it holds.", "Where the job stands"
        )
        self.job, self.chapter = job, chapter
        self.controls.update(
            look=made.button("Look again"),
            undo=made.button("Undo this chapter's changes"),
            fresh=made.button("Start the job afresh"),
            sure=made.button("Yes, start afresh", main=True),
        )
        self.on_click(self.controls["look"], self._look)
        self.on_click(self.controls["undo"], lambda: self._reset(self.chapter))
        self.on_click(self.controls["fresh"], self._ask)
        self.on_click(self.controls["sure"], lambda: self._reset(None))
        self.controls["sure"].layout.display = "none"
        row = ipywidgets.HBox(list(self.controls.values()), layout={"flex_flow": "row wrap"})
        self.side.children = (row,)
        self._show()

    def _show(self) -> None:
        home, job = self.job.site, self.job
        lines = [f"Changed: {changed.words(home, change)}." for change in job.changes] or [
            "Nothing has been changed yet."
        ]
        count = f"Readings on the sheet: {len(job.readings)}. Findings: {len(job.findings)}."
        self.tell(
            f"{home.name}: meter {home.meter.type.upper()}, {len(home.runs)} pipe runs.",
            *lines,
            count,
            *job.troubles,
        )

    def _look(self) -> None:
        self.job.refresh()
        self._show()
        self.message.say("This is the newest job. Run the page again to redraw its pictures.", "good")

    def _ask(self) -> None:
        self.controls["sure"].layout.display = ""
        self.message.say(
            "This puts the home back as it was. Your old readings are kept in the archive. Are you sure?",
            "doubt",
        )

    def _reset(self, chapter: str | None) -> None:
        self.job.reset(chapter)
        self.controls["sure"].layout.display = "none"
        self._show()
        self.message.say("Done. What was there is kept in the job's archive.", "good")


class ChoicePanel(Frame):
    """One question with answers to choose from. Each answer earns its sentence; you may choose again."""

    def __init__(self, choice: Choice, title: str, done: Callable[[bool], None] | None = None):
        super().__init__(choice.question, title)
        self.instruction = "Read the question, choose an answer, and see what it leads to."
        self.choice, self._done, self.tries = choice, done, 0
        self.controls.update(
            answer=made.reasons([option.text for option in choice.options], "Your answer"),
            check=made.button("That is my answer", main=True),
        )
        self.on_click(self.controls["check"], self._check)
        self.picture.layout.display = "none"
        self.side.children = tuple(self.controls.values())

    def _check(self) -> None:
        picked = next((o for o in self.choice.options if o.text == self.controls["answer"].value), None)
        if picked is None:
            self.message.say("Choose one answer first.", "bad")
            return
        self.tries += 1
        self.message.say(f"{'✓' if picked.right else '✗'} {picked.says}", "good" if picked.right else "bad")
        if self._done is not None:
            self._done(picked.right and self.tries == 1)


class LookPanel(Frame):
    """The size of the words and the ground they stand on, for every page that is open."""

    def __init__(self):
        super().__init__(
            "Choose how the pages look. This page changes at once, the others when they wake up.",
            "Words and ground",
        )
        looks = {look.title: look.key for look in palette.LOOKS.values()}
        self.controls["look"] = made.choice("Look", looks, palette.current().key)
        self.controls["look"].observe(self._changed, "value")
        self.picture.layout.display = "none"
        self.side.children = (self.controls["look"],)

    def _changed(self, change) -> None:
        palette.use(change["new"])
        restyle_all()
        said = f"The look is now: {palette.current().title}."
        try:
            kept_look.keep(change["new"])
        except OSError as error:
            said += f" It could not be kept for other pages ({error.strerror})."
        self.message.say(said, "good")


UNDECIDED, HAND_OVER = "not decided yet", "hand over to a competent person"


def decision_control() -> ipywidgets.Dropdown:
    """Return a choice of what the trainee does about a reading; it stands on the sheet beside the finding."""
    options = {UNDECIDED: "", **{one: one for one in (*CHOICES, HAND_OVER)}}
    return made.choice("What you do", options)


class RecordPanel(Listing):
    """Put a reading on the sheet: choose which, type it, and see what it was held against."""

    def __init__(self, job: Job, chapter: str):
        super().__init__(
            "Choose the reading, type what you read, and put it on the sheet.", "Your reading for the sheet"
        )
        self.job = job
        # The whole job writes every reading; a chapter writes its own.
        self.wanted = {one.key: one for one in tosheet.wanted(chapter) or tosheet.wanted()}
        self.controls.update(
            which=made.choice("Reading", {one.title: key for key, one in self.wanted.items()}),
            value=made.entry("Value"),
            run=made.entry("How long you watched the meter", "s"),
            action=decision_control(),
            put=made.button("Put it on the sheet", main=True),
        )
        self.controls["which"].observe(lambda change: self._unit(), "value")
        self.on_click(self.controls["put"], self._put)
        self.side.children = tuple(self.controls.values())
        self._unit()
        self._show()

    def _unit(self) -> None:
        unit = units.printed(self.wanted[self.controls["which"].value].unit)
        self.controls["value"].description = f"Value [{unit}]" if unit else "Value"
        timed = self.wanted[self.controls["which"].value].doubt == tosheet.RATE
        self.controls["run"].layout.display = "" if timed else "none"

    def _put(self) -> None:
        one = self.wanted[self.controls["which"].value]
        answer = read_answer(self.controls["value"].value, one.unit)
        if answer.value is None:
            self.message.say(f"{one.title}: {answer.question}", "bad")
            return
        run = None
        if one.doubt == tosheet.RATE:
            watched = read_answer(self.controls["run"].value, "s")
            if watched.value is None or not tosheet.SHORTEST_RUN <= watched.value <= tosheet.LONGEST_RUN:
                asked = watched.question or (
                    f"read {watched.value:f} s; needed {tosheet.SHORTEST_RUN:.0f} to {tosheet.LONGEST_RUN:.0f} s."
                )
                self.message.say(f"How long you watched the meter: {asked}", "bad")
                return
            run = float(watched.value)
        action = self.controls["action"].value
        finding = tosheet.put(self.job, one.key, float(answer.value), run=run, action=action)
        self._show()
        said = views.verdict(finding).text if finding else "It is held against no limit."
        self.message.say(
            f"{answer.echo} On the sheet. {said}".strip(),
            palette.TONES[finding.outcome] if finding else "plain",
        )

    def _show(self) -> None:
        newest = {reading.key: reading for reading in self.job.readings if reading.key in self.wanted}
        lines = [
            f"{self.wanted[key].title}: {reading.value:g} {units.printed(reading.unit)}".strip() + "."
            for key, reading in newest.items()
        ]
        self.tell(*(lines or ["Nothing from this chapter is on the sheet yet."]))


class ChecksPanel(Listing):
    """The parts of the job that are easily left out: answer each with a number, and it goes on the sheet."""

    def __init__(self, job: Job, chapters: tuple[str, ...], title: str):
        super().__init__("Choose a line, give its number, and write it on the sheet.", title)
        self.job = job
        self.checks = {one.key: one for one in checks.checks() if one.chapter in chapters}
        self.controls.update(
            which=made.choice("Line", {one.title: key for key, one in self.checks.items()}),
            value=made.entry("Number"),
            action=decision_control(),
            put=made.button("Write it on the sheet", main=True),
        )
        self.controls["which"].observe(lambda change: self._ask(), "value")
        self.on_click(self.controls["put"], self._put)
        self.question = ipywidgets.HTML()
        self.side.children = (
            self.controls["which"],
            self.question,
            *(self.controls[name] for name in ("value", "action", "put")),
        )
        self._ask()

    def _ask(self) -> None:
        one = self.checks[self.controls["which"].value]
        unit = units.printed(one.unit)
        said = checks.figure(self.job.site, one.key)
        self.controls["value"].description = f"Number [{unit}]" if unit else "Number"
        held = f"The site says: {said}." if said else ""
        self.question.value = paragraphs(one.ask, f"Count or measure: {one.number}.", held)
        done = [c.title for c in self.checks.values() if any(r.key == c.key for r in self.job.readings)]
        self.tell(f"Written so far: {len(done)} of {len(self.checks)}.")

    def _what_the_limit_asks(self) -> dict[str, object]:
        """Return what some limits ask that the site does not say: gauge, wood, and the new run level in its size."""
        new = [run for run in self.job.site.runs if run.state == "new"]
        pipe = {"pipe": new[-1].pipe} if new else {}
        return {"gauge": "electronic-1", "wood": "hardwood", "way": "horizontal", **pipe}

    def _put(self) -> None:
        one = self.checks[self.controls["which"].value]
        answer = read_answer(self.controls["value"].value, one.unit)
        if answer.value is None:
            self.message.say(f"{one.title}: {answer.question}", "bad")
            return
        more, action = self._what_the_limit_asks(), self.controls["action"].value
        finding = checks.answer(self.job, one.key, float(answer.value), more=more, action=action)
        self._ask()
        then = "" if finding.outcome == "meets" else f" {one.decision}"
        self.message.say(views.verdict(finding).text + then, palette.TONES[finding.outcome])
