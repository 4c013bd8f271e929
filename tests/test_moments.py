"""Rules that hold at the moment of an action, and each time that it is done again; and what a test does not cover."""

import bench_jobs as jobs
import pytest
from bench_jobs import ALDER

from gaslab.refit import debrief, faults, procedure
from gaslab.refit.bench import Bench


def outcome(bench, key):
    return procedure.score(bench.log, ALDER).outcome(key)


def after_the_first_test():
    bench = Bench(ALDER, (), 3, "before")
    jobs.survey(bench)
    jobs.tightness_test(bench)
    return bench


def test_a_bond_that_was_taken_off_again_is_no_bond():
    bench = after_the_first_test()
    for name in ("isolate oven", "fit bond", "remove bond", "let pressure out"):
        bench.do(name)
    bench.do("part pipe", run="hob")
    assert outcome(bench, "bond") == "broken"


def test_the_second_time_the_pipe_is_parted_needs_bond_plugs_and_a_test_of_its_own():
    bench = after_the_first_test()
    jobs.alter(bench)
    jobs.tightness_test(bench)
    assert [outcome(bench, key) for key in ("bond", "plug")] == ["kept", "kept"]
    jobs.alter(bench, leave_out=("fit bond", "remove bond", "plug ends"))
    assert [outcome(bench, key) for key in ("bond", "plug")] == ["broken", "broken"]
    jobs.gas_on_and_purge(bench)
    assert outcome(bench, "second-test") == "broken"


def test_a_bond_left_on_serves_the_second_time_too():
    bench = after_the_first_test()
    jobs.alter(bench, leave_out=("remove bond",))
    jobs.alter(bench, leave_out=("fit bond",))
    assert outcome(bench, "bond") == "kept"


def test_the_window_stays_open_until_the_purge_is_over():
    bench = Bench(ALDER, (), 3, "after")
    bench.do("open window")
    bench.do("open", valve="control")
    bench.do("purge", ring="rapid")
    bench.wait(10)
    assert outcome(bench, "window") == "kept"
    bench.do("close window")
    assert outcome(bench, "window") == "broken"


def test_a_flame_refused_by_the_smell_counts_all_the_same():
    bench = Bench(ALDER, (), 3, "after")
    jobs.gas_on_and_purge(bench, window=False, seconds=900)
    refused = bench.do("light", ring="auxiliary").refused
    assert outcome(bench, "smell") == "broken", refused


def test_after_a_minute_alight_a_ring_may_be_blown_out():
    """The minute is given for this exercise."""
    for seconds, mark in ((59, "broken"), (60, "kept")):
        bench = Bench(ALDER, (), 3, "after")
        bench.do("light", ring="rapid")
        lit = bench.log[-1].time
        bench.wait(seconds - (bench.time - lit))
        bench.do("blow out", ring="rapid")
        assert outcome(bench, "supervision-warm") == mark, seconds


# What a tightness test covers


def decided(bench):
    bench.do("decide", about="tightness", choice="carry on")
    return next(m for m in procedure.score(bench.log, ALDER).marks if m.rule.key == "decide-tightness")


def with_valves_shut(bench):
    for valve, is_open in bench.state.valves.items():
        if is_open:
            bench.do("close", valve=valve)


def test_pipe_that_was_there_is_tested_with_its_appliances_joined_up():
    """Behind the hob's shut valve an obvious leak cannot be seen; a test so made is not enough to carry on."""
    bench = Bench(ALDER, (faults.fault(ALDER, "leak-appliance", "obvious", "hob"),), 3, "after")
    jobs.survey(bench)
    with_valves_shut(bench)
    jobs.tightness_test(bench)
    mark = decided(bench)
    assert mark.outcome == "broken" and "no reading to go by" in mark.words


def test_pipework_alone_may_show_no_movement():
    """With the valves shut a fall of 1 mbar is on the pipe itself, whatever is allowed with the appliances on."""
    bench = Bench(ALDER, (), 3, "after")
    jobs.survey(bench)
    jobs.tightness_test(bench)
    jobs.reads(bench, 2050.0, 1950.0)
    assert decided(bench).outcome == "kept"  # within the 2 mbar given for the exercise
    with_valves_shut(bench)
    jobs.tightness_test(bench)
    jobs.reads(bench, 2050.0, 1950.0)
    assert decided(bench).outcome == "broken"


@pytest.mark.parametrize(("last", "mark"), [(2050.0, "kept"), (2060.0, "kept"), (2080.0, "broken")])
def test_a_pressure_that_rose_has_not_held(last, mark):
    bench = Bench(ALDER, (), 3, "after")
    jobs.survey(bench)
    jobs.tightness_test(bench)
    jobs.reads(bench, 2050.0, last)
    assert decided(bench).outcome == mark


@pytest.mark.parametrize(("smell", "mark"), [(0.0, "kept"), (1.0, "broken")])
def test_nobody_carries_on_with_a_smell_of_gas(smell, mark):
    bench = Bench(ALDER, (), 3, "after")
    jobs.survey(bench)
    jobs.tightness_test(bench)
    bench.read("nose")
    jobs.rewrite(bench, len(bench.log) - 1, smell)
    assert decided(bench).outcome == mark


# Where a look counts in the debrief


def looked(bench):
    return debrief.debrief(bench).points[0].looked


def test_a_tape_counts_where_it_was_held():
    bench = Bench(ALDER, (faults.fault(ALDER, "bond-far", "obvious"),), 3, "after")
    bench.read("tape", at="hood")
    assert not looked(bench)
    bench.read("tape", at="bond")
    assert looked(bench)


def test_a_slow_ring_is_seen_by_timing_that_ring():
    bench = Bench(ALDER, (faults.fault(ALDER, "slow-supervision", "obvious", "wok"),), 3, "after")
    for ring, seen in (("auxiliary", False), ("wok", True)):
        bench.do("light", ring=ring)
        bench.wait(60)
        bench.do("blow out", ring=ring)
        bench.wait(180)
        bench.read("stopwatch", at=ring)
        assert looked(bench) == seen, ring


def test_a_kinked_run_shows_at_the_appliance_and_not_at_the_meter():
    for place, seen in (("meter", False), ("hob", True)):
        bench = Bench(ALDER, (faults.fault(ALDER, "kinked-run", "obvious"),), 3, "after")
        bench.do("connect gauge", kind="fine-gauge", at=place)
        for ring in jobs.largest(bench):
            bench.do("light", ring=ring)
        bench.wait(30)
        bench.read("gauge")
        assert looked(bench) == seen, place
