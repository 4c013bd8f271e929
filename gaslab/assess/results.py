"""What marking gives: plain frozen records, the same for every export and picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gaslab.learn import marking

AGAINST_OWN = "D4"  # the rule of a decision that is wrong and does not follow from the own figure either
DECISION = "decision"  # the kind of a yes or no to a limit; steps have the kinds of their families


@dataclass(frozen=True, slots=True)
class StepResult:
    """One step of one attempt with its reason. `marks` is after an override, if there is one."""

    item: str
    family: str
    step: str
    kind: str
    text: str  # as typed
    unit: str
    read: str | None  # the number the marker read, or None
    outcome: str
    marks: int
    most: int
    precise: bool | None  # given as precisely as asked; None when there is nothing to judge
    slip: str
    rule: str
    words: str
    follow_through: bool = False
    unsafe: bool = False  # it would pass what fails in truth
    override: str = ""  # the written reason of an override

    @property
    def consistent_but_unsafe(self) -> bool:
        """True when an unsafe answer fits the candidate's own figures, as every unsafe figure does."""
        return self.unsafe and not self.rule.startswith(AGAINST_OWN)

    @property
    def unsafe_words(self) -> str:
        """How an unsafe answer is told to the assessor."""
        head = "Consistent but unsafe" if self.consistent_but_unsafe else "Unsafe, and against the own figure"
        return f"{head}: {self.words}"

    @property
    def unread(self) -> bool:
        """True when something was typed that neither a number nor a decision could be read from."""
        return self.outcome == marking.NO_ANSWER


@dataclass(frozen=True, slots=True)
class Result:
    """One attempt, marked."""

    candidate: str
    form: str
    file: str
    receipt: str
    seconds: float
    steps: tuple[StepResult, ...]
    missed: tuple[str, ...]  # critical items not right in truth
    notes: tuple[str, ...] = ()

    @property
    def score(self) -> int:
        return sum(step.marks for step in self.steps)

    @property
    def most(self) -> int:
        return sum(step.most for step in self.steps)

    @property
    def precision(self) -> tuple[int, int]:
        """(answers given as precisely as asked, answers where that could be judged)."""
        judged = [step.precise for step in self.steps if step.precise is not None]
        return sum(judged), len(judged)

    def by_item(self) -> dict[str, int]:
        """Return the marks of each item."""
        found: dict[str, int] = {}
        for step in self.steps:
            found[step.item] = found.get(step.item, 0) + step.marks
        return found


@dataclass(frozen=True)
class SlipCount:
    """How often one slip was made in one step of a family, out of the answers given to it."""

    family: str
    step: str
    slip: str
    count: int
    answers: int

    @property
    def share(self) -> float:
        return self.count / self.answers if self.answers else 0.0


class SlipCounter:
    """Counts slips one attempt at a time.

    Variants and forms of a family are pooled: one form alone never has enough attempts.
    """

    def __init__(self) -> None:
        self._answers: dict[tuple[str, str], int] = {}
        self._slips: dict[tuple[str, str, str], int] = {}

    def add(self, result: Result) -> None:
        """Count the slips of one attempt, out of the steps that it answered."""
        for step in result.steps:
            if step.text.strip():
                place = (step.family, step.step)
                self._answers[place] = self._answers.get(place, 0) + 1
                if step.slip:
                    self._slips[(*place, step.slip)] = self._slips.get((*place, step.slip), 0) + 1

    def rows(self) -> tuple[SlipCount, ...]:
        """Return every slip that was made, the commonest first."""
        rows = [SlipCount(*place, count, self._answers[place[:2]]) for place, count in self._slips.items()]
        return tuple(sorted(rows, key=lambda row: (-row.count, row.family, row.step, row.slip)))


def teach_next(rows: Sequence[SlipCount]) -> tuple[str, ...]:
    """Return a sentence for each slip that more than a quarter made: these are worth a lesson."""
    return tuple(
        f"{row.count} of {row.answers} made the slip {row.slip} in {row.family}, step {row.step}. "
        "Teach it again."
        for row in rows
        if row.share > 0.25
    )
