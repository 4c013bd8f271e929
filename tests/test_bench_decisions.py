"""What is decided on flame, gas rate, supervision and room is held against the readings, never against the truth."""

import json

import bench_jobs as jobs
import pytest
from bench_jobs import ALDER

from gaslab import tables
from gaslab.refit import criteria, debrief, faults, findings, procedure
from gaslab.refit.bench import Bench, replay
from gaslab.refit.exercises import EXERCISES
from gaslab.refit.milestones import milestones
from gaslab.refit.work_actions import TOPICS
from gaslab.show.chapter import open_chapter

PLATE = 11_500.0  # W gross: 1.0 + 1.75 + 1.75 + 3.0 + 4.0 kW on the hob's plate
DEFAULT = 39e6  # J/m3: the default of the worked examples


def begun(*hidden, seed=3, stage="after"):
    return Bench(ALDER, [faults.fault(ALDER, *one) for one in hidden], seed, stage)


def mark(bench, about):
    return next(m for m in procedure.score(bench.log, ALDER).marks if m.rule.key == f"decide-{about}")


def decided(bench, about, choice="carry on"):
    """Decide, and return the outcome of the mark."""
    assert not bench.do("decide", about=about, choice=choice).refused
    return mark(bench, about).outcome


def found(bench, about):
    return findings.findings(about, milestones(bench.log, ALDER))


def light(bench, *rings, to="high"):
    for ring in rings or bench.plant.rings:
        bench.do("light", ring=ring)
        bench.do("turn", ring=ring, to=to)


def timed(bench, heat, seconds=600.0, cv=DEFAULT):
    """Read the index twice; what it counted is written as a heat [W gross] at a calorific value."""
    bench.read("index")
    bench.wait(seconds)
    bench.read("index")
    lines = [n for n, event in enumerate(bench.log) if event.kind == "reading" and event.name == "index"]
    first = bench.log[lines[-2]].reading["value"]
    jobs.rewrite(bench, lines[-1], first + heat / cv * seconds)


# Every side of the job


def test_every_side_of_the_job_can_be_decided_and_has_its_rule():
    rules = {rule.action for rule in procedure.rules() if rule.kind == "decide"}
    assert rules == set(TOPICS) == set(findings.TOPICS)


@pytest.mark.parametrize("about", TOPICS)
def test_carrying_on_with_no_reading_breaks_the_rule_and_anything_else_keeps_it(about):
    bench = begun()
    assert decided(bench, about) == "broken"
    assert "There is no reading to go by." in mark(bench, about).words
    for choice in ("put right", "make safe and report"):
        assert decided(begun(), about, choice) == "kept"


@pytest.mark.parametrize(
    ("exercise", "about"),
    [("bench-pressures", "flame"), ("bench-rate", "rate"), ("bench-supervision", "supervision")]
    + [("bench-whole-job", about) for about in TOPICS],
)
def test_each_exercise_marks_its_decisions(exercise, about):
    bench = begun()
    bench.do("decide", about=about, choice="carry on")
    score = procedure.score(bench.log, ALDER, EXERCISES[exercise].parts)
    assert score.outcome(f"decide-{about}") == "broken"


# Gas rate


@pytest.mark.parametrize(
    ("percent", "outcome", "says"),
    [
        (0.0, "kept", "0.0 % meets"),
        (2.4, "kept", "2.4 % meets"),
        (-7.4, "kept", "-7.4 % meets"),
        (4.5, "broken", "read again, for longer"),  # the meter's own class reaches over the limit
        (-9.5, "broken", "read again, for longer"),
        (8.0, "broken", "8.0 % does not meet: the limit is from -10 to 5 %"),
        (-13.0, "broken", "-13.0 % does not meet"),
    ],
)
def test_the_rate_is_held_against_the_plate(percent, outcome, says):
    """Ten minutes of the whole hob. The band is common practice: -10 to +5 %; a doubt of about 2 % counts."""
    bench = begun()
    light(bench)
    timed(bench, PLATE * (1.0 + percent / 100.0))
    assert decided(bench, "rate") == outcome
    assert says in mark(bench, "rate").words and "common practice, no source" in mark(bench, "rate").words


def test_a_short_run_cannot_tell_and_a_longer_one_can():
    """One digit is 1 dm3: of 17.7 dm3 in a minute it is 2.3 % (k = 2: 4.6 %), of 177 dm3 a tenth of that."""
    bench = begun()
    light(bench)
    timed(bench, 1.02 * PLATE, 60.0)
    assert decided(bench, "rate") == "broken" and "cannot tell" in mark(bench, "rate").words
    bench.wait(540.0)
    bench.read("index")
    lines = [n for n, event in enumerate(bench.log) if event.name == "index"]
    first = bench.log[lines[0]]
    jobs.rewrite(bench, lines[-1], first.reading["value"] + 1.02 * PLATE / DEFAULT * 600.0)
    assert bench.log[lines[-1]].time - first.time == pytest.approx(600.0)
    assert decided(bench, "rate") == "kept"


def test_the_bills_calorific_value_counts_where_it_was_read():
    """By 39 MJ/m3 the hob gives all of its plate; the bill says less, and with it the heat: 8 %, within the band."""
    bench = begun(("cv-off", "obvious"))
    light(bench)
    timed(bench, PLATE)
    assert found(bench, "rate")[0].reading == pytest.approx(0.0, abs=1e-9)
    bill = bench.read("gas bill").value
    assert bill < 0.94 * DEFAULT
    assert found(bench, "rate")[0].reading == pytest.approx(bill / DEFAULT - 1.0, abs=1e-9)


def test_each_set_of_rings_that_was_timed_counts():
    """The whole hob is well, one ring alone takes half of its 4 kW: the sum hides it."""
    bench = begun()
    light(bench)
    timed(bench, 0.95 * PLATE)
    assert decided(bench, "rate") == "kept"
    for ring in bench.plant.rings:
        if ring != "wok":
            bench.do("turn off", ring=ring)
    timed(bench, 2000.0)
    assert decided(bench, "rate") == "broken" and "-50.0 % does not meet" in mark(bench, "rate").words
    bench.do("turn", ring="wok", to="low")
    bench.do("turn", ring="wok", to="high")
    timed(bench, 3900.0)  # the same ring anew: its newest counts
    assert [round(100 * one.reading, 1) for one in found(bench, "rate")] == [-5.0, -2.5]
    assert decided(bench, "rate") == "kept"


def test_a_flame_on_low_a_boiler_or_a_purge_gives_nothing_to_hold_against_the_plate():
    bench = begun()
    light(bench, "wok", to="low")
    timed(bench, 4000.0)
    assert found(bench, "rate") == []
    bench.do("turn", ring="wok", to="high")
    bench.do("draw hot water")
    timed(bench, 4000.0)
    assert found(bench, "rate") == []
    bench.do("stop", appliance="boiler")
    bench.do("purge", ring="rapid")
    timed(bench, 4000.0)
    assert found(bench, "rate") == []


def test_the_old_hob_is_held_against_its_own_plate_and_says_nothing_about_the_new_one():
    """The old rapid ring has 2.75 kW on its plate, the new one 3.0 kW."""
    bench = begun(stage="before")
    light(bench, "rapid")
    timed(bench, 2750.0)
    assert found(bench, "rate")[0].reading == pytest.approx(0.0, abs=1e-9)
    bench.do("turn off", ring="rapid")
    jobs.tightness_test(bench)
    jobs.alter(bench)
    assert found(bench, "rate") == []


# Low flame and supervision


def test_a_low_flame_that_goes_out_when_hot_water_is_drawn():
    bench = begun(("low-flame", "plain"))
    jobs.low_flames(bench)
    assert mark(bench, "flame").outcome == "broken"
    assert "1 does not meet: the limit is at most 0" in mark(bench, "flame").words
    assert decided(bench, "flame", "put right") == "kept"
    assert bench.do("put right", fault="low-flame").answer.startswith("You find it")
    assert decided(bench, "flame") == "broken"  # tried again first
    for ring in bench.state.lit():
        bench.do("turn off", ring=ring)
    jobs.low_flames(bench)
    assert mark(bench, "flame").outcome == "kept"


def test_a_ring_lit_again_before_anyone_looked_proves_nothing():
    bench = begun(("low-flame", "plain"))
    light(bench, to="low")
    bench.do("draw hot water")
    out = [ring for ring in bench.plant.rings if ring not in bench.state.lit()]
    assert len(out) == 1
    bench.do("light", ring=out[0])
    for ring in bench.plant.rings:
        assert bench.read("flame", at=ring).value == 1.0
    assert found(bench, "flame") == [] and decided(bench, "flame") == "broken"


def test_a_ring_turned_off_after_it_was_looked_at_is_still_proved():
    bench = begun()
    light(bench, to="low")
    bench.do("draw hot water")
    for ring in bench.plant.rings:
        bench.read("flame", at=ring)
        bench.do("turn off", ring=ring)
        bench.read("flame", at=ring)
    assert found(bench, "flame")[0].outcome == criteria.MEETS
    assert decided(bench, "flame") == "kept"


def test_the_newest_time_of_each_ring_counts_and_a_mended_ring_is_timed_again():
    bench = begun(("slow-supervision", "plain"))
    jobs.supervision(bench)
    slow = bench.faults[0].place
    assert mark(bench, "supervision").outcome == "broken" and len(found(bench, "supervision")) == 5
    bench.do("put right", fault="slow-supervision", place=slow)
    assert len(found(bench, "supervision")) == 4  # the other rings are as they were
    bench.do("light", ring=slow)
    bench.wait(30)
    bench.do("blow out", ring=slow)
    bench.wait(60)
    bench.read("stopwatch", at=slow)
    assert len(found(bench, "supervision")) == 5 and decided(bench, "supervision") == "kept"
    assert mark(bench, "supervision").words.count("meets: the limit is at most 60 s") == 5


def test_what_was_tight_with_a_leak_is_tested_again_once_it_is_mended():
    bench = begun(("leak-pipe", "plain"))
    jobs.survey(bench)
    jobs.tightness_test(bench)
    assert decided(bench, "tightness") == "kept"
    bench.do("put right", fault="leak-pipe")
    assert decided(bench, "tightness") == "broken" and "no reading" in mark(bench, "tightness").words
    bench.do("put right", fault="leak-pipe")  # nothing is there any more: nothing changes
    jobs.tightness_test(bench)
    bench.do("put right", fault="leak-pipe")
    assert decided(bench, "tightness") == "kept"


def test_every_fault_that_can_be_put_right_says_which_readings_it_made_stale():
    for key in faults.kinds():
        bench = begun((key, "obvious"))
        answer = bench.do("put right", fault=key)
        assert answer.refused or key in findings.STALE or findings.side(key) in findings.STALE, key


# Room


def test_the_openings_limit_is_the_exercises_own_and_the_hoods_is_its_makers():
    bench = begun()
    jobs.room(bench)
    words = mark(bench, "room").words
    assert mark(bench, "room").outcome == "kept"
    assert "the limit is at least 90 % (given for this exercise, not the standard's)" in words
    assert "the limit is at least 700 mm" in words and "the maker's figure" in words


@pytest.mark.parametrize(
    ("hidden", "says"),
    [(("blocked-opening", "marginal"), "85 % does not meet"), (("hood-low", "marginal"), "mm does not meet")],
)
def test_a_covered_opening_or_a_low_hood_is_not_carried_on_with(hidden, says):
    bench = begun(hidden)
    jobs.room(bench)
    assert mark(bench, "room").outcome == "broken" and says in mark(bench, "room").words
    bench.do("put right", fault=hidden[0])
    assert decided(bench, "room") == "broken"  # looked at again first
    jobs.room(bench)
    assert mark(bench, "room").outcome == "kept"


def test_one_look_is_not_the_whole_room():
    bench = begun()
    bench.read("opening")
    bench.read("tape", at="bond")
    assert found(bench, "room") == [] and decided(bench, "room") == "broken"


def test_without_the_exercises_limit_the_opening_cannot_be_judged():
    """No published figure was seen: the course's own limit waits for someone to enter it."""
    assert criteria.judge("opening-clear", 0.95, entries=()).outcome == criteria.NO_LIMIT
    fact = tables.fact("bench", "exercise", "opening_clear")
    threshold = faults.kinds()["blocked-opening"].threshold
    assert fact.status == "invented" and tables.si("bench", "exercise", "opening_clear") == pytest.approx(
        threshold
    )


# The truth


@pytest.mark.parametrize(
    ("about", "hidden", "work"),
    [
        ("rate", ("wrong-injector", "marginal"), jobs.gas_rate),
        ("supervision", ("slow-supervision", "marginal"), jobs.supervision),
        ("room", ("hood-low", "marginal"), jobs.room),
        ("flame", ("low-flame", "marginal"), jobs.low_flames),
    ],
)
def test_consistent_but_unsafe_is_told_and_moves_no_mark(about, hidden, work):
    """Readings that fit, or are written so that they do: the mark is kept, the debrief names what was hidden."""
    good, bad = begun(), begun(hidden)
    for bench in (good, bad):
        work(bench)
        jobs.good_readings(bench)
    assert mark(good, about).outcome == mark(bad, about).outcome == "kept"
    assert debrief.debrief(good).consistent_but_unsafe == ()
    told = debrief.debrief(bad).consistent_but_unsafe
    assert [line.partition(":")[0] for line in told] == [about] and bad.faults[0].kind.title in told[0]


@pytest.mark.parametrize(("key", "seen"), [("meter-card", False), ("cv-off", True), ("cv-off", False)])
def test_a_wrong_card_or_a_bill_that_was_read_is_no_danger(key, seen):
    bench = begun((key, "plain"))
    if seen:
        bench.read("gas bill")
    jobs.gas_rate(bench)
    assert mark(bench, "rate").outcome == "kept"
    assert bool(debrief.debrief(bench).consistent_but_unsafe) == (key == "cv-off" and not seen)


def test_a_replayed_job_has_the_same_marks():
    hidden = [faults.fault(ALDER, key, "plain") for key in ("wrong-injector", "low-flame", "blocked-opening")]
    bench = jobs.good_job(hidden)
    kept = json.loads(json.dumps(bench.record()))
    again = replay(ALDER, kept["seed"], bench.faults, kept["log"], kept["stage"])
    score = procedure.score(bench.log, ALDER)
    assert procedure.score(again.log, ALDER) == procedure.score(kept["log"], ALDER) == score
    assert score.outcome("decide-flame") == score.outcome("decide-room") == "broken"


def test_the_panel_takes_the_decision_and_says_the_finding():
    panel = open_chapter("10").panel("bench-rate")
    panel.begin(1000)
    jobs.gas_rate(panel.model)
    panel._offer()
    panel.controls["action"].value = "decide"
    panel.values["about"].value, panel.values["choice"].value = "rate", "carry on"
    panel.controls["do"].click()
    assert panel.message.sentence == "Written down: rate, carry on."
    panel.controls["marks"].click()
    assert panel.score.outcome("decide-rate") == "kept"
    assert "What you decide on the gas rate follows from your readings" in panel.log_lines.value
