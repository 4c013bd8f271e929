"""An assessor's own question: a small data file, and a checker that says what is wrong with it.

Nothing in the file is run. Its formulas are read into a tree (`learn.formulas`), and every
filter that the course's own questions pass is tried on a few hundred draws.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from gaslab import escape
from gaslab.assess import variants
from gaslab.assess.variants import Bank, PaperError, Question
from gaslab.learn import filters, item_file, items
from gaslab.learn.chance import Chance
from gaslab.learn.family import Drawn, Family

DRAWS = 300
TOO_MANY = 0.5

ADVICE = {
    filters.NOT_A_NUMBER: "A formula divides by zero or has no answer there. Change the formula or the ranges.",
    filters.IMPLAUSIBLE: "The answer leaves the range you called plausible. Narrow the numbers, or widen that range.",
    filters.COLLISION: "A slip lies inside the band of right answers, or beside it. Change the slip or the ranges.",
    filters.KNIFE_EDGE: "The limit lies inside the band, so nobody could tell. Keep the numbers away from the limit.",
    filters.CONDITION: (
        "The question is ill-conditioned: the last figure of one number decides the answer. "
        "Ask for decimal places, or keep numbers that are taken from each other further apart."
    ),
    filters.GIVEN_AWAY: "The question prints a number that would be marked right. Change the words or the ranges.",
}


@dataclass(frozen=True)
class Checked:
    """What the checker found. `family` is there when the question can be used."""

    family: Family | None
    problems: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def text(self) -> str:
        """Return the findings as lines of plain text."""
        head = "The question cannot be used yet." if self.problems else "The question can be used."
        return "\n".join((head, *self.problems, *self.notes))


def check(text: str) -> Checked:
    """Return what is wrong with an assessor's question file, in plain sentences."""
    try:
        family = item_file.read_text(text)
    except item_file.ItemFileError as error:
        return Checked(None, (_sentence(str(error)),), ())
    try:
        bank = Bank([family])
    except PaperError as error:
        return Checked(None, (str(error),), ())
    turned_away = trial(family)
    problems = _too_often(turned_away)
    if problems:
        return Checked(None, problems, ())
    notes = [f"{sum(turned_away.values())} of {DRAWS} trial draws were turned away by the filters."]
    try:
        asked = variants.asked(Question(family.id), bank).steps
    except PaperError as error:
        return Checked(family, (), (*notes, str(error)))
    left = [step.id for step in family.steps if step.id not in asked]
    if left:
        notes.append(f"A paper leaves out {', '.join(left)}: the answer stands on the instrument.")
    return Checked(family, (), tuple(notes))


def trial(family: Family, draws: int = DRAWS) -> Counter:
    """Return how many trial draws were turned away, by the sentence that says why."""
    chance = Chance(b"trial draws, the same for everyone")
    found: Counter = Counter()
    for _ in range(draws):
        params = {
            part.name: part.value(chance.below(part.count))
            if isinstance(part, Drawn)
            else chance.pick(part.texts)
            for part in family.drawn
        }
        try:
            items.build(family, params)
        except items.ItemError as error:
            found[str(error).partition("these numbers: ")[2] or str(error)] += 1
    return found


def _too_often(turned_away: Counter, draws: int = DRAWS) -> tuple[str, ...]:
    if sum(turned_away.values()) <= TOO_MANY * draws:
        return ()
    return tuple(
        f"{count} of {draws} trial draws fail ({words.rstrip('.')}). {_advice(words)}"
        for words, count in turned_away.most_common()
    )


def _advice(words: str) -> str:
    return next((said for reason, said in ADVICE.items() if reason in words), "Change the ranges.")


def _sentence(words: str) -> str:
    """Return a fault as a sentence that is safe to print."""
    plain = " ".join(escape.clean(words).split())
    plain = plain[:1].upper() + plain[1:]
    return plain if plain.endswith(".") else plain + "."
