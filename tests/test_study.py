"""The study of simulated learners, and that the study itself would notice bad feedback."""

import os
from pathlib import Path

import pytest
from test_item_file import PLAIN

from gaslab.learn import item_file, items, study
from gaslab.learn.chance import Chance
from gaslab.learn.marking import OUTSIDE, RIGHT, SLIP, StepMark

LONG = os.environ.get("GASLAB_LONG") == "1"
COUNT = 1_000 if LONG else 40
NAMED_AT_LEAST = 0.95


@pytest.mark.parametrize("family_id", sorted(items.families()))
def test_feedback_names_the_slip(family_id):
    tally = study.study_family(items.family(family_id), COUNT, b"learners")
    print(study.summary(family_id, tally, COUNT))
    assert tally.slips_tried >= 2 * COUNT and tally.right_tried >= COUNT
    assert tally.named_share >= NAMED_AT_LEAST, tally.missed
    assert tally.slips_passed == 0  # no wrong way of working is marked right
    assert tally.right_blamed == 0  # no right answer is told a slip
    assert tally.right_marked == tally.right_tried
    assert tally.units_named == tally.units_tried


def tally_with(monkeypatch, mark):
    monkeypatch.setattr(study, "mark_step", mark)
    return study.study_family(items.family("co-ratio"), 10, b"learners")


def test_the_study_notices_feedback_that_blames_right_answers(monkeypatch):
    tally = tally_with(monkeypatch, lambda step, answer, unit: StepMark(SLIP, step.slips[0].id, "", "K4"))
    assert (
        tally.right_blamed == tally.right_tried > 0
        and tally.slips_misnamed > 0
        and tally.named_share < NAMED_AT_LEAST
    )


def test_the_study_notices_feedback_that_passes_or_says_nothing(monkeypatch):
    assert tally_with(monkeypatch, lambda *_: StepMark(RIGHT, None, "", "K1")).slips_passed > 0
    silent = tally_with(monkeypatch, lambda *_: StepMark(OUTSIDE, None, "", "K6"))
    assert silent.slips_named == 0 and silent.right_marked == 0 and silent.missed


def test_the_learner_knows_nothing_of_bands():
    source = Path(study.__file__).read_text(encoding="utf-8")
    assert ".lo" not in source.split("def full_text")[0] and "Workings" not in source


def test_the_learner_works_as_people_do():
    """It reads within half a mark, rounds or does not, and writes as asked or one figure more."""
    plan = item_file.read_text(
        PLAIN.replace('unit = "m"\n[draw.b]', 'unit = "m"\nresolution = 0.5\n[draw.b]', 1)
    )
    variant, stream = items.build(plan, {"a": 10, "b": 20}), Chance(b"people")
    step = plan.steps[0]
    typed = {study.Learner(variant, stream).types(step.tree, step.precision) for _ in range(300)}
    values = sorted(map(float, typed))
    assert 29.74 <= values[0] < 29.8 and 30.2 < values[-1] <= 30.26
    assert {len(text.split(".")[1]) for text in typed} == {1, 2}
