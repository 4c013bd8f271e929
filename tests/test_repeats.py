"""Testing until it holds is no test: seen in the log, and never seen where a person had a reason to test again."""

import json

import bench_jobs as jobs
import pytest
from bench_jobs import ALDER

from gaslab.refit import actions, faults, procedure, repeats
from gaslab.refit.bench import Bench, replay
from gaslab.refit.plant import bench_number

LEAK = faults.fault(ALDER, "leak-pipe", "plain")


def outcome(bench):
    return procedure.score(bench.log, ALDER, ["tightness"]).outcome("until-it-holds")


def begun(hidden=(LEAK,), stage="after"):
    bench = Bench(ALDER, hidden, 3, stage)
    jobs.survey(bench)
    return bench


def nothing(bench):
    pass


def a_word(bench):
    bench.do("decide", about="tightness", choice="make safe and report")
    bench.do("sweep for voltage")


def filled_anew(bench):
    bench.do("open", valve="control")
    bench.do("close", valve="control")


def a_repair_that_found_nothing(bench):
    assert bench.do("put right", fault="cooling").answer == "You look and find nothing wrong there."


def a_refused_one(bench):
    assert bench.do("plug ends").refused


def a_look(bench):
    bench.read("leak fluid", at="kitchen pipe")
    bench.read("thermometer")


SAME_AGAIN = [nothing, a_word, filled_anew, a_repair_that_found_nothing, a_refused_one, a_look]


@pytest.mark.parametrize("between", SAME_AGAIN)
@pytest.mark.parametrize(
    "second", [{}, {"let_by": 60}, {"settle": 85}], ids=["bare", "with let-by", "a little later"]
)
def test_the_same_test_again_until_it_holds_is_seen(between, second):
    bench = begun()
    jobs.until_it_holds(bench, between, **second)
    mark = next(m for m in procedure.score(bench.log, ALDER).marks if m.rule.key == "until-it-holds")
    assert mark.outcome == "broken" and "One lucky try" in mark.words
    assert [bench.log[n].reading["value"] for n in mark.events] == [2050.0, 1800.0, 2050.0, 2050.0]


def test_the_third_time_that_holds_is_seen_as_well_and_the_rest_of_the_marks_stay():
    bench = begun()
    jobs.tightness_test(bench)
    jobs.reads(bench, 2050.0, 1800.0)
    before = procedure.score(bench.log, ALDER, ["tightness"])
    jobs.until_it_holds(bench, let_by=0)
    after = procedure.score(bench.log, ALDER, ["tightness"])
    assert [m.rule.key for m, n in zip(before.marks, after.marks, strict=True) if m.outcome != n.outcome] == [
        "until-it-holds"
    ]


def mended(bench):
    assert bench.do("put right", fault="leak-pipe").answer.startswith("You find it")


def zeroed_anew(bench):
    bench.do("disconnect gauge")
    bench.do("zero gauge", kind="electronic-gauge")
    bench.do("connect gauge", kind="electronic-gauge")


def another_gauge(bench):
    bench.do("disconnect gauge")
    bench.do("connect gauge", kind="fine-gauge")


def hob_shut_off(bench):
    bench.do("close", valve="hob")


def window_shut(bench):
    bench.do("open window")


def a_cup_of_tea(bench):
    bench.wait(600)


def tea_before_the_screen_is_touched(bench):
    bench.advance(600)


REASONS = [
    mended,
    zeroed_anew,
    another_gauge,
    hob_shut_off,
    window_shut,
    a_cup_of_tea,
    tea_before_the_screen_is_touched,
]


@pytest.mark.parametrize("between", REASONS)
def test_a_test_again_for_a_reason_is_none(between):
    bench = begun()
    jobs.until_it_holds(bench, between)
    assert outcome(bench) == "kept"


def test_a_test_again_that_settled_longer_is_none():
    """Half a minute more than before, as data/bench.csv gives it: an exercise's own figure."""
    assert bench_number("exercise", "settle_longer") == 30.0
    bench = begun()
    jobs.until_it_holds(bench, settle=91)
    assert outcome(bench) == "kept"


def test_a_hurried_test_done_again_with_its_minute_is_none():
    bench = begun()
    jobs.tightness_test(bench, settle=45)
    jobs.reads(bench, 2050.0, 1800.0)
    jobs.tightness_test(bench, settle=60, let_by=0)
    jobs.reads(bench, 2050.0, 2050.0)
    assert outcome(bench) == "kept"


def test_one_test_watched_for_longer_is_one_test():
    bench = begun()
    jobs.tightness_test(bench)
    bench.wait(120)
    bench.read("gauge")
    jobs.reads(bench, 2050.0, 1800.0, 1790.0)
    assert outcome(bench) == "kept"


def test_a_test_that_was_broken_off_is_none():
    """After one minute, the pressure falling: no finished test, so nothing to do again."""
    bench = begun()
    jobs.tightness_test(bench, test=60)
    jobs.reads(bench, 2050.0, 1800.0)
    jobs.tightness_test(bench, let_by=0)
    jobs.reads(bench, 2050.0, 2050.0)
    assert outcome(bench) == "kept"


@pytest.mark.parametrize(("first", "second"), [(2050.0, 1800.0), (1800.0, 1800.0), (2050.0, 2050.0)])
def test_no_test_that_failed_before_one_that_held_is_none(first, second):
    """A second test that fails hides nothing, and two that hold are only care."""
    bench = begun()
    for end in (first, second):
        jobs.tightness_test(bench)
        jobs.reads(bench, 2050.0, end)
    assert outcome(bench) == "kept"


def test_the_new_pipe_is_held_against_its_own_rule():
    """A fall of 1 mbar: the exercise's 2.0 mbar allows it before the work; new pipe may show no movement."""
    bench = begun(stage="before")
    for stage, mark in (("old", "kept"), ("new", "broken")):
        if stage == "new":
            jobs.alter(bench)
        jobs.tightness_test(bench)
        jobs.reads(bench, 2050.0, 1950.0)
        jobs.tightness_test(bench, let_by=0)
        jobs.reads(bench, 2050.0, 2050.0)
        assert outcome(bench) == mark


@pytest.mark.parametrize("seed", range(6))
def test_no_job_done_well_is_ever_accused(seed):
    """Faults of every kind, tested, put right where one can and tested again."""
    for key in (
        "leak-pipe",
        "leak-appliance",
        "tap-open",
        "warming",
        "cooling",
        "hose-leaking",
        "hose-blocked",
    ):
        for grade in faults.GRADES:
            bench = Bench(ALDER, (faults.fault(ALDER, key, grade),), seed)
            jobs.survey(bench)
            jobs.tightness_test(bench)
            bench.do("put right", fault=key)
            jobs.tightness_test(bench)
            assert outcome(bench) == "kept", (key, grade)


def test_every_action_is_a_change_or_is_looked_at():
    looked_at = {
        "open",
        "close",
        "put right",
        "raise pressure",
        "let pressure out",
        "wait",
        "sweep for voltage",
        "decide",
    }
    assert set(repeats.CHANGES) | looked_at == set(actions.ACTIONS)


def test_a_replayed_log_is_marked_alike():
    """The smallest leak on new pipe, job 7: it moves a fine gauge by about 0.25 mbar, and less is no movement."""
    bench = Bench(ALDER, (faults.fault(ALDER, "leak-pipe", "marginal"),), 7, "before")
    jobs.survey(bench)
    bench.do("connect gauge", kind="fine-gauge")
    jobs.tightness_test(bench)
    jobs.alter(bench)
    for _ in range(8):
        jobs.tightness_test(bench)
    assert outcome(bench) == "broken"
    kept = json.loads(json.dumps(bench.record()))
    again = replay(ALDER, kept["seed"], bench.faults, kept["log"])
    assert procedure.score(again.log, ALDER) == procedure.score(bench.log, ALDER)
