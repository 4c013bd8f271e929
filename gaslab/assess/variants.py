"""Drawing one question of a paper: frozen, and with no number on it that would be marked right."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace

from gaslab import units
from gaslab.assess import chain, leaks, pack
from gaslab.assess.frozen import Decision, Item, Slip, Step, checked
from gaslab.learn import items
from gaslab.learn.chance import Chance
from gaslab.learn.family import Family
from gaslab.learn.variant import decision_name

TRIES = 100
TRIALS = 12  # draws that tell which steps of a family always give themselves away


class PaperError(ValueError):
    """A plan that cannot become a paper, told in one sentence."""


class GivesAway(PaperError):
    """No draw of a question fits beside the questions that the form holds already."""


class Bank:
    """The course's families, and an assessor's own ones beside them."""

    def __init__(self, own: Iterable[Family] = ()):
        self.own = {family.id: family for family in own}
        both = sorted(set(self.own) & set(items.families()))
        if both:
            raise PaperError(f"The course has a family called {both[0]} already. Give yours another name.")

    def family(self, family_id: str) -> Family:
        return self.own.get(family_id) or items.family(family_id)

    def draw(self, family_id: str, chance: Chance) -> items.Variant:
        return items.draw_from(self.family(family_id), chance)

    def variant(self, family_id: str, params: Mapping) -> items.Variant:
        return items.build(self.family(family_id), params)


@dataclass(frozen=True)
class Question:
    """One question of a plan. `steps` None asks every step that gives nothing away."""

    family: str
    steps: tuple[str, ...] | None = None
    marks: int = 1  # for each step
    critical: bool = False
    decision: int = 0  # marks for the decision on each limit; none asks for no decision

    def data(self) -> dict:
        """Return plain values for a file. Without a decision they are what they were before there was one."""
        data = asdict(self)
        return data if self.decision else {k: v for k, v in data.items() if k != "decision"}


def freeze(variant: items.Variant, identifier: str, question: Question, steps: Iterable[str]) -> Item:
    """Return a variant as a frozen item that asks only the named steps."""
    wanted = set(steps)
    asked = tuple(
        Step(
            s.id, s.kind, s.ask, s.unit, tuple(s.units_offered), float(s.value), float(s.lo), float(s.hi),
            s.places, s.figures, question.marks,
            tuple(Slip(x.id, float(x.value), x.says, float(x.lo), float(x.hi)) for x in s.slips), s.cue, s.worked,
        )
        for s in variant.steps
        if s.id in wanted
    )  # fmt: skip
    return checked(Item(
        identifier, variant.family, str(variant.version), variant.title, variant.stem, dict(variant.params), asked,
        question.critical or variant.critical, variant.source, _decisions(variant, question),
    ))  # fmt: skip


def _decisions(variant: items.Variant, question: Question) -> tuple[Decision, ...]:
    """Return the decision on each limit of a variant, if the plan asks for it."""

    def end(value: float | None) -> float | None:
        return None if value is None else float(value)

    return tuple(
        Decision(
            decision_name(number),
            replace(limit, low=end(limit.low), high=end(limit.high), meets=bool(limit.meets)),
            question.decision,
        )
        for number, limit in enumerate(variant.limits if question.decision else (), start=1)
    )


def reading_data(variant: items.Variant) -> dict | None:
    """Return what the instrument of a variant shows, each number as it is displayed."""
    if variant.reading is None:
        return None
    shows = [
        {"label": s.label, "value": f"{units.rounded(s.value, s.places):f}", "unit": s.unit}
        for s in variant.reading.shows
    ]
    return {"instrument": variant.reading.instrument, "shows": shows}


def shown_numbers(item: Item, reading: Mapping | None) -> set[float]:
    """Return every number that the trainee sees for an item; the page and the file hold the same texts."""
    return leaks.numbers(chain.canonical(pack.item_data(item, reading)).decode("ascii"))


@dataclass(frozen=True)
class Asked:
    """What trial draws say about a question: the steps to ask, and the numbers that it always prints."""

    steps: tuple[str, ...]
    always: frozenset[float]


def asked(question: Question, bank: Bank) -> Asked:
    """Return the steps that a question asks.

    A step that gives its own answer away in each of a few trial draws, as reading a
    figure off a display does, is left out unless the plan names it.
    """
    known = [step.id for step in bank.family(question.family).steps]
    if question.steps is not None and (not question.steps or not set(question.steps) <= set(known)):
        raise PaperError(f"{question.family} has the steps {', '.join(known)}; the plan asks for others.")
    if question.decision and not bank.family(question.family).limits:
        raise PaperError(
            f"{question.family} holds its answer against no limit. There is no decision to ask for."
        )
    kept = set(question.steps or ())
    always: set[float] | None = None
    chance = Chance(b"trial draws, the same for everyone")
    for _ in range(TRIALS):
        variant = bank.draw(question.family, chance)
        item = freeze(variant, "q00", question, known)
        own = shown_numbers(item, reading_data(variant))
        always = own if always is None else always & own
        if question.steps is None:
            kept |= {step.id for step in item.steps if leaks.first_hit(own, [leaks.Band(step, "")]) is None}
    if not kept:
        raise PaperError(
            f"{question.family} prints the answer of each step, as reading an instrument does. "
            "Use it on the bench or in practice, not in a paper."
        )
    return Asked(tuple(step for step in known if step in kept), frozenset(always or ()))


def draw(
    question: Question,
    identifier: str,
    chance: Chance,
    *,
    bank: Bank,
    steps: tuple[str, ...],
    shown: set[float],
    bands: list[leaks.Band],
) -> tuple[Item, Mapping | None, set[float]]:
    """Return (item, reading, numbers shown), drawn until no number of the form would be marked right in it."""
    blamed: dict[str, int] = {}
    for _ in range(TRIES):
        variant = bank.draw(question.family, chance)
        # Cheap first: most draws that do not fit are turned away before any page is written.
        new = [
            leaks.Band(step, f"{identifier}, step {step.id}") for step in variant.steps if step.id in steps
        ]
        hit = leaks.first_hit(shown, new)
        if hit is None:
            item = freeze(variant, identifier, question, steps)
            reading = reading_data(variant)
            own = shown_numbers(item, reading)
            hit = leaks.first_hit(own, bands) or leaks.first_hit(own, new)
        if hit is None:
            return item, reading, own
        blamed[hit.where] = blamed.get(hit.where, 0) + 1
    worst = max(blamed, key=lambda where: blamed[where])
    raise GivesAway(
        f"{question.family} always gives an answer away ({worst}): a number printed on the paper would be "
        "marked right. Leave that step out, take another question, or make the paper shorter."
    )
