"""A question frozen: one variant with its numbers baked in, as plain data.

Keys, marking guides and exported packages are written from frozen items, and an import
gives them back. Text is made clean once, here at the door, so that what is written to
XML, HTML or CSV can be read again.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace

from gaslab import escape, units
from gaslab.learn.variant import Limit

_KEY = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,199}\Z")
LONGEST_TEXT = 4_000
KINDS = ("set-up", "sum", "reading")


class FrozenError(ValueError):
    """A question that cannot be frozen, told in one sentence."""


@dataclass(frozen=True)
class Slip:
    """A wrong way of doing a step, the answers it leads to, and one sentence about it."""

    id: str
    value: float
    says: str
    lo: float
    hi: float


@dataclass(frozen=True)
class Step:
    """One number to give. `lo` <= `value` <= `hi` is the band that counts as right, in `unit`."""

    id: str
    kind: str
    ask: str
    unit: str
    units_offered: tuple[str, ...]
    value: float
    lo: float
    hi: float
    places: int | None
    figures: int | None
    marks: int
    slips: tuple[Slip, ...]
    cue: str
    worked: str


@dataclass(frozen=True)
class Decision:
    """Yes or no to a limit, asked after the steps. The limit holds the truth and the words for both ways."""

    id: str
    limit: Limit
    marks: int


@dataclass(frozen=True)
class Item:
    """One question of a paper with its key."""

    identifier: str
    family: str
    version: str
    title: str
    stem: str
    params: Mapping[str, float | int | str]
    steps: tuple[Step, ...]
    critical: bool
    source: str
    decisions: tuple[Decision, ...] = ()

    @property
    def marks(self) -> int:
        return sum(step.marks for step in self.steps) + sum(each.marks for each in self.decisions)

    @property
    def asked(self) -> tuple[str, ...]:
        """The name of everything that is asked: each step, then each decision."""
        return (*(step.id for step in self.steps), *(each.id for each in self.decisions))

    def step(self, step_id: str) -> Step:
        for step in self.steps:
            if step.id == step_id:
                return step
        raise FrozenError(f"Question {self.identifier} has no step {step_id}.")


def text(value: object, longest: int = LONGEST_TEXT) -> str:
    """Return text that XML, HTML and CSV can all hold, with one kind of line end."""
    plain = escape.clean(str(value).replace("\r\n", "\n").replace("\r", "\n"))
    if len(plain) > longest:
        raise FrozenError(f"A text is {len(plain)} characters long; {longest} is the most.")
    return plain


def line(value: object) -> str:
    """Return one line of clean text with single spaces, as a title needs."""
    return " ".join(text(value, 300).split())


def key(value: object, what: str) -> str:
    """Return a name that may stand as an identifier, or raise FrozenError."""
    if not isinstance(value, str) or not _KEY.match(value):
        shown = line(str(value)[:40])
        raise FrozenError(
            f"{what} {shown!r} must begin with a letter and hold letters, figures, hyphens only."
        )
    return value


def checked(item: Item) -> Item:
    """Return the item with clean text, or raise FrozenError when it cannot be used as a key."""
    key(item.identifier, "The question's name")
    key(item.family, "The family")
    if not item.steps or len({step.id for step in item.steps}) != len(item.steps):
        raise FrozenError(f"Question {item.identifier} needs steps, each with a name of its own.")
    for name, value in item.params.items():
        key(name, "The parameter")
        if not isinstance(value, str) and not math.isfinite(value):
            raise FrozenError(f"Question {item.identifier}: {name} is not a finite number.")
    if len(set(item.asked)) != len(item.asked):
        raise FrozenError(f"Question {item.identifier}: each decision needs a name that no step has.")
    params = {name: text(value) if isinstance(value, str) else value for name, value in item.params.items()}
    return replace(
        item, version=line(item.version), title=line(item.title), stem=text(item.stem), params=params,
        steps=tuple(_checked_step(step, item.identifier) for step in item.steps), source=line(item.source),
        decisions=tuple(_checked_decision(each, item.identifier) for each in item.decisions),
    )  # fmt: skip


def _checked_step(step: Step, item: str) -> Step:
    place = f"Question {item}, step {line(step.id)}"
    key(step.id, "The step")
    if step.kind not in KINDS:
        raise FrozenError(f"{place}: the kind must be one of {', '.join(KINDS)}.")
    if not all(map(math.isfinite, (step.value, step.lo, step.hi))) or not step.lo <= step.value <= step.hi:
        raise FrozenError(f"{place}: the answer must lie inside its band.")
    if step.unit not in step.units_offered or any(
        unit not in units.TRADE_UNITS for unit in step.units_offered
    ):
        raise FrozenError(f"{place}: the units offered must be listed units and hold the right one.")
    if type(step.marks) is not int or step.marks < 0:
        raise FrozenError(f"{place}: the marks must be a whole number, zero or more.")
    for slip in step.slips:
        key(slip.id, "The slip")
        if (
            not all(map(math.isfinite, (slip.value, slip.lo, slip.hi)))
            or not slip.lo <= slip.value <= slip.hi
        ):
            raise FrozenError(f"{place}: slip {slip.id} needs a finite value inside its own band.")
    slips = tuple(replace(slip, says=text(slip.says)) for slip in step.slips)
    return replace(step, ask=text(step.ask), slips=slips, cue=text(step.cue), worked=text(step.worked))


def _checked_decision(decision: Decision, item: str) -> Decision:
    place, limit = f"Question {item}, {line(decision.id)}", decision.limit
    key(decision.id, "The decision")
    key(limit.step, "The step of a limit")
    if type(limit.meets) is not bool or type(decision.marks) is not int or decision.marks < 1:
        raise FrozenError(f"{place}: a decision needs its truth, and marks of one or more.")
    ends = [end for end in (limit.low, limit.high) if end is not None]
    if not ends or not all(type(end) is float and math.isfinite(end) for end in ends):
        raise FrozenError(f"{place}: a limit needs one end or two, and each is a finite number.")
    if limit.unit not in units.TRADE_UNITS:
        raise FrozenError(f"{place}: the limit's unit is not a listed one.")
    clean = replace(
        limit, ask=text(limit.ask), words_meets=text(limit.words_meets), words_fails=text(limit.words_fails),
        source=line(limit.source), status=line(limit.status),
    )  # fmt: skip
    return replace(decision, limit=clean)


def to_dict(item: Item) -> dict:
    """Return the item as a dictionary for JSON. One without decisions is written as it was before there were any."""
    data = asdict(item)
    return data if item.decisions else {k: v for k, v in data.items() if k != "decisions"}


def from_dict(data: Mapping) -> Item:
    """Return the item that `to_dict` wrote, or raise FrozenError."""
    try:
        steps = []
        for step in data["steps"]:
            slips = tuple(Slip(**slip) for slip in step["slips"])
            steps.append(Step(**{**step, "slips": slips, "units_offered": tuple(step["units_offered"])}))
        decisions = tuple(
            Decision(**{**each, "limit": Limit(**each["limit"])}) for each in data.get("decisions", ())
        )
        return checked(Item(**{**data, "steps": tuple(steps), "decisions": decisions}))
    except (KeyError, TypeError, AttributeError) as error:
        raise FrozenError(
            f"The key holds a question that cannot be read ({escape.clean(str(error))})."
        ) from None
