"""One question with its numbers: what a page shows, what a paper prints and what the marking holds answers against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from gaslab.learn.bands import Band
from gaslab.learn.family import Family, Precision

Params = Mapping[str, float | str]
YES, NO = "Yes", "No"  # what a decision on a limit is answered with


_DECISION = "decision-"  # a step's own name has no hyphen


def decision_name(number: int) -> str:
    """Return the name under which the decision on a question's first, second ... limit is kept."""
    return f"{_DECISION}{number}"


def is_decision(name: str) -> bool:
    """Return True for the name of a decision, False for the name of a step."""
    return name.startswith(_DECISION)


class ItemError(ValueError):
    """A question that cannot be made, told in one sentence."""


@dataclass(frozen=True)
class Slip:
    """A wrong way of doing a step, the answers it leads to, and one sentence about it."""

    id: str
    value: float
    says: str
    lo: float
    hi: float

    @property
    def band(self) -> Band:
        return Band(self.value, self.lo, self.hi)


@dataclass(frozen=True)
class Step:
    """One number to give. An answer from `lo` to `hi`, in `unit`, counts as right."""

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
    slips: tuple[Slip, ...]
    cue: str
    worked: str
    plausible: tuple[float, float]

    @property
    def band(self) -> Band:
        return Band(self.value, self.lo, self.hi)

    @property
    def precision(self) -> Precision:
        return Precision(self.places, self.figures)


@dataclass(frozen=True)
class Limit:
    """A limit on a step's answer, in the step's unit, and whether the right answer meets it."""

    step: str
    ask: str
    low: float | None
    high: float | None
    unit: str
    meets: bool
    words_meets: str
    words_fails: str
    source: str
    status: str

    def met_by(self, value: float) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True)
class Shown:
    """One thing an instrument shows."""

    name: str
    label: str
    value: float
    unit: str
    places: int


@dataclass(frozen=True)
class Reading:
    """What the trainee reads the question's numbers from. A panel draws it."""

    instrument: str
    shows: tuple[Shown, ...]

    def data(self) -> dict:
        """Return plain values for a file."""
        return {
            "instrument": self.instrument,
            "shows": [
                {"label": s.label, "value": s.value, "unit": s.unit, "places": s.places} for s in self.shows
            ],
        }


@dataclass(frozen=True)
class Variant:
    """One question with its numbers. `plan` is its family, for marking from a trainee's own figures."""

    family: str
    version: int
    chapter: str
    title: str
    params: Params
    stem: str
    reading: Reading | None
    steps: tuple[Step, ...]
    limits: tuple[Limit, ...]
    critical: bool
    source: str
    plan: Family = field(repr=False, compare=False)

    def step(self, step_id: str) -> Step:
        for step in self.steps:
            if step.id == step_id:
                return step
        raise ItemError(f"The question {self.family} has no step {step_id!r}.")

    def passes_what_fails(self, step_id: str, own: float) -> bool:
        """Return True when a figure, in the step's unit, meets a limit that the right answer does not."""
        return any(limit.step == step_id and not limit.meets and limit.met_by(own) for limit in self.limits)
