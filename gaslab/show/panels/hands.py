"""Commit, lock, reveal: the class guesses by show of hands or by guess files; then the truth is drawn over the guesses.

Until the reveal the number is not worked out at all, so no picture, control or text can hold it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

import ipywidgets

from gaslab import units
from gaslab.learn import chapters, guesses
from gaslab.learn.answers import read_answer
from gaslab.refit.folder import FileFault, user_data_folder
from gaslab.show.drawings.scale import prediction_scale
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame
from gaslab.show.panels.common import paragraphs
from gaslab.show.panels.opening import download
from gaslab.show.panels.scenes import Scene

CHOOSE, GATHER, LOCKED, REVEALED = "choose", "gather", "locked", "revealed"
MOST_HANDS = 500
INSTRUMENT, GUESSES = "the instrument", "the guesses"
# The controls stand in rows under the picture, so that question, tally and controls share one screen.
ROWS = (
    ("chapter", "begin", "guess", "hands", "add", "back"),
    ("lock", "reveal", "again", "show"),
    ("folder", "read"),
)
CLASS_FOLDER = "class"  # in the user's own folder, until another is typed


@dataclass
class Tally:
    """What the class has committed to: the stage, each step of the count, and the truth once it was revealed."""

    stage: str = CHOOSE
    chapter: str = ""
    steps: list[tuple[Decimal, int]] = field(default_factory=list)
    seen: set[str] = field(default_factory=set)  # guess files that were counted
    revealed: Scene | None = None

    def counts(self) -> dict[Decimal, int]:
        """Return guess -> hands, in order of the guesses."""
        found: Counter[Decimal] = Counter()
        for value, hands in self.steps:
            found[value] += hands
        return dict(sorted(found.items()))

    def guesses(self) -> list[float]:
        """Return every single guess, in order."""
        return [float(value) for value, hands in self.counts().items() for _ in range(hands)]


def guess_link(chapter: str) -> Callable[[Decimal], str]:
    """Return what makes the link with which a trainee saves a locked guess for the class."""
    unit = chapters.prediction(chapter).unit

    def link(value: Decimal) -> str:
        return download(
            f"guess-{chapter}.json",
            guesses.guess_text(chapter, unit, value),
            "application/json",
            "Save my guess for the class",
        )

    return link


class ShowOfHands(Frame):
    """The prediction of any chapter, put to a whole class. `model` is a `Tally`.

    `scenes` maps a chapter's number to its scene, made from the page's job when it is called.
    """

    def __init__(self, page, scenes):
        super().__init__("Choose a chapter. Ask, count the hands, lock, then reveal.", "Show of hands")
        self.page, self.scenes, self.model = page, scenes, Tally()
        self.asked = ipywidgets.HTML()
        self.count = ipywidgets.HTML()
        titles = {f"{n} {chapters.words(n).title}": n for n in sorted(scenes)}
        self.controls.update(
            chapter=made.choice("Chapter", titles),
            begin=made.button("Put the question", main=True),
            show=made.choice("Show", [INSTRUMENT, GUESSES]),
            guess=made.entry("Guess"),
            hands=made.entry("Hands up"),
            add=made.button("Add these hands", main=True),
            back=made.button("Take the last back"),
            folder=made.entry("Or a folder of guesses"),
            read=made.button("Read the folder"),
            lock=made.button("Lock the guesses"),
            reveal=made.button("Reveal", main=True),
            again=made.button("Another question"),
        )
        self.controls["folder"].placeholder = "type a folder"
        self.controls["folder"].add_class("gl-wide")
        self.controls["folder"].value = str(user_data_folder() / CLASS_FOLDER)
        for name, act in (
            ("begin", self._begin), ("add", self._add), ("back", self._back), ("read", self._read),
            ("lock", self._lock), ("reveal", self._reveal), ("again", self._again),
        ):  # fmt: skip
            self.on_click(self.controls[name], act)
        self.controls["show"].observe(lambda change: self._picture(), "value")
        cell = {"flex": "1 1 23%", "min_width": "200px", "max_width": "32%"}
        self.cells = {
            name: ipywidgets.VBox([control], layout=cell) for name, control in self.controls.items()
        }
        row = {"flex_flow": "row wrap", "align_items": "flex-end", "width": "100%"}
        self.cells["folder"].layout = ipywidgets.Layout(flex="1 1 60%", min_width="200px", max_width="76%")
        rows = [ipywidgets.HBox([self.cells[n] for n in names], layout=row) for names in ROWS]
        self.side.children = (*rows[:2], self.count, self.message, *rows[2:])
        self.side.layout = ipywidgets.Layout(flex="1 1 100%", width="100%", max_width="100%")
        self.widget.children = (self.style, self.head, self.asked, self.widget.children[2])
        self._stand()

    @property
    def text(self) -> str:
        return " ".join(filter(None, (self.question, self.said, self.message.sentence)))

    @property
    def prediction(self) -> chapters.Prediction:
        return chapters.prediction(self.model.chapter)

    @property
    def unit(self) -> str:
        return units.printed(self.prediction.unit)

    def _stand(self) -> None:
        """Show what belongs to the stage, and nothing of a later one."""
        stage = self.model.stage
        shown = {
            CHOOSE: ("chapter", "begin"),
            GATHER: ("show", "guess", "hands", "add", "back", "folder", "read", "lock"),
            LOCKED: ("show", "reveal"),
            REVEALED: ("show", "again"),
        }[stage]
        for name, cell in self.cells.items():
            cell.layout.display = "" if name in shown else "none"
        asking = stage != CHOOSE
        self.head.layout.display = "none" if asking else ""
        self.question = self.prediction.question if asking else ""
        self.asked.value = paragraphs(self.question)
        self._tell()
        self._picture()

    def _tell(self) -> None:
        counts = self.model.counts() if self.model.stage != CHOOSE else {}
        hands = "; ".join(
            f"{value:f} {self.unit}: {count}".replace(" :", ":") for value, count in counts.items()
        )
        total = sum(counts.values())
        self.said = f"{total} {'hand' if total == 1 else 'hands'}. {hands}." if counts else ""
        beyond = sum(hands for value, hands in counts.items() if not self.ends[0] <= value <= self.ends[1])
        if beyond:
            self.said += f" {beyond} beyond the scale, drawn at its end."
        self.count.value = paragraphs(self.said)

    def _picture(self) -> None:
        model = self.model
        if model.stage == CHOOSE:
            self.draw("")
        elif self.controls["show"].value == INSTRUMENT:
            # Drawn from the question until the reveal. The number is not asked for here.
            self.draw(model.revealed.picture(True) if model.revealed else self.before)
        else:
            truth = (
                {"result": model.revealed.value, "result_text": model.revealed.text} if model.revealed else {}
            )
            self.draw(
                prediction_scale(
                    *self.ends,
                    self.unit,
                    predictions=model.guesses(),
                    title="The class's guesses and the reading",
                    **truth,
                )
            )

    def _begin(self) -> None:
        self.model = Tally(GATHER, self.controls["chapter"].value)
        scene = self.scenes[self.model.chapter](self.page)
        self.ends, self.before = (scene.low, scene.high), scene.picture(False)
        self.controls["guess"].description = f"Guess [{self.unit}]" if self.unit else "Guess"
        self.controls["show"].value = INSTRUMENT
        self.message.clear()
        self._stand()

    def _typed(self, name: str, unit: str) -> Decimal | None:
        answer = read_answer(self.controls[name].value, unit)
        if answer.value is None:
            self.message.say(f"{self.controls[name].description}: {answer.question}", "bad")
        return answer.value

    def _add(self) -> None:
        if self.model.stage != GATHER:
            return
        guess = self._typed("guess", self.prediction.unit)
        hands = None if guess is None else self._typed("hands", "1")
        if guess is None or hands is None:
            return
        if hands != int(hands) or not 1 <= hands <= MOST_HANDS:
            self.message.say(
                f"Hands up: read {hands:f}; needed a whole number from 1 to {MOST_HANDS}.", "bad"
            )
            return
        self.model.steps.append((guess, int(hands)))
        self.controls["guess"].value = self.controls["hands"].value = ""
        self.controls["show"].value = GUESSES  # the tally, for all to see
        self.message.clear()
        self._picture()
        self._tell()

    def _back(self) -> None:
        if self.model.stage != GATHER or not self.model.steps:
            self.message.say("There is nothing to take back.", "bad")
            return
        value, hands = self.model.steps.pop()
        self.message.say(f"Taken back: {hands} at {value:f} {self.unit}.".replace(" .", "."))
        self._tell()
        self._picture()

    def _read(self) -> None:
        if self.model.stage != GATHER:
            return
        place = Path(self.controls["folder"].value.strip())
        try:
            found, refused = guesses.read_folder(place, self.model.chapter, self.prediction.unit)
        except FileFault as fault:
            self.message.say(f"{fault}.", "bad")
            return
        new = [guess for guess in found if guess.id not in self.model.seen]
        self.model.seen.update(guess.id for guess in new)
        self.model.steps += [(guess.value, 1) for guess in new]
        skipped = " ".join(str(one) for one in refused)
        self.message.say(
            f"{len(new)} new guesses from {len(found)} files. {skipped}".strip(),
            "doubt" if refused else "plain",
        )
        self._tell()
        self._picture()

    def _lock(self) -> None:
        if self.model.stage != GATHER:
            return
        if not self.model.steps:
            self.message.say("Nobody has guessed yet. Add some hands first.", "bad")
            return
        self.model.stage = LOCKED
        self.controls["show"].value = GUESSES
        self._stand()
        self.message.say("Locked. Nobody can change a guess now. Ask for reasons, then reveal.")
        self.controls["reveal"].focus()

    def _reveal(self) -> None:
        if self.model.stage != LOCKED:
            return
        self.model.revealed = self.scenes[self.model.chapter](self.page)
        self.model.stage = REVEALED
        self._stand()
        self.message.say(self._verdict(), "plain")

    def _verdict(self) -> str:
        """Return what came out and where the class stood, to the step that the instrument shows."""
        truth, guessed = self.model.revealed, self.model.guesses()
        near = sum(abs(g - truth.value) <= truth.resolution * 1.000001 for g in guessed)
        below = sum(g < truth.value - truth.resolution * 1.000001 for g in guessed)
        return (
            f"It shows {truth.text}. Of {len(guessed)}: {below} guessed less, {near} hit it, "
            f"{len(guessed) - below - near} guessed more. {self.prediction.reasons.question}"
        )

    def _again(self) -> None:
        self.model = Tally()
        self.message.clear()
        self._stand()

    def restyle(self) -> None:
        super().restyle()
        if isinstance(self.model, Tally):
            if self.model.stage in (GATHER, LOCKED):
                self.before = self.scenes[self.model.chapter](self.page).picture(False)
            self._picture()
