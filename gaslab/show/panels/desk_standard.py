"""Two sheets of the assessor: judges' ratings that give the cut, and receipt codes and seals for what came in."""

from __future__ import annotations

from pathlib import Path

from gaslab.assess import attempt_reader, desk, folders, seals, standard
from gaslab.assess.attempt_reader import HandedIn
from gaslab.assess.records import AttemptError
from gaslab.assess.standard import StandardError
from gaslab.learn.answers import read_answer
from gaslab.show.panels import controls as made
from gaslab.show.panels.desk_common import DeskPanel, folder_at, line_box, long_box

MOST_LINES = 20_000


class OfPaper(DeskPanel):
    """A panel about one paper of this user's folder."""

    def __init__(self, instruction: str, title: str):
        super().__init__(instruction, title)
        self.controls.update(
            paper=made.choice("Paper", {"none yet": ""}), again=made.button("Look for papers again")
        )
        self.on_click(self.controls["again"], self.papers)
        self.side.layout.max_width = "100%"

    def papers(self) -> None:
        """Offer the papers of this user's folder."""
        known = desk.known_papers()
        self.controls["paper"].options = [(number, number) for number in known] or [("none yet", "")]
        self.controls["paper"].value = self.controls["paper"].options[0][1]

    @property
    def paper(self) -> Path:
        """The folder of the chosen paper."""
        if not self.controls["paper"].value:
            raise AttemptError("There is no paper yet. Set one first.")
        return desk.papers_folder() / self.controls["paper"].value


def rated(text: str) -> dict[str, list[float]]:
    """Return judge -> ratings from lines such as "J1 0.7 0.55 0.9", or raise StandardError."""
    found: dict[str, list[float]] = {}
    for line in text.splitlines():
        judge, *words = line.split()[:200] or [""]
        if not judge:
            continue
        if judge in found:
            raise StandardError(f"Judge {judge[:40]} stands twice. Give each judge one line.")
        found[judge] = []
        for word in words:
            rating = read_answer(word).value
            if rating is None:
                raise StandardError(
                    f"Judge {judge[:40]}: {word[:20]} cannot be read. Write ratings such as 0.7."
                )
            found[judge].append(float(rating))
    return found


class StandardPanel(OfPaper):
    """Judges say how likely a trainee who is only just good enough gets each item right. That sets the cut."""

    def __init__(self):
        super().__init__(
            "One line for each judge: a code, then one chance from 0 to 1 for each question.", "Set the cut"
        )
        self.controls.update(
            ratings=long_box("Ratings", "J1 0.7 0.6 0.9", rows=6),
            work_out=made.button("Work out the cut", main=True),
            keep=made.button("Keep it as this paper's cut"),
        )
        self.on_click(self.controls["work_out"], self._work_out)
        self.on_click(self.controls["keep"], self._keep)
        self.side.children = tuple(self.controls.values())
        self.papers()

    def _made(self) -> standard.Standard:
        key = desk.key_of_folder(self.paper)
        marks = [item.marks for item in next(iter(key.forms.values()))]
        ratings = rated(self.controls["ratings"].value)
        short = next((judge for judge, row in ratings.items() if len(row) != len(marks)), None)
        if short is not None:
            raise StandardError(f"Judge {short[:40]}: this paper needs {len(marks)} ratings, one a question.")
        return standard.angoff(ratings, marks)

    def _work_out(self) -> None:
        self.model = self._made()
        self.tell(
            f"The cut is {self.model.cut:.2f} of {self.model.most:g} marks, from {self.model.judges} judges.",
            f"Its standard error is {self.model.error:.2f}. The judges' own cuts spread by {self.model.deviation:.2f}.",
            "Critical questions stand outside the cut: each must be right.",
            *self.model.advice,
        )
        self.message.clear()

    def _keep(self) -> None:
        made_now = self._made()
        _, damaged = desk.standard_or_words(self.paper)  # a damaged one stands in nobody's way
        desk.keep_standard(self.paper, made_now, rated(self.controls["ratings"].value))
        self._work_out()
        kept = "Kept with the paper. The marking panel takes it when you choose the paper."
        self.message.say(f"{damaged} {kept}".strip(), "good")


class SealPanel(OfPaper):
    """Seal the attempts as they come in, and hold them against their receipt codes and seals later."""

    def __init__(self):
        super().__init__(
            "Seal the attempts on the day they come in. Check them whenever a mark is asked about.",
            "Seals and receipts",
        )
        self.controls.update(
            folder=line_box("Folder of attempt files", wide=True),
            register=long_box(
                "Receipt codes written down: candidate, then code", "GAS-0142 0Z7R-009X-0NR5-EJXR"
            ),
            seal=made.button("Seal them now", main=True),
            check=made.button("Check seals and receipts"),
        )
        self.on_change(self.controls["paper"], self._of_paper)
        self.on_click(self.controls["seal"], self._seal)
        self.on_click(self.controls["check"], self._check)
        self.side.children = tuple(self.controls.values())
        self.papers()
        self._of_paper()

    def _of_paper(self) -> None:
        chosen = self.controls["paper"].value
        self.controls["folder"].value = str(self.paper / desk.CAME_BACK) if chosen else ""

    def _found(self) -> list:
        key = desk.key_of_folder(self.paper)
        place = folder_at(self.controls["folder"].value)
        return list(attempt_reader.read_folder(place, key.paper, dict(key.digests)))

    def _seal(self) -> None:
        found = self._found()
        if not any(isinstance(each, HandedIn) for each in found):
            raise AttemptError("There is no attempt in that folder to seal.")
        count = seals.seal_all(
            found, folders.read_secret(self.paper), desk.assessor_file(self.paper, desk.SEALS)
        )
        self.message.say(f"{count} attempts are sealed. {len(found) - count} files are not attempts.", "good")

    def _check(self) -> None:
        found = self._found()
        place = desk.assessor_file(self.paper, desk.SEALS)
        if not place.exists():
            raise AttemptError("These attempts have no seals yet. Seal them first.")
        said = [*seals.broken(found, folders.read_secret(self.paper), seals.read(place))]
        register = self._register()
        if register:
            said += seals.receipts_differ(found, register)
        self.tell(*(said or ["Every attempt is the one that was sealed."]))
        self.message.say(
            f"{len(said)} things to look at." if said else "All is as it was.", "bad" if said else "good"
        )

    def _register(self) -> dict[str, str]:
        register: dict[str, str] = {}
        for line in self.controls["register"].value.splitlines()[:MOST_LINES]:
            candidate, _, code = line.strip().partition(" ")
            if candidate in register:
                raise AttemptError(f"Candidate {candidate[:20]} stands twice among the receipt codes.")
            if candidate:
                register[candidate] = code
        return register


TOPICS = {"cut": lambda page: StandardPanel(), "seals": lambda page: SealPanel()}
SCENES: dict = {}
