"""A number that cannot be is not written down; a movement counts whichever way it goes."""

import pytest

from gaslab.refit import checks, tosheet
from gaslab.refit.job import Job, JobError
from gaslab.show.chapter import open_chapter


@pytest.fixture
def job(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    return Job.load()


@pytest.mark.parametrize(
    ("key", "value", "need"),
    [
        ("standing-pressure", -7, "from 0 to 100 mbar"),
        ("hood-height", 70_000, "from 0 to 3000 mm"),
        ("flames-lost", -2, "a whole number from 0 to 12"),
        ("flames-lost", 0.4, "a whole number from 0 to 12"),
        ("supervision-time", 0, "from 1 to 300 s"),
        ("co-ratio", -0.1, "a number from 0 to 1."),
    ],
)
def test_a_reading_that_cannot_be_is_refused_and_not_written(job, key, value, need):
    with pytest.raises(JobError, match="Nothing was written") as told:
        tosheet.put(job, key, value)
    assert need in str(told.value) and f"read {value:g}" in str(told.value)
    assert job.readings == () and job.findings == ()


@pytest.mark.parametrize(
    ("key", "value"), [("clips", -1.0), ("oven-isolated", -2), ("controls-shown", 0.5), ("noise", 400)]
)
def test_a_check_that_cannot_be_is_refused_and_not_written(job, key, value):
    with pytest.raises(JobError, match="Nothing was written"):
        checks.answer(job, key, value)
    assert job.readings == ()


def test_every_reading_and_check_takes_what_the_home_can_show(job):
    """Each span holds the values that the site itself gives."""
    for one in (*tosheet.wanted(), *checks.checks()):
        assert one.span.least <= 0 <= one.span.most or one.key in ("gas-cv", "supervision-time")
        assert one.span.whole == (one.unit == "1" and one.resolution == 1)


@pytest.mark.parametrize("moved", [-5.0, -0.2, 0.2, 5.0])
def test_new_pipe_whose_pressure_moved_either_way_does_not_pass(job, moved):
    assert tosheet.put(job, "second-test-drop", moved).outcome == "does not meet"


@pytest.mark.parametrize("moved", [-0.1, 0.0, 0.1])
def test_new_pipe_that_held_passes(job, moved):
    assert tosheet.put(job, "second-test-drop", moved).outcome == "meets"


def test_a_rise_in_a_drop_test_is_no_pass(job):
    """The permitted drop is an `enter` row; but a pressure that rose by 3 mbar has not dropped at all."""
    assert tosheet.put(job, "first-test-drop", 1.0).outcome == "cannot judge"
    assert tosheet.put(job, "first-test-drop", -3.0).outcome == "does not meet"


def test_the_panel_says_it_and_keeps_what_was_typed(job):
    panel = open_chapter("09").record()
    panel.controls["which"].value = "standing-pressure"
    panel.controls["value"].value = "-7"
    panel.controls["put"].click()
    assert (
        "Standing pressure at the meter: read -7 mbar; needed a number from 0 to 100 mbar"
        in panel.message.sentence
    )
    assert panel.controls["value"].value == "-7"


def test_what_a_trainee_decides_stands_on_the_sheet_beside_the_finding(job):
    record, listed = open_chapter("09").record(), open_chapter("03").panel("survey-checks")
    record.controls["which"].value = "working-pressure"
    for panel, number, action in (
        (record, "15", "make safe and report"),
        (listed, "1", "hand over to a competent person"),
    ):
        panel.controls["value"].value, panel.controls["action"].value = number, action
        panel.controls["put"].click()
    sheet = open_chapter("14").panel("sheet")
    sheet.controls["make"].click()
    page = sheet.model["page"]
    assert "Decided: make safe and report" in page and "hand over to a competent person" in page
