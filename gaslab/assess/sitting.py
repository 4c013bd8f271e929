"""Sitting a paper: the trainee's file read into typed parts, and an attempt begun or taken up again."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import gaslab
from gaslab import units
from gaslab.assess import pack, records
from gaslab.assess.attempts import Attempt
from gaslab.assess.pack import PackError

LONGEST = 4_000


@dataclass(frozen=True)
class Part:
    """One number to give, or one yes or no where no unit is offered. `units` are names as the paper prints them."""

    item: str
    step: str
    ask: str
    units: tuple[str, ...]
    precision: str
    marks: str

    @property
    def decides(self) -> bool:
        """True for a decision: it is answered with yes or no."""
        return not self.units


@dataclass(frozen=True)
class Asked:
    """One question: its words, what its instrument shows as (label, figure, unit), and its parts."""

    item: str
    title: str
    stem: str
    shows: tuple[tuple[str, str, str], ...]
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Sheet:
    """A paper as a candidate holds it. There is no answer in it."""

    paper: str
    form: str
    title: str
    date: str
    digest: str
    questions: tuple[Asked, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        return tuple(part for question in self.questions for part in question.parts)


def open_sheet(data: bytes) -> Sheet:
    """Return the paper in a trainee's file, or raise PackError."""
    if len(data) > records.LARGEST_FILE:
        raise PackError("The paper file is larger than 1 MB. A paper is far smaller. Ask for the file again.")
    raw = pack.read_paper(data)
    try:
        questions = tuple(_asked(item) for item in raw["items"])
    except (KeyError, TypeError, AttributeError):
        raise PackError("The paper file is not laid out as a paper. Ask for the file again.") from None
    names = [(part.item, part.step) for question in questions for part in question.parts]
    if not names or len(set(names)) != len(names):
        raise PackError("The paper has no question, or one that stands twice. Ask for the file again.")
    return Sheet(
        raw["paper"], raw["form"], _text(raw["title"]), _text(raw["date"]), pack.digest(data), questions
    )


def _asked(item: Mapping) -> Asked:
    shows = tuple(
        (_text(one["label"]), _text(one["value"]), units.printed(_listed(one["unit"])))
        for one in item.get("reading", {"shows": ()})["shows"]
    )
    parts = tuple(
        Part(
            item["item"], step["step"], _text(step["ask"]), tuple(_offered(unit) for unit in step["units"]),
            _text(step["precision"]), _text(step["marks"]),
        )
        for step in item["steps"]
    )  # fmt: skip
    if not all(part.units for part in parts):
        raise PackError("A step of the paper offers no unit. Ask for the file again.")
    decisions = tuple(
        Part(item["item"], each["decision"], _text(each["ask"]), (), "", _text(each["marks"]))
        for each in item.get("decisions", ())
    )
    return Asked(item["item"], _text(item["title"]), _text(item["stem"]), shows, (*parts, *decisions))


def _text(value: object) -> str:
    if not isinstance(value, str) or len(value) > LONGEST:
        raise PackError("A text of the paper is missing or too long. Ask for the file again.")
    return value


def _listed(unit: object) -> str:
    if not isinstance(unit, str) or unit not in units.TRADE_UNITS:
        raise PackError("The paper offers a unit that is not known. Ask for the file again.")
    return unit


def _offered(name: object) -> str:
    if not isinstance(name, str):
        return _listed(name)  # refuses it in words
    _listed(pack.unit_key(name))
    return name


def begin(
    sheet: Sheet, candidate: str, folder: Path, clock: Callable[[], float] = time.monotonic
) -> tuple[Attempt, bool]:
    """Return (attempt, True when an earlier one was taken up again) for a candidate number."""
    path = Path(folder) / records.file_name(candidate, sheet.paper)
    if path.is_file() and not Attempt.has_begun(path):
        path.replace(path.with_name(path.name + ".torn"))
    if not path.exists():
        attempt = Attempt.start(
            folder, candidate=candidate, paper=sheet.paper, digest=sheet.digest, form=sheet.form,
            package=f"gaslab {gaslab.__version__}", clock=clock,
        )  # fmt: skip
        return attempt, False
    attempt = Attempt.resume(path, clock)
    if attempt.events[0]["digest"] != sheet.digest:
        raise records.AttemptError(
            f"Candidate {candidate} has begun another form or copy of this paper. Bring that file."
        )
    return attempt, True
