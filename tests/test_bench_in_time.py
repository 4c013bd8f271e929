"""What was done before, or elsewhere, does not count: the pipe altered, the gas shut, a fault put right."""

import dataclasses
import warnings

import bench_jobs as jobs
import numpy as np
import pytest
from bench_jobs import ALDER

from gaslab.refit import debrief, decision, faults, procedure
from gaslab.refit.bench import Bench
from gaslab.refit.exercises import EXERCISES
from gaslab.refit.findings import findings
from gaslab.refit.milestones import milestones
from gaslab.show.chapter import open_chapter
from gaslab.show.panels.live import BenchPanel

TIGHTNESS_LIMITS = (50.0, 200.0, 500.0, 800.0)  # Pa: the whole of the slider


def names(bench) -> list[str]:
    return [one.name for one in milestones(bench.log, ALDER)]


def altered(hidden=(), seed=3):
    """Return a bench whose pipe was tested, altered and joined again, with the gas still off."""
    bench = Bench(ALDER, hidden, seed)
    jobs.survey(bench)
    jobs.tightness_test(bench)
    jobs.alter(bench)
    return bench


def test_the_test_before_the_alteration_says_nothing_about_the_new_pipe():
    bench = altered()
    bench.do("decide", about="tightness", choice="carry on")
    assert findings("tightness", milestones(bench.log, ALDER)) == []
    assert procedure.score(bench.log, ALDER).outcome("decide-tightness") == "broken"
    jobs.tightness_test(bench)
    bench.do("decide", about="tightness", choice="carry on")
    assert procedure.score(bench.log, ALDER).outcome("decide-tightness") == "kept"


def test_what_burned_before_the_gas_was_shut_is_not_relit():
    bench = Bench(ALDER, (), 3)
    bench.do("start", appliance="boiler", mode="hot-water")
    bench.do("stop", appliance="boiler")
    for ring in bench.plant.rings:
        bench.do("light", ring=ring)
        bench.do("turn off", ring=ring)
    jobs.survey(bench)
    jobs.tightness_test(bench)
    jobs.alter(bench)
    jobs.tightness_test(bench)
    assert "every appliance relit" not in names(bench)
    jobs.gas_on_and_purge(bench)
    for ring in bench.plant.rings:
        bench.do("light", ring=ring)
    assert "every appliance relit" not in names(bench)
    bench.do("draw hot water")
    assert "every appliance relit" in names(bench)


def test_gas_that_the_boiler_burns_is_no_purge():
    bench = altered()
    bench.do("open window")
    bench.do("open", valve="control")
    bench.read("index")
    bench.do("purge", ring="rapid")
    bench.wait(10)  # the new run's air is out, but not the purge volume
    bench.do("stop purge")
    bench.do("draw hot water")
    assert bench.state.running
    bench.wait(300)
    bench.read("index")
    assert "purge volume passed" not in names(bench)


def test_a_purge_through_a_shut_valve_is_refused_and_is_none():
    bench = Bench(ALDER, (), 3)
    bench.do("close", valve="control")
    assert bench.do("purge", ring="rapid").refused
    bench.do("open", valve="control")
    bench.do("close", valve=bench.plant.hob.id)
    told = bench.do("purge", ring="rapid")
    assert told.refused and "valve is shut" in told.answer
    assert "purge" not in names(bench) and "purge" not in [offer["name"] for offer in bench.actions()]


def test_a_window_that_is_stuck_stays_shut():
    bench = Bench(ALDER, (faults.fault(ALDER, "blocked-opening", "obvious"),), 3)
    told = bench.do("open window")
    assert told.refused and "will not move" in told.answer
    assert bench.view()["window"] == "shut"


def test_stopping_the_warmth_does_not_undo_it():
    """Gay-Lussac: the gas keeps its temperature at that moment, so the gauge may not jump."""
    bench = Bench(ALDER, (faults.fault(ALDER, "warming", "obvious"),), 3)
    bench.do("connect gauge", kind="fine-gauge")
    bench.do("close", valve="control")
    bench.do("let pressure out", to=2000)
    bench.wait(600)
    before = bench.read("gauge").value
    assert bench.do("put right", fault="warming").answer.startswith("You find it")
    assert bench.read("gauge").value == pytest.approx(before, abs=3.0)  # Pa: three digits of the gauge


def test_the_watch_has_nothing_to_time_once_the_ring_is_shut_or_alight_again():
    bench = Bench(ALDER, (), 3)
    bench.do("light", ring="rapid")
    bench.wait(30)
    bench.do("blow out", ring="rapid")
    bench.do("turn off", ring="rapid")
    bench.wait(60)
    assert "has not been started" in bench.read("stopwatch", at="rapid").text
    bench.do("light", ring="rapid")
    assert "has not been started" in bench.read("stopwatch", at="rapid").text


def test_a_gauge_on_the_pipe_is_opened_to_the_air_before_it_is_set_to_zero():
    bench = Bench(ALDER, (), 3)
    bench.do("connect gauge", kind="electronic-gauge")
    bench.do("close", valve="control")
    bench.do("let pressure out")
    assert bench.do("zero gauge", kind="electronic-gauge").refused
    assert "gauge zeroed under pressure" not in names(bench)
    bench.do("disconnect gauge")
    assert not bench.do("zero gauge", kind="electronic-gauge").refused
    assert "gauge checked open to the air" in names(bench)


def test_a_gauge_on_the_old_hob_goes_with_it():
    bench = Bench(ALDER, (), 3, "before")
    old = bench.plant.hob.id
    bench.do("close", valve="control")
    bench.do("let pressure out")
    bench.do("connect gauge", kind="electronic-gauge", at=old)
    jobs.alter(bench)
    assert bench.plant.hob.id != old
    assert "No gauge is joined" in bench.read("gauge").text


def test_a_hose_that_hangs_free_does_not_bubble():
    bench = Bench(ALDER, (faults.fault(ALDER, "hose-leaking", "obvious"),), 3)
    bench.do("connect gauge", kind="electronic-gauge", at="air")
    assert bench.read("leak fluid", at="hose").value == 0.0
    bench.do("connect gauge", kind="electronic-gauge", at="meter")
    bench.wait(5)
    assert bench.read("leak fluid", at="hose").value == 1.0


def test_the_oven_may_be_isolated_before_the_sweep():
    bench = Bench(ALDER, (), 3)
    bench.do("isolate oven")
    bench.do("sweep for voltage")
    bench.do("close", valve="control")
    assert procedure.score(bench.log, ALDER).outcome("sweep-first") == "kept"


@pytest.mark.parametrize("limit", TIGHTNESS_LIMITS)
def test_the_chart_of_wrong_calls_has_leaks_on_both_sides_of_any_limit(limit):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        rows = decision.table(ALDER, count=2_000, limit=limit)
    assert all(0 < row.tight < row.jobs for row in rows)
    assert np.isfinite([dataclasses.astuple(row)[-2:] for row in rows]).all()


def test_the_new_hobs_fifth_ring_can_be_read_on_the_page_once_it_is_joined(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    panel = BenchPanel(open_chapter("15"), EXERCISES["bench-whole-job"], seed=1234)
    new = {burner.id for burner in ALDER.hob("after").burners} - {b.id for b in ALDER.hob("before").burners}
    assert new
    panel.controls["instrument"].value = "stopwatch"
    assert not new & {id for _, id in panel.controls["place"].options}
    for name, arguments in (("close", {"valve": "control"}), ("let pressure out", {"to": 0.0})):
        panel.model.do(name, **arguments)
    panel.model.do("part pipe", run="hob")
    panel._offer()
    panel.controls["action"].value = "join pipe"
    panel.controls["do"].click()
    assert new <= {id for _, id in panel.controls["place"].options}
    panel.controls["instrument"].value = "leak fluid"
    assert ALDER.hob("after").id in {id for _, id in panel.controls["place"].options}


def test_a_pressure_that_is_right_at_the_meter_can_still_be_unsafe():
    """A kinked run lies beyond the meter: standing and working pressure there are in order, the hob's is not."""
    bench = Bench(ALDER, (faults.fault(ALDER, "kinked-run", "obvious"),), 3)
    bench.do("connect gauge", kind="fine-gauge")
    jobs.pressures(bench)
    bench.do("decide", about="pressure", choice="carry on")
    told = debrief.debrief(bench)
    assert any(line.startswith("pressure: your readings met") for line in told.consistent_but_unsafe)
    assert procedure.score(bench.log, ALDER).outcome("decide-pressure") == "kept"
