"""A study with a simulated learner: does the feedback name the slip that was made?

The learner works each question with its own habits: it reads a scale a little off, keeps
or rounds what it works out on the way, and writes its answer with the precision asked for
or one figure more. It knows nothing of bands. It makes one slip at a time, or none, or
picks a wrong unit.

    python -m gaslab.learn.study               every family
    python -m gaslab.learn.study co-ratio 500  one family, so many questions, and one of them in full
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from gaslab.learn import items
from gaslab.learn.answers import read_answer
from gaslab.learn.chance import Chance
from gaslab.learn.family import DEFAULT_FIGURES, Family, Precision, StepPlan, print_number
from gaslab.learn.formulas import FormulaError, Tree, evaluate
from gaslab.learn.marking import RIGHT, SLIP, WRONG_UNIT, StepMark, mark_step
from gaslab.learn.variant import Step, Variant

GRAINS = 1_000


@dataclass
class Tally:
    """What the feedback made of the answers of one family."""

    right_tried: int = 0
    right_marked: int = 0
    right_blamed: int = 0  # a right answer for which a slip was named: must stay 0
    slips_tried: int = 0
    slips_named: int = 0
    slips_misnamed: int = 0
    slips_passed: int = 0  # a wrong way of working marked right: must stay 0
    units_tried: int = 0
    units_named: int = 0
    rejects: Counter = field(default_factory=Counter)
    missed: Counter = field(default_factory=Counter)

    @property
    def named_share(self) -> float:
        return self.slips_named / self.slips_tried if self.slips_tried else 1.0

    def add(self, other: Tally) -> None:
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)


class Learner:
    """Works one variant with habits drawn by chance."""

    def __init__(self, variant: Variant, chance: Chance):
        self.plan: Family = variant.plan
        self.chance = chance
        self.names = items.scene(variant.plan, variant.params)
        for name, resolution in variant.plan.read.items():
            part = chance.below(GRAINS + 1) / GRAINS - 0.5  # of what can be read
            self.names[name] += part * resolution
        for number in variant.plan.on_the_way:
            self._keep(number.name, number.tree, number.precision)

    def _keep(self, name: str, tree: Tree, precision: Precision) -> None:
        value = evaluate(tree, self.names)
        self.names[name] = float(print_number(value, precision)) if self.chance.below(2) else value

    def past(self, step: StepPlan) -> None:
        """Do a step rightly and carry its answer on."""
        self._keep(step.id, step.tree, step.precision)

    def types(self, tree: Tree, precision: Precision) -> str | None:
        """Return what the learner types for a formula, or None when a calculator would show an error."""
        try:
            value = evaluate(tree, self.names)
        except FormulaError:
            return None
        extra = self.chance.below(2)
        if precision.places is not None:
            return print_number(value, Precision(places=precision.places + extra))
        return print_number(value, Precision(figures=(precision.figures or DEFAULT_FIGURES) + extra))


def marked(step: Step, text: str | None, unit: str) -> StepMark | None:
    """Return the mark of a text as a person would type it; None where nobody could work one out."""
    return None if text is None else mark_step(step, read_answer(text), unit)


def study_variant(variant: Variant, chance: Chance) -> Tally:
    """Return how one variant's feedback does against every way of answering it."""
    tally = Tally()
    for plan in variant.plan.steps:
        step = variant.step(plan.id)
        right = _working(variant, plan, chance).types(plan.tree, plan.precision)
        mark = marked(step, right, step.unit)
        tally.right_tried += 1
        tally.right_marked += mark is not None and mark.outcome == RIGHT
        tally.right_blamed += mark is not None and mark.slip is not None
        for unit in step.units_offered:
            if unit != step.unit:
                other = marked(step, right, unit)
                tally.units_tried += 1
                tally.units_named += other is not None and other.outcome == WRONG_UNIT
        for slip in plan.slips:
            text = _working(variant, plan, chance).types(slip.tree, plan.precision)
            _count_slip(tally, f"{plan.id}/{slip.id}", slip.id, marked(step, text, step.unit))
    return tally


def _working(variant: Variant, plan: StepPlan, chance: Chance) -> Learner:
    learner = Learner(variant, chance)
    for before in variant.plan.steps:
        if before.id == plan.id:
            break
        learner.past(before)
    return learner


def _count_slip(tally: Tally, place: str, slip: str, mark: StepMark | None) -> None:
    tally.slips_tried += 1
    if mark is not None and mark.slip is not None and slip in mark.slip.split("-or-"):
        tally.slips_named += 1
        return
    tally.missed[place] += 1
    if mark is not None:
        tally.slips_misnamed += mark.outcome == SLIP
        tally.slips_passed += mark.outcome == RIGHT


def study_family(plan: Family, count: int, seed: bytes) -> Tally:
    """Return the tally over `count` variants of a family."""
    chance = Chance(seed).child(plan.id)
    tally = Tally()
    for _ in range(count):
        tally.add(study_variant(items.draw_from(plan, chance, tally.rejects), chance))
    return tally


def summary(family_id: str, tally: Tally, count: int) -> str:
    """Return one line about a family."""
    rejects = ", ".join(f"{number} {reason}" for reason, number in tally.rejects.most_common()) or "none"
    missed = ", ".join(f"{place} {number}" for place, number in tally.missed.most_common(4)) or "none"
    return (
        f"{family_id}: {count} questions; right marked right {tally.right_marked}/{tally.right_tried}; "
        f"slips named {100 * tally.named_share:.1f} %; wrong units named {tally.units_named}/{tally.units_tried}; "
        f"not named: {missed}; turned away: {rejects}"
    )


def full_text(variant: Variant) -> str:
    """Return a whole question with its key, for the person who writes families."""
    lines = [variant.title, variant.stem]
    if variant.reading:
        shows = "; ".join(f"{s.label}: {s.value:.{s.places}f} {s.unit}" for s in variant.reading.shows)
        lines.append(f"[{variant.reading.instrument}] {shows}")
    for step in variant.steps:
        lines.append(f"- {step.ask} [{step.unit}] {step.lo:.6g} <= {step.value:.6g} <= {step.hi:.6g}")
        lines.append(f"  worked: {step.worked}")
        lines += [f"  {slip.id}: {slip.lo:.6g} to {slip.hi:.6g}. {slip.says}" for slip in step.slips]
    lines += [f"limit on {x.step}: {x.ask} -> {'meets' if x.meets else 'fails'}" for x in variant.limits]
    return "\n".join(lines)


def main(arguments: Iterable[str]) -> None:
    """Print the study of all families, or of one with a question of it written out."""
    wanted, count = [*arguments][:1], int([*arguments][1]) if len([*arguments]) > 1 else 200
    for family_id in wanted or items.families():
        plan = items.family(family_id)
        print(summary(family_id, study_family(plan, count, b"study"), count))
        if wanted:
            print(full_text(items.draw_from(plan, Chance.fresh())))


if __name__ == "__main__":
    main(sys.argv[1:])
