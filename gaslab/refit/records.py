"""What a job file holds: changes, readings, findings and advice, each checked as it is read.

A record is frozen. Anything in a file that is not what it should be raises
FileFault with the place and what is needed.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from typing import Any

from gaslab import units
from gaslab.refit.criteria import OUTCOMES
from gaslab.refit.folder import LARGEST_FILE, FileFault

SCHEMA = "gaslab-job-1"
LONGEST_TEXT = 1_000  # characters in one field
MOST_RECORDS = 20_000
HIGHEST_SEED = 2**31 - 1


@dataclass(frozen=True)
class Change:
    """A value of the site changed in a chapter. `value` is SI, a word, or yes or no."""

    number: int
    path: str
    value: float | str | bool
    was: float | str | bool
    chapter: str
    when: str


@dataclass(frozen=True)
class Reading:
    """A reading as it was seen: `value` in `unit`, to `resolution`."""

    number: int
    chapter: str
    key: str
    value: float
    unit: str
    resolution: float
    note: str
    source: str
    when: str


@dataclass(frozen=True)
class FindingRecord:
    """A finding with its limit and what stands behind it. `reading` is SI, in `unit`.

    `about` says which thing was judged where a limit serves many: a burner, a run, a check.
    """

    number: int
    chapter: str
    key: str
    outcome: str
    words: str
    advice: str
    reading: float | None
    uncertainty: float | None
    unit: str
    limit: str
    backing: str
    status: str
    edition: str
    clause: str
    entered_by: str
    entered_on: str
    superseded: bool
    about: str
    action: str
    when: str


@dataclass(frozen=True)
class Advice:
    """A point of good practice: the advice given, and who declined it, if anyone did, and when."""

    number: int
    point: str
    given: str
    declined_by: str
    when: str


@dataclass(frozen=True)
class JobState:
    """Everything a job file holds."""

    site: str
    seed: int = 0
    revision: int = 0
    counter: int = 0
    changes: tuple[Change, ...] = ()
    readings: tuple[Reading, ...] = ()
    findings: tuple[FindingRecord, ...] = ()
    advice: tuple[Advice, ...] = ()
    archive: tuple[Mapping, ...] = field(default=())

    def values(self) -> dict[str, float | str | bool]:
        """Return the changed values by path, in the order they were changed."""
        return {c.path: c.value for c in self.changes}

    def change(self, path: str) -> Change | None:
        return next((c for c in self.changes if c.path == path), None)

    def added(self, kind: str, record: Any) -> JobState:
        """Return the state with one record more, numbered next."""
        number = self.counter + 1
        grown: dict[str, Any] = {kind: (*getattr(self, kind), replace(record, number=number))}
        return replace(self, counter=number, **grown)

    def archived(self, chapter: str | None, when: str) -> JobState:
        """Return the state with a chapter's records moved to the archive (all chapters when None)."""
        kept: dict[str, Any] = {}
        moved: list[Mapping] = []
        for kind in ("changes", "readings", "findings"):
            records = getattr(self, kind)
            kept[kind] = tuple(r for r in records if chapter not in (None, r.chapter))
            moved += [{"kind": kind, "archived": when, **asdict(r)} for r in records if r not in kept[kind]]
        if chapter is None:
            kept["advice"] = ()
            moved += [{"kind": "advice", "archived": when, **asdict(a)} for a in self.advice]
        return replace(self, archive=(*self.archive, *moved), **kept)

    def in_place_of(self, other: JobState, when: str) -> JobState:
        """Return this state standing where another one stood, whose records all go to the archive."""
        here = other.archived(None, when).archive
        archive = (*here, *(entry for entry in self.archive if entry not in here))
        counter = max(self.counter, other.counter)
        return replace(self, revision=other.revision, counter=counter, archive=archive)

    def as_dict(self) -> dict:
        return {"schema": SCHEMA, **asdict(self)}


_KINDS = {"changes": Change, "readings": Reading, "findings": FindingRecord, "advice": Advice}


def text_of(state: JobState) -> str:
    """Return the text of a job file; raise FileFault when it has grown too large to be read back."""
    plain = state.as_dict()
    text = json.dumps(plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    longest = max(len(part) for part in plain.values() if isinstance(part, (list, tuple)))
    if len(text.encode()) > LARGEST_FILE or longest > MOST_RECORDS:
        raise FileFault(
            "the job file is full, so this was not written. Save the job sheet on page 14, "
            "then move the file away to begin a new job"
        )
    return text


def state_from(raw: Mapping, site: str) -> JobState:
    """Return the state that a job file holds, or raise FileFault."""
    known = {"schema", *(f.name for f in fields(JobState))}
    if set(raw) != known:
        odd = sorted(set(raw) ^ known)
        raise FileFault(f"the job file must hold {', '.join(sorted(known))}; check {', '.join(odd)[:200]}")
    if raw["site"] != site:
        raise FileFault(f"the job file is for the site {str(raw['site'])[:40]!r}, not {site!r}")
    counts: dict[str, Any] = {name: _whole(raw[name], name) for name in ("seed", "revision", "counter")}
    lists: dict[str, Any] = {
        name: tuple(record_from(kind, r, name) for r in _list(raw[name], name))
        for name, kind in _KINDS.items()
    }
    archive = _list(raw["archive"], "archive")
    if not all(isinstance(entry, dict) for entry in archive):
        raise FileFault("archive: each entry must be named values in braces")
    return JobState(site=site, **counts, **lists, archive=tuple(archive))


def _list(raw: object, name: str) -> list:
    if not isinstance(raw, list) or len(raw) > MOST_RECORDS:
        raise FileFault(f"{name}: must be a list of at most {MOST_RECORDS} entries")
    return raw


def _whole(raw: object, name: str) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int) or not 0 <= raw <= HIGHEST_SEED:
        raise FileFault(f"{name}: must be a whole number from 0 to {HIGHEST_SEED}")
    return raw


_TYPES = {
    "int": (int,),
    "str": (str,),
    "bool": (bool,),
    "float": (int, float),
    "float | None": (int, float, type(None)),
    "float | str | bool": (int, float, str, bool),
}


def record_from(kind: type, raw: object, name: str) -> Any:
    """Return a record read from plain values, or raise FileFault."""
    if not isinstance(raw, dict) or set(raw) != {f.name for f in fields(kind)}:
        raise FileFault(f"{name}: each entry must name {', '.join(f.name for f in fields(kind))}")
    for f in fields(kind):
        check_value(f"{name}.{f.name}", raw[f.name], _TYPES[str(f.type)])
    if kind is Reading:
        check_unit(f"{name}.unit", raw["unit"])
    if kind is FindingRecord and raw["outcome"] not in OUTCOMES:
        raise FileFault(f"{name}: outcome must be one of {', '.join(OUTCOMES)}")
    return kind(**raw)


def check_value(place: str, value: object, types: tuple[type, ...]) -> None:
    """Refuse a value of another type, a number that is not finite, or a text that is too long."""
    wrong = not isinstance(value, types) or (isinstance(value, bool) and bool not in types)
    if wrong or (isinstance(value, float) and not math.isfinite(value)):
        words = {
            int: "a number",
            float: "a number",
            str: "words",
            bool: "true or false",
            type(None): "nothing",
        }
        need = " or ".join(dict.fromkeys(words[t] for t in types))
        raise FileFault(f"{place}: read {str(value)[:60]!r}; needed {need}")
    if isinstance(value, str) and len(value) > LONGEST_TEXT:
        raise FileFault(f"{place}: is {len(value)} characters long; at most {LONGEST_TEXT} fit")


def check_unit(place: str, unit: object) -> None:
    """Refuse a unit that is not on the trade's list."""
    if unit not in units.TRADE_UNITS:
        raise FileFault(f"{place}: read {str(unit)[:20]!r}; needed one of the listed units")
