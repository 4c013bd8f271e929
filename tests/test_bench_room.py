"""Gas that gets out goes into the room where it gets out: leaks, open ends, and what nose and detector say."""

import pytest
from bench_jobs import ALDER, TERN, still_plant

from gaslab.refit import faults, procedure
from gaslab.refit.bench import Bench, replay
from gaslab.refit.plant import LEAK_STATED_AT, bench_number
from gaslab.refit.rooms import rooms_of

HOUR = 3600.0
LIMIT = 0.05  # the lower flammable limit of natural gas, US Bureau of Mines


def sealed(home=ALDER):
    """Return the home with a kitchen that no fresh air gets into."""
    return home.changed("rooms.kitchen.air_changes", 0.0)


def in_kitchen(bench):
    """Return the gas in the kitchen's air [m3]."""
    return bench.state.room_gas * bench.site.room("kitchen").volume


def leaking(home, litres_an_hour, **places):
    """Return a bench on a sealed home with a leak of so many litres an hour at 21 mbar at the places."""
    crack = litres_an_hour / 1000.0 / HOUR / LEAK_STATED_AT
    cracks = {kind: dict.fromkeys(found, crack) for kind, found in places.items()}
    return Bench(home, plant=still_plant(home, **cracks))


def kept(bench, start):
    totals = bench.state.totals
    passed = start + totals.supplied + totals.let_by
    return abs(start + totals.net_in() - bench.state.amount) < 1e-9 * passed


# Where the gas goes


def test_the_plans_say_which_room_a_run_is_in():
    """Read off the drawings by hand: legs from the meter at 0, 0, and the corners of the rooms."""
    assert rooms_of(ALDER).runs == {
        "meter-tail": "hall", "hall": "hall", "boiler": "utility", "kitchen": "kitchen", "hob": "kitchen"
    }  # fmt: skip
    assert rooms_of(TERN).runs == {
        "stair": "", "lounge": "lounge", "back": "landing", "boiler": "landing", "cooker": "kitchen", "hob": "kitchen"
    }  # fmt: skip
    assert rooms_of(ALDER).starts["hob"] == rooms_of(TERN).starts["hob"] == "kitchen"
    assert (rooms_of(ALDER).meter, rooms_of(TERN).meter) == ("hall", "")
    assert rooms_of(TERN).starts["boiler"] == ""  # the tee is in the wall


@pytest.mark.parametrize("home", [ALDER, TERN], ids=lambda home: home.key)
@pytest.mark.parametrize("shut", [False, True], ids=["gas on", "control shut"])
def test_a_leak_in_the_kitchen_is_all_in_its_air_and_gas_is_kept(home, shut):
    """No fresh air: gas in the room = gas that left the pipe, by hand and in time; a leak elsewhere leaves it clean."""
    for places, here in (
        ({"pipe_leaks": ["hob"]}, True), ({"appliance_leaks": ["hob"]}, True),
        ({"pipe_leaks": [home.runs[0].id]}, False), ({"appliance_leaks": ["boiler"]}, False),
    ):  # fmt: skip
        bench = leaking(sealed(home), 2.0, **places)
        start = bench.state.amount
        bench.do("connect gauge", kind="fine-gauge")
        if shut:
            bench.do("close", valve="control")
            bench.do("let pressure out", to=500)
            bench.do("raise pressure", to=2050)
        bench.wait(120)
        leaked = bench.state.totals.leaked
        assert leaked > 2e-5
        assert in_kitchen(bench) == pytest.approx(leaked if here else 0.0, rel=1e-9)
        assert kept(bench, start)


def parted(home, run, plugged, size=2.0):
    """Return a bench whose control lets by so many litres an hour at 8.5 mbar, with the pipe parted."""
    plant = still_plant(home)
    let_by = size / 1000.0 / HOUR / (plant.lock_up - 850.0)
    bench = Bench(home, plant=still_plant(home, let_by=let_by, meter_error=0.0))
    bench.do("connect gauge", kind="fine-gauge")
    bench.do("close", valve="control")
    bench.do("let pressure out")
    bench.wait(900)  # the gas has the kitchen's temperature again: it swells no more
    bench.do("part pipe", run=run)
    if plugged:
        bench.do("plug ends")
    return bench


@pytest.mark.parametrize(("run", "here"), [("hob", 1.0), ("hall", 0.0), ("kitchen", 0.0)])
def test_what_a_shut_control_lets_by_comes_out_of_the_open_end_and_gas_is_kept(run, here):
    """q = C p_supply against the open air, by hand: 2 dm3/h at 8.5 mbar is 2 x 23.5/15 against nothing."""
    home = sealed()
    bench = parted(home, run, plugged=False)
    lock_up = bench.plant.lock_up
    totals, metered = bench.state.totals, bench.state.metered
    start, vented = totals.let_by, totals.vented
    bench.wait(1800)
    out = 2e-3 / HOUR * lock_up / (lock_up - 850.0) * 1800.0
    assert totals.let_by - start == pytest.approx(out, rel=1e-9)
    assert in_kitchen(bench) == pytest.approx(here * out, rel=1e-9, abs=1e-15)
    assert totals.vented - vented == pytest.approx(out, rel=1e-6)
    index_rounding = 180 * 5e-13  # m3: each of 180 steps is added to an index of 4812 m3
    assert bench.state.metered - metered == pytest.approx(out, abs=index_rounding)
    inside = bench.plant.volume.amount(bench.plant.lock_up, home.temperature, home.barometer)
    assert kept(bench, inside)


def test_a_plugged_end_holds_back_what_the_control_lets_by():
    bench = parted(sealed(), "hob", plugged=True)
    before = bench.state.totals.let_by
    bench.wait(1800)
    assert in_kitchen(bench) == 0.0 and bench.state.totals.let_by == before


def test_gas_from_an_open_end_is_smelt():
    """Ten times what is smelt in an hour, in a kitchen without fresh air: ten minutes are more than enough."""
    volume = ALDER.room("kitchen").volume
    bench = parted(sealed(), "hob", plugged=False, size=10.0 * 0.01 * LIMIT * volume * 1000.0)
    bench.wait(600)
    assert bench.read("nose").text == "You smell gas."


def test_leaks_in_two_rooms_share_what_leaks():
    bench = leaking(sealed(), 2.0, pipe_leaks=["hob", "hall"])
    bench.wait(600)
    assert in_kitchen(bench) == pytest.approx(bench.state.totals.leaked / 2.0, rel=1e-9)


@pytest.mark.parametrize(("at", "here"), [("hob", 1.0), ("meter", 0.0), ("boiler", 0.0)])
def test_a_leaking_hose_leaks_where_its_test_point_is(at, here):
    bench = Bench(sealed(), plant=still_plant(sealed(), (faults.fault(ALDER, "hose-leaking", "obvious"),)))
    bench.do("connect gauge", kind="fine-gauge", at=at)
    bench.wait(600)
    leaked = bench.state.totals.leaked
    assert leaked > 1e-4
    assert in_kitchen(bench) == pytest.approx(here * leaked, rel=1e-9)


def test_a_leak_in_the_kitchen_is_smelt_and_found_by_the_detector():
    """A room with air: C = q/(nV) in the end. Five times the smell's threshold, a hundredth of the lower limit."""
    kitchen = ALDER.room("kitchen")
    aimed = 5.0 * 0.01 * LIMIT * kitchen.air_changes * kitchen.volume
    bench = leaking(ALDER, aimed * 1000.0 * HOUR, pipe_leaks=["hob"])
    assert bench.read("nose").text == "No smell of gas in the room."
    for _ in range(6):
        bench.wait(7200)
    assert bench.read("nose").text == "You smell gas."
    assert bench.view()["smell"] == "You smell gas."
    # The pipe stands at lock-up, and not at the 21 mbar that a leak is stated at.
    settled = 0.05 * bench.plant.lock_up / LEAK_STATED_AT
    assert bench.read("gas detector").value == pytest.approx(settled, abs=0.01)
    elsewhere = leaking(ALDER, aimed * 1000.0 * HOUR, pipe_leaks=["hall"])
    elsewhere.wait(7200)
    assert elsewhere.read("nose").text == "No smell of gas in the room."


def test_a_leak_can_fill_the_kitchen_until_no_flame_may_be_lit():
    bench = leaking(sealed(), 400.0, pipe_leaks=["hob"])
    bench.wait(7200)
    assert not bench.do("light", ring="rapid").refused
    bench.do("turn off", ring="rapid")
    bench.wait(3600)
    told = bench.do("light", ring="rapid")
    assert bench.state.room_gas > bench_number("bench", "lower_limit")
    assert told.refused and "full of gas" in told.answer


# What is seen and heard


def over_pressure(kind):
    """Return a bench whose regulator lets the standing pressure go to 38.5 mbar, a gauge joined with the boiler on."""
    bench = Bench(ALDER, plant=still_plant(faults=(faults.fault(ALDER, "no-lock-up", "obvious"),)))
    bench.do("draw hot water")
    bench.wait(30)
    bench.do("connect gauge", kind=kind)
    bench.wait(5)
    return bench


def test_the_water_blows_out_of_the_gauge_when_the_pressure_goes_over_thirty_millibar():
    bench = over_pressure("water-gauge")
    assert 1500.0 < bench.read("gauge").value < 2200.0
    start = bench.state.amount - bench.state.totals.net_in()
    bench.do("stop", appliance="boiler")
    bench.wait(10)
    assert bench.log[-1].answer.startswith("The water blows out of the gauge.")
    assert bench.log[-1].kind == "happening"
    assert bench.read("gauge").value is None and bench.view()["gauge"] is None
    told = bench.do("connect gauge", kind="water-gauge")
    assert told.answer.startswith("The water blows out of the gauge.") and bench.state.gauge == ""
    bench.wait(20)
    assert sum("blows out" in event.answer for event in bench.log) == 2
    assert kept(bench, start)


def test_an_electronic_gauge_and_a_water_gauge_in_the_hand_stand_the_same_pressure():
    bench = over_pressure("electronic-gauge")
    bench.do("stop", appliance="boiler")
    bench.wait(10)
    assert bench.read("gauge").value == pytest.approx(bench.plant.lock_up, abs=30.0)
    bench.do("disconnect gauge")
    assert bench.do("connect gauge", kind="water-gauge", at="air").answer.endswith("open to the air.")


@pytest.mark.parametrize("tick", [5.0, 0.25])
def test_the_water_is_out_at_the_same_moment_whatever_the_step(tick):
    for wait, out in ((0.01, False), (4.0, True)):
        bench = over_pressure("water-gauge")
        bench.tick = tick
        bench.do("stop", appliance="boiler")
        bench.wait(wait)
        assert (bench.state.gauge == "") is out


@pytest.mark.parametrize(("grade", "heard"), [("obvious", True), ("plain", True), ("marginal", False)])
def test_gas_from_a_ring_that_is_out_is_heard(grade, heard):
    """3 kW over 39 MJ/m3 is 277 dm3/h; a hundredth of it is above 1 dm3/h, a two-thousandth is not."""
    plant = still_plant(faults=(faults.fault(ALDER, "tap-open", grade, "rapid"),))
    bench = Bench(ALDER, plant=plant)
    words = {True: "No flame, and gas is hissing.", False: "No flame."}
    assert bench.read("flame", at="rapid").text == words[heard]
    assert bench.read("flame", at="wok").text == "No flame."
    bench.do("close", valve="hob")
    assert bench.read("flame", at="rapid").text == "No flame."
    bench.do("open", valve="hob")
    bench.do("close", valve="control")
    bench.wait(7200)
    assert bench.read("flame", at="rapid").text == "No flame."  # the pipe is empty


def test_a_ring_held_open_for_a_purge_is_heard():
    bench = Bench(ALDER)
    bench.do("purge", ring="wok")
    assert bench.read("flame", at="wok").text == "No flame, and gas is hissing."
    bench.do("stop purge")
    assert bench.read("flame", at="wok").text == "No flame."


def test_shutting_a_valve_says_what_goes_out():
    bench = Bench(ALDER)
    bench.do("draw hot water")
    for ring in ("rapid", "wok"):
        bench.do("light", ring=ring)
    assert bench.do("close", valve="boiler").answer == "The boiler valve is shut. The boiler goes out."
    words = bench.do("close", valve="hob").answer
    assert words == "The hob valve is shut. The Front left flame goes out. The Centre wok flame goes out."
    assert bench.state.lit() == [] and bench.state.running == {}
    bench.do("open", valve="hob")
    assert bench.do("close", valve="hob").answer == "The hob valve is shut."
    bench.do("open", valve="boiler")
    bench.do("draw hot water")
    assert bench.do("close", valve="control").answer == "The control is shut. The boiler goes out."


# Steps, frames and speed


def test_a_live_job_with_a_blown_gauge_and_a_leaking_kitchen_replays_to_the_same_log_and_marks():
    hidden = [faults.fault(ALDER, key, "obvious", place) for key, place in
              (("no-lock-up", ""), ("leak-pipe", "hob"), ("let-by", ""))]  # fmt: skip
    live = Bench(ALDER, hidden, 11)
    live.do("draw hot water")
    live.do("connect gauge")
    for name, arguments in (
        ("stop", {"appliance": "boiler"}), ("close", {"valve": "hob"}), ("close", {"valve": "control"}),
        ("part pipe", {"run": "hob"}), ("decide", {"about": "tightness", "choice": "put right"}),
    ):  # fmt: skip
        live.do(name, **arguments)
        for _ in range(30):
            live.advance(0.37)
            live.view()
        live.read("gas detector")
    assert any("blows out of the gauge" in event.answer for event in live.log)
    assert live.state.room_gas > 0.0
    again = replay(ALDER, 11, hidden, live.record()["log"])
    assert again.record() == live.record()
    assert procedure.score(again.log, ALDER) == procedure.score(live.log, ALDER)


@pytest.mark.parametrize("tick", [5.0, 1.0])
def test_smaller_steps_change_the_gas_in_the_room_by_no_tenth_of_a_digit(tick):
    """The detector's step is a hundredth of the lower limit; the leak is as large as a lit ring."""
    seen = []
    for step in (10.0, tick):
        bench = leaking(ALDER, 100.0, pipe_leaks=["hob"])
        bench.tick = step
        bench.wait(1200)
        bench.do("close", valve="control")
        bench.wait(65)
        seen.append(bench.state.room_gas)
    assert seen[0] > 2.0 * 0.01 * LIMIT
    assert seen[1] == pytest.approx(seen[0], abs=0.1 * 0.01 * LIMIT)
