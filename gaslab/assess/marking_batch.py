"""Marking a batch with reasons: a pure function of attempts, key, overrides and package version.

Each step is marked by `learn.marking`, which cites its rule. Marking the same again
gives the same bytes. Attempts are read one at a time, so a large batch needs no more
memory than a small one.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from pathlib import Path

from gaslab.assess import attempt_reader, chain, pack
from gaslab.assess.attempt_reader import HandedIn, Refused
from gaslab.assess.cohort import Cohort
from gaslab.assess.frozen import Item, Step
from gaslab.assess.guide import Key, KeyFileError
from gaslab.assess.overrides import Override, Overrides
from gaslab.assess.results import Result, StepResult
from gaslab.assess.variants import Bank
from gaslab.learn import items, marking
from gaslab.learn.answers import read_answer

BLANK = "blank"
SAME = 1e-9  # machines may differ in the last figure of a float; a formula that changed differs by far more
OVERRIDE_RULE = "O1"
RULES = {**marking.RULES, OVERRIDE_RULE: "a person changed the mark and wrote the reason"}


@dataclass(frozen=True)
class Ready:
    """A question with its variant made again from the key's parameters."""

    item: Item
    variant: items.Variant


def prepared(key: Key, bank: Bank | None = None) -> dict[str, tuple[Ready, ...]]:
    """Return form -> questions ready to mark.

    Refuses a key whose answers the installed course would now work out differently.
    """
    bank = bank or Bank()
    return {
        form: tuple(_ready(item, key, bank) for item in questions) for form, questions in key.forms.items()
    }


def _ready(item: Item, key: Key, bank: Bank) -> Ready:
    problem = f"Question {item.identifier} ({item.family}) of the key"
    try:
        variant = bank.variant(item.family, item.params)
    except items.ItemError as error:
        raise KeyFileError(
            f"{problem} cannot be made again: {error} It was made with {key.package}."
        ) from None
    for step in item.steps:
        again = variant.step(step.id)
        same = all(
            math.isclose(getattr(again, end), getattr(step, end), rel_tol=SAME)
            for end in ("value", "lo", "hi")
        )
        if not same or again.unit != step.unit:
            raise KeyFileError(f"{problem} has another answer in this version. Mark with {key.package}.")
    return Ready(item, variant)


def mark(attempt: HandedIn, questions: Sequence[Ready], overrides: Overrides | None = None) -> Result:
    """Return one attempt, marked."""
    steps: list[StepResult] = []
    missed, notes = [], []
    known = {(ready.item.identifier, step.id) for ready in questions for step in ready.item.steps}
    strange = sorted(set(attempt.answers) - known)
    if strange:
        notes.append(f"It answers {strange[0][0]}, step {strange[0][1]}, which this form does not ask.")
    for ready in questions:
        marked, said = _mark_item(attempt, ready, overrides or {})
        steps += marked
        notes += said
        if ready.item.critical and not all(_right_in_truth(step) for step in marked):
            missed.append(ready.item.identifier)
    return Result(
        attempt.candidate, attempt.form, attempt.file, attempt.receipt, attempt.seconds, tuple(steps), tuple(missed),
        tuple(notes),
    )  # fmt: skip


def _right_in_truth(step: StepResult) -> bool:
    """Follow-through never makes a critical step right; a person's written decision may."""
    return step.marks == step.most if step.override else step.outcome == marking.RIGHT


def _mark_item(attempt: HandedIn, ready: Ready, overrides: Overrides) -> tuple[list[StepResult], list[str]]:
    marked: list[StepResult] = []
    notes: list[str] = []
    earlier: dict[str, tuple[Decimal, str]] = {}
    for step in ready.item.steps:
        event = attempt.answers.get((ready.item.identifier, step.id))
        one, number = _mark_step(ready, step, event, earlier)
        if event is not None and one.read != event["read"]:
            notes.append(
                f"{one.item}, step {one.step}: the page read {event['read']}, the marker {one.read}."
            )
        if number is not None:
            earlier[step.id] = (number, one.unit)
        override = overrides.get((attempt.candidate, one.item, one.step))
        marked.append(one if override is None else _overridden(one, override))
    return marked, notes


def _mark_step(
    ready: Ready, step: Step, event: Mapping | None, earlier: Mapping
) -> tuple[StepResult, Decimal | None]:
    text = event["text"] if event else ""
    unit = pack.unit_key(event["unit"]) if event else ""
    answer = read_answer(text)
    found = marking.mark_step(ready.variant.step(step.id), answer, unit, earlier, ready.variant)
    precise = marking.mark_precision(step, answer.value)[0] if answer.value is not None else None
    blank = not text.strip()
    result = StepResult(
        item=ready.item.identifier, family=ready.item.family, step=step.id, kind=step.kind, text=text, unit=unit,
        read=None if answer.value is None else f"{answer.value:f}", outcome=BLANK if blank else found.outcome,
        marks=step.marks if found.earned else 0, most=step.marks, precise=precise, slip=found.slip or "",
        rule=found.rule, words="No answer." if blank else found.words,
        follow_through=found.outcome == marking.OWN_FIGURES, unsafe=_unsafe(ready, step, answer.value, unit),
    )  # fmt: skip
    return result, answer.value


def _unsafe(ready: Ready, step: Step, number: Decimal | None, unit: str) -> bool:
    """Return True when the candidate's own figure would pass what fails in truth."""
    if number is None or not unit:
        return False
    own = marking.in_unit(float(number), unit, step.unit)
    return own is not None and ready.variant.passes_what_fails(step.id, own)


def _overridden(step: StepResult, override: Override) -> StepResult:
    marks = min(override.marks, step.most)
    words = f"{step.words} Changed from {step.marks} to {marks} by {override.initials}: {override.reason}"
    return StepResult(**{
        **{name: getattr(step, name) for name in StepResult.__slots__},
        "marks": marks, "rule": f"{step.rule} {OVERRIDE_RULE}", "words": words, "override": override.reason,
    })  # fmt: skip


def mark_folder(
    folder: Path,
    key: Key,
    overrides: Overrides | None = None,
    *,
    bank: Bank | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Iterator[Result | Refused]:
    """Yield every file of a folder, by name: marked, or refused with its reason."""
    ready = prepared(key, bank)
    for found in attempt_reader.read_folder(folder, key.paper, dict(key.digests), progress):
        yield found if isinstance(found, Refused) else mark(found, ready[found.form], overrides)


def result_line(result: Result | Refused) -> bytes:
    """Return one marked attempt, or one refusal, as a line of JSON in its one form."""
    if isinstance(result, Refused):
        return chain.canonical({"refused": asdict(result)}) + b"\n"
    plain = {name: getattr(result, name) for name in Result.__slots__}
    plain["steps"] = [{name: getattr(step, name) for name in StepResult.__slots__} for step in result.steps]
    return chain.canonical({"score": result.score, "most": result.most, **plain}) + b"\n"


def mark_to_file(
    folder: Path,
    key: Key,
    out: Path,
    overrides: Overrides | None = None,
    *,
    bank: Bank | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Cohort:
    """Mark a folder into a file of one line for each attempt, and return the cohort's counts.

    The file appears whole or not at all; it is written beside and moved into place.
    """
    cohort = Cohort.of_key(key)
    beside = Path(out).with_name(Path(out).name + ".part")
    with open(beside, "wb") as file:
        for found in mark_folder(folder, key, overrides, bank=bank, progress=progress):
            file.write(result_line(found))
            if isinstance(found, Refused):
                cohort.refused.append(found)
            else:
                cohort.add(found)
        file.flush()
        os.fsync(file.fileno())
    os.replace(beside, out)
    return cohort
