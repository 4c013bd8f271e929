"""Marks from the log alone: a good job keeps every rule, each slip breaks its own rule; debrief and wrong calls."""

import json
from dataclasses import replace

import bench_jobs as jobs
import numpy as np
import pytest
from bench_jobs import ALDER, good_job
from scipy import integrate

from gaslab.refit import debrief, decision, faults, procedure
from gaslab.refit.bench import Bench
from gaslab.refit.milestones import milestones
from gaslab.refit.plant import LEAK_STATED_AT, bench_number


def worked(*steps, stage="before", seed=3, hidden=()):
    bench = Bench(ALDER, hidden, seed, stage)
    for step in steps:
        step(bench)
    return bench


def outcome(bench, key):
    return procedure.score(bench.log, ALDER).outcome(key)


def test_a_job_done_well_keeps_every_rule():
    score = procedure.score(good_job().log, ALDER)
    assert [mark.rule.key for mark in score.marks if mark.outcome != "kept"] == []
    assert score.kept == score.counted == len(score.marks) > 25


def test_every_rule_names_why_and_a_source_and_some_job_breaks_it():
    assert {case[0] for case in SLIPS} == {rule.key for rule in procedure.rules() if rule.kind != "load"}
    for rule in procedure.rules():
        assert rule.why and rule.title


def no_sweep(bench):
    bench.do("connect gauge", kind="electronic-gauge", at="air")
    bench.read("gauge")


def no_zero(bench):
    bench.do("sweep for voltage")


def short_settle(bench):
    jobs.tightness_test(bench, settle=30)


def short_test(bench):
    jobs.tightness_test(bench, test=90)


def no_let_by(bench):
    jobs.tightness_test(bench, let_by=0)


def late_let_by(bench):
    jobs.tightness_test(bench, let_by=0)
    jobs.tightness_test(bench)


def zero_under_pressure(bench):
    jobs.tightness_test(bench)
    bench.do("zero gauge", kind="electronic-gauge")


def alter_without(*left_out):
    return lambda bench: jobs.alter(bench, leave_out=left_out)


def part_live(bench):
    bench.do("open", valve="control")
    bench.do("part pipe", run="hob")


def late_bond(bench):
    jobs.alter(bench, leave_out=("fit bond", "remove bond"))
    bench.do("fit bond")


def open_on_an_end(bench):
    jobs.alter(bench, leave_out=("plug ends", "join pipe", "remove bond"))
    assert bench.do("open", valve="control").refused


def window_shut(bench):
    jobs.gas_on_and_purge(bench, window=False)


def flame_in_purge(bench):
    bench.do("open window")
    bench.do("open", valve="control")
    bench.do("purge", ring="rapid")
    bench.wait(60)
    bench.do("light", ring="auxiliary")


def flame_in_the_smell(bench):
    jobs.gas_on_and_purge(bench, window=False, seconds=900)
    bench.do("light", ring="auxiliary")


def small_purge(bench):
    jobs.gas_on_and_purge(bench, seconds=40)


def working_first(bench):
    jobs.pressures(bench, standing=False)
    for ring in bench.plant.rings:
        bench.do("turn off", ring=ring)
    bench.wait(60)
    bench.read("gauge")


def no_load(bench):
    jobs.pressures(bench, load=False)


def rate_first(bench):
    jobs.gas_rate(bench)
    for ring in bench.plant.rings:
        bench.do("turn off", ring=ring)
    jobs.low_flames(bench)
    for ring in bench.plant.rings:
        bench.do("turn off", ring=ring)
    jobs.supervision(bench)


def one_ring_untimed(bench):
    bench.do("light", ring="rapid")
    bench.wait(30)
    bench.do("blow out", ring="rapid")
    bench.wait(60)
    bench.read("stopwatch", at="rapid")


def carry_on(about):
    return lambda bench: bench.do("decide", about=about, choice="carry on")


def purge_untested(bench):
    jobs.alter(bench)
    jobs.gas_on_and_purge(bench)


def leak_decision(bench):
    jobs.tightness_test(bench)
    bench.do("decide", about="tightness", choice="carry on")


LEAK = (faults.fault(ALDER, "leak-pipe", "obvious"),)
LIVE = (faults.fault(ALDER, "live-casing", "obvious"),)
LOW = (faults.fault(ALDER, "regulator-low", "obvious"),)
SLOW = (faults.fault(ALDER, "slow-supervision", "obvious"),)
SMALL = (faults.fault(ALDER, "low-flame", "plain"),)
INJECTOR = (faults.fault(ALDER, "wrong-injector", "obvious", "wok"),)
BLOCKED = (faults.fault(ALDER, "blocked-opening", "plain"),)

# Rule broken, how, on which stage, with which hidden faults.
SLIPS = [
    ("sweep-first", (no_sweep, jobs.tightness_test), "before", ()),
    ("gauge-zero", (no_zero, jobs.tightness_test), "before", ()),
    ("let-by", (jobs.survey, no_let_by), "before", ()),
    ("let-by-first", (jobs.survey, late_let_by), "before", ()),
    ("settle", (jobs.survey, short_settle), "before", ()),
    ("tightness", (jobs.survey, short_test), "before", ()),
    ("zero-under-pressure", (jobs.survey, zero_under_pressure), "before", ()),
    ("first-test", (jobs.survey, jobs.alter), "before", ()),
    ("oven-dead", (jobs.survey, jobs.tightness_test, alter_without("isolate oven")), "before", ()),
    ("gas-off", (jobs.survey, jobs.tightness_test, part_live), "before", ()),
    ("bond", (jobs.survey, jobs.tightness_test, late_bond), "before", ()),
    ("plug", (jobs.survey, jobs.tightness_test, alter_without("plug ends")), "before", ()),
    ("second-test", (jobs.survey, jobs.tightness_test, purge_untested), "before", ()),
    ("window", (window_shut,), "after", ()),
    ("ignition", (flame_in_purge,), "after", ()),
    ("smell", (flame_in_the_smell,), "after", ()),
    ("purge-volume", (small_purge,), "after", ()),
    ("standing", (jobs.survey,), "after", ()),
    ("standing-first", (lambda b: b.do("connect gauge", kind="fine-gauge"), working_first), "after", ()),
    ("working", (lambda b: b.do("connect gauge", kind="fine-gauge"), no_load), "after", ()),
    ("low-flame", (jobs.gas_rate,), "after", ()),
    ("supervision", (one_ring_untimed,), "after", ()),
    ("leak-fluid", (jobs.gas_rate,), "after", ()),
    ("relit", (jobs.survey, jobs.tightness_test), "after", ()),
    ("rate", (jobs.low_flames,), "after", ()),
    ("rate-after-supervision", (rate_first,), "after", ()),
    ("rate-after-low", (rate_first,), "after", ()),
    ("decide-tightness", (jobs.survey, leak_decision), "after", LEAK),
    ("decide-pressure", (lambda b: b.do("connect gauge", kind="fine-gauge"), jobs.pressures), "after", LOW),
    ("decide-supervision", (jobs.supervision,), "after", SLOW),
    ("decide-electrical", (jobs.survey, carry_on("electrical")), "after", LIVE),
    ("decide-flame", (jobs.low_flames,), "after", SMALL),
    ("decide-rate", (jobs.gas_rate,), "after", INJECTOR),
    ("decide-room", (jobs.room,), "after", BLOCKED),
    ("live-touch", (jobs.survey, jobs.tightness_test), "after", LIVE),
    ("open-end", (jobs.survey, jobs.tightness_test, open_on_an_end), "before", ()),
    ("supervision-warm", (one_ring_untimed,), "after", ()),
    ("until-it-holds", (jobs.survey, jobs.until_it_holds), "after", LEAK),
]


@pytest.mark.parametrize(("key", "steps", "stage", "hidden"), SLIPS, ids=[case[0] for case in SLIPS])
def test_each_slip_breaks_its_rule(key, steps, stage, hidden):
    bench = worked(*steps, stage=stage, hidden=hidden)
    if key == "second-test":  # the pipe must have been opened for the rule to be reached
        assert any(m.name == "purge" for m in milestones(bench.log, ALDER))
    assert outcome(bench, key) == "broken"


def test_a_rule_that_was_not_reached_does_not_count():
    score = procedure.score(worked(jobs.survey, jobs.tightness_test).log, ALDER, ["tightness", "alteration"])
    assert score.outcome("bond") == "not reached"
    assert score.counted < len(score.marks)
    assert score.kept == score.counted


# The working load


def fittings(bench, rings, appliance=True):
    bench.do("connect gauge", kind="electronic-gauge")
    bench.wait(60)
    bench.read("gauge")
    for ring in rings:
        bench.do("light", ring=ring)
    if appliance:
        bench.do("draw hot water")
    bench.wait(20)
    bench.read("gauge")


@pytest.mark.parametrize(
    ("rings", "appliance", "mark"),
    [
        (("wok", "rapid", "semi-rapid-left"), False, "kept"),  # three largest: common practice, no source
        # boiler full, hob at half: 2023 standard, a magazine article
        (("wok", "semi-rapid-left"), True, "kept"),
        (("wok", "rapid", "semi-rapid-left", "auxiliary", "semi-rapid-right"), True, "kept"),
        (("wok", "rapid"), False, "broken"),
        ((), True, "broken"),
        (("auxiliary",), True, "broken"),
    ],
)
def test_either_working_load_will_do_and_no_other(rings, appliance, mark):
    bench = Bench(ALDER, seed=3)
    fittings(bench, rings, appliance)
    assert outcome(bench, "working") == mark


def test_a_working_pressure_read_before_it_settles_is_none():
    """Five seconds is this exercise's own time to settle."""
    bench = Bench(ALDER, seed=3)
    bench.do("connect gauge", kind="electronic-gauge")
    bench.wait(60)
    bench.read("gauge")
    for ring in jobs.largest(bench):
        bench.do("light", ring=ring)
    bench.do("turn", ring="wok", to="low")
    bench.do("turn", ring="wok", to="high")
    bench.wait(3)
    bench.read("gauge")
    assert outcome(bench, "working") == "broken"
    bench.wait(2)
    bench.read("gauge")
    assert outcome(bench, "working") == "kept"


# Readings, not truth


def test_the_truth_is_never_in_the_marks():
    """Marks are worked out from the log and the site's papers: no bench, no fault, no true pressure is asked for."""
    hidden = (faults.fault(ALDER, "hose-blocked", "obvious"), faults.fault(ALDER, "leak-pipe", "obvious"))
    bench = good_job(faults=hidden)
    kept = json.loads(json.dumps(bench.record()))["log"]
    assert procedure.score(kept, ALDER) == procedure.score(bench.log, ALDER)
    lines = [{**event, "happening": "x"} if event["kind"] == "happening" else event for event in kept]
    assert (
        procedure.score([e for e in lines if e["kind"] != "happening"], ALDER).kept
        == procedure.score(kept, ALDER).kept
    )


def test_how_fast_the_hand_was_does_not_count():
    """The same job with minutes of idling between its steps has the same marks."""
    quick = good_job()
    slow = good_job(bench=SlowBench(ALDER, (), 3, "before"))
    assert slow.time > quick.time + 1000.0
    marks = [[(m.rule.key, m.outcome) for m in procedure.score(b.log, ALDER).marks] for b in (quick, slow)]
    assert marks[0] == marks[1]


class SlowBench(Bench):
    """A person who thinks for twenty seconds before each thing but the waiting itself."""

    def do(self, action, **arguments):
        if action not in ("wait", "raise pressure", "stop purge"):
            self.advance(20.0)
        return super().do(action, **arguments)


def test_a_limit_that_is_not_the_standards_says_so():
    bench = worked(jobs.survey, leak_decision, stage="after")
    words = next(m.words for m in procedure.score(bench.log, ALDER).marks if m.rule.key == "decide-tightness")
    assert "given for this exercise, not the standard's" in words


def test_a_leak_reported_instead_of_carried_on_keeps_the_rule():
    bench = Bench(ALDER, LEAK, 3)
    jobs.survey(bench)
    jobs.tightness_test(bench)
    bench.do("decide", about="tightness", choice="make safe and report")
    assert outcome(bench, "decide-tightness") == "kept"


def test_an_altered_log_line_moves_the_marks():
    """The score reads the readings shown: a drop written larger is a drop."""
    bench = worked(jobs.survey, leak_decision, stage="after")
    log = json.loads(json.dumps(bench.record()))["log"]
    readings = [e for e in log if e["kind"] == "reading" and e["name"] == "gauge"]
    readings[-1]["reading"]["value"] -= 500.0
    assert procedure.score(log, ALDER).outcome("decide-tightness") == "broken"


def test_new_pipework_may_show_no_movement_where_old_pipework_may():
    """A leak of 1 mbar in two minutes: under the exercise's 2 mbar before the work, but seen on the new run."""
    leak = (faults.fault(ALDER, "leak-pipe", "plain"),)
    bench = worked(jobs.survey, leak_decision, hidden=leak)
    assert outcome(bench, "decide-tightness") == "kept"
    jobs.alter(bench)
    leak_decision(bench)
    assert outcome(bench, "decide-tightness") == "broken"


def test_a_new_run_that_will_not_come_up_is_not_called_tight():
    """The gauge lies still at nothing: no movement, but no pressure either."""
    tap = (faults.fault(ALDER, "tap-open", "obvious", "wok"),)
    bench = worked(jobs.survey, jobs.tightness_test, jobs.alter, leak_decision, hidden=tap)
    assert bench.read("gauge").value < 100.0
    assert outcome(bench, "decide-tightness") == "broken"


@pytest.mark.parametrize("aim", [600, 1200])
def test_a_let_by_test_at_another_pressure_is_none(aim):
    bench = Bench(ALDER, seed=3)
    bench.do("connect gauge", kind="electronic-gauge")
    bench.do("close", valve="control")
    bench.do("let pressure out")
    bench.do("raise pressure", to=aim)
    bench.read("gauge")
    bench.wait(60)
    bench.read("gauge")
    assert outcome(bench, "let-by") == "broken"


def test_touching_the_pressure_in_mid_test_spoils_it():
    bench = Bench(ALDER, seed=3)
    bench.do("connect gauge", kind="electronic-gauge")
    bench.do("close", valve="control")
    bench.do("let pressure out")
    bench.do("raise pressure", to=2050)
    bench.wait(60)
    bench.read("gauge")
    bench.wait(60)
    bench.do("let pressure out", to=2000)
    bench.wait(60)
    bench.read("gauge")
    assert outcome(bench, "tightness") == "broken"


# Debrief


def test_the_debrief_tells_what_was_seen_meant_and_missed():
    hidden = (*LEAK, *SLOW, faults.fault(ALDER, "meter-card", "obvious"))
    bench = Bench(ALDER, hidden, 3)
    jobs.survey(bench)
    jobs.tightness_test(bench)
    bench.do("decide", about="tightness", choice="make safe and report")
    bench.do("open", valve="control")
    jobs.supervision(bench)
    leak, slow, card = debrief.debrief(bench).points
    assert leak.looked and leak.decided == "make safe and report" and any("mbar" in line for line in leak.saw)
    assert slow.looked and slow.decided == "carry on" and "carried on" in slow.missed
    assert not card.looked and "did not look" in card.missed
    json.dumps(debrief.as_record(debrief.debrief(bench)))


def test_consistent_but_unsafe_is_named_and_adds_no_mark():
    """A blocked hose: readings in order, decision in order, and still not safe."""
    hidden = (faults.fault(ALDER, "low-flame", "marginal"), faults.fault(ALDER, "leak-pipe", "marginal"))
    bench = Bench(ALDER, hidden, 4)
    jobs.survey(bench)
    leak_decision(bench)
    told = debrief.debrief(bench)
    assert any(line.startswith("tightness: your readings met") for line in told.consistent_but_unsafe)
    assert outcome(bench, "decide-tightness") == "kept"


def test_a_fault_put_right_is_not_unsafe():
    bench = Bench(ALDER, (faults.fault(ALDER, "leak-pipe", "marginal"),), 4)
    jobs.survey(bench)
    leak_decision(bench)
    bench.do("put right", fault="leak-pipe")
    told = debrief.debrief(bench)
    assert told.points[0].put_right
    assert told.consistent_but_unsafe == ()


def test_every_fault_has_a_place_to_look_in_the_debrief():
    assert set(debrief.LOOKS) == set(faults.kinds())


# How often the call is wrong


def test_the_arrays_agree_with_a_general_integrator():
    """dp/dt = -a p + P/T (w - D/tau exp(-t/tau)) - b. Source: scipy's DOP853; within a tenth of the finest step."""
    drawn = decision.draw_jobs(3, 40)
    times = (20.0, 60.0, 180.0)
    after = [decision.pressure_after(ALDER, drawn, decision.START_PRESSURE, time, 0.0) for time in times]
    volume, tau = ALDER.installation_volume("bore"), bench_number("bench", "settling_time")
    warmth = bench_number("bench", "compression_warming") * decision.START_PRESSURE / LEAK_STATED_AT
    per_kelvin = (ALDER.barometer + decision.START_PRESSURE) / ALDER.temperature
    for job in range(40):
        rate = drawn.leak[job] / LEAK_STATED_AT * ALDER.barometer / volume

        def change(time, p, job=job, rate=rate):
            heating = drawn.warming[job] - warmth / tau * np.exp(-time / tau)
            return -rate * p + per_kelvin * heating - drawn.barometer_rate[job]

        start = [decision.START_PRESSURE]
        there = integrate.solve_ivp(change, (0.0, 180.0), start, method="DOP853", rtol=1e-10, t_eval=times)
        assert [pressures[job] for pressures in after] == pytest.approx(there.y[0], abs=0.1)


def test_the_arrays_agree_with_the_bench_itself():
    """One job on the bench, worked by time alone; the arrays hold P/T still, which costs under half a step of 1 Pa."""
    leak = faults.fault(ALDER, "leak-pipe", "plain")
    plant = jobs.still_plant(faults=(leak,), warming=0.0002)
    bench = Bench(ALDER, plant=plant)
    state = bench.state
    state.control_open = False
    state.disturbance = (
        bench_number("bench", "compression_warming") * decision.START_PRESSURE / LEAK_STATED_AT
    )
    state.amount = plant.volume.amount(
        decision.START_PRESSURE, ALDER.temperature + state.disturbance, ALDER.barometer
    )
    bench.advance(180.0)
    alone = decision.Jobs(np.array([leak.size]), np.array([0.0002]), np.array([0.0]))
    after = decision.pressure_after(ALDER, alone, decision.START_PRESSURE, 180.0, 0.0)[0]
    assert bench.truth()["pressure"] == pytest.approx(after, abs=0.5)


def test_settling_cuts_false_alarms_and_a_fine_gauge_misses_fewer_leaks():
    rows = {(row.gauge, row.settled): row for row in decision.table(ALDER, seed=1)}
    for gauge in decision.GAUGES:
        waited, hurried = rows[gauge, True], rows[gauge, False]
        assert waited.called_leaking_though_tight < 0.5 * hurried.called_leaking_though_tight
    assert (
        rows["fine-gauge", True].called_tight_though_leaking
        < rows["water-gauge", True].called_tight_though_leaking
    )
    assert all(row.jobs == 10_000 for row in rows.values())


def test_the_curve_climbs_from_never_to_always_round_the_limits_leak():
    limit = bench_number("exercise", "permitted_drop")
    at_limit = decision.limit_leak(ALDER, limit)
    nature = decision.draw_jobs(0)
    called = []
    for part in (0.0, 0.5, 1.0, 1.5):
        drawn = replace(nature, leak=np.full_like(nature.leak, part * at_limit))
        called.append((decision.drops(ALDER, drawn, "fine-gauge", True, 0) > limit + 1e-6).mean())
    assert called[0] == 0.0 and called[1] < 0.05 and 0.2 < called[2] < 0.8 and called[3] > 0.95


def test_the_errors_move_with_the_limit():
    """A tighter limit cries out more often over tight jobs."""
    tight, loose = (decision.table(ALDER, limit=limit)[0] for limit in (25.0, 400.0))
    assert tight.called_leaking_though_tight > loose.called_leaking_though_tight


def test_a_leak_that_empties_the_pipe_is_refused():
    huge = replace(decision.draw_jobs(1, 2), leak=np.array([1e-3, 0.0]))
    with pytest.raises(ValueError, match="empties the pipe"):
        decision.pressure_after(ALDER, huge, 2050.0, 120.0, 0.0)


def test_the_study_is_settled_by_its_seed():
    assert decision.table(ALDER, seed=2, count=500) == decision.table(ALDER, seed=2, count=500)
    assert decision.table(ALDER, seed=2, count=500) != decision.table(ALDER, seed=3, count=500)
