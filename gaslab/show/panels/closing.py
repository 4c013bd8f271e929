"""Chapters 03, 05, 13 and 14: the lists, the findings, declined advice and the job sheet."""

from __future__ import annotations

from datetime import date

import ipywidgets

from gaslab import tables
from gaslab.refit import criteria, jobsheet, lenses, tosheet
from gaslab.refit.folder import user_data_folder, write_whole
from gaslab.refit.job import Job
from gaslab.show import pictures, views
from gaslab.show.drawings import pipes
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame
from gaslab.show.panels.common import ChecksPanel, Listing, paragraphs
from gaslab.show.panels.opening import download
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.scenes import Scene, charted, on_scale

ACTIONS = ("carry on", "put right", "make safe and report")


class FindingsPanel(Frame):
    """Six findings to sort: what to do about each."""

    def __init__(self, page: Page):
        super().__init__(
            "Give each finding an action. The procedure in force decides on a real job.", "Sort the findings"
        )
        self.rows = tables.records("findings")
        self.at, self.right = 0, 0
        self.picture.layout.display = "none"
        self.finding = ipywidgets.HTML()
        self.controls.update(
            action=made.reasons(ACTIONS, "What do you do?"), check=made.button("That is my action", main=True),
            again=made.button("Start again"),
        )  # fmt: skip
        self.on_click(self.controls["check"], self._check)
        self.on_click(self.controls["again"], self._again)
        self.side.children = (self.finding, *self.controls.values())
        self._ask()

    def _ask(self) -> None:
        done = self.at >= len(self.rows)
        for name, control in self.controls.items():
            control.layout.display = ("" if done else "none") if name == "again" else "none" if done else ""
        if done:
            self.finding.value = paragraphs(f"All sorted. {self.right} of {len(self.rows)} at the first go.")
            return
        row = self.rows[self.at]
        self.controls["action"].value = None
        self.finding.value = paragraphs(
            f"Finding {self.at + 1} of {len(self.rows)}.", f"{row['finding']} ({row['reading']})."
        )

    def _check(self) -> None:
        picked = self.controls["action"].value
        if picked is None:
            self.message.say("Choose one action first.", "bad")
            return
        row = self.rows[self.at]
        good = picked == row["action"]
        self.right += good
        self.at += 1
        self._ask()
        stops = "It stops the hob." if row["stops"] == "yes" else "It does not stop the hob."
        said = f"{'✓ Yes' if good else '✗ Here: ' + row['action']}. {row['why']}. {stops}"
        self.message.say(said, "good" if good else "bad")

    def _again(self) -> None:
        self.at = self.right = 0
        self.message.clear()
        self._ask()


def findings_scene(page: Page) -> Scene:
    """How many of the six findings stop the hob."""
    count = sum(row["stops"] == "yes" for row in tables.records("findings"))
    return on_scale("Findings that stop the hob", count, "1", 0, 6, 0, 0.5)


class OwnFindings(Listing):
    """The findings from the trainee's own readings, what is open first."""

    def __init__(self, page: Page):
        super().__init__(
            "What is not met or not known stands first. None of it can be hidden.", "Your findings so far"
        )
        self.job = page.job
        self.controls["again"] = made.button("Look again")
        self.on_click(self.controls["again"], self.fresh)
        self.side.children = (self.controls["again"],)
        self.fresh()

    def fresh(self) -> None:
        self.job.refresh()
        found = sorted(self.job.findings, key=lambda f: f.outcome == criteria.MEETS)
        lines = [f"{views.MARKS[f.outcome]} {f.about or f.key}: {f.words}." for f in found]
        self.tell(*(lines or ["No findings yet. Put readings on the sheet in the chapters before."]))


class AdvicePanel(Listing):
    """Advice that was given and declined: by whom, and when."""

    def __init__(self, page: Page):
        super().__init__(
            "Write the advice so that a stranger can read it in a year.", "Advice that was declined"
        )
        self.job = page.job
        for name, label in (("point", "The point"), ("given", "What you advised"), ("by", "Who declined it")):
            self.controls[name] = ipywidgets.Text(description=label, continuous_update=False)
        self.controls["when"] = ipywidgets.Text(
            description="When", value=date.today().isoformat(), continuous_update=False
        )
        self.controls["keep"] = made.button("Put it on the sheet", main=True)
        self.on_click(self.controls["keep"], self._keep)
        self.side.children = tuple(self.controls.values())
        self._show()

    def _keep(self) -> None:
        point, given, by, when = (self.controls[name].value for name in ("point", "given", "by", "when"))
        self.job.advise(point, given, by, when)
        self._show()
        self.message.say("On the sheet.", "good")

    def _show(self) -> None:
        lines = [
            f"{a.point}: {a.given}. Declined by: {a.declined_by or 'nobody'}. {a.when}."
            for a in self.job.advice
        ]
        self.tell(*(lines or ["Nothing has been declined so far."]))


def sheet_drawings(job: Job) -> dict[str, str]:
    """Return the drawings for the sheet: the pipe run with its pressures, and the trace of the last test read."""
    sizing = lenses.sizing(job.site)
    made_of = {
        "Pipe run, pressures with everything on": pipes.pipe_isometric(pipes.lines_of(job.site, sizing))
    }
    drops = [r for r in job.readings if r.key in ("second-test-drop", "first-test-drop")]
    if drops:
        last = drops[-1]
        end = max(0.0, 20.5 - last.value)  # a leak brings a gauge to 0 and not below
        chart = pictures.pressure_trace(2.0, 0.0, 24.0)
        words = f"Gauge over two minutes: a drop of {last.value:g} mbar as read, drawn from 20.5 mbar."
        if end == 0.0:
            words += " It is more than there was: the line stops at 0."
        made_of["Tightness test: the drop as read, drawn from 20.5 mbar"] = charted(
            chart, words, (2.0, end, f"{end:.1f} mbar"), trace=((0.0, 2.0), (20.5, end))
        )
    return made_of


class SheetPanel(Listing):
    """The job sheet from the trainee's own readings, to save, print and read back."""

    def __init__(self, page: Page):
        super().__init__("Make the sheet from your own readings. Then save it.", "The job sheet")
        self.job = page.job
        self.links = ipywidgets.HTML()
        self.controls["make"] = made.button("Make the sheet", main=True)
        self.on_click(self.controls["make"], self.fresh)
        self.side.children = (self.controls["make"], self.links)
        self.tell(jobsheet.NOTICE, "Make it, and it says which readings are still missing.")

    def fresh(self) -> None:
        """Make the sheet, keep it beside the job, and offer it to save."""
        self.job.refresh()
        made_sheet = jobsheet.sheet(self.job)
        page = jobsheet.to_html(made_sheet, sheet_drawings(self.job))
        texts = {
            "job-sheet.html": (page, "text/html", "Save the page to print"),
            "job-sheet.csv": (jobsheet.to_csv(made_sheet), "text/csv", "Save the table"),
            "job-sheet.json": (
                jobsheet.to_json(made_sheet),
                "application/json",
                "Save the file (JSON) for your college",
            ),
        }
        self.links.value = "".join(
            download(name, text, kind, label) for name, (text, kind, label) in texts.items()
        )
        self.model = {"sheet": made_sheet, "page": page}
        self._keep(texts)
        self._count_lines(made_sheet)

    def _keep(self, texts: dict[str, tuple[str, str, str]]) -> None:
        folder = user_data_folder() / "sheets"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            for name, (text, _, _) in texts.items():
                write_whole(folder / name, text)
        except OSError as error:
            self.message.say(
                f"The sheet could not be kept on this machine ({error.strerror}). Use the links to save it.",
                "bad",
            )
            return
        self.message.say(f"The sheet is made, and kept in {folder}. Use a link to save it elsewhere.", "good")

    def _count_lines(self, made_sheet: dict) -> None:
        counts = [f"{outcome}: {number}." for outcome, number in made_sheet["summary"].items()]
        open_ones = [
            f"{views.MARKS[f['outcome']]} {f['about'] or f['key']}: {f['words']}."
            for f in jobsheet.open_findings(made_sheet)
        ]
        missing = tosheet.missing(self.job)
        self.tell(
            jobsheet.NOTICE,
            " ".join(counts),
            f"Readings on the sheet: {len(self.job.readings)}. Still without a reading of yours: {len(missing)}.",
            *(f"Missing: {one.title} (chapter {one.chapter})." for one in missing),
            *open_ones,
        )


def missing_scene(page: Page) -> Scene:
    """How many of the sheet's readings are still to be taken."""
    # A scale that ended at the number of lines would give the number away on a new job.
    return on_scale("Readings still missing", len(tosheet.missing(page.job)), "1", 0, 25, 0, 0.5)


TOPICS: Topics = {
    "survey-checks": lambda page: ChecksPanel(page.job, ("03", "04"), "The survey list"),
    "run-checks": lambda page: ChecksPanel(page.job, ("05",), "The new run"),
    "worktop-checks": lambda page: ChecksPanel(page.job, ("07",), "At the worktop"),
    "live-checks": lambda page: ChecksPanel(page.job, ("08", "12"), "Gas on: nose, fluid and flame"),
    "handover-checks": lambda page: ChecksPanel(page.job, ("13", "14"), "Before you leave"),
    "findings": FindingsPanel,
    "own-findings": OwnFindings,
    "advice": AdvicePanel,
    "sheet": SheetPanel,
}
SCENES: Scenes = {"13": findings_scene, "14": missing_scene}
