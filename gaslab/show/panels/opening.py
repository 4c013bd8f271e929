"""The first page: the course map, a copy of the work, the crib and word list, and where the numbers come from."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from datetime import date

import ipywidgets

from gaslab.escape import html_text
from gaslab.learn import chapters, figures, items, kept_copy, reference
from gaslab.learn.boxes import Decisions
from gaslab.learn.family import KINDS
from gaslab.learn.progress import Progress
from gaslab.refit import provenance
from gaslab.refit.folder import FileFault
from gaslab.refit.job import Job
from gaslab.refit.records import JobState
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import SAYABLE, Frame
from gaslab.show.panels.common import Listing

ANY = "any"  # every status
KIND_NAMES = {"set-up": "Set-up", "sum": "Sum", "reading": "Reading"}


def table(caption: str, heads: tuple[str, ...], rows: Sequence[tuple[object, ...]]) -> str:
    """Return an HTML table, every cell escaped."""
    head = "".join(
        f'<th scope="col" style="text-align:left;padding:2px 10px">{html_text(h)}</th>' for h in heads
    )
    body = "".join(
        "<tr>"
        + "".join(f'<td style="padding:2px 10px;vertical-align:top">{html_text(cell)}</td>' for cell in row)
        + "</tr>"
        for row in rows
    )
    title = f'<caption style="text-align:left">{html_text(caption)}</caption>'
    return f'<table style="border-collapse:collapse">{title}<tr>{head}</tr>{body}</table>'


def download(name: str, text: str, kind: str, label: str) -> str:
    """Return a link that saves a text as a file, with no server and no script."""
    data = base64.b64encode(text.encode("utf-8")).decode("ascii")
    return f'<p><a download="{html_text(name)}" href="data:{kind};base64,{data}">{html_text(label)}</a></p>'


class CourseMap(Listing):
    """Each chapter with how many of its sums are on the way, and what is due."""

    def __init__(self, progress: Progress):
        super().__init__("What you have done, and what is due again.", "The course map")
        self.progress = progress
        self.controls["again"] = made.button("Look again")
        self.on_click(self.controls["again"], self.fresh)
        self.side.children = (self.controls["again"],)
        self.fresh()

    def fresh(self) -> None:
        """Read the progress again and draw the map."""
        self.progress.save()
        states, due = self.progress.states(), set(self.progress.due(date.today()))
        rows = []
        for number in chapters.numbers():
            families = [family for family in chapters.words(number).families if family in items.families()]
            tried = [family for family in families if family in states]
            sure = sum(states[family].box >= 3 for family in tried)
            again = ", ".join(items.family(family).title for family in tried if family in due)
            count = f"{len(tried)} of {len(families)}" if families else "–"
            rows.append(
                (number, chapters.words(number).title, count, sure if families else "–", again or "–")
            )
        profile = self.progress.profile()
        told = [f"{KIND_NAMES[kind]}: {profile[kind][0]} of {profile[kind][1]} right." for kind in KINDS]
        self.model = {"rows": rows, "profile": profile}
        told += _decision_words(self.progress.decisions())
        self.tell(*told, *self.progress.notices)
        self.lines.value += table(
            "Chapters", ("page", "chapter", "sums tried", "sums you know well", "due again"), rows
        )


def _decision_words(found: Decisions) -> list[str]:
    """Return what the map says of the decisions on a limit; nothing before the first one."""
    if not found.made:
        return []
    unsafe = f" {found.unsafe} said yes where it is no: unsafe." if found.unsafe else ""
    return [f"Decisions on a limit: {found.right} of {found.made} right.{unsafe}"]


class CopyPanel(Frame):
    """Save a copy of all the work, answers and job, or bring one back. `model` is the copy that was brought."""

    def __init__(self, progress: Progress, job: Job):
        super().__init__("Save a copy of your work, or bring a copy back.", "Keep your work")
        self.progress, self.job = progress, job
        self.picture.layout.display = "none"
        self.link = ipywidgets.HTML()
        self.controls.update(
            make=made.button("Make a copy to save", main=True),
            bring=ipywidgets.FileUpload(accept=".json", multiple=False, description="Bring a copy back"),
            take=made.button("Put the copy's job here"),
        )
        self.on_click(self.controls["make"], self._make)
        self.on_click(self.controls["take"], self._take)
        self.controls["bring"].observe(self._bring, "value")
        self.controls["take"].layout.display = "none"
        self.side.children = (self.controls["make"], self.link, self.controls["bring"], self.controls["take"])
        self.message.say(f"Your answers and your job are kept in {self.progress.path.parent}.")

    def _make(self) -> None:
        name = f"course-work-{date.today().isoformat()}.json"
        text = kept_copy.text_of(self.progress, self.job)
        self.link.value = download(name, text, "application/json", f"Save {name}")
        self.message.say("Press the link to save the copy.", "good")

    def _bring(self, change) -> None:
        if not change["new"]:
            return
        self.controls["take"].layout.display = "none"
        try:
            text = bytes(change["new"][0]["content"]).decode("utf-8")
            self.model = kept_copy.read(text, "the copy")
        except (FileFault, UnicodeDecodeError) as fault:
            self.message.say(
                f"That file cannot be brought back: {fault}. Nothing of yours was changed.", "bad"
            )
            return
        count = self.progress.join(self.model.attempts)
        words, tone = self._job_words()
        new = "1 new answer" if count == 1 else f"{count} new answers"
        self.message.say(f"Brought back: {new}. Nothing of yours was lost. {words}", tone)

    def _job_words(self) -> tuple[str, str]:
        """Take a job where there is none yet; where there is one, ask first. Return what to say of it, and how."""
        copied = self.model.job
        if copied is None:
            return "This copy holds no job.", "good"
        self.job.refresh()
        if kept_copy.same_work(copied, self.job.state):
            return "The job in it is the one you have.", "good"
        if kept_copy.untouched(self.job.state):
            return self._put_in_place()
        self.controls["take"].layout.display = ""
        return (
            f"The copy holds a job too, with {_held(copied)}. Here is one with {_held(self.job.state)}. "
            "Do you want the copy's job? Press the button. The one here is then kept in the archive.",
            "doubt",
        )

    def _put_in_place(self) -> tuple[str, str]:
        try:
            self.job.take(self.model.job)
        except SAYABLE as fault:
            return f"The job in it cannot be used: {fault}", "bad"
        return f"The job came back too, with {_held(self.model.job)}. Run the page again to see it.", "good"

    def _take(self) -> None:
        self.message.say(*self._put_in_place())
        self.controls["take"].layout.display = "none"


def _held(job: JobState) -> str:
    """Return how much a job holds, in words."""
    counts = {"change": job.changes, "reading": job.readings, "finding": job.findings}
    words = [f"{len(held)} {name}{'' if len(held) == 1 else 's'}" for name, held in counts.items()]
    return f"{words[0]}, {words[1]} and {words[2]}"


class ReferencePanel(Frame):
    """The crib and the word list, to read here or to print."""

    def __init__(self):
        super().__init__("Choose a list. The link saves it as a page to print.", "Crib and word list")
        self.picture.layout.display = "none"
        self.shown = ipywidgets.HTML()
        pages = {"nothing yet": "", "sums, changes of unit and limits": "crib", "word list": "words"}
        self.controls["which"] = made.choice("List", pages)
        self.controls["which"].observe(self._show, "value")
        self.side.layout.max_width = "100%"
        self.side.children = (self.controls["which"], self.shown)

    def _show(self, change) -> None:
        if not change["new"]:
            self.shown.value = ""
            return
        page = reference.crib() if change["new"] == "crib" else reference.glossary()
        body = page[page.index("<body") :].partition(">")[2].rpartition("</body>")[0]
        link = download(f"{change['new']}.html", page, "text/html", "Save this list as a page to print")
        self.shown.value = f'{link}<div style="max-height:520px;overflow:auto" tabindex="0">{body}</div>'


class SourcesPanel(Frame):
    """Every figure with unit, source, edition and status; and the matters that hang on an edition."""

    def __init__(self):
        super().__init__(
            "Choose a table. Each number says what stands behind it.", "Where the numbers come from"
        )
        self.picture.layout.display = "none"
        self.figures = (*provenance.figures(), *figures.family_figures())
        self.matters = provenance.edition_matters()
        self.shown = ipywidgets.HTML()
        names = list(dict.fromkeys(figure.table for figure in self.figures))
        self.controls["which"] = made.choice("Table", ["what changed between editions", *names])
        words = [*(f.status_words for f in self.figures), *(m.status_words for m in self.matters)]
        self.controls["status"] = made.choice("Status", [ANY, *dict.fromkeys(words)])
        for control in self.controls.values():
            control.observe(lambda change: self._show(), "value")
        self.side.layout.max_width = "100%"
        self.side.children = (*self.controls.values(), self.shown)
        self._show()

    def _show(self) -> None:
        which, status = self.controls["which"].value, self.controls["status"].value
        if which.startswith("what changed"):
            heads: tuple[str, ...] = ("what", "now", "before", "from when", "source", "status")
            rows: list[tuple[str, ...]] = [
                (m.about, m.now, m.before, m.since, m.named, m.status_words)
                for m in self.matters
                if status in (ANY, m.status_words)
            ]
        else:
            heads = ("figure", "value", "unit", "on what basis", "source", "edition", "status", "note")
            rows = [
                (f.name, f.value, f.unit, f.basis, f.document, f.edition, f.status_words, f.note)
                for f in self.figures
                if f.table == which and status in (ANY, f.status_words)
            ]
        self.model = rows
        self.shown.value = (
            f'<div style="max-height:520px;overflow:auto" tabindex="0">{table(which, heads, rows)}</div>'
        )
        self.message.say(f"{len(rows)} rows.")
