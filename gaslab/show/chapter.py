"""One chapter of the course, as its notebook calls it: `page = open_chapter("04")`, then one call a cell.

Each call returns something a notebook shows: a panel, or plain lines of text. The words
come from data, the numbers from the job that every notebook shares.
"""

from __future__ import annotations

from dataclasses import dataclass

from gaslab.learn import chapters, items
from gaslab.learn.progress import Progress
from gaslab.refit.job import Job
from gaslab.show import kept_look
from gaslab.show.panels import (
    classroom,
    closing,
    common,
    desk_marking,
    desk_own,
    desk_package,
    desk_setting,
    desk_standard,
    hands,
    learning,
    limits,
    live,
    opening,
    sitting,
    topics_burn,
    topics_gas,
    topics_home,
    topics_live,
    topics_pipe,
    topics_work,
)
from gaslab.show.panels.base import Frame, troubles
from gaslab.show.panels.predict import PredictPanel
from gaslab.show.panels.scenes import predict_panel

# Pictures and instruments can stand alone on a classroom wall; forms to fill in and the desk's panels cannot.
_INSTRUMENTS = (topics_gas, topics_home, topics_work, topics_pipe, topics_live, topics_burn, live)
_FORMS = (closing, limits, desk_setting, desk_own, desk_package, desk_marking, desk_standard, sitting)
INSTRUMENTS = {name: factory for part in _INSTRUMENTS for name, factory in part.TOPICS.items()}
TOPICS = INSTRUMENTS | {name: factory for part in _FORMS for name, factory in part.TOPICS.items()}
SCENES = {number: scene for part in (*_INSTRUMENTS, *_FORMS) for number, scene in part.SCENES.items()}


@dataclass(frozen=True)
class Lines:
    """Plain text that a notebook prints as it stands, and that its tests compare."""

    text: str

    def __repr__(self) -> str:
        return self.text


class Chapter:
    """A chapter at work: its words, the shared job and the trainee's progress."""

    def __init__(self, number: str):
        self.words = chapters.words(number)
        self.job = Job.load()
        self.progress = Progress.load()
        # Each page shows the job's troubles where the job stands; what happens later is told at the press.
        troubles.watch(lambda: [*self.job.troubles, *self.progress.notices], told=self.job.troubles)
        self.way = learning.SHOW_FIRST
        self._practise: learning.PractisePanel | None = None

    def job_panel(self) -> Frame:
        """Where the job stands."""
        return common.JobPanel(self.job, self.words.number)

    def recall(self) -> Frame:
        """Three questions from earlier chapters."""
        return learning.RecallPanel(self.words.number, self.progress)

    def entry(self) -> Frame:
        """Three quick questions that choose how to start."""
        return learning.EntryPanel(self.words, self._start)

    def _start(self, way: str) -> None:
        self.way = way
        if self._practise is not None:
            self._practise.start(way)

    def predict(self) -> PredictPanel:
        """Say first, then look."""
        asked, scene = chapters.prediction(self.words.number), SCENES[self.words.number]
        return predict_panel(asked, lambda: scene(self), hand_in=hands.guess_link(self.words.number))

    def panel(self, name: str) -> Frame:
        """A topic's panel by its name."""
        if name not in TOPICS:
            raise ValueError(f"There is no panel called {name!r}. There are: {', '.join(sorted(TOPICS))}.")
        return TOPICS[name](self)

    def worked(self, *families: str) -> Lines:
        """Worked examples as plain text, the same for everyone."""
        return Lines(learning.worked_lines(families))

    def practise(self) -> Frame:
        """Questions of this chapter, with less and less help, and new numbers without end."""
        families = tuple(family for family in self.words.families if family in items.families())
        self._practise = learning.PractisePanel(families, self.progress, self.way)
        return self._practise

    def decide(self) -> Frame:
        """What would you do on site?"""
        if self.words.decision is None:
            raise ValueError(f"Chapter {self.words.number} has nothing to decide.")
        return common.ChoicePanel(self.words.decision, "On site")

    def record(self) -> Frame:
        """Put a reading of this chapter on the sheet."""
        return common.RecordPanel(self.job, self.words.number)

    # The first page

    def course_map(self) -> Frame:
        """Chapters, how they stand and what is due."""
        return opening.CourseMap(self.progress)

    def look(self) -> Frame:
        """Size of words and their ground."""
        return common.LookPanel()

    def keep(self) -> Frame:
        """Save a copy of all the work, or bring one back."""
        return opening.CopyPanel(self.progress, self.job)

    def reference(self) -> Frame:
        """The crib of sums and limits, and the word list, to read and to print."""
        return opening.ReferencePanel()

    def sources(self) -> Frame:
        """Every figure with its source and status, and what editions changed."""
        return opening.SourcesPanel()

    def classroom(self, name: str) -> Frame:
        """A panel for an instructor by its name."""
        return classroom.room(name, self, INSTRUMENTS, SCENES)


def open_chapter(number: str) -> Chapter:
    """Open a chapter by its number, in the look that the trainee chose."""
    kept_look.take()
    return Chapter(number)
