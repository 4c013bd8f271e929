"""The assessor sets a paper: choose questions, see each as a candidate will, build, and hand out the right folder."""

from __future__ import annotations

from pathlib import Path

import ipywidgets

from gaslab.assess import chain, desk, folders, leaks, pack, papers
from gaslab.assess.papers import Plan
from gaslab.assess.variants import PaperError, Question
from gaslab.escape import clean
from gaslab.learn import chapters, items
from gaslab.show.panels import controls as made
from gaslab.show.panels.common import paragraphs
from gaslab.show.panels.desk_common import Bar, DeskPanel, line_box, long_box, tick
from gaslab.show.panels.page import Page, Scenes, Topics

FORMS = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 20, 40)
MOST_MARKS = 10
OWN = "your own"
ASK_DECISION = "Ask for the decision too: yes or no, after the last step"
# The preview stands in the notebook, so it takes the notebook's letters and only its boxes are drawn.
PREVIEW_STYLE = (
    "<style>.gl-paper .box{display:inline-block;border:1px solid;white-space:pre}"
    ".gl-paper .stem{white-space:pre-line}.gl-paper{border:1px dashed;padding:10px}</style>"
)


class SettingPanel(DeskPanel):
    """Choose families, steps, marks and critical questions; preview each; build the packs and the key."""

    def __init__(self):
        super().__init__("Choose questions one by one, look at each, then build the paper.", "Set a paper")
        self.questions: list[Question] = []
        self.folder = None  # of the paper built last
        self.steps = ipywidgets.VBox()
        self.page, self.bar = ipywidgets.HTML(), Bar()
        self.controls.update(
            chapter=made.choice("Chapter", self._chapters()),
            family=made.choice("Question", ["none"]),
            marks=made.choice("Marks for each step", {str(n): n for n in range(1, MOST_MARKS + 1)}),
            decision=tick(ASK_DECISION),
            decision_marks=made.choice(
                "Marks for the decision", {str(n): n for n in range(1, MOST_MARKS + 1)}
            ),
            critical=tick("Critical: it must be right, whatever the score"),
            look=made.button("Show me this question"),
            add=made.button("Add it to the paper", main=True),
            take_out=made.button("Take the last one out"),
            title=line_box("Title of the paper", "Kitchen refit numbers", wide=True),
            date=line_box("Date, as year-month-day", hint="2031-11-28"),
            forms=made.choice("Number of forms", {str(n): n for n in FORMS}, 4),
            candidates=long_box("Candidate numbers, one a line (may stay empty)", "GAS-0142"),
            build=made.button("Build the paper", main=True),
        )
        self.on_change(self.controls["chapter"], self._of_chapter)
        self.on_change(self.controls["family"], self._of_family)
        for name, handler in (
            ("look", self._look),
            ("add", self._add),
            ("take_out", self._take_out),
            ("build", self._build),
        ):
            self.on_click(self.controls[name], handler)
        self._place()
        damaged = desk.mend_questions()
        self._of_chapter()
        self._tell()
        if damaged:
            self.message.say(" ".join(damaged), "bad")

    def _place(self) -> None:
        c = self.controls
        row = ipywidgets.HBox([c[n] for n in ("look", "add", "take_out")], layout={"flex_flow": "row wrap"})
        self.deciding = ipywidgets.VBox([c["decision"], c["decision_marks"]])
        choose = [
            c["chapter"],
            c["family"],
            self.steps,
            c["marks"],
            self.deciding,
            c["critical"],
            row,
            self.page,
        ]
        self.plan_lines = ipywidgets.HTML()
        whole = [c[n] for n in ("title", "date", "forms", "candidates", "build")]
        self.side.layout.max_width = "100%"
        self.side.children = (*choose, self.plan_lines, *whole, self.bar)
        self.widget.children = (self.style, self.head, self.side, self.message, self.lines)

    @staticmethod
    def _chapters() -> dict[str, str]:
        found = {
            f"{n} {chapters.words(n).title}": n for n in chapters.numbers() if chapters.words(n).families
        }
        return {**found, "Your own questions": OWN}

    def _of_chapter(self) -> None:
        """Offer the families of a chapter, or the kept ones."""
        chapter = self.controls["chapter"].value
        bank = desk.own_bank()
        known = sorted(bank.own) if chapter == OWN else [
            family for family in chapters.words(chapter).families if family in items.families()
        ]  # fmt: skip
        self.controls["family"].options = [(bank.family(family).title, family) for family in known] or [
            ("none", "")
        ]
        self.controls["family"].value = self.controls["family"].options[0][1]
        self._of_family()

    def _of_family(self) -> None:
        family = self.controls["family"].value
        plan = desk.own_bank().family(family) if family else None
        asks = {step.id: f"{step.kind}: {plan.with_facts(step.ask)}" for step in plan.steps} if plan else {}
        self.ticks = {step: tick(ask, True) for step, ask in asks.items()}
        self.limits = tuple(plan.with_facts(limit.ask) for limit in plan.limits) if plan else ()
        self.controls["decision"].value = False  # each question is asked for itself
        self.controls["decision"].description = clean(" ".join((f"{ASK_DECISION}.", *self.limits)))
        self.deciding.layout.display = "" if self.limits else "none"
        self.steps.children = tuple(self.ticks.values())
        self.page.value = ""

    def _question(self) -> Question:
        family = self.controls["family"].value
        if not family:
            raise PaperError("You have kept no question of your own yet. Write one below, and keep it.")
        wanted = tuple(step for step, box in self.ticks.items() if box.value)
        if not wanted:
            raise PaperError("Tick at least one step.")
        # All of them ticked means every step that gives nothing away.
        steps = None if len(wanted) == len(self.ticks) else wanted
        decision = (
            self.controls["decision_marks"].value if self.limits and self.controls["decision"].value else 0
        )
        return Question(
            family, steps, self.controls["marks"].value, self.controls["critical"].value, decision
        )

    def _look(self) -> None:
        page = papers.preview(self._question(), desk.own_bank()).decode("utf-8")
        body = page.partition("<body>")[2].rpartition("</body>")[0]
        self.page.value = f'{PREVIEW_STYLE}<div class="gl-paper">{body}</div>'
        self.message.say(
            "This is how the candidate sees it. The numbers are new each time; no paper has these."
        )

    def _add(self) -> None:
        question = self._question()
        papers.preview(question, desk.own_bank())  # a question that cannot stand on a paper is refused here
        self.questions.append(question)
        self.controls["critical"].value = self.controls["decision"].value = (
            False  # the next is asked for itself
        )
        self._tell()
        self.message.say(f"Question {len(self.questions)} is on the paper.", "good")

    def _take_out(self) -> None:
        if not self.questions:
            raise PaperError("The paper holds no question yet.")
        self.questions.pop()
        self._tell()
        self.message.say("The last question is out.")

    def _tell(self) -> None:
        bank = desk.own_bank()
        lines = [
            f"Question {n}: {bank.family(q.family).title}. "
            f"{'All its steps' if q.steps is None else 'Steps: ' + ', '.join(q.steps)}, {q.marks} a step."
            f"{f' The decision too: {pack.marks_words(q.decision)}.' if q.decision else ''}"
            f"{' Critical.' if q.critical else ''}"
            for n, q in enumerate(self.questions, start=1)
        ]
        self.plan_lines.value = paragraphs(*(lines or ["The paper holds no question yet."]))

    def _build(self) -> None:
        plan = Plan(self.controls["title"].value, self.controls["date"].value, tuple(self.questions),
                    self.controls["forms"].value)  # fmt: skip
        secret = papers.new_secret()
        candidates = self.controls["candidates"].value.split()
        papers.checked_plan(plan)
        self.message.say("Building. Each number on it is searched for answers.")
        paper = papers.build(plan, secret, desk.own_bank(), self.bar.show)
        self.folder = desk.write_paper(paper, secret, candidates)
        self.tell(*built_lines(self.folder))
        self.message.say(f"Paper {paper.number} is built. {desk.NEVER_HAND_OUT}", "good")


def built_lines(folder: Path) -> tuple[str, ...]:
    """Return what an assessor must know about a paper that was just written."""
    hand_out, keep = folder / folders.HAND_OUT, folder / folders.ASSESSOR
    parity = (keep / "parity.txt").read_text(encoding="utf-8").splitlines()
    searched = len(leaks.folder_files(hand_out))
    found = chain.strict_json((keep / "leaks.json").read_bytes(), "the leak report")
    said = [leak for form in found.values() for leak in form] or ["Nothing was found."]
    seats = f"Who sits which form: {keep / desk.SEATING}." if (keep / desk.SEATING).exists() else ""
    return (
        f"Hand out only what is in: {hand_out}. Each form has a page to print and a file for the notebook.",
        f"Keep and never hand out: {keep}. It holds the key, the marking guide and the secret.",
        f"Leak report: {searched} files were searched for every answer, slip and secret. {' '.join(said)}",
        f"Parity report: {' '.join(parity)}",
        "Question packages in QTI 2.1 and 3.0 are in the same folder. They are keys too: they hold the answers.",
        "Follow-through marking is not in those packages. A decision in them is marked in truth alone.",
        seats,
        f"When the paper was sat, put the attempt files in: {folder / desk.CAME_BACK}.",
        desk.SUPERVISED,
    )


def setting(page: Page) -> SettingPanel:
    """Return the panel for a notebook page."""
    return SettingPanel()


TOPICS: Topics = {"setting": setting}
SCENES: Scenes = {}
