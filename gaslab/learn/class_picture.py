"""A class at a glance, from a folder of exported progress: who is stuck where, which slips are common, what is next.

Pure functions of the attempts. A trainee is known by the name of the file and by nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from gaslab.learn import chapters, items, kept_copy
from gaslab.learn.boxes import Attempt
from gaslab.learn.class_files import SkippedFile, read_each
from gaslab.learn.marking import DECISION_SLIPS, EARNS
from gaslab.learn.variant import decision_name, is_decision

LAST, FEWEST = 4, 3
"""Stuck: under half of the last four first tries right, once there are three. The rule is this course's own."""
MOST_SLIPS, MOST_NEXT = 10, 3


@dataclass(frozen=True)
class Trainee:
    """One trainee's attempts, known by the name of the file."""

    name: str
    attempts: tuple[Attempt, ...]


@dataclass(frozen=True)
class Stuck:
    """A trainee who is stuck on a family: so many of the last first tries were right."""

    name: str
    family: str
    right: int
    tries: int


@dataclass(frozen=True)
class CommonSlip:
    """A slip that the class makes: by how many trainees, how many times, and its sentence."""

    family: str
    step: str
    slip: str
    trainees: int
    times: int
    says: str


@dataclass(frozen=True)
class Next:
    """A family to teach next: how many are stuck on it, and how many of the class's first tries were right."""

    family: str
    stuck: int
    right: int
    tries: int


@dataclass(frozen=True)
class ClassPicture:
    """What an instructor wants to know before the next lesson."""

    trainees: tuple[str, ...]
    stuck: tuple[Stuck, ...]
    slips: tuple[CommonSlip, ...]
    next: tuple[Next, ...]
    refused: tuple[SkippedFile, ...] = ()


def read_class(folder: Path) -> ClassPicture:
    """Return the picture of the class whose exported progress files lie in a folder."""
    found, refused = read_each(folder, lambda text, name: kept_copy.read(text, name).attempts)
    trainees, joined = _each_once([Trainee(Path(name).stem, attempts) for name, attempts in found])
    return picture(trainees, (*refused, *joined))


def _each_once(trainees: Sequence[Trainee]) -> tuple[list[Trainee], list[SkippedFile]]:
    """Join two exports of one trainee: they share attempts, named by chance. The larger file gives the name."""
    kept: list[Trainee] = []
    joined: list[SkippedFile] = []
    for one in sorted(trainees, key=lambda t: (-len(t.attempts), t.name)):
        own = {attempt.id for attempt in one.attempts}
        twin = next((n for n, other in enumerate(kept) if own & {a.id for a in other.attempts}), None)
        if twin is None:
            kept.append(one)
            continue
        other = kept[twin]
        both = {a.id: a for a in (*other.attempts, *one.attempts)}
        kept[twin] = Trainee(other.name, tuple(both.values()))
        joined.append(
            SkippedFile(
                one.name,
                f"it shares answers with {other.name}, so the two count as one trainee",
                done="was joined",
            )
        )
    return sorted(kept, key=lambda t: t.name), joined


def picture(trainees: Iterable[Trainee], refused: Iterable[SkippedFile] = ()) -> ClassPicture:
    """Return the picture of a class. The order of the trainees and of their attempts does not matter."""
    everyone = tuple(trainees)
    stuck = tuple(found for trainee in everyone for found in stuck_on(trainee))
    firsts = [(t.name, a) for t in everyone for a in t.attempts if a.first]
    return ClassPicture(
        tuple(t.name for t in everyone),
        stuck,
        _slips(firsts)[:MOST_SLIPS],
        _next(firsts, stuck)[:MOST_NEXT],
        tuple(refused),
    )


def stuck_on(trainee: Trainee) -> list[Stuck]:
    """Return the families that a trainee is stuck on, the worst first."""
    tries: dict[str, list[bool]] = {}
    for attempt in sorted(trainee.attempts, key=lambda a: (a.when, a.id)):
        if attempt.first:
            tries.setdefault(attempt.family, []).append(attempt.outcome in EARNS)
    found = []
    for family, all_of_them in tries.items():
        last = all_of_them[-LAST:]
        if len(last) >= FEWEST and 2 * sum(last) < len(last):
            found.append(Stuck(trainee.name, family, sum(last), len(last)))
    return sorted(found, key=lambda s: (s.right / s.tries, s.family))


def _slips(firsts: Iterable[tuple[str, Attempt]]) -> tuple[CommonSlip, ...]:
    """Return the slips by how many trainees made them, then by how often."""
    times: dict[tuple[str, str, str], list[str]] = {}
    for name, attempt in firsts:
        if attempt.slip:
            times.setdefault((attempt.family, attempt.step, attempt.slip), []).append(name)
    rows = [
        CommonSlip(*place, len(set(names)), len(names), slip_says(*place)) for place, names in times.items()
    ]
    return tuple(sorted(rows, key=lambda r: (-r.trainees, -r.times, r.family, r.step, r.slip)))


def slip_says(family: str, step: str, slip: str) -> str:
    """Return the sentence of a slip, or "" when the course does not have it.

    Slips that lead to one answer share a name, joined by -or- and cut after 64 letters.
    """
    plan = items.families().get(family)
    if is_decision(step):
        asks = {decision_name(n): limit.ask for n, limit in enumerate(plan.limits if plan else (), 1)}
        return f"{asks.get(step, '')} {DECISION_SLIPS.get(slip, '')}".strip()
    steps = [s for s in plan.steps if s.id == step] if plan else []
    *whole, last = slip.split("-or-")
    cut = bool(whole)
    return " Or: ".join(
        s.says
        for part in steps
        for s in part.slips
        if s.id in (*whole, last) or (cut and s.id.startswith(last))
    )


def _next(firsts: Iterable[tuple[str, Attempt]], stuck: Iterable[Stuck]) -> tuple[Next, ...]:
    """Return the families that need teaching: most trainees stuck first, then the smallest share right."""
    counts: dict[str, list[int]] = {}
    for _, attempt in firsts:
        pair = counts.setdefault(attempt.family, [0, 0])
        pair[0] += attempt.outcome in EARNS
        pair[1] += 1
    held = [s.family for s in stuck]
    rows = [Next(family, held.count(family), right, tries) for family, (right, tries) in counts.items()]
    wanted = [row for row in rows if row.stuck or 2 * row.right < row.tries]
    return tuple(sorted(wanted, key=lambda r: (-r.stuck, r.right / r.tries, r.family)))


def title_of(family: str) -> str:
    """Return the family's title; a family that the course does not have is called by its name."""
    plan = items.families().get(family)
    return plan.title if plan else family


def chapter_of(family: str) -> str:
    """Return "chapter 04, The tightness test" for a family, or "" when the course does not have it."""
    plan = items.families().get(family)
    return f"chapter {plan.chapter}, {chapters.words(plan.chapter).title}" if plan else ""
