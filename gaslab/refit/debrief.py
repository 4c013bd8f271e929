"""The talk after the job: what you saw, what it meant, what you missed.

Only here is the hidden truth laid open. It never changes a mark; it is told, and it lists
where readings looked right while the site was not safe.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gaslab.refit import criteria
from gaslab.refit.faults import Fault
from gaslab.refit.findings import findings, side
from gaslab.refit.milestones import Milestone, milestones

if TYPE_CHECKING:
    from gaslab.refit.bench import Bench

# Which milestones look where a fault shows, and which side of the job it decides.
LOOKS = {
    "let-by": ("let-by test",),
    "leak-pipe": ("tightness test",),
    "leak-appliance": ("tightness test",),
    "tap-open": ("tightness test",),
    "warming": ("tightness test",),
    "cooling": ("tightness test",),
    "gauge-zero": ("gauge checked open to the air",),
    "hose-blocked": ("tightness test",),
    "hose-leaking": ("tightness test",),
    "regulator-low": ("working pressure read",),
    "regulator-high": ("working pressure read",),
    "regulator-slow": ("working pressure read", "low flames proved"),
    "no-lock-up": ("standing pressure read",),
    "kinked-run": ("appliance pressure read",),  # at the meter it does not show
    "wrong-injector": ("gas rate timed",),
    "low-flame": ("low flames proved",),
    "slow-supervision": ("supervision timed",),
    "weak-supervision": ("light",),
    "meter-card": ("read meter card",),
    "cv-off": ("read gas bill",),
    "bond-far": ("read tape",),
    "live-casing": ("sweep for voltage",),
    "blocked-opening": ("read opening",),
    "hood-low": ("read tape",),
}
# Where a tool must be held for a look to count, by kind of fault; a look at a ring counts for the ring itself.
HELD_AT = {"bond-far": "bond", "hood-low": "hood"}


@dataclass(frozen=True)
class Point:
    """One fault in the debrief. `looked` says whether the log holds a look where it shows."""

    fault: Fault
    looked: bool
    put_right: bool
    decided: str
    saw: tuple[str, ...]
    sign: str
    meant: str
    missed: str
    to_do: str
    events: tuple[int, ...]


@dataclass(frozen=True)
class Debrief:
    """All points, and the sides of the job that were consistent but unsafe."""

    points: tuple[Point, ...]
    consistent_but_unsafe: tuple[str, ...]


def debrief(bench: Bench) -> Debrief:
    """Return what is to be said after a job on a bench."""
    log = bench.log
    done = milestones(log, bench.site)
    left = set(bench.plant.hidden)
    points = tuple(_point(fault, log, done, fault not in left) for fault in bench.faults)
    return Debrief(points, tuple(_unsafe(points, done)))


def _point(fault: Fault, log, done: list[Milestone], put_right: bool) -> Point:
    kind = fault.kind
    looks = [m for m in done if m.kind in LOOKS[fault.key] and _there(m, fault)]
    events = tuple(dict.fromkeys(n for m in looks for n in m.events))
    saw = tuple(_line(log[n]) for n in events)
    decided = _decision(log, side(fault.key))
    if not looks:
        missed = f"You did not look where it shows. {kind.sign}"
    elif put_right:
        missed = "Nothing: you found it and put it right."
    elif decided == "carry on":
        missed = f"You looked, and carried on. {kind.sign}"
    else:
        missed = "Nothing more to see: what counts is what you decided."
    return Point(
        fault, bool(looks), put_right, decided, saw, kind.sign, kind.means, missed, kind.put_right, events
    )


def _line(event) -> str:
    at = event.arguments.get("at") or event.arguments.get("ring") or ""
    return f"{event.time:.0f} s: {event.name}{f' ({at})' if at else ''}: {event.answer}"


def _decision(log, topic: str) -> str:
    """Return the last choice written down on a side of the job, or ""."""
    chosen = ""
    for event in log:
        decides = event.kind == "action" and event.name == "decide" and not event.refused
        if decides and event.arguments["about"] == topic:
            chosen = event.arguments["choice"]
    return chosen


def _there(look: Milestone, fault: Fault) -> bool:
    """Return whether a look was at the place where the fault sits; one that names no place is at the whole home."""
    ring = look.figures.get("ring")
    if ring is not None:
        return ring == fault.place
    return fault.key not in HELD_AT or look.figures.get("at") == HELD_AT[fault.key]


def _unsafe(points: tuple[Point, ...], done: list[Milestone]) -> list[str]:
    """Name each side where readings met their limits and you carried on, while a fault was still there."""
    sides: dict[str, list[Point]] = {}
    for point in points:
        if not point.put_right and point.decided == "carry on" and not _dealt_with(point):
            sides.setdefault(side(point.fault.key), []).append(point)
    told = []
    for topic, hidden in sides.items():
        found: list[criteria.Finding] = findings(topic, done)
        if found and all(finding.outcome == criteria.MEETS for finding in found):
            names = "; ".join(p.fault.kind.title for p in hidden)
            words = "your readings met their limits and you carried on, but it was not safe"
            told.append(f"{topic}: {words}. Hidden: {names}.")
    return told


def _dealt_with(point: Point) -> bool:
    """Return whether nothing burns wrongly for it: a figure on a card, or a heat of the gas that was read and used."""
    return point.fault.key == "meter-card" or (point.fault.key == "cv-off" and point.looked)


def as_record(told: Debrief) -> Mapping[str, object]:
    """Return a debrief as plain data."""
    plain = [name for name in Point.__dataclass_fields__ if name not in ("fault", "saw", "events")]
    points = [
        {name: getattr(p, name) for name in plain}
        | {"fault": p.fault.as_record(), "saw": list(p.saw), "events": list(p.events)}
        for p in told.points
    ]
    return {"points": points, "consistent_but_unsafe": list(told.consistent_but_unsafe)}
