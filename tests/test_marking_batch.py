"""Marking a batch: every mark has its rule, bad files stop nobody, and marking again gives the same bytes."""

from __future__ import annotations

import json
import os
import random
from dataclasses import replace

import pytest
import sitting
from sitting import SECRET

from gaslab.assess import (
    attempt_reader,
    exports,
    guide,
    marking_batch,
    overrides,
    papers,
    qti_results,
    records,
    seals,
)
from gaslab.assess.attempt_reader import HandedIn, RefusedAttempt
from gaslab.assess.overrides import Override
from gaslab.assess.papers import Plan
from gaslab.assess.results import Result
from gaslab.assess.variants import Bank, Question
from gaslab.learn import items, marking


@pytest.fixture(scope="module")
def paper():
    return sitting.built(questions=20, forms=4)


@pytest.fixture(scope="module")
def key(paper):
    return guide.read_key(guide.key_json(guide.key_of(paper)))


@pytest.fixture(scope="module")
def folder(paper, tmp_path_factory):
    place = tmp_path_factory.mktemp("attempts")
    sitting.write_attempts(place, paper, 40)
    return place


def sit(paper, tmp_path, answers: dict, form: int = 0, candidate: str = "GAS-7777") -> HandedIn:
    """An attempt with (item, step) -> (text, unit)."""
    chosen = paper.forms[form]
    given = [{"item": i, "step": s, "text": t, "unit": u} for (i, s), (t, u) in answers.items()]
    data = sitting.attempt_bytes(
        paper, guide.key_of(paper).digests[chosen.name], chosen.name, candidate, given
    )
    path = tmp_path / records.file_name(candidate, paper.number)
    path.write_bytes(data)
    return attempt_reader.read(path)


def right_answers(form) -> dict:
    return {
        (item.identifier, step.id): (
            sitting.typed(step.value, step),
            step.unit if step.unit != "1" else "no unit",
        )
        for item in form.items
        for step in item.steps
    }


def test_right_answers_earn_everything(paper, key, tmp_path):
    ready = marking_batch.prepared(key)
    for place, form in enumerate(paper.forms):
        found = marking_batch.mark(sit(paper, tmp_path, right_answers(form), place), ready[form.name])
        assert found.score == found.most == sum(item.marks for item in form.items)
        assert found.missed == () and found.notes == ()
        assert all(step.rule == "K1" and step.precise for step in found.steps)


def test_nothing_answered_earns_nothing_and_says_so(paper, key, tmp_path):
    found = marking_batch.mark(sit(paper, tmp_path, {}), marking_batch.prepared(key)["form-a"])
    assert found.score == 0 and {step.outcome for step in found.steps} == {"blank"}
    assert set(found.missed) == {item.identifier for item in paper.forms[0].items if item.critical}
    assert found.precision == (0, 0)


def test_each_slip_is_named(paper, key, tmp_path):
    form = paper.forms[0]
    ready = marking_batch.prepared(key)[form.name]
    checked = 0
    for item in form.items:
        step = item.steps[0]
        for slip in step.slips:
            text = f"{slip.value:.6f}".rstrip("0").rstrip(".")
            if abs(slip.value) >= 1e7 or not slip.lo <= float(text) <= slip.hi:
                continue
            unit = step.unit if step.unit != "1" else "no unit"
            attempt = sit(paper, tmp_path, {(item.identifier, step.id): (text, unit)})
            found = next(s for s in marking_batch.mark(attempt, ready).steps if s.item == item.identifier)
            assert (found.outcome, found.slip, found.rule, found.words) == ("slip", slip.id, "K4", slip.says)
            checked += 1
    assert checked >= 20


CHAIN = """
family = "own-chain"
version = 1
chapter = "04"
title = "A chain of two steps"
source = "gaslab"
critical = true
stem = "The first number is {one}, the second {two}."
[draw.one]
unit = "mbar"
low = 2.0
high = 3.0
step = 0.1
[draw.two]
unit = "mbar"
low = 11.0
high = 19.0
step = 0.1
[[steps]]
id = "total"
kind = "sum"
ask = "What is the total?"
value = "one + two"
unit = "mbar"
units_offered = ["mbar", "Pa", "m"]
places = 1
plausible = [5, 40]
cue = "Add them."
worked = "{total}"
[[steps.slips]]
id = "taken-away"
value = "two - one"
says = "Add them, do not take away."
[[steps.slips]]
id = "first-only"
value = "one"
says = "That is the first one."
[[steps]]
id = "twice"
kind = "sum"
ask = "What is twice that?"
value = "total * 2.5"
unit = "mbar"
units_offered = ["mbar", "Pa"]
places = 1
plausible = [10, 100]
cue = "Times 2.5."
worked = "{twice}"
[[steps.slips]]
id = "half"
value = "total / 2.5"
says = "Multiply, do not divide."
[[steps.slips]]
id = "squared"
value = "total * total * 2.5"
says = "Once is enough."
[[limits]]
step = "twice"
ask = "Is it under the limit?"
high = "40"
meets = "It is under."
fails = "It is over."
source = "gaslab"
status = "given"
"""


@pytest.fixture(scope="module")
def chain_paper():
    from gaslab.learn import item_file

    bank = Bank([item_file.read_text(CHAIN)])
    plan = Plan("Chain", "2026-03-12", (Question("own-chain", marks=2),), forms=8)
    paper = papers.build(plan, SECRET, bank)
    return paper, bank, marking_batch.prepared(guide.key_of(paper), bank)


def chain_form(chain_paper, over: bool):
    """A form whose true answer is over (or under) the limit of 40."""
    paper, _, _ = chain_paper
    return next(n for n, form in enumerate(paper.forms) if (form.items[0].steps[1].value > 40) == over)


def test_follow_through_earns_and_is_named(chain_paper, tmp_path):
    paper, _, ready = chain_paper
    place = chain_form(chain_paper, over=False)
    form = paper.forms[place]
    wrong = round(form.items[0].steps[0].value + 1.3, 1)
    answers = {("q01", "total"): (f"{wrong}", "mbar"), ("q01", "twice"): (f"{wrong * 2.5:.1f}", "mbar")}
    found = marking_batch.mark(sit(paper, tmp_path, answers, place), ready[form.name])
    assert [(s.outcome, s.marks, s.rule, s.follow_through) for s in found.steps] == [
        ("outside", 0, "K6", False),
        ("right by own figures", 2, "K2", True),
    ]
    # The candidate's own figure is right by itself, but a critical question must be right in truth.
    assert found.missed == ("q01",)


def test_consistent_but_unsafe_is_listed_and_earns_nothing(chain_paper, tmp_path):
    paper, _, ready = chain_paper
    place = chain_form(chain_paper, over=True)
    form = paper.forms[place]
    answers = {("q01", "total"): ("11.7", "mbar"), ("q01", "twice"): ("29.3", "mbar")}
    found = marking_batch.mark(sit(paper, tmp_path, answers, place), ready[form.name])
    assert found.steps[1].unsafe and found.steps[1].marks == 0 and found.steps[1].rule == "K9"
    assert found.missed == ("q01",)
    cohort = marking_batch.Cohort.of_key(guide.key_of(paper))
    cohort.add(found)
    assert [entry[:3] for entry in cohort.unsafe] == [("GAS-7777", "q01", "twice")]


def test_precision_stands_apart_from_marks(chain_paper, tmp_path):
    paper, _, ready = chain_paper
    form = paper.forms[0]
    step = form.items[0].steps[0]
    answers = {("q01", "total"): (f"{step.value:.1f}", "mbar"), ("q01", "twice"): ("7", "mbar")}
    found = marking_batch.mark(sit(paper, tmp_path, answers), ready[form.name])
    assert [s.precise for s in found.steps] == [True, False] and found.precision == (1, 2)
    assert found.score == 2


def test_a_convertible_unit_is_right_and_a_foreign_one_is_not(chain_paper, tmp_path):
    paper, _, ready = chain_paper
    form = paper.forms[0]
    value = form.items[0].steps[0].value
    found = marking_batch.mark(
        sit(paper, tmp_path, {("q01", "total"): (f"{value * 100:.0f}", "Pa")}), ready[form.name]
    )
    assert (found.steps[0].rule, found.steps[0].marks) == ("K3", 2)
    found = marking_batch.mark(
        sit(paper, tmp_path, {("q01", "total"): (f"{value:.1f}", "m")}), ready[form.name]
    )
    assert (found.steps[0].outcome, found.steps[0].marks) == ("wrong unit", 0)
    found = marking_batch.mark(
        sit(paper, tmp_path, {("q01", "total"): (f"{value:.1f}", "=HYPERLINK")}), ready[form.name]
    )
    assert found.steps[0].marks == 0


def test_an_override_needs_its_reason_and_the_reason_is_kept(paper, key, folder, tmp_path):
    book = tmp_path / "overrides.jsonl"
    before = {r.candidate: r for r in marking_batch.mark_folder(folder, key) if isinstance(r, Result)}
    candidate, target = next((c, s) for c, r in before.items() for s in r.steps if s.marks == 0)
    reason = "The meter's last digit was between two figures."
    overrides.add(book, Override(candidate, target.item, target.step, target.most, reason, "JB"))
    after = {
        r.candidate: r
        for r in marking_batch.mark_folder(folder, key, overrides.in_force(book))
        if isinstance(r, Result)
    }
    changed = next(s for s in after[candidate].steps if (s.item, s.step) == (target.item, target.step))
    assert changed.marks == target.most and changed.override == reason and reason in changed.words
    assert changed.rule == f"{target.rule} O1" and changed.outcome == target.outcome
    assert after[candidate].score == before[candidate].score + target.most
    del before[candidate], after[candidate]
    assert before == after
    assert reason.encode() in exports.steps_csv(
        marking_batch.mark_folder(folder, key, overrides.in_force(book))
    )


def test_every_outcome_cites_a_known_rule(folder, key):
    seen = set()
    for found in marking_batch.mark_folder(folder, key):
        for step in found.steps:
            seen.add(step.rule)
            assert step.words and (step.marks > 0) == (step.outcome in marking.EARNS)
    assert {"K0", "K1", "K4", "K6"} <= seen <= set(marking_batch.RULES)


def test_marking_again_gives_the_same_bytes(folder, key, tmp_path):
    told = []
    first = marking_batch.mark_to_file(
        folder, key, tmp_path / "a", progress=lambda done, of: told.append((done, of))
    )
    again = marking_batch.mark_to_file(folder, guide.read_key(guide.key_json(key)), tmp_path / "b")
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()
    assert told[-1] == (40, 40) and len(told) == 40
    assert first.scores() == again.scores() and len(first.candidates) == 40
    lines = [json.loads(line) for line in (tmp_path / "a").read_bytes().splitlines()]
    assert [line["score"] for line in lines] == first.scores()
    assert not list(tmp_path.glob("*.part"))
    results = [r for r in marking_batch.mark_folder(folder, key) if isinstance(r, Result)]
    package = qti_results.results_package(results, key.paper, key.plan.date)
    assert package == qti_results.results_package(results, key.paper, key.plan.date)


def test_bad_files_are_refused_and_the_rest_is_marked(paper, key, tmp_path):
    sitting.write_attempts(tmp_path, paper, 6)
    files = sorted(tmp_path.iterdir())
    files[1].write_bytes(files[1].read_bytes()[:-20])
    files[2].write_bytes(
        files[2]
        .read_bytes()
        .replace(b"mbar", b"MBAR", 1)
        .replace(b'"m3"', b'"m9"', 1)
        .replace(b"kW", b"KW", 1)
    )
    (tmp_path / "work.ipynb").write_text("{}")
    foreign = sitting.built(3, 1, first=5)
    sitting.write_attempts(tmp_path, foreign, 1, start=900)
    cohort = marking_batch.mark_to_file(tmp_path, key, tmp_path.parent / "out.jsonl")
    assert len(cohort.candidates) == 4
    assert len(cohort.refused) == 4 and all(each.reason.endswith(".") for each in cohort.refused)
    lines = (tmp_path.parent / "out.jsonl").read_bytes().splitlines()
    assert sum(b'"refused"' in line for line in lines) == 4


def test_an_answer_to_a_question_not_asked_is_noted_and_the_page_and_the_marker_must_agree(
    paper, key, tmp_path
):
    form = paper.forms[0]
    first = (form.items[0].identifier, form.items[0].steps[0].id)
    attempt = sit(paper, tmp_path, {first: ("21.5", "mbar"), ("q99", "x"): ("1", "mbar")})
    attempt.answers[first]["read"] = "12.5"
    notes = marking_batch.mark(attempt, marking_batch.prepared(key)[form.name]).notes
    assert len(notes) == 2 and "q99" in notes[0] and "the page read 12.5, the marker 21.5" in notes[1]


def test_a_key_that_the_course_works_out_differently_is_refused(key):
    item = key.forms["form-a"][0]
    moved = replace(item.steps[0], hi=item.steps[0].hi + abs(item.steps[0].value) * 0.01)
    bad = replace(key, forms={"form-a": (replace(item, steps=(moved, *item.steps[1:])),)})
    with pytest.raises(guide.KeyFileError, match="another answer in this version"):
        marking_batch.prepared(bad)
    gone = replace(key, forms={"form-a": (replace(item, family="no-such-family"),)})
    with pytest.raises(guide.KeyFileError, match="cannot be made again"):
        marking_batch.prepared(gone)


def test_the_cohort_counts_as_its_results_do(folder, key, tmp_path):
    results = [r for r in marking_batch.mark_folder(folder, key) if isinstance(r, Result)]
    cohort = marking_batch.mark_to_file(folder, key, tmp_path / "out")
    assert cohort.scores() == [r.score for r in results]
    assert cohort.table().sum(axis=0).tolist() == [sum(r.by_item()[i] for r in results) for i in cohort.items]
    assert sum(row.count for row in cohort.slips()) == sum(bool(s.slip) for r in results for s in r.steps)
    assert cohort.follow_through == sum(s.follow_through for r in results for s in r.steps)
    assert cohort.unread == sum(bool(s.text.strip()) and s.read is None for r in results for s in r.steps)
    assert not cohort.analysis().refused
    made = cohort.decisions(cut=30.0, error=2.0)
    assert {c for c, d in made.items() if "Critical" in d.reason} == set(cohort.missed)


def test_seals_hold_for_a_year(paper, folder, tmp_path):
    out = tmp_path / "seals.json"
    assert seals.seal_all(attempt_reader.read_folder(folder), SECRET, out) == 40
    kept = seals.read(out)
    assert seals.broken(attempt_reader.read_folder(folder), SECRET, kept) == ()
    with pytest.raises(seals.SealError, match="never written again"):
        seals.seal_all([], SECRET, out)
    late = tmp_path / "later"
    late.mkdir()
    sitting.write_attempts(late, paper, 39)
    forged = next(late.glob("*00001*"))
    form = paper.forms[1]
    forged.write_bytes(
        sitting.attempt_bytes(
            paper, guide.key_of(paper).digests[form.name], form.name, "GAS-00001",
            sitting.answer_events(form.items, random.Random(999)),
        )
    )  # fmt: skip
    sitting.write_attempts(late, paper, 1, start=77)
    said = seals.broken(attempt_reader.read_folder(late), SECRET, kept)
    assert len(said) == 3
    assert "not the attempt that was sealed" in said[0] and "no seal" in said[1] and "GAS-00040" in said[2]
    register = {r.candidate: r.receipt.lower() for r in attempt_reader.read_folder(folder)}
    assert seals.receipts_differ(attempt_reader.read_folder(folder), register) == ()
    del register["GAS-00002"]
    said = seals.receipts_differ(attempt_reader.read_folder(late), register)
    assert len(said) == 3 and "no receipt code" in said[1]
    for bad in (b"", b"[]", b"{}", b'{"kind":"gaslab seals","seals":{"x":{}}}'):
        os.chmod(out, 0o644)
        out.write_bytes(bad)
        with pytest.raises(seals.SealError):
            seals.read(out)


def test_refusals_have_no_marks(tmp_path, key):
    (tmp_path / "x.txt").write_text("x")
    found = list(marking_batch.mark_folder(tmp_path, key))
    assert [type(each) for each in found] == [RefusedAttempt]


def test_the_variant_behind_a_mark_is_the_one_that_was_sat(paper, key):
    for ready in marking_batch.prepared(key)["form-b"]:
        again = items.variant(ready.item.family, ready.item.params)
        assert again.stem == ready.item.stem
