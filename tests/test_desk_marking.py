"""Marking what came back, changing a mark with a reason, sealing, setting the cut, and the charts."""

from __future__ import annotations

import csv
import io
import re

import pytest
from desk_support import (
    Tags,
    hand_in,
    html_faults,
    made_up_batch,
    marked,
    right,
    set_paper,
    sit,
)

from gaslab.assess import demo, desk, exports, leaks, marking_batch, pack, papers, qti_results, records
from gaslab.assess.analysis import analyse
from gaslab.assess.pictures import cohort_profile, item_map, score_distribution, slip_heat
from gaslab.assess.results import Result
from gaslab.learn.family import Precision, print_number
from gaslab.learn.items import families
from gaslab.show import palette
from gaslab.show.drawings import cohort as drawn
from gaslab.show.panels import base, desk_views
from gaslab.show.panels.desk_standard import SealPanel, StandardPanel

SECRET = bytes(range(32))


@pytest.fixture
def setting(own_home):
    """A paper of three questions in two forms, set by pressing buttons."""
    return set_paper()


@pytest.fixture
def marking(own_home):
    """The made-up batch, marked."""
    return made_up_batch()


# Marking


def test_sittings_come_back_marked(setting):
    def slip(step):
        wrong = step.slips[0].value if step.slips else step.value
        return print_number(wrong, Precision(step.places, step.figures)), pack.unit_name(step.unit)

    hand_in(sit(setting.folder, "form-a", "GAS-0001", right))
    hand_in(sit(setting.folder, "form-b", "GAS-0002", slip))
    panel = marked(setting.folder)
    batch = panel.model.cohort
    most = sum(batch.most)
    scores = dict(zip(batch.candidates, batch.scores(), strict=True))
    assert scores["GAS-0001"] == most and scores["GAS-0002"] < most
    assert "GAS-0002" in batch.missed and "GAS-0001" not in batch.missed, "the leak question is critical"
    panel.controls["view"].value = "item analysis"
    assert panel.text.startswith("Not enough attempts: 2, and 30 are needed.") and panel.view_svg == ""
    panel.controls["cut"].value = str(most - 1)
    panel.controls["mark"].click()
    panel.controls["view"].value = "critical and unsafe"
    assert "1 missed a critical question" in panel.text and "GAS-0002" in panel.lines.value


def test_the_made_up_batch_marks_and_names_its_bad_files(marking):
    assert marking.bar.said == "42 of 42" and marking.bar.bar.value == 42
    assert "42 of 42" in marking.bar.words.value
    assert len(marking.model.cohort.candidates) == demo.COUNT
    assert all(name.startswith("MADE-UP-") for name in marking.model.cohort.candidates)
    marking.controls["view"].value = "files not marked"
    assert (
        "made-up.ipynb" in marking.lines.value and "Notebooks are never opened or run" in marking.lines.value
    )
    assert "cut short" in marking.lines.value


def test_every_view_has_its_sentence_and_no_view_invents_a_decision(marking):
    for name in desk_views.VIEWS:
        marking.controls["view"].value = name
        assert marking.text.split(".")[0] and 'role="status"' not in marking.view_svg
    assert marking.model.decisions() == {}
    marking.controls["cut"].value = "15"
    marking.controls["mark"].click()
    decisions = marking.model.decisions()
    error = marking.model.error
    for name, score in zip(marking.model.cohort.candidates, marking.model.cohort.scores(), strict=True):
        missed = marking.model.cohort.missed.get(name)
        wanted = (
            "not yet"
            if missed
            else "borderline"
            if abs(score - 15) < error
            else "pass"
            if score >= 15
            else "not yet"
        )
        assert decisions[name].outcome == wanted
    marking.controls["view"].value = "borderline"
    near = [n for n, d in decisions.items() if d.outcome == "borderline"]
    assert near and all(name in marking.lines.value for name in near)


@pytest.mark.parametrize("text", ["", "x", "-1", "1,200", "1e9", "nan", "999"])
def test_a_cut_that_cannot_be_used_is_refused_and_an_empty_one_decides_nothing(marking, text):
    marking.controls["cut"].value = text
    marking.controls["mark"].click()
    if text:
        assert marking.message.sentence and "marked" not in marking.message.sentence
    else:
        assert "nobody passes or fails" in marking.text


def test_a_mark_changes_only_with_a_reason_and_everything_is_kept(marking):
    c = marking.controls
    c["change"].click()
    assert "Show the reasons" in marking.text
    c["why"].click()
    result = marking.reasons.result
    step = next(s for s in result.steps if s.marks == 0)
    c["step"].value, c["new_marks"].value = (step.item, step.step), 1
    before = dict(zip(marking.model.cohort.candidates, marking.model.cohort.scores(), strict=True))
    for reason, initials in (
        ("", "AB"),
        ("short", "AB"),
        ("The page was smudged here.", ""),
        ("The page was smudged here.", "<b>"),
    ):
        c["reason"].value, c["initials"].value = reason, initials
        c["change"].click()
        assert not desk.assessor_file(marking.paper, desk.OVERRIDES).exists()
    c["reason"].value, c["initials"].value, c["new_marks"].value = "The page was smudged here.", "AB", 9
    c["change"].click()
    assert "at most 1" in marking.text
    c["new_marks"].value = 1
    c["change"].click()
    after = dict(zip(marking.model.cohort.candidates, marking.model.cohort.scores(), strict=True))
    assert after[result.candidate] == before[result.candidate] + 1
    assert {**after, result.candidate: 0} == {**before, result.candidate: 0}
    assert "Changed from 0 to 1 by AB: The page was smudged here." in marking.lines.value
    c["export"].click()
    rows = list(
        csv.DictReader(
            io.StringIO((marking.paper / "results/batch-1/steps.csv").read_text(encoding="utf-8-sig"))
        )
    )
    assert [row["override_reason"] for row in rows if row["override_reason"]] == [
        "The page was smudged here."
    ]


def test_results_are_written_whole_twice_the_same_and_never_over_each_other(marking):
    marking.controls["cut"].value = "15"
    marking.controls["mark"].click()
    marking.controls["export"].click()
    marking.controls["export"].click()
    first, second = (leaks.folder_files(marking.paper / desk.RESULTS / f"batch-{n}") for n in (1, 2))
    assert first == second and len(first) == 7
    rows = list(csv.DictReader(io.StringIO(first["results.csv"].decode("utf-8-sig"))))
    assert len(rows) == demo.COUNT
    scores = dict(zip(marking.model.cohort.candidates, marking.model.cohort.scores(), strict=True))
    assert {row["candidate"]: int(row["score"]) for row in rows} == scores
    page = first["report.html"].decode("utf-8")
    assert (
        page.count('<img alt="') == 4
        and "<script" not in page
        and "http" not in page.replace("http-equiv", "")
    )
    assert len(first["marks.jsonl"].splitlines()) == demo.COUNT + 2


def test_writing_out_marks_nothing_again_and_writes_what_was_marked(marking, monkeypatch):
    """The batch is held against marking done apart from the panel."""
    apart = list(marking.marked())
    marked = [each for each in apart if isinstance(each, Result)]
    assert list(marking.kept.results()) == marked and len(marked) == demo.COUNT
    again: list = []
    for name in ("mark", "prepared"):
        monkeypatch.setattr(marking_batch, name, lambda *given, **named: again.append(given))
    marking.controls["export"].click()
    assert again == [] and "Written to" in marking.message.sentence
    files = leaks.folder_files(marking.paper / desk.RESULTS / "batch-1")
    assert files["marks.jsonl"] == b"".join(map(marking_batch.result_line, apart))
    assert files["steps.csv"] == exports.steps_csv(marked, spreadsheet=True)
    key = desk.key_of_folder(marking.paper)
    assert files["results-qti.zip"] == qti_results.results_package(marked, key.paper, key.plan.date)


def test_a_cut_typed_after_the_marking_is_the_one_written_out(marking):
    assert marking.model.cut is None
    marking.controls["cut"].value = "24"
    marking.controls["export"].click()
    assert marking.model.cut == 24.0
    rows = (marking.paper / desk.RESULTS / "batch-1/results.csv").read_text(encoding="utf-8-sig")
    decided = {row["candidate"]: row["decision"] for row in csv.DictReader(io.StringIO(rows))}
    assert len(decided) == demo.COUNT and "" not in decided.values(), "with a cut, everyone has a decision"


def test_a_folder_that_is_not_there_is_told(marking):
    for text in ("", "nowhere/at/all", "\0", "x" * 5000, "~nobody/x"):
        marking.controls["folder"].value = text
        marking.controls["mark"].click()
        assert "folder" in marking.message.sentence


def test_a_damaged_key_stops_the_marking_in_words(marking):
    desk.assessor_file(marking.paper, desk.KEY).write_bytes(b'{"kind":"gaslab key"}')
    marking.controls["mark"].click()
    assert "The key is not laid out as a key" in marking.text


def test_seals_find_a_changed_attempt_and_a_wrong_receipt(marking):
    panel = SealPanel()
    c = panel.controls
    c["check"].click()
    assert "no seals yet" in panel.text
    c["seal"].click()
    assert "40 attempts are sealed. 2 files are not attempts." in panel.text
    c["seal"].click()
    assert "never written again" in panel.text
    for name in ("made-up.ipynb", records.file_name("MADE-UP-CUT", marking.paper.name)):
        (marking.paper / desk.CAME_BACK / name).unlink()
    c["check"].click()
    assert panel.message.sentence == "All is as it was."
    victim, other = (
        marking.paper / desk.CAME_BACK / records.file_name(f"MADE-UP-00{n}", marking.paper.name)
        for n in (1, 2)
    )
    key = desk.key_of_folder(marking.paper)
    victim.write_bytes(demo._attempt(key, "form-b", "MADE-UP-001", demo.Chance(b"another sitting")))
    c["check"].click()
    assert "not the attempt that was sealed" in panel.text and victim.name in panel.text
    c["register"].value = "MADE-UP-002 0000-0000-0000-0000"
    c["check"].click()
    assert f"{other.name}: the code written down is not" in panel.text


def test_judges_set_the_cut_and_it_is_set_once(marking):
    """Worked by hand: 24 marks all rated 0.5, then 0.7, give cuts of 12.0 and 16.8."""
    most = sum(marking.model.cohort.most)
    assert most == 24
    panel = StandardPanel()
    panel.controls["ratings"].value = "J1 " + "0.5 " * 10 + "\nJ2 " + "0,7 " * 10
    panel.controls["work_out"].click()
    assert panel.model.cut == pytest.approx(14.4) and panel.model.error == pytest.approx(2.4)
    assert "14.40 of 24" in panel.text and "Only 2 judges" in panel.text
    panel.controls["keep"].click()
    panel.controls["keep"].click()
    assert "Nothing was overwritten" in panel.text
    marking.controls["again"].click()
    assert marking.controls["cut"].value == "14.40"
    for bad in ("", "J1 0.5", "J1 " + "2 " * 10 + "\nJ2 " + "0.5 " * 10, "J1 x\nJ2 y", "J1 0.5\nJ1 0.5"):
        panel.controls["ratings"].value = bad
        panel.model = None
        panel.controls["work_out"].click()
        assert panel.model is None and panel.message.sentence


def test_a_hostile_file_name_is_shown_as_text(marking):
    (marking.paper / desk.CAME_BACK / "<img src=x onerror=alert(1)>.attempt.jsonl").write_bytes(b"x\n")
    marking.controls["mark"].click()
    marking.controls["view"].value = "files not marked"
    assert html_faults(marking) == [] and "&lt;img" in marking.lines.value


# Charts


def test_the_charts_tell_in_words_what_they_draw(marking):
    batch = desk_views.batch_of(marking.model.cohort, 15.0)
    for name in ("scores and decisions", "item analysis", "slips", "marks by kind of step"):
        view = desk_views.VIEWS[name](batch)
        assert view.svg.count("<title") == 1 and "<desc" in view.svg
        assert view.lines[0].split(".")[0][:40] in view.svg
        assert Tags(view.svg).bad == []
    counts = [
        int(float(h))
        for h in re.findall(r'height="([0-9.]+)" rx="0" fill="#0072B2"', desk_views.scores(batch).svg)
    ]
    scores = marking.model.cohort.scores()
    assert len(counts) == len(set(scores)), "one bar for each score that somebody got"
    tallest = max(scores.count(s) for s in set(scores))
    assert counts == [int(212.0 * scores.count(s) / tallest) for s in sorted(set(scores))]


def test_charts_of_nothing_say_so():
    assert "No attempts yet" in drawn.score_chart(score_distribution([], 10, 5.0, 1.0))
    assert "Too few attempts" in drawn.item_chart(item_map(analyse(["q01"], [[1]], [1])))
    assert "No named slip" in drawn.heat_chart(slip_heat(()))
    assert "No attempts yet" in drawn.profile_chart(cohort_profile({}))


def test_the_figure_in_a_heat_cell_can_be_read_on_every_look():
    for look in palette.LOOKS.values():
        for share in (0.0, 0.1, 0.25, 0.35, 0.5, 1.0):
            fill = drawn.mixed(look.card, look.gas, min(1.0, share / 0.5))
            assert max(palette.contrast(ink, fill) for ink in ("#000000", "#FFFFFF")) >= 4.5


def test_charts_follow_the_look(marking):
    marking.controls["view"].value = "slips"
    try:
        palette.use("night")
        base.restyle_all()
        assert palette.NIGHT.card in marking.view_svg
    finally:
        palette.use("cream")
        base.restyle_all()


def test_the_made_up_paper_asks_families_that_are_there():
    assert set(demo.FAMILIES) <= set(families())
    made = demo.paper(SECRET)
    assert made.plan.title.startswith("Made-up") and papers.paper_number(made.plan, SECRET) == made.number
