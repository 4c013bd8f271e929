"""The parity report: what differs between forms, counted before anyone sits them.

Forms of one plan share families, steps and marks. What can still differ is told here
for each question: how many figures to type, how large the numbers are, how many numbers
are read, how tight the band is. Where a decision is asked, it is always told which forms
have yes for the right one. Whether forms are equally hard only marks can tell.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from gaslab.assess import exports, leaks
from gaslab.assess.frozen import Item, Step
from gaslab.assess.papers import Paper
from gaslab.learn.variant import NO, YES


@dataclass(frozen=True)
class Row:
    """One measure of one question over the forms."""

    question: str
    measure: str
    low: float
    middle: float
    high: float
    differs: bool
    sentence: str
    always_told: bool = False


def digits_to_type(step: Step) -> int:
    """Return how many figures a right answer takes as asked."""
    places = step.places
    if places is None:
        figures = step.figures or 3
        return figures
    return len(f"{abs(step.value):.{places}f}".replace(".", ""))


def round_numbers(item: Item) -> int:
    """Return how many parameters are whole tens: they make a sum easier."""
    return sum(1 for v in item.params.values() if not isinstance(v, str) and v and math.isclose(v % 10, 0.0))


# Name of a measure -> (how to count it, how far forms may lie apart before it is said).
MEASURES: dict[str, tuple[Callable[[Item], float], float]] = {
    "steps asked": (lambda item: len(item.steps), 0),
    "marks": (lambda item: item.marks, 0),
    "figures to type": (lambda item: sum(map(digits_to_type, item.steps)), 1),
    "numbers in the question": (lambda item: len(leaks.numbers(item.stem)), 1),
    "round numbers": (round_numbers, 1),
    "size of the largest answer (power of ten)": (
        lambda item: max(math.floor(math.log10(abs(s.value))) if s.value else 0 for s in item.steps), 1,
    ),
    "negative answers": (lambda item: sum(1 for s in item.steps if s.value < 0), 0),
    "width of the tightest band (% of the answer)": (
        lambda item: min(100 * (s.hi - s.lo) / abs(s.value) if s.value else 100.0 for s in item.steps), 5,
    ),
}  # fmt: skip


def report(paper: Paper) -> tuple[Row, ...]:
    """Return a row for every question and measure."""
    rows = []
    for place in range(len(paper.plan.questions)):
        column = [form.items[place] for form in paper.forms]
        for name, (count, allowed) in MEASURES.items():
            rows.append(
                _row(
                    column,
                    [form.name for form in paper.forms],
                    name,
                    [float(count(i)) for i in column],
                    allowed,
                )
            )
        rows += [
            _truth(column, [form.name for form in paper.forms], n) for n in range(len(column[0].decisions))
        ]
    return tuple(rows)


def _truth(column: Sequence[Item], forms: Sequence[str], number: int) -> Row:
    """Return how the truth of a decision lies over the forms: 1 is yes and 0 is no."""
    values = [float(item.decisions[number].limit.meets) for item in column]
    place = f"{column[0].identifier.upper()}: the right {column[0].decisions[number].id}"
    says = [
        f"{word} on {', '.join(named)}"
        for word, truth in ((YES, 1.0), (NO, 0.0))
        if (named := [form for form, value in zip(forms, values, strict=True) if value == truth])
    ]
    sentence = f"{place} is {' and '.join(says)}."
    return Row(
        column[0].identifier, f"right {column[0].decisions[number].id} is {YES}", min(values),
        statistics.median(values), max(values), min(values) != max(values), sentence, always_told=True,
    )  # fmt: skip


def _row(
    column: Sequence[Item], forms: Sequence[str], name: str, values: Sequence[float], allowed: float
) -> Row:
    low, high = min(values), max(values)
    differs = high - low > allowed
    first = column[0].identifier.upper()
    sentence = f"{first}: {name} is the same on every form, or near enough."
    if differs:
        lowest, highest = forms[values.index(low)], forms[values.index(high)]
        sentence = f"{first}: {name} runs from {low:g} ({lowest}) to {high:g} ({highest})."
    return Row(column[0].identifier, name, low, statistics.median(values), high, differs, sentence)


def sentences(rows: Sequence[Row]) -> tuple[str, ...]:
    """Return what an assessor should look at, or one sentence that there is nothing."""
    return tuple(row.sentence for row in rows if row.differs or row.always_told) or (
        "The forms agree in everything that is counted.",
    )


def report_csv(rows: Sequence[Row]) -> bytes:
    """Return the report as CSV."""
    kinds = {
        "question": "text",
        "measure": "text",
        "low": "number",
        "median": "number",
        "high": "number",
        "differs": "number",
    }
    return exports.csv_bytes(
        kinds, ((r.question, r.measure, r.low, r.middle, r.high, r.differs) for r in rows)
    )
