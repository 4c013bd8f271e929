"""From a trainee's attempts to what is due and the three-bar profile. Pure functions of the list of attempts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gaslab.learn.family import KINDS
from gaslab.learn.marking import EARNS, UNSAFE
from gaslab.learn.variant import is_decision

DAYS = {1: 0, 2: 1, 3: 3, 4: 7, 5: 21}
"""Box -> days until a family is due again. Box 1 is due at once. The spacing is this course's own choice."""
LAST_BOX = max(DAYS)
RECENT = 20  # a profile looks at the last so many answers of a kind


@dataclass(frozen=True)
class Attempt:
    """One answer to one step. `first` is True for the first try at these numbers."""

    id: str
    when: str  # as 2026-03-12T10:00:00, local time
    family: str
    step: str
    kind: str
    outcome: str
    slip: str
    first: bool
    last_step: bool  # the question was finished with this answer


@dataclass(frozen=True)
class FamilyState:
    """Where a family stands: its box, when it was last seen, and how many questions were finished."""

    box: int
    last: date
    finished: int

    def due_on(self) -> date:
        return self.last + timedelta(days=DAYS[self.box])


def states(attempts: Iterable[Attempt]) -> dict[str, FamilyState]:
    """Return the state of every family that was tried.

    A question with every first answer earned moves its family up a box; any other sends it
    back to box 1. So does a wrong decision on a limit, which comes after the last step; a decision
    that is right or was never made changes nothing. Attempts are taken by time, so that two
    notebooks give one history.
    """
    found: dict[str, FamilyState] = {}
    earned: dict[str, dict[str, bool]] = {}  # family -> step -> first answer earned, of the question at hand
    for attempt in sorted(attempts, key=lambda a: (a.when, a.id)):
        day = datetime.fromisoformat(attempt.when).date()
        state = found.get(attempt.family, FamilyState(1, day, 0))
        decision = is_decision(attempt.step)
        if attempt.first and not decision:
            steps = earned.setdefault(attempt.family, {})
            if attempt.step in steps:  # new numbers: the question before was left half done
                steps.clear()
            steps[attempt.step] = attempt.outcome in EARNS
        box, finished = state.box, state.finished
        if attempt.last_step:
            steps = earned.pop(attempt.family, {})
            box = min(box + 1, LAST_BOX) if steps and all(steps.values()) else 1
            finished += 1
        if decision and attempt.outcome not in EARNS:
            box = 1
        found[attempt.family] = FamilyState(box, day, finished)
    return found


@dataclass(frozen=True)
class Decisions:
    """The last decisions on a limit: how many were made, how many right, and how many passed what fails."""

    made: int
    right: int
    unsafe: int


def decisions(attempts: Iterable[Attempt]) -> Decisions:
    """Return the tally of the last decisions."""
    told = sorted((a for a in attempts if is_decision(a.step)), key=lambda a: (a.when, a.id))
    last = [attempt.outcome for attempt in told[-RECENT:]]
    return Decisions(len(last), sum(outcome in EARNS for outcome in last), last.count(UNSAFE))


def due(states_now: Mapping[str, FamilyState], today: date) -> tuple[str, ...]:
    """Return the families that are due, the longest overdue first."""
    late = [(state.due_on(), family) for family, state in states_now.items() if state.due_on() <= today]
    return tuple(family for _, family in sorted(late))


def profile(attempts: Iterable[Attempt]) -> dict[str, tuple[int, int]]:
    """Return kind -> (right, answered) over the last first tries at steps of each kind."""
    tries: dict[str, list[bool]] = {kind: [] for kind in KINDS}
    for attempt in sorted(attempts, key=lambda a: (a.when, a.id)):
        if attempt.first and attempt.kind in tries and not is_decision(attempt.step):
            tries[attempt.kind].append(attempt.outcome in EARNS)
    return {kind: (sum(found[-RECENT:]), len(found[-RECENT:])) for kind, found in tries.items()}
