"""Every family of the course: a sample in the tests, 20 000 variants each in the long run."""

import itertools
import os
import re
from collections import Counter
from pathlib import Path

import pytest

from gaslab.learn import family, items
from gaslab.learn.chance import Chance
from gaslab.learn.filters import numbers_in

LONG = os.environ.get("GASLAB_LONG") == "1"
COUNT = 20_000 if LONG else 60
IDS = sorted(items.families())
# Tests run side by side print nothing; the long run keeps what each family turned away here.
REPORT = Path(__file__).resolve().parent.parent / ".test-output" / "turned-away.txt"


def report(line: str) -> None:
    """Print a line; in the long run keep it too."""
    print(line)
    if LONG:
        REPORT.parent.mkdir(exist_ok=True)
        with REPORT.open("a", encoding="utf-8") as stream:
            stream.write(line + "\n")


@pytest.mark.parametrize("family_id", IDS)
def test_every_family(family_id):
    plan, stream, rejects = items.family(family_id), Chance(b"sample").child(family_id), Counter()
    for _ in range(COUNT):
        check_variant(items.draw_from(plan, stream, rejects))
    turned_away = sum(rejects.values())
    report(f"{family_id}: {COUNT} drawn, {turned_away} turned away {dict(rejects)}")
    assert turned_away < 3 * COUNT, f"{family_id} turns most draws away: {rejects}"


def check_variant(variant):
    printed = numbers_in([variant.stem, *(step.ask for step in variant.steps)])
    assert "{" not in variant.stem and variant.stem.strip() == variant.stem
    for step in variant.steps:
        assert step.lo < step.value < step.hi and step.plausible[0] <= step.value <= step.plausible[1]
        assert not any(step.lo <= number <= step.hi for number in printed), (
            variant.family,
            step.id,
            variant.params,
        )
        width = step.hi - step.lo
        for slip in step.slips:
            assert not step.lo - width <= slip.value <= step.hi + width, (
                variant.family,
                slip.id,
                variant.params,
            )
        ordered = sorted(step.slips, key=lambda slip: slip.lo)
        assert all(a.hi < b.lo for a, b in itertools.pairwise(ordered)), (variant.family, step.id)
    for limit in variant.limits:
        step = variant.step(limit.step)
        assert not any(end is not None and step.lo <= end <= step.hi for end in (limit.low, limit.high))


@pytest.mark.parametrize("family_id", IDS)
def test_a_variant_is_made_again_from_its_numbers(family_id):
    stream = Chance(b"again").child(family_id)
    for _ in range(3):
        variant = items.draw(family_id, stream)
        assert items.variant(family_id, dict(variant.params)) == variant
    assert items.draw(family_id, Chance(b"same")) == items.draw(family_id, Chance(b"same"))


@pytest.mark.parametrize("family_id", IDS)
def test_words_of_every_family(family_id):
    plan = items.family(family_id)
    variant = items.draw(family_id, Chance(b"words"))
    texts = [variant.stem, *(text for step in variant.steps for text in (step.ask, step.cue))]
    texts += [slip.says for step in plan.steps for slip in step.slips]
    for text in texts:
        for sentence in re.split(r"[.?!:;]\s", text):
            assert len(sentence.split()) <= 25, (family_id, sentence)
    for step in plan.steps:
        assert len(step.slips) >= 2 and step.kind in family.KINDS
    assert plan.chapter in {f"{number:02d}" for number in range(1, 16)}


def test_there_are_families_over_all_topics():
    kinds = {step.kind for plan in items.families().values() for step in plan.steps}
    assert kinds == set(family.KINDS) and len(IDS) >= 14
    reading = [plan.id for plan in items.families().values() if plan.instrument]
    assert len(reading) >= len(IDS) / 2
