"""Marks for how a job was worked: written rules of data/procedure.csv held against the log.

Rules say what must be done, what comes before what, and what is never done. Marks rest
on the log and the readings shown; the hidden truth adds and takes away nothing, and
how fast the hand was counts for nothing.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from gaslab import tables
from gaslab.refit import criteria
from gaslab.refit.events import Event
from gaslab.refit.findings import findings
from gaslab.refit.milestones import Milestone, milestones
from gaslab.refit.repeats import until_it_held
from gaslab.refit.site import Site

KINDS = ("must", "before", "each", "never", "decide", "load")
PARTS = ("tightness", "alteration", "purge", "pressures", "flame", "supervision", "rate", "room")
OUTCOMES = ("kept", "broken", "not reached")


@dataclass(frozen=True)
class Rule:
    """One written rule. See data/procedure.csv."""

    key: str
    kind: str
    action: str
    other: str
    part: str
    title: str
    why: str
    source: str
    status: str
    note: str


@dataclass(frozen=True)
class Mark:
    """What came of one rule: kept, broken or not reached, with the lines of the log it rests on."""

    rule: Rule
    outcome: str
    words: str
    events: tuple[int, ...] = ()


@dataclass(frozen=True)
class Score:
    """All marks of a job. `kept` out of `counted`; rules that were not reached do not count."""

    marks: tuple[Mark, ...]

    @property
    def kept(self) -> int:
        return sum(mark.outcome == "kept" for mark in self.marks)

    @property
    def counted(self) -> int:
        return sum(mark.outcome != "not reached" for mark in self.marks)

    def outcome(self, key: str) -> str:
        """Return the outcome of one rule by its key."""
        return next(mark.outcome for mark in self.marks if mark.rule.key == key)


@functools.cache
def rules() -> tuple[Rule, ...]:
    """Return the written rules, in file order."""
    found = []
    for row in tables.records("procedure"):
        rule = Rule(**{name: row[name] for name in Rule.__dataclass_fields__})
        for column, value, known in (("kind", rule.kind, KINDS), ("part", rule.part, PARTS)):
            if value not in known:
                need = f"must be one of {', '.join(known)}; found {value!r}"
                raise tables.TableError("procedure.csv", int(row["_row"]), column, need)
        found.append(rule)
    return tuple(found)


def score(log: Iterable[Mapping | Event], site: Site, parts: Iterable[str] = PARTS) -> Score:
    """Return the marks of a log for the parts of the job that the exercise covers."""
    log, parts = list(log), set(parts)
    done = [_any_load(m) for m in milestones(log, site)]
    judged: dict[str, Callable[[Rule, list[Milestone]], Mark]] = {
        "must": _must, "before": _before, "each": _each, "never": _never,
        "decide": functools.partial(_decided, log, parts == set(PARTS)),
    }  # fmt: skip
    done += until_it_held(done)  # at the end: what is never done has no place in the order
    return Score(tuple(judged[r.kind](r, done) for r in rules() if r.part in parts and r.kind != "load"))


def _any_load(milestone: Milestone) -> Milestone:
    """Either load of the `load` rows makes a working pressure; neither is wrong."""
    name, colon, load = milestone.name.partition(": ")
    if name != "working pressure read" or not colon:
        return milestone
    known = {rule.action for rule in rules() if rule.kind == "load"}
    return (
        Milestone(name, milestone.time, milestone.events, milestone.figures) if load in known else milestone
    )


def _first(done: list[Milestone], name: str) -> Milestone | None:
    return next((m for m in done if m.name == name), None)


def _must(rule: Rule, done: list[Milestone]) -> Mark:
    found = _first(done, rule.action)
    if found:
        return Mark(rule, "kept", f"Done: {rule.title}.", found.events)
    return Mark(rule, "broken", f"Not done: {rule.title}. {rule.why}")


def _before(rule: Rule, done: list[Milestone]) -> Mark:
    first, then = _first(done, rule.action), _first(done, rule.other)
    if then is None:
        return Mark(rule, "not reached", f"Not reached: {rule.title}.")
    if first is None:
        return Mark(rule, "broken", f"Not done: {rule.title}. {rule.why}", then.events)
    if done.index(first) < done.index(then):
        return Mark(rule, "kept", f"In order: {rule.title}.", first.events)
    return Mark(rule, "broken", f"Too late: {rule.title}. {rule.why}", then.events + first.events)


def _each(rule: Rule, done: list[Milestone]) -> Mark:
    """Each time that one thing is done, another must hold at that moment."""
    times = [m for m in done if m.name == rule.other]
    if not times:
        return Mark(rule, "not reached", f"Not reached: {rule.title}.")
    held = {m.events for m in done if m.name == rule.action}
    for milestone in times:
        if milestone.events not in held:
            return Mark(rule, "broken", f"Not done: {rule.title}. {rule.why}", milestone.events)
    return Mark(rule, "kept", f"In order: {rule.title}.", times[0].events)


def _never(rule: Rule, done: list[Milestone]) -> Mark:
    found = _first(done, rule.action)
    if found:
        return Mark(rule, "broken", f"Never do this: {rule.action}. {rule.why}", found.events)
    return Mark(rule, "kept", f"Kept: {rule.title}.")


def _decided(log: list[Mapping | Event], whole: bool, rule: Rule, done: list[Milestone]) -> Mark:
    """A decision is held against what had been read by then; the last one on the topic counts.

    In a whole job each side must be decided; in an exercise a side may be left.
    """
    chosen = None
    for m in done:
        if m.name == "decide" and _arguments(log, m.events[0])["about"] == rule.action:
            chosen = m
    if chosen is None:
        return Mark(rule, "broken" if whole else "not reached", f"Not decided: {rule.action}.")
    choice = _arguments(log, chosen.events[0])["choice"]
    found = findings(rule.action, done[: done.index(chosen)])
    words = " ".join(finding.sentence for finding in found) or "There is no reading to go by."
    if choice == "carry on" and not (found and all(finding.outcome == criteria.MEETS for finding in found)):
        return Mark(rule, "broken", f"You carry on. {words} {rule.why}", chosen.events)
    return Mark(rule, "kept", f"You decided: {choice}. {words}", chosen.events)


def _arguments(log: list[Mapping | Event], number: int) -> Mapping:
    event = log[number]
    return event["arguments"] if isinstance(event, Mapping) else event.arguments
