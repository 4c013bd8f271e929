"""Marking a batch with reasons: a pure function of attempts, key, overrides and package version.

Each step is marked by `learn.marking`, which cites its rule. Marking the same again
gives the same bytes. Attempts are read one at a time, so a large batch needs no more
memory than a small one.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from pathlib import Path

from gaslab.assess import attempt_reader, chain, pack
from gaslab.assess.attempt_reader import HandedIn, RefusedAttempt
from gaslab.assess.cohort import Cohort
from gaslab.assess.frozen import Decision, Item, Step
from gaslab.assess.guide import Key, KeyFileError
from gaslab.assess.overrides import Override, Overrides
from gaslab.assess.results import DECISION, Result, StepResult
from gaslab.assess.variants import Bank
from gaslab.learn import items, marking
from gaslab.learn.answers import read_answer
from gaslab.learn.variant import NO, YES, Limit

BLANK = "blank"
SAME = 1e-9  # machines may differ in the last figure of a float; a formula that changed differs by far more
OVERRIDE_RULE, NO_DECISION = "O1", "D0"
RULES = {
    **marking.RULES,
    NO_DECISION: "no decision was given",
    OVERRIDE_RULE: "a person changed the mark and wrote the reason",
}
Earlier = Mapping[str, tuple[Decimal, str]]


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
    for number, decision in enumerate(item.decisions):
        limit = variant.limits[number] if number < len(variant.limits) else None
        if limit is None or not _same_limit(limit, decision.limit):
            raise KeyFileError(f"{problem} has another limit in this version. Mark with {key.package}.")
    return Ready(item, variant)


def _same_limit(again: Limit, kept: Limit) -> bool:
    """Return True when a limit made again asks for the same and has the same truth."""
    ends = ((again.low, kept.low), (again.high, kept.high))
    return (again.step, again.unit, bool(again.meets)) == (kept.step, kept.unit, kept.meets) and all(
        (one is None) == (other is None) and math.isclose(one or 0.0, other or 0.0, rel_tol=SAME)
        for one, other in ends
    )


def mark(attempt: HandedIn, questions: Sequence[Ready], overrides: Overrides | None = None) -> Result:
    """Return one attempt, marked."""
    steps: list[StepResult] = []
    missed, notes = [], []
    known = {(ready.item.identifier, name) for ready in questions for name in ready.item.asked}
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
        marked.append(one)
    for decision in ready.item.decisions:
        event = attempt.answers.get((ready.item.identifier, decision.id))
        marked.append(_mark_decision(ready, decision, event["text"] if event else "", earlier))
    changed = [overrides.get((attempt.candidate, one.item, one.step)) for one in marked]
    return [
        one if override is None else _overridden(one, override)
        for one, override in zip(marked, changed, strict=True)
    ], notes


def _mark_step(
    ready: Ready, step: Step, event: Mapping | None, earlier: Earlier
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


def _mark_decision(ready: Ready, decision: Decision, text: str, earlier: Earlier) -> StepResult:
    """Return a yes or no, marked in truth, with the rule that says whether it fits the candidate's own figure."""
    said = {YES: True, NO: False}.get(text.strip())
    blank = not text.strip()
    result = StepResult(
        item=ready.item.identifier, family=ready.item.family, step=decision.id, kind=DECISION, text=text, unit="",
        read=None, outcome=BLANK if blank else marking.NO_ANSWER, marks=0, most=decision.marks, precise=None, slip="",
        rule=NO_DECISION, words="No answer." if blank else f"Neither {YES} nor {NO} was given.",
    )  # fmt: skip
    if said is None:
        return result
    limit = decision.limit
    own = marking.own_value(ready.variant.step(limit.step), *earlier.get(limit.step, (None, "")))
    found = marking.mark_decision(limit, said, own)
    return replace(
        result, outcome=found.outcome, marks=decision.marks if found.right else 0, rule=found.rule,
        words=found.words, unsafe=found.unsafe,
    )  # fmt: skip


def _unsafe(ready: Ready, step: Step, number: Decimal | None, unit: str) -> bool:
    """Return True when the candidate's own figure would pass what fails in truth."""
    if number is None or not unit:
        return False
    own = marking.in_unit(float(number), unit, step.unit)
    return own is not None and ready.variant.passes_what_fails(step.id, own)


def _overridden(step: StepResult, override: Override) -> StepResult:
    marks = min(override.marks, step.most)
    words = f"{step.words} Changed from {step.marks} to {marks} by {override.initials}: {override.reason}"
    return replace(
        step, marks=marks, rule=f"{step.rule} {OVERRIDE_RULE}", words=words, override=override.reason
    )


def mark_folder(
    folder: Path,
    key: Key,
    overrides: Overrides | None = None,
    *,
    bank: Bank | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Iterator[Result | RefusedAttempt]:
    """Yield every file of a folder, by name: marked, or refused with its reason."""
    ready = prepared(key, bank)
    for found in attempt_reader.read_folder(folder, key.paper, dict(key.digests), progress):
        yield found if isinstance(found, RefusedAttempt) else mark(found, ready[found.form], overrides)


def result_line(result: Result | RefusedAttempt) -> bytes:
    """Return one marked attempt, or one refusal, as a line of JSON in its one form."""
    if isinstance(result, RefusedAttempt):
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
            if isinstance(found, RefusedAttempt):
                cohort.refused.append(found)
            else:
                cohort.add(found)
        file.flush()
        os.fsync(file.fileno())
    os.replace(beside, out)
    return cohort
