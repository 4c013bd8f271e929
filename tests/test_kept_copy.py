"""A copy of a trainee's work: answers and job in one file, brought back elsewhere with nothing lost."""

import base64
import json
import re

import pytest

from gaslab.learn import kept_copy
from gaslab.learn.class_picture import read_class
from gaslab.learn.progress import Progress
from gaslab.refit.folder import FileFault
from gaslab.refit.job import Job
from gaslab.refit.records import JobState
from gaslab.show.chapter import open_chapter


def worked(folder, value: float = 0.0):
    """Return the progress and the job of someone who has done a little."""
    progress, job = Progress.load(folder), Job.load(folder)
    progress.record("drop-from-leak", "leak", "sum", "right", first=True, last_step=True)
    job.change("runs.kitchen.pipe", "copper-22", "05")
    job.record("04", "let-by-rise", value, "mbar", 0.1)
    return progress, job


def panel_in(folder, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(folder))
    return open_chapter("00").keep()


def bring(panel, data: bytes) -> str:
    panel._bring({"new": ({"content": memoryview(data)},)})
    return panel.message.sentence


def saved_by(panel) -> bytes:
    panel.controls["make"].click()
    return base64.b64decode(re.search(r"base64,([A-Za-z0-9+/=]+)", panel.link.value)[1])


def test_a_copy_moves_answers_and_job_to_a_machine_where_nothing_was_done(tmp_path, monkeypatch):
    here, there = tmp_path / "here", tmp_path / "there"
    worked(here)
    copied = saved_by(panel_in(here, monkeypatch))
    said = bring(panel_in(there, monkeypatch), copied)
    assert "1 new answer" in said and "1 change, 1 reading and 0 findings" in said
    assert Progress.load(there).attempts == Progress.load(here).attempts
    assert kept_copy.same_work(Job.load(there).state, Job.load(here).state)
    assert Job.load(there).site.run("kitchen").pipe == "copper-22"


def test_a_copy_holds_what_other_pages_wrote_after_this_one_was_opened(tmp_path, monkeypatch):
    panel = panel_in(tmp_path, monkeypatch)
    worked(tmp_path)
    copied = kept_copy.read(saved_by(panel).decode(), "it")
    assert len(copied.attempts) == 1 and len(copied.job.readings) == 1


def test_a_job_that_is_there_is_replaced_only_on_request_and_then_archived(tmp_path, monkeypatch):
    here, there = tmp_path / "here", tmp_path / "there"
    worked(here, 0.3)
    copied = saved_by(panel_in(here, monkeypatch))
    _, own = worked(there, 0.7)
    own.advise("CO alarm", "fit one", "the tenant", "2026-11-26 10:00")
    panel = panel_in(there, monkeypatch)
    assert panel.controls["take"].layout.display == "none"
    assert "Do you want the copy's job?" in bring(panel, copied)
    assert [r.value for r in Job.load(there).readings] == [0.7]
    assert panel.controls["take"].layout.display == ""
    panel.controls["take"].click()
    after = Job.load(there)
    assert [r.value for r in after.readings] == [0.3] and after.advice == ()
    assert [(e["kind"], e.get("value", e.get("point"))) for e in after.archive] == [
        ("changes", "copper-22"), ("readings", 0.7), ("advice", "CO alarm"),
    ]  # fmt: skip
    assert "The job in it is the one you have" not in bring(panel, copied)  # its archive is longer now
    numbers = [r.number for r in (*after.readings, after.record("04", "let-by-rise", 0.1, "mbar", 0.1))]
    assert len(set(numbers)) == 2, "a new record never takes an old one's number"


def test_the_same_copy_again_changes_nothing(tmp_path, monkeypatch):
    worked(tmp_path)
    panel = panel_in(tmp_path, monkeypatch)
    said = bring(panel, saved_by(panel))
    assert "0 new answers" in said and "the one you have" in said


def test_answers_alone_are_read_too_and_a_class_takes_either(tmp_path, monkeypatch):
    progress, job = worked(tmp_path / "one")
    folder = tmp_path / "class"
    folder.mkdir()
    (folder / "07.json").write_text(kept_copy.text_of(progress, job), encoding="utf-8")
    other, _ = worked(tmp_path / "two")
    (folder / "08.json").write_text(other.export_text(), encoding="utf-8")
    seen = read_class(folder)
    assert seen.trainees == ("07", "08") and seen.refused == ()
    assert "holds no job" in bring(panel_in(tmp_path / "three", monkeypatch), other.export_text().encode())


def changed(**parts):
    def change(text: str) -> str:
        return json.dumps({**json.loads(text), **parts})

    return change


BROKEN = {
    "cut": lambda text: text[: len(text) // 2],
    "newer": changed(schema=2),
    "more": changed(more=1),
    "no job": changed(job=None),
    "job of a later course": lambda text: text.replace("gaslab-job-1", "gaslab-job-9"),
    "site": lambda text: text.replace('"alder-court"', "7"),
    "answer": lambda text: text.replace('"drop-from-leak"', '"<b>"'),
    "reading": lambda text: text.replace('"let-by-rise", "value": 0.0', '"let-by-rise", "value": NaN'),
    "twice": lambda text: text.replace('"kind"', '"schema": 1, "kind"', 1),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_damaged_copy_is_refused_with_a_sentence_and_nothing_changes(tmp_path, monkeypatch, name):
    progress, job = worked(tmp_path / "one")
    text = kept_copy.text_of(progress, job)
    broken = BROKEN[name](text)
    assert broken != text
    with pytest.raises(FileFault, match=r"the copy|job|site|reading"):
        kept_copy.read(broken, "the copy")
    panel = panel_in(tmp_path / "two", monkeypatch)
    assert "cannot be brought back" in bring(panel, broken.encode())
    assert "cannot be brought back" in bring(panel, b"\xff\xfe")
    assert Progress.load(tmp_path / "two").attempts == () and kept_copy.untouched(
        Job.load(tmp_path / "two").state
    )


@pytest.mark.parametrize(
    ("path", "was", "now"),
    [("site", "alder-court", "tern-yard"), ("pipe", "copper-22", "string")],
)
def test_a_job_that_this_home_cannot_take_is_refused_and_the_answers_still_come(
    tmp_path, monkeypatch, path, was, now
):
    progress, job = worked(tmp_path / "one")
    text = kept_copy.text_of(progress, job).replace(was, now)
    said = bring(panel_in(tmp_path / "two", monkeypatch), text.encode())
    assert "1 new answer" in said and "cannot be used" in said and now in said
    assert Job.load(tmp_path / "two").state == JobState("alder-court")


# A trouble is told at the press that met it


def test_a_disk_that_refuses_is_told_at_the_press_and_once(tmp_path, monkeypatch):
    (tmp_path / "full").mkdir()
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path / "full"))
    page = open_chapter("04")
    panel = page.record()

    def no_space(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("gaslab.refit.job.write_whole", no_space)
    panel.controls["value"].value = "0.1"
    panel.controls["put"].click()
    assert "On the sheet" in panel.message.sentence and "this session only" in panel.message.sentence
    assert panel.message.value.count('role="alert"') == 2
    panel.controls["put"].click()
    assert "this session only" not in panel.message.sentence
    assert len(page.job.readings) == 2, "the readings are kept while the page is open"


def test_a_damaged_progress_is_told_on_any_page_at_the_first_press(tmp_path, monkeypatch):
    (tmp_path / "progress.json").write_text("{", encoding="utf-8")
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    panel = open_chapter("05").decide()
    panel.controls["check"].click()
    assert "Choose one answer first" in panel.message.sentence and "was damaged" in panel.message.sentence
