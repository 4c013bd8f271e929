"""Marks one answer, says what went wrong, and cites the rule that it went by.

The order is fixed, so that marking again gives the same: right, right by the trainee's own
earlier figures, the right number in a wrong unit, a known slip, none of these.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from gaslab import units
from gaslab.learn.answers import Answer
from gaslab.learn.bands import Band
from gaslab.learn.family import DEFAULT_FIGURES
from gaslab.learn.formulas import FormulaError
from gaslab.learn.items import own_figures
from gaslab.learn.variant import Limit, Slip, Step, Variant

RIGHT, OWN_FIGURES, SLIP, WRONG_UNIT, OUTSIDE, NO_ANSWER, WRONG_DECISION = (
    "right", "right by own figures", "slip", "wrong unit", "outside", "no answer", "wrong decision",
)  # fmt: skip
EARNS = (RIGHT, OWN_FIGURES)
UNSAFE = "unsafe"  # what progress keeps of a decision that passes what fails
SAID_YES, SAID_NO = "said-yes", "said-no"
DECISION_SLIPS = {SAID_YES: "Said yes where it is no: unsafe.", SAID_NO: "Said no where it is yes."}
Earlier = Mapping[str, tuple[Decimal | float, str]]
"""Step id -> (number, unit) that the trainee gave for an earlier step."""

RULES = {
    "K1": "the answer lies in the accept band",
    "K2": "the answer lies in the band worked from the trainee's own earlier figures",
    "K3": "the answer lies in the accept band once turned into the unit asked for",
    "K4": "the answer is what a known slip gives",
    "K5": "the number lies in the band but its unit does not fit",
    "K6": "the answer lies in no band",
    "K7": "own figures do not count: an earlier answer is impossible",
    "K8": "own figures do not count: an earlier answer makes this step easier",
    "K9": "own figures do not count: they would turn a critical fail into a pass",
    "K0": "no number was given",
    "D1": "the decision is right, and fits the trainee's own figures",
    "D2": "the decision fits the trainee's own figures, but is wrong",
    "D3": "the decision is right, but does not fit the trainee's own figures",
    "D4": "the decision is wrong, and does not fit the trainee's own figures",
}
# Decibels and points are bare numbers that no other unit may stand for.
_CARRIED = {"dB(A)", "dB(C)", "points"}
TEN_TIMES = 10.0


@dataclass(frozen=True)
class StepMark:
    """The mark of one answer. `slip` names the likely slip; `words` is for the trainee; `rule` is in RULES."""

    outcome: str
    slip: str | None
    words: str
    rule: str

    @property
    def earned(self) -> bool:
        return self.outcome in EARNS


def in_unit(value: float, unit: str, wanted: str) -> float | None:
    """Return a number in the wanted unit, or None when the units do not measure the same thing.

    >>> round(in_unit(1200.0, "dm3/h", "m3/h"), 9), in_unit(5.0, "kWh", "kW")
    (1.2, None)
    """
    if unit == wanted:
        return value
    if {unit, wanted} & _CARRIED:
        return None
    try:
        return float(units.convert(value, unit, wanted))
    except units.UnitError:
        return None


def mark_step(
    step: Step, value: Answer | Decimal | float | None, unit: str, earlier: Earlier | None = None,
    variant: Variant | None = None,
) -> StepMark:  # fmt: skip
    """Return the mark of an answer to a step, given in `unit`.

    `earlier` and `variant` let a step be marked by the trainee's own earlier figures.
    """
    number = value.value if isinstance(value, Answer) else value
    if number is None or not math.isfinite(number):
        words = value.question if isinstance(value, Answer) else ""
        return StepMark(NO_ANSWER, None, words or "Type a number first.", "K0")
    typed = float(number)
    answer = in_unit(typed, unit, step.unit)
    if answer is not None and step.band.holds(answer):
        return _right(step, unit)
    refused = ""
    if answer is not None and earlier and variant is not None:
        own, refused = _own_figures(step, answer, earlier, variant)
        if own is not None:
            return own
    # Before the slips: the right number must never be blamed on a way of working.
    if unit != step.unit and step.band.holds(typed):
        words = (
            f"The number is right. Its unit is not: it belongs with {units.printed(step.unit) or 'no unit'}."
        )
        return StepMark(WRONG_UNIT, None, words, refused or "K5")
    slip = next((slip for slip in step.slips if answer is not None and slip.band.holds(answer)), None)
    if slip is not None:
        return StepMark(SLIP, slip.id, slip.says, refused or "K4")
    return StepMark(OUTSIDE, None, "That number does not come out of this sum.", refused or "K6")


def _right(step: Step, unit: str) -> StepMark:
    if unit == step.unit:
        return StepMark(RIGHT, None, "Right.", "K1")
    return StepMark(RIGHT, None, f"Right. It was asked for in {units.printed(step.unit) or 'no unit'}.", "K3")


def _own_figures(
    step: Step, answer: float, earlier: Earlier, variant: Variant
) -> tuple[StepMark | None, str]:
    """Return the mark by own figures, or None and the rule that forbids it ("" when it simply does not fit)."""
    own, forbidden = {}, ""
    for before in variant.steps:
        if before.id == step.id:
            break
        if before.id in earlier and before.id in variant.plan.step(step.id).tree.names:
            number, unit = earlier[before.id]
            turned = in_unit(float(number), unit, before.unit)
            if turned is not None and before.band.holds(turned):
                continue
            forbidden = forbidden or _forbidden(before, turned)
            if turned is not None and turned != 0:
                own[before.id] = turned
    if not own:
        return None, forbidden
    band, slips = _worked_again(variant, step, own)
    if band is None:
        return None, "K7"
    if not band.holds(answer):
        slip = next((slip for slip in slips if slip.band.holds(answer)), None)
        return (StepMark(SLIP, slip.id, slip.says, "K4") if slip else None), ""
    rule = forbidden or ("K9" if variant.critical and variant.passes_what_fails(step.id, band.value) else "")
    if rule:
        return StepMark(OUTSIDE, None, f"It follows from your earlier answer, but {_WHY[rule]}.", rule), rule
    return StepMark(OWN_FIGURES, None, "This step is right by your own earlier answer.", "K2"), ""


_WHY = {
    "K7": "that earlier answer cannot be. Mend it first",
    "K8": "that earlier answer makes this step too easy. Mend it first",
    "K9": "it would pass what fails. Mend the earlier answer first",
}


def _worked_again(
    variant: Variant, step: Step, own: Mapping[str, float]
) -> tuple[Band | None, tuple[Slip, ...]]:
    try:
        return own_figures(variant, step.id, own)
    except FormulaError:  # such figures have no answer, for instance the root of a negative number
        return None, ()


def _forbidden(step: Step, value: float | None) -> str:
    """Return the rule that forbids going on from an earlier answer, or ""."""
    low, high = step.plausible
    if value is None or (low >= 0 and value < 0) or (high <= 0 and value > 0):
        return "K7"
    size, least = abs(value), min(abs(low), abs(high)) if low * high > 0 else 0.0
    if value == 0 or math.isclose(size, 10.0 ** round(math.log10(size)), rel_tol=1e-12):
        return "K8"
    if size > TEN_TIMES * max(abs(low), abs(high)) or size < least / TEN_TIMES:
        return "K7"
    return ""


@dataclass(frozen=True)
class DecisionMark:
    """A decision marked twice: by the trainee's own figures, and in truth. `unsafe` goes to the assessor's list.

    Only truth earns: a decision that follows from a figure that is off could pass what fails.
    """

    consistent: bool
    right: bool
    unsafe: bool
    words: str
    rule: str

    @property
    def outcome(self) -> str:
        return RIGHT if self.right else WRONG_DECISION

    @property
    def kept(self) -> str:
        """Return the outcome that a trainee's progress keeps: it tells unsafe from wrong."""
        return UNSAFE if self.unsafe else self.outcome

    @property
    def slip(self) -> str:
        """Return the name in DECISION_SLIPS of what went wrong, or ""."""
        return "" if self.right else SAID_YES if self.unsafe else SAID_NO


def own_value(step: Step, number: Decimal | None, unit: str) -> float:
    """Return what is held against a step's limit, in the step's unit: the own answer, or the worked one."""
    own = None if number is None else in_unit(float(number), unit or step.unit, step.unit)
    return step.value if own is None else own


def mark_decision(limit: Limit, says_meets: bool, own_value: float) -> DecisionMark:
    """Return the mark of "it meets the limit" or "it does not". `own_value` is in the limit's unit."""
    consistent = says_meets == limit.met_by(own_value)
    right = says_meets == limit.meets
    unsafe = says_meets and not limit.meets
    rule = {(True, True): "D1", (True, False): "D2", (False, True): "D3", (False, False): "D4"}[
        consistent, right
    ]
    truth = limit.words_meets if limit.meets else limit.words_fails
    start = {
        "D1": "Right.", "D2": "That fits your figure, but your figure is off.",
        "D3": "Right, but your own figure says otherwise.", "D4": "Look again.",
    }[rule]  # fmt: skip
    return DecisionMark(consistent, right, unsafe, f"{start} {truth}", rule)


class Precise(Protocol):
    """Whatever says how precisely its answer is asked for: decimal places, or significant figures."""

    @property
    def places(self) -> int | None: ...

    @property
    def figures(self) -> int | None: ...


def mark_precision(step: Precise, value: Decimal) -> tuple[bool, str]:
    """Return whether an answer is as precise as asked, and a cue; apart from whether it is right.

    Noughts at the end of a whole number may be meant or not, so they never count against anyone.

    >>> from types import SimpleNamespace as S
    >>> mark_precision(S(places=1, figures=None), Decimal("20"))
    (False, 'Give 1 decimal place.')
    >>> mark_precision(S(places=None, figures=3), Decimal("1200"))
    (True, '')
    """
    whole, _, decimals = f"{abs(value):f}".partition(".")
    if step.places is not None:
        if len(decimals) < step.places:
            return False, f"Give {step.places} decimal place{'' if step.places == 1 else 's'}."
        more = "More decimals than asked for. The extra ones mean nothing."
        return True, "" if len(decimals) == step.places else more
    wanted = step.figures or DEFAULT_FIGURES
    figures = (whole + decimals).lstrip("0")
    sure = len(figures) if decimals else len(figures.rstrip("0"))
    if len(figures) < wanted:
        return False, f"Give {wanted} figures."
    return True, "" if sure <= wanted else "More figures than asked for. The extra ones mean nothing."
