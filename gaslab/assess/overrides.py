"""Marks changed by a person: only with a written reason, and every reason is kept.

The book is append-only and chained as an attempt is. A later entry for the same step
replaces the earlier one in the marks; both stay in the book.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from gaslab.assess import chain, records

SHORTEST_REASON, LONGEST_REASON = 10, 500
_FIELDS = {"seq", "candidate", "item", "step", "marks", "reason", "initials"}


class OverrideError(ValueError):
    """An override that cannot be kept, told in one sentence."""


@dataclass(frozen=True)
class Override:
    """One changed mark."""

    candidate: str
    item: str
    step: str
    marks: int
    reason: str
    initials: str


Overrides = Mapping[tuple[str, str, str], Override]


def checked(entry: Override) -> Override:
    """Return the entry, or raise OverrideError."""
    records.candidate_number(entry.candidate)
    if not records.step_key(entry.item) or not records.step_key(entry.step):
        raise OverrideError("Name the question and the step as the paper does, such as q01 and drop.")
    if type(entry.marks) is not int or not 0 <= entry.marks <= 20:
        raise OverrideError("The new mark is a whole number from 0 to the most that the step gives.")
    if (
        not isinstance(entry.reason, str)
        or not SHORTEST_REASON <= len(entry.reason.strip()) <= LONGEST_REASON
    ):
        raise OverrideError(
            f"Write the reason in {SHORTEST_REASON} to {LONGEST_REASON} characters. "
            "Someone may ask for it in a year."
        )
    if (
        not isinstance(entry.initials, str)
        or not 1 <= len(entry.initials) <= 5
        or not entry.initials.isalpha()
    ):
        raise OverrideError("Give the initials of who changed the mark: one to five letters.")
    return entry


def read(path: Path) -> tuple[list[Override], bytes]:
    """Return (every entry, the last link) of a book; a book not yet begun is empty."""
    try:
        data = Path(path).read_bytes()
    except FileNotFoundError:
        return [], chain.FIRST
    entries: list[Override] = []
    previous = chain.FIRST
    for number, line in enumerate(data.splitlines(keepends=True), start=1):
        place = f"The book of overrides, line {number}"
        try:
            body, previous = records.unchained(line.removesuffix(b"\n"), previous, place)
        except records.AttemptError as error:
            raise OverrideError(f"{error} Restore the book from a copy.") from None
        if not line.endswith(b"\n") or set(body) != _FIELDS or body.pop("seq") != number - 1:
            raise OverrideError(
                f"{place}: the entry is cut short or out of order. Restore the book from a copy."
            )
        entries.append(checked(Override(**body)))
    return entries, previous


def add(path: Path, entry: Override) -> None:
    """Write an entry at the end of the book; it is on the disk when this returns."""
    checked(entry)
    entries, previous = read(path)
    event = {"seq": len(entries), **{name: getattr(entry, name) for name in _FIELDS - {"seq"}}}
    line, _ = records.event_line(event, previous)
    if len(line) > records.LONGEST_LINE:
        raise OverrideError("Write the reason shorter, in plain letters.")
    with open(path, "ab") as file:
        file.write(line)
        file.flush()
        os.fsync(file.fileno())


def in_force(path: Path) -> Overrides:
    """Return the entry in force for each (candidate, item, step)."""
    return {(entry.candidate, entry.item, entry.step): entry for entry in read(path)[0]}
