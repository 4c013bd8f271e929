"""Which draws may become questions. Each filter says why it turns a draw away."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from gaslab.learn.bands import Band
from gaslab.learn.family import Chosen, Family, LimitPlan, StepPlan
from gaslab.learn.formulas import FormulaError, evaluate

NOT_A_NUMBER = "has no answer"
IMPLAUSIBLE = "answer outside the range of real jobs"
COLLISION = "a slip would be marked right"
KNIFE_EDGE = "a limit lies inside the band"
CONDITION = "a small change in a number moves the answer too much"
GIVEN_AWAY = "the answer is printed in the question"
NUDGE = 1e-6
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")


class Rejected(Exception):
    """A draw that may not become a question, and why."""

    def __init__(self, reason: str, step: str):
        self.reason, self.step = reason, step
        super().__init__(f"{step}: {reason}")


@dataclass(frozen=True)
class SlipBand:
    """A slip, or several that this variant cannot tell apart, with the answers it leads to."""

    id: str
    band: Band
    says: str


def check_plausible(step: StepPlan, band: Band) -> None:
    """Refuse an answer that no real job would give."""
    low, high = step.plausible
    if not low <= band.value <= high:
        raise Rejected(IMPLAUSIBLE, step.id)


def check_collision(step: StepPlan, band: Band, slips: Iterable[SlipBand]) -> None:
    """Refuse a variant where a wrong way of working leads into the band, or nearer than a band's width."""
    for slip in slips:
        if slip.band.touches(band) or band.lo - band.width <= slip.band.value <= band.hi + band.width:
            raise Rejected(COLLISION, step.id)


def limit_values(limit: LimitPlan, names: Mapping[str, Any]) -> tuple[float | None, float | None]:
    """Return the low and the high end of a limit, in the unit of its step."""
    low = evaluate(limit.low, names) if limit.low else None
    high = evaluate(limit.high, names) if limit.high else None
    return low, high


def check_knife_edge(step_id: str, band: Band, ends: Iterable[float | None]) -> None:
    """Refuse a variant where right answers would fall on both sides of a limit."""
    if any(end is not None and band.lo <= end <= band.hi for end in ends):
        raise Rejected(KNIFE_EDGE, step_id)


def check_given_away(step: StepPlan, band: Band, printed: Iterable[float]) -> None:
    """Refuse a variant that prints, anywhere in its text, a number that would be marked right."""
    if any(band.holds(number) or band.holds(-number) for number in printed):
        raise Rejected(GIVEN_AWAY, step.id)


def numbers_in(texts: Iterable[str]) -> set[float]:
    """Return every plain number that stands in the texts.

    >>> sorted(numbers_in(["It took 122 s.", "0.60 m³"]))
    [0.6, 3.0, 122.0]
    """
    plain = " ".join(texts).translate({ord("²"): "2", ord("³"): "3"})
    return {float(number) for number in _NUMBER.findall(plain)}


def merged(slips: Sequence[SlipBand]) -> tuple[SlipBand, ...]:
    """Return the slips with those joined that this variant cannot tell apart.

    A joined slip keeps both names and says both sentences: honest, if less sharp.
    """
    groups: list[list[SlipBand]] = []
    for slip in slips:
        near = [group for group in groups if any(slip.band.touches(other.band) for other in group)]
        for group in near:
            groups.remove(group)
        groups.append([*(other for group in near for other in group), slip])
    return tuple(group[0] if len(group) == 1 else _joined(group) for group in groups)


def _joined(group: list[SlipBand]) -> SlipBand:
    low, high = min(s.band.lo for s in group), max(s.band.hi for s in group)
    says = " Or: ".join(dict.fromkeys(s.says for s in group))
    # An exported question allows names of up to 64 characters.
    return SlipBand(
        "-or-".join(s.id for s in group)[:64].rstrip("-"), Band(group[0].band.value, low, high), says
    )


def conditions(family: Family, scene: Mapping[str, float]) -> dict[str, float]:
    """Return for each step the largest condition number |x f'(x) / f(x)| over the numbers it is worked from.

    Each number is nudged by a millionth, all nudges at once as arrays. An earlier answer that asks
    for decimal places is held to an absolute width, so it stands as a number of its own: a leak
    is judged from the drop, and not from two gauge readings that are nearly alike.
    """
    chosen = {
        name
        for part in family.drawn
        if isinstance(part, Chosen)
        for numbers in part.numbers
        for name in numbers
    }
    moving = [name for name in scene if name not in chosen and name not in family.facts]
    settled = [step.id for step in family.steps if step.precision.places is not None]
    size = len(moving) + len(settled) + 1
    factors = np.ones((size - 1, size))
    np.fill_diagonal(factors, 1.0 + NUDGE)
    rows = dict(zip((*moving, *settled), factors, strict=True))
    nudged: dict[str, Any] = dict(scene) | {name: scene[name] * rows[name] for name in moving}
    for number in family.on_the_way:
        nudged[number.name] = evaluate(number.tree, nudged)
    largest = {}
    for step in family.steps:
        values = nudged[step.id] = evaluate(step.tree, nudged)
        if not isinstance(values, np.ndarray):
            largest[step.id] = 0.0
            continue
        if values[-1] == 0:
            raise Rejected(CONDITION, step.id)
        largest[step.id] = float(np.max(np.abs(values / values[-1] - 1.0)) / NUDGE)
        if step.id in rows:
            nudged[step.id] = values[-1] * rows[step.id]
    return largest


def check_conditions(family: Family, scene: Mapping[str, float]) -> None:
    """Refuse a variant whose answer hangs on the last figure of one number.

    A step that asks for decimal places is held to an absolute width instead: a difference
    of two near readings is honest there.
    """
    if all(step.precision.places is not None for step in family.steps):
        return
    try:
        found = conditions(family, scene)
    except FormulaError:
        raise Rejected(NOT_A_NUMBER, family.steps[0].id) from None
    for step in family.steps:
        if step.precision.places is None and found[step.id] > step.condition_ceiling:
            raise Rejected(CONDITION, step.id)
