"""A candidate sits a paper: every answer is kept at once, looked over before hand-in, and closed by a receipt code.

Nothing here can mark. A paper that counts is sat under supervision; see the assessor's pages.
"""

from __future__ import annotations

from pathlib import Path

import ipywidgets

from gaslab.assess import desk, folders, pack, sitting
from gaslab.assess.attempts import Attempt
from gaslab.assess.pack import PackError
from gaslab.assess.sitting import Asked, Part, Sheet
from gaslab.escape import clean, html_text
from gaslab.refit.folder import user_data_folder
from gaslab.show.panels import controls as made
from gaslab.show.panels.common import paragraphs
from gaslab.show.panels.desk_common import DeskPanel, line_box
from gaslab.show.panels.opening import table
from gaslab.show.panels.sitting_boxes import DecisionBox, PartBox, box_of

ATTEMPTS = "attempts"
SAFE_PLACE = "Each answer is kept as soon as you leave its box."


class SittingPanel(DeskPanel):
    """Bring the paper file, give a candidate number, answer, look over, hand in. `model` is the attempt."""

    def __init__(self, paper_file: Path | None = None):
        super().__init__("Bring the paper file, give your candidate number, and begin.", "Sit a paper")
        self.sheet: Sheet | None = None
        self.model: Attempt | None = None
        self.at = 0
        self.boxes: dict[tuple[str, str], PartBox | DecisionBox] = {}
        self.controls.update(
            bring=ipywidgets.FileUpload(accept=".json", multiple=False, description="Bring the paper file"),
            newest=made.button("Look at my newest paper"),
            candidate=line_box("Candidate number (not your name)", hint="GAS-0142"),
            begin=made.button("Begin", main=True),
            back=made.button("Question before"),
            next=made.button("Next question"),
            look_over=made.button("Look over and hand in", main=True),
            to_questions=made.button("Back to the questions"),
            hand_in=made.button("Hand in", main=True),
            sure=made.button("Yes, hand in for good", main=True),
        )
        self.controls["bring"].observe(self.guarded(self._brought), "value")
        handlers = {
            "newest": self._newest, "begin": self._begin, "back": lambda: self._go(-1), "next": lambda: self._go(1),
            "look_over": self._look_over, "to_questions": self._ask, "hand_in": self._confirm, "sure": self._hand_in,
        }  # fmt: skip
        for name, handler in handlers.items():
            self.on_click(self.controls[name], handler)
        self.widget.children = (self.style, self.head, self.lines, self.side, self.message)
        self.side.layout.max_width = "100%"
        self._lay("bring", "newest", "candidate", "begin")
        if paper_file is not None:
            self.guarded(lambda: self._open(Path(paper_file).read_bytes()))()

    def _lay(self, *names: str, first: tuple[ipywidgets.Widget, ...] = ()) -> None:
        buttons = [self.controls[n] for n in names if isinstance(self.controls[n], ipywidgets.Button)]
        boxes = [self.controls[n] for n in names if self.controls[n] not in buttons]
        row = ipywidgets.HBox(buttons, layout={"flex_flow": "row wrap"})
        self.side.children = (*first, *boxes, row)

    def _brought(self, change) -> None:
        if change["new"]:
            self._open(bytes(change["new"][0]["content"]))

    def _newest(self) -> None:
        """Open the first form of the paper that this user set last."""
        packs = [
            p
            for paper in desk.known_papers().values()
            for p in sorted(paper.glob(f"{folders.HAND_OUT}/*/{pack.JSON_NAME}"))
        ]
        if not packs:
            raise PackError("You have set no paper yet. Build one first.")
        self._open(packs[0].read_bytes())

    def _open(self, data: bytes) -> None:
        self.sheet = sitting.open_sheet(data)
        self.tell(f"{self.sheet.title}. Paper {self.sheet.paper}, {self.sheet.form}, {self.sheet.date}.",
                  f"{len(self.sheet.questions)} questions. {SAFE_PLACE}")  # fmt: skip
        self.message.say("Now give your candidate number and begin.")

    def _begin(self) -> None:
        if self.sheet is None:
            raise PackError("Bring the paper file first.")
        place = user_data_folder() / ATTEMPTS
        self.model, again = sitting.begin(self.sheet, self.controls["candidate"].value.strip(), place)
        saved = self.model.answers()
        self.boxes = {
            (part.item, part.step): box_of(
                part, number, saved.get((part.item, part.step), ("", "")), self._keep
            )
            for question in self.sheet.questions
            for number, part in enumerate(question.parts, start=1)
        }
        if self.model.handed_in:
            self._done("This paper was handed in before.")
            return
        self._ask()
        self.message.say(
            "Your attempt was taken up where it stopped." if again else f"Begun. {SAFE_PLACE}", "good"
        )

    def _keep(self, part: Part, now: tuple[str, str], read: str | None) -> bool:
        """Put one answer on the disk; return False, with a sentence, when that fails."""
        kept: list[bool] = []

        def put() -> None:
            self._attempt.answer(part.item, part.step, *now, read)
            kept.append(True)

        self.guarded(put)()
        return bool(kept)

    @property
    def _attempt(self) -> Attempt:
        assert self.model is not None, "the boxes come with the attempt"
        return self.model

    @property
    def _questions(self) -> tuple[Asked, ...]:
        assert self.sheet is not None, "the questions come with the paper"
        return self.sheet.questions

    def _go(self, way: int) -> None:
        self.at = min(max(self.at + way, 0), len(self._questions) - 1)
        self._ask()

    def _ask(self) -> None:
        """Show the question in hand with its boxes."""
        question = self._questions[self.at]
        self.tell(
            f"Question {self.at + 1} of {len(self._questions)}. "
            f"Answered so far: {self._answered()} of {len(self.boxes)} steps."
        )
        self.lines.value += question_words(question)
        self._lay(
            "back",
            "next",
            "look_over",
            first=tuple(self.boxes[(p.item, p.step)].widget for p in question.parts),
        )
        self.controls["back"].disabled = self.at == 0
        self.controls["next"].disabled = self.at + 1 == len(self._questions)
        self.message.clear()

    def _answered(self) -> int:
        return sum(1 for box in self.boxes.values() if box.saved[0].strip())

    def _look_over(self) -> None:
        """Show all answers as they are kept, so that nothing is handed in unseen."""
        rows, doubts = [], []
        for box in self.boxes.values():
            text, unit = box.saved
            place = f"{box.part.item}, {box.part.step}"
            rows.append((place, box.part.ask, clean(text) or "–", unit or "–"))
            doubt = box.doubt()
            if doubt:
                doubts.append(f"{place}: {doubt}")
        self.tell("Look over your answers. Nothing is handed in yet.", *doubts)
        self.lines.value += table("Your answers", ("step", "asked", "answer", "unit"), rows)
        self._lay("to_questions", "hand_in")
        self.message.clear()

    def _confirm(self) -> None:
        self._lay("to_questions", "sure")
        self.message.say(
            f"You answered {self._answered()} of {len(self.boxes)} steps. "
            "After this nothing can be changed. Are you sure?",
            "doubt",
        )

    def _hand_in(self) -> None:
        self._attempt.hand_in()
        self._done("Handed in.")

    def _done(self, head: str) -> None:
        self._lay()
        self.tell(
            f"{head} Your receipt code: {self._attempt.receipt}",
            "Write this code on the sheet of the person in charge. It shows that your file was not changed later.",
            f"Hand over this file: {self._attempt.path}",
        )
        self.message.say(f"Receipt code: {self._attempt.receipt}", "good")


def question_words(question: Asked) -> str:
    """Return a question as HTML, with what its instrument shows."""
    shows = [f"{label}: {figure} {unit}".strip() for label, figure, unit in question.shows]
    lines = (*question.stem.split("\n"), *shows)
    return f"<h4>{html_text(question.item.upper())} · {html_text(question.title)}</h4>{paragraphs(*lines)}"


TOPICS = {"sitting": lambda page: SittingPanel()}
SCENES: dict = {}
