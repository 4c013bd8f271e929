"""A decision on a limit, made in practice: kept, counted, brought back with its question, and told to the class."""

from __future__ import annotations

import json
from datetime import date

import pytest

from gaslab.learn import boxes, class_picture, items, kept_copy
from gaslab.learn.boxes import Attempt
from gaslab.learn.progress import FILE, Progress
from gaslab.show.panels import learning
from gaslab.show.panels.classroom import class_tables
from gaslab.show.panels.opening import CourseMap

# 500 ppm CO over 9.0 % CO2 is 0.0056: over 0.0040, so the answer is no. 100 over 9.0 is 0.0011: yes. (By hand.)
OVER, UNDER = {"co": 500, "co2": 9.0}, {"co": 100, "co2": 9.0}
ASK = items.family("co-ratio").limits[0].ask


def solved(progress: Progress, params, **settings):
    """Return a question panel with every step answered right, so that the decision is asked."""
    panel = learning.question(progress, lambda: items.variant("co-ratio", params), "", **settings)
    for step in panel.variant.steps:
        panel.controls["answer"].value = f"{step.value:.{step.places if step.places is not None else 6}f}"
        panel.controls["unit"].value = step.unit
        panel.controls["check"].click()
    assert panel.model.done
    return panel


def decide(panel, said: str) -> None:
    panel.controls["decision"].value = said
    panel.controls["decide"].click()


@pytest.mark.parametrize(
    ("params", "said", "outcome", "slip", "box"),
    [
        (OVER, "No", "right", "", 2),
        (OVER, "Yes", "unsafe", "said-yes", 1),
        (UNDER, "Yes", "right", "", 2),
        (UNDER, "No", "wrong decision", "said-no", 1),
    ],
)
def test_a_decision_is_kept_and_a_wrong_one_brings_the_question_back(params, said, outcome, slip, box):
    panel = solved(Progress.load(), params)
    decide(panel, said)
    panel._decide()  # a double click counts once; a button would hide an error
    kept = Progress.load()
    steps = [step.id for step in panel.variant.steps]
    assert [a.step for a in kept.attempts] == [*steps, "decision-1"]
    last = kept.attempts[-1]
    assert (last.outcome, last.slip, last.first, last.last_step) == (outcome, slip, True, False)
    state = kept.states()["co-ratio"]
    assert (state.box, state.finished) == (box, 1)
    assert (kept.due(state.last) == ("co-ratio",)) == (box == 1)


def test_a_question_whose_decision_was_not_made_stands_as_its_steps_left_it():
    solved(Progress.load(), OVER)
    assert Progress.load().states()["co-ratio"].box == 2


def attempt(second: int, step: str, outcome: str, last: bool = False) -> Attempt:
    when = f"2026-03-02T10:00:{second:02d}"
    return Attempt(f"{second:016x}", when, "co-ratio", step, "sum", outcome, "", True, last)


def test_a_wrong_decision_does_not_spoil_the_next_question():
    first = [attempt(1, "ratio", "right", True), attempt(2, "decision-1", "unsafe")]
    assert boxes.states(first)["co-ratio"].box == 1
    second = [attempt(3, "ratio", "right", True), attempt(4, "decision-1", "right")]
    assert boxes.states([*first, *second])["co-ratio"].box == 2
    # A right decision does not make up for a step that was wrong.
    assert boxes.states([attempt(1, "ratio", "slip", True), *second[1:]])["co-ratio"].box == 1
    # A decision is no step: the three bars do not count it, its own line does.
    assert boxes.profile([*first, *second])["sum"] == (2, 2)
    assert boxes.decisions([*second, *first]) == boxes.Decisions(2, 1, 1)


def test_the_course_map_tells_of_decisions_once_there_are_some():
    progress = Progress.load()
    course = CourseMap(progress)
    assert "Decisions" not in course.lines.value
    for said in ("No", "Yes", "No"):
        decide(solved(progress, OVER), said)
    course.fresh()
    assert "Decisions on a limit: 2 of 3 right. 1 said yes where it is no: unsafe." in course.lines.value


def test_old_files_stay_as_they_are_byte_for_byte(tmp_path):
    old = (
        '{"kind":"gaslab progress","schema":1,"columns":["id", "when", "family", "step", "kind", "outcome", '
        '"slip", "first", "last_step"],"attempts":[\n'
        '["00aaaaaaaaaaaaaa","2026-03-02T10:00:00","co-ratio","ratio","sum","right","",true,true]\n]}\n'
    )
    (tmp_path / FILE).write_text(old, encoding="utf-8")
    kept = Progress.load(tmp_path)
    assert kept.notices == [] and kept.states()["co-ratio"] == boxes.FamilyState(2, date(2026, 3, 2), 1)
    kept.save()
    assert (tmp_path / FILE).read_bytes() == old.encode()


def test_a_decision_goes_out_and_comes_back_with_a_copy(tmp_path):
    own = Progress.load(tmp_path / "own")
    decide(solved(own, OVER), "Yes")
    copied = kept_copy.read(own.export_text(), "the copy").attempts
    other = Progress.load(tmp_path / "other")
    assert other.join(copied) == len(copied) == len(own.attempts)
    assert Progress.load(tmp_path / "other").decisions() == boxes.Decisions(1, 0, 1)


def test_the_class_picture_tells_an_unsafe_decision_in_plain_words(tmp_path):
    for number in ("07", "08"):
        own = Progress.load(tmp_path / number)
        decide(solved(own, OVER), "Yes")
        decide(solved(own, UNDER), "No" if number == "08" else "Yes")
        folder = tmp_path / "class"
        folder.mkdir(exist_ok=True)
        (folder / f"{number}.json").write_text(own.export_text(), encoding="utf-8")
    seen = class_picture.read_class(folder)
    assert [(s.step, s.says, s.trainees, s.times) for s in seen.slips] == [
        ("decision-1", f"{ASK} Said yes where it is no: unsafe.", 2, 2),
        ("decision-1", f"{ASK} Said no where it is yes.", 1, 1),
    ]
    assert "Said yes where it is no: unsafe." in class_tables(seen)
    # A question that this course does not have still gets its sentence.
    assert (
        class_picture.slip_says("own-question", "decision-1", "said-yes")
        == "Said yes where it is no: unsafe."
    )


def test_a_question_is_done_once_its_decision_is_made_and_a_wrong_one_is_not_clean():
    done = []
    for said in ("Yes", "No"):
        panel = solved(Progress.load(), OVER, on_done=lambda variant, state: done.append(state.clean))
        assert len(done) == (0 if said == "Yes" else 1), "before the decision it is not done"
        decide(panel, said)
    assert done == [False, True]


def test_the_file_keeps_its_columns(own_home):
    decide(solved(Progress.load(), OVER), "Yes")
    raw = json.loads((own_home / FILE).read_text(encoding="utf-8"))
    assert raw["schema"] == 1 and len(raw["columns"]) == 9
    assert raw["attempts"][-1][3:7] == ["decision-1", "sum", "unsafe", "said-yes"]
