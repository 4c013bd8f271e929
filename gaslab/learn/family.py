"""What a question family is: the plan that every variant of a question is made from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from gaslab import units
from gaslab.learn.formulas import Tree

DEFAULT_FIGURES = 3  # as the trade writes
KINDS = ("set-up", "sum", "reading")
KIND_WORDS = {"set-up": "setting it up", "sum": "doing the sum", "reading": "reading the instrument"}

# Instruments that a panel draws for a question.
INSTRUMENTS = (
    "water-gauge", "electronic-gauge", "fine-gauge", "metric-index", "test-dial", "stopwatch", "thermometer",
    "millivolt-meter", "tape", "analyser", "data-plate", "carbon-dioxide-meter", "co-alarm", "sound-meter",
    "barometer", "gas-detector", "job-sheet",
)  # fmt: skip


@dataclass(frozen=True)
class Precision:
    """How precisely a number is asked for or printed: decimal places, or significant figures."""

    places: int | None = None
    figures: int | None = None


@dataclass(frozen=True)
class Template:
    """A text with {name} for a number with its unit and {#name} for the number alone."""

    text: str
    parts: tuple[tuple[str, str, bool], ...]  # (text before, name or "", with unit)

    @property
    def names(self) -> frozenset[str]:
        return frozenset(name for _, name, _ in self.parts if name)

    def filled(self, printed: Mapping[str, tuple[str, str]]) -> str:
        """Return the text with every name replaced; `printed` gives (number, unit as printed)."""
        pieces = []
        for before, name, with_unit in self.parts:
            pieces.append(before)
            if name:
                number, unit = printed[name]
                pieces.append(f"{number} {unit}" if with_unit and unit else number)
        return "".join(pieces)


_PLACE = re.compile(r"\{(#?)([a-z][a-z0-9_]*)\}")


def template(text: str) -> Template:
    """Return a text split at its {names}.

    >>> template("{drop} in {#time} minutes").filled({"drop": ("0.4", "mbar"), "time": ("2", "min")})
    '0.4 mbar in 2 minutes'
    """
    parts, end = [], 0
    for found in _PLACE.finditer(text):
        parts.append((text[end : found.start()], found[2], not found[1]))
        end = found.end()
    return Template(text, (*parts, (text[end:], "", False)))


@dataclass(frozen=True)
class Known:
    """One of the course's own numbers: in the unit the family asks for, and as texts print it."""

    value: float
    unit: str
    text: str
    edition: str = ""  # of a limit; texts print it as {name_edition}


@dataclass(frozen=True)
class Drawn:
    """A number that each variant draws: low, low + step ... Its last value is at most high."""

    name: str
    unit: str
    places: int
    low: float
    step: float
    count: int
    hidden: bool
    resolution: float | None  # a person reads it to within half of this; None for figures on a display

    def value(self, index: int) -> float:
        return round(self.low + index * self.step, self.places + 3)


@dataclass(frozen=True)
class Chosen:
    """A thing that each variant draws from a list, such as a size of pipe, with numbers that go with it."""

    name: str
    texts: tuple[str, ...]
    numbers: tuple[Mapping[str, float], ...]


@dataclass(frozen=True)
class Worked:
    """A number that follows from others by a formula.

    `shown`: the question shows it, so it is rounded to what is shown before anything uses it.
    Otherwise the trainee works it out on the way, and may round it as `precision` says.
    """

    name: str
    tree: Tree
    unit: str
    precision: Precision
    shown: bool
    resolution: float | None = None


@dataclass(frozen=True)
class SlipPlan:
    """A slip that people make: the formula they work with, and what to say about it."""

    id: str
    tree: Tree
    says: str


@dataclass(frozen=True)
class StepPlan:
    """One number to give, how it is worked out, and the slips people make."""

    id: str
    kind: str
    ask: Template
    unit: str
    units_offered: tuple[str, ...]
    precision: Precision
    tree: Tree
    plausible: tuple[float, float]
    condition_ceiling: float
    slips: tuple[SlipPlan, ...]
    cue: Template
    worked: Template


@dataclass(frozen=True)
class LimitPlan:
    """A limit that the answer of a step is held against, and the words for both ways it can go."""

    step: str
    ask: Template
    low: Tree | None
    high: Tree | None
    meets: Template
    fails: Template
    source: str
    status: str


@dataclass(frozen=True)
class Shows:
    """What an instrument shows: one of the question's numbers, under a label."""

    name: str
    label: str


@dataclass(frozen=True)
class Family:
    """A whole family, read from one file and checked."""

    id: str
    version: int
    chapter: str
    title: str
    source: str
    critical: bool
    stem: Template
    instrument: str | None
    shows: tuple[Shows, ...]
    drawn: tuple[Drawn | Chosen, ...]
    shown: tuple[Worked, ...]
    facts: Mapping[str, Known]
    on_the_way: tuple[Worked, ...]
    steps: tuple[StepPlan, ...]
    limits: tuple[LimitPlan, ...]

    def printed_facts(self) -> dict[str, tuple[str, str]]:
        """Return name -> (number, unit) of the course's own numbers, as texts print them."""
        printed = {name: (fact.text, units.printed(fact.unit)) for name, fact in self.facts.items()}
        editions = {
            f"{name}_edition": (fact.edition, "") for name, fact in self.facts.items() if fact.edition
        }
        return printed | editions

    def with_facts(self, text: Template) -> str:
        """Return a text with the course's own numbers in it; a number that is drawn keeps its {name}."""
        drawn = {name: (f"{{{name}}}", "") for name in text.names}
        return text.filled(drawn | self.printed_facts())

    def step(self, step_id: str) -> StepPlan:
        return next(step for step in self.steps if step.id == step_id)

    @property
    def read(self) -> Mapping[str, float]:
        """Return name -> resolution of every number that a person reads off a scale."""
        numbers = [n for n in (*self.drawn, *self.shown) if not isinstance(n, Chosen)]
        return {n.name: n.resolution for n in numbers if n.resolution}


def print_number(value: float, precision: Precision) -> str:
    """Return a number as asked for, halves to even as everywhere in the course.

    >>> print_number(1111.59, Precision(figures=3)), print_number(20.0, Precision(places=1))
    ('1110', '20.0')
    """
    places = precision.places
    if places is None:
        places = last_place(value, precision.figures or DEFAULT_FIGURES)
    if places >= 0:
        return f"{units.rounded(value, places):f}"
    return f"{round(value, places):.0f}"


def last_place(value: float, figures: int) -> int:
    """Return the decimal place of the last of so many significant figures; below 0 before the point.

    >>> last_place(0.0123, 3), last_place(1234.0, 3)
    (4, -1)
    """
    if value == 0:
        return figures - 1
    exponent = int(f"{abs(value):.{figures - 1}e}".split("e")[1])
    return figures - 1 - exponent
