"""The assessor marks what came back: a batch with reasons, the lists a person must see, and everything written out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import ipywidgets

from gaslab.assess import attempt_reader, demo, desk, marking_batch, overrides, papers, report
from gaslab.assess.attempt_reader import RefusedAttempt
from gaslab.assess.cohort import Cohort
from gaslab.assess.kept_batch import KeptBatch
from gaslab.assess.records import AttemptError
from gaslab.assess.results import Result
from gaslab.assess.standard import StandardError
from gaslab.escape import html_text
from gaslab.learn.answers import read_answer
from gaslab.show.panels import controls as made
from gaslab.show.panels import desk_views
from gaslab.show.panels.desk_common import Bar, DeskPanel, folder_at, line_box
from gaslab.show.panels.desk_reasons import ReasonsPart
from gaslab.show.panels.desk_views import MOST_ROWS, VIEWS, View
from gaslab.show.panels.opening import table

NOTHING_YET = "Mark a batch first."


class MarkingPanel(DeskPanel):
    """Choose a paper and the folder of attempt files, mark, look, change a mark with a reason, write it all out."""

    def __init__(self):
        super().__init__(
            "Choose the paper, put the attempt files in its folder, and mark them.", "Mark what came back"
        )
        self.model: desk_views.Batch | None = None
        self.files: dict[str, str] = {}  # candidate -> file
        self.kept = KeptBatch()  # the batch as it was marked last
        self.bar = Bar()
        self.controls.update(
            made_up=made.button("Make a made-up batch to try this on"),
            paper=made.choice("Paper", {"none yet": ""}),
            again=made.button("Look for papers again"),
            folder=line_box("Folder of attempt files", wide=True),
            cut=made.entry("Cut, in marks (may stay empty)"),
            mark=made.button("Mark the folder", main=True),
            view=made.choice("Show", list(VIEWS)),
            export=made.button("Write all results out"),
        )
        self.reasons = ReasonsPart(self)
        self.controls.update(self.reasons.controls)
        for name, handler in (
            ("made_up", self._made_up), ("again", self._papers), ("mark", self.mark), ("export", self._export),
        ):  # fmt: skip
            self.on_click(self.controls[name], handler)
        self.on_change(self.controls["paper"], self._of_paper)
        self.on_change(self.controls["view"], self._show)
        self._place()
        self._papers()

    def _place(self) -> None:
        c = self.controls
        start = ipywidgets.VBox(
            [c[n] for n in ("made_up", "paper", "again", "folder", "cut", "mark")]
        ).add_class("gl-stack")
        self.after = ipywidgets.VBox(
            [c["view"], self.picture, self.lines, c["export"], self.reasons.widget]
        ).add_class("gl-stack")
        self.after.layout.display = "none"
        self.side.layout.max_width = "100%"
        self.side.children = (start, self.bar, self.message, self.after)
        self.widget.children = (self.style, self.head, self.side)

    def _papers(self) -> None:
        """Offer the papers of this user's folder."""
        known, self._filled_in = desk.known_papers(), False
        self.controls["paper"].options = [(number, number) for number in known] or [("none yet", "")]
        self.controls["paper"].value = self.controls["paper"].options[0][1]
        if not self._filled_in:  # a paper that changed has filled itself in
            self._of_paper()

    def _of_paper(self) -> None:
        """Fill in the folder and the cut that belong to the paper."""
        self.model, self.files, self._filled_in = None, {}, True
        self.after.layout.display = "none"
        number = self.controls["paper"].value
        if not number:
            self.controls["folder"].value = self.controls["cut"].value = ""
            self.message.say("There is no paper yet. Set one, or make the made-up batch.")
            return
        self.controls["folder"].value = str(self.paper / desk.CAME_BACK)
        kept, damaged = desk.standard_or_words(self.paper)
        self.controls["cut"].value = f"{kept[0]:.2f}" if kept else ""
        self.message.clear()
        if damaged:
            self.message.say(f"{damaged} Type the cut, or set it again.", "bad")

    @property
    def paper(self) -> Path:
        """The folder of the chosen paper."""
        number = self.controls["paper"].value
        if not number:
            raise AttemptError("There is no paper yet. Set one, or make the made-up batch.")
        return desk.papers_folder() / number

    def _made_up(self) -> None:
        secret = papers.new_secret()
        self.message.say("Making a paper and forty attempts that nobody sat.")
        folder = desk.write_paper(demo.paper(secret), secret)
        count = demo.write_batch(desk.key_of_folder(folder), folder / desk.CAME_BACK)
        self._papers()
        self.controls["paper"].value = folder.name
        self.message.say(
            f"{count} made-up files are ready, two of them bad on purpose. Now press “Mark the folder”.",
            "good",
        )

    def cut(self) -> float | None:
        """Return the cut that was typed, or None for an empty box."""
        if not self.controls["cut"].value.strip():
            return None
        answer = read_answer(self.controls["cut"].value)
        if answer.value is None or answer.value < 0:
            raise StandardError(f"Cut: {answer.question or 'it cannot be below zero.'}")
        return float(answer.value)

    def marked(self, progress: Callable[[int, int], None] | None = None) -> Iterator[Result | RefusedAttempt]:
        """Yield every file of the folder, marked or refused, with the changes of mark in force."""
        book = overrides.in_force(desk.assessor_file(self.paper, desk.OVERRIDES))
        key, bank = desk.key_of_folder(self.paper), desk.own_bank(self.paper)
        place = folder_at(self.controls["folder"].value)
        yield from marking_batch.mark_folder(place, key, book, bank=bank, progress=progress)

    def marked_one(self, candidate: str) -> Iterator[Result | RefusedAttempt]:
        """Yield the attempt of one candidate; where its file cannot be named again, the whole folder."""
        path = folder_at(self.controls["folder"].value) / self.files.get(candidate, "")
        if not path.is_file():
            yield from self.marked()
            return
        key = desk.key_of_folder(self.paper)
        found = attempt_reader.read(path, key.paper, dict(key.digests))
        book = overrides.in_force(desk.assessor_file(self.paper, desk.OVERRIDES))
        yield marking_batch.mark(
            found, marking_batch.prepared(key, desk.own_bank(self.paper))[found.form], book
        )

    def mark(self) -> None:
        """Mark the folder and show the scores."""
        cohort = Cohort.of_key(desk.key_of_folder(self.paper))
        files, kept = {}, KeptBatch()
        for found in self.marked(self.bar.show):
            kept.keep(found)
            if isinstance(found, RefusedAttempt):
                cohort.refused.append(found)
            else:
                cohort.add(found)
                files[found.candidate] = found.file
        self.model, self.files, self.kept = desk_views.batch_of(cohort, self.cut()), files, kept
        self.after.layout.display = ""
        self.reasons.offer(sorted(files))
        self._show()
        self.message.say(
            f"{len(files)} attempts marked. {len(cohort.refused)} files were not: see “files not marked”.",
            "good",
        )

    def _show(self) -> None:
        """Show the chosen view of the batch."""
        if self.model is None:
            self.message.say(NOTHING_YET)
            return
        self.show_view(VIEWS[self.controls["view"].value](self.model))

    def show_view(self, view: View) -> None:
        """Show sentences, table and picture of a view."""
        self.tell(*view.lines)
        self.lines.value += view_table(view)
        self.picture.layout.display = "" if view.svg else "none"
        self.draw(view.svg)

    def restyle(self) -> None:
        super().restyle()
        if self.model is not None:
            self._show()

    def _export(self) -> None:
        if self.model is None:
            raise StandardError(NOTHING_YET)
        # What is written is what was marked and shown; only the cut may have been typed since.
        batch = self.model = desk_views.batch_of(self.model.cohort, self.cut())
        key, kept = desk.key_of_folder(self.paper), self.kept
        folder = report.new_batch(self.paper / desk.RESULTS)
        drawings = {name: VIEWS[name](batch).svg for name in VIEWS if VIEWS[name](batch).svg}
        with open(folder / "marks.jsonl", "xb") as file:
            file.writelines(kept.lines())
        names = report.write(folder, key, batch.cohort, kept.results, batch.decisions(), drawings)
        self.message.say(f"Written to {folder}: marks.jsonl, {', '.join(names)}.", "good")


def view_table(view: View) -> str:
    """Return the table of a view as HTML; a long one says that the rest is in the files."""
    if not view.heads:
        return ""
    if not view.rows:
        return f"<p>{html_text('Nobody and nothing is on this list.')}</p>"
    more = len(view.rows) - MOST_ROWS
    rest = f" The first {MOST_ROWS}; {more} more stand in the files." if more > 0 else ""
    whole = table(f"{len(view.rows)} rows.{rest}", view.heads, list(view.rows[:MOST_ROWS]))
    return f'<div style="max-height:520px;overflow:auto" tabindex="0">{whole}</div>'


TOPICS = {"marking": lambda page: MarkingPanel()}
SCENES: dict = {}
