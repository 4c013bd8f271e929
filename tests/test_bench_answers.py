"""What the site answers: hostile asks get a sentence and stay in the log; what is offered can be done."""

import json

import pytest
from bench_jobs import ALDER, TERN, alter, still_plant
from hypothesis import given, settings
from hypothesis import strategies as st

from gaslab.refit import faults, procedure
from gaslab.refit.actions import ACTIONS
from gaslab.refit.bench import Bench
from gaslab.refit.instruments import INSTRUMENTS
from gaslab.refit.milestones import milestones

IMPOSSIBLE = [
    ("light", {"ring": "rapid"}, "No gas comes"),  # the control is shut below
    ("open", {"valve": "hob"}, "open already"),
    ("open", {"valve": "cellar"}, "no valve called"),
    ("close", {"valve": "control"}, "shut already"),
    ("raise pressure", {"to": 6000}, "water would leave the gauge"),
    ("raise pressure", {"to": "20 mbar"}, "needs a gauge pressure in Pa"),
    ("raise pressure", {"to": float("nan")}, "needs a gauge pressure in Pa"),
    ("raise pressure", {}, "you must say to"),
    ("let pressure out", {"to": 2400}, "less than that already"),
    ("connect gauge", {"kind": "fine-gauge"}, "joined already"),
    ("blow out", {"ring": "rapid"}, "nothing to blow out"),
    ("turn", {"ring": "rapid", "to": "low"}, "not alight"),
    ("turn off", {"ring": "rapid"}, "off already"),
    ("stop purge", {}, "not purging"),
    ("plug ends", {}, "no open end"),
    ("join pipe", {}, "not parted"),
    ("wait", {"seconds": -1}, "0 to 7200 seconds"),
    ("wait", {"seconds": 10**400}, "0 to 7200 seconds"),
    ("start", {"appliance": "tumble dryer"}, "no appliance of that kind"),
    ("start", {"appliance": "boiler"}, "locks out"),
    ("put right", {"fault": "regulator-low"}, "not yours to set"),
    ("dance", {}, "Nobody here knows how"),
    ("decide", {"about": "tightness", "choice": "hope"}, "no choice called"),
]


@pytest.mark.parametrize(("name", "arguments", "words"), IMPOSSIBLE)
def test_what_cannot_be_done_gets_the_sites_answer_and_is_kept(name, arguments, words):
    bench = Bench(ALDER)
    bench.do("connect gauge", kind="electronic-gauge")
    bench.do("close", valve="control")
    bench.do("let pressure out")
    before = len(bench.log)
    event = bench.do(name, **arguments)
    assert words in event.answer
    assert bench.log[before] is event
    json.dumps(bench.record(), allow_nan=False)


@pytest.mark.parametrize(
    ("instrument", "at", "words"),
    [
        ("gauge", "", "No gauge is joined"),
        ("stopwatch", "rapid", "has not been started"),
        ("stopwatch", "grill", "Which ring"),
        ("leak fluid", "roof", "leak fluid where"),
        ("tape", "moon", "Measure what"),
        ("crystal ball", "", "in the van"),
        (["gauge"], "", "in the van"),
        ("flame", 3, "must be a word"),
    ],
)
def test_what_cannot_be_read_gets_a_sentence_and_is_kept(instrument, at, words):
    bench = Bench(ALDER)
    reading = bench.read(instrument, at)
    assert reading.value is None
    assert words in reading.text
    assert bench.log[-1].refused
    json.dumps(bench.record(), allow_nan=False)


VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20), st.lists(st.integers(), max_size=2),
    st.sampled_from(["control", "hob", "boiler", "rapid", "wok", "low", "high", "meter", "air", "fine-gauge"]),
    st.floats(0.0, 3000.0),
)  # fmt: skip


@st.composite
def doings(draw):
    if draw(st.integers(0, 4)) == 0:
        return "read", draw(st.sampled_from([*INSTRUMENTS, "gauge", "gauge", "nothing"])), draw(VALUES)
    name = draw(st.sampled_from([*ACTIONS, "open", "light", "wait"]))
    takes = list(ACTIONS[name].takes)
    arguments = {key: draw(VALUES) for key in draw(st.lists(st.sampled_from([*takes, "other"]), unique=True))}
    if name == "wait":
        arguments = {"seconds": draw(st.floats(0.0, 90.0))}
    return "do", name, arguments


@given(st.lists(doings(), max_size=25), st.integers(0, 9))
@settings(deadline=None, max_examples=80, derandomize=True)
def test_nothing_a_person_does_ends_in_an_error_and_gas_is_still_kept(steps, seed):
    hidden = faults.draw(ALDER, seed, 3)
    bench = Bench(ALDER, hidden, seed)
    start = bench.state.amount
    for kind, name, values in steps:
        kept = len(bench.log)
        if kind == "read":
            bench.read(name, values)
        else:
            bench.do(name, **values)
        assert len(bench.log) > kept
    totals = bench.state.totals
    passed = start + totals.supplied + totals.let_by + totals.vented
    assert abs(start + totals.net_in() - bench.state.amount) < 1e-9 * passed
    json.dumps(bench.record(), allow_nan=False)
    procedure.score(bench.log, ALDER)


@pytest.mark.parametrize("home", [ALDER, TERN], ids=lambda home: home.key)
def test_what_is_offered_can_be_done(home):
    """Every action offered, with each of its choices, is not refused: from the start, shut in, parted and alight."""
    numbers = {"s": 5.0, "Pa": None}

    def at(stage):
        bench = Bench(home, seed=1)
        if stage in ("shut in", "parted"):
            bench.do("connect gauge", kind="fine-gauge")
            bench.do("close", valve="control")
            bench.do("let pressure out", to=1000)
        if stage == "parted":
            bench.do("part pipe", run=home.runs[-1].id)
        if stage == "alight":
            bench.do("open window")
            bench.do("light", ring="rapid")
        return bench

    tried = 0
    for stage in ("start", "shut in", "parted", "alight"):
        for offer in at(stage).actions():
            if offer["name"] == "put right":
                continue
            first = {
                key: choices[0] if isinstance(choices, list) else numbers[choices]
                for key, choices in offer["takes"].items()
            }
            if "to" in first and first["to"] is None:
                first["to"] = 2000.0 if offer["name"] == "raise pressure" else 500.0
            event = at(stage).do(offer["name"], **first)
            assert not event.refused, (stage, offer, event.answer)
            tried += 1
    assert tried > 40


@pytest.mark.parametrize(("run", "blown"), [("hob", 0.005), ("hall", 0.0)])
def test_parting_a_live_pipe_lets_gas_into_the_room_of_its_end(run, blown):
    bench = Bench(ALDER)
    event = bench.do("part pipe", run=run)
    assert "Gas blows out" in event.answer
    assert bench.state.room_gas == pytest.approx(blown / ALDER.room("kitchen").volume)
    assert bench.view()["control"] == "shut"
    bench.do("open", valve="control")
    assert bench.state.room_gas == pytest.approx(2.0 * blown / ALDER.room("kitchen").volume)


def starts(bench):
    """Return the boiler's answer to a start, and whether it runs."""
    return bench.do("start", appliance="boiler").answer, "boiler" in bench.state.running


def test_the_boiler_does_not_light_on_air_and_does_after_the_purge():
    bench = Bench(ALDER, seed=3)
    alter(bench)
    bench.do("open window")
    bench.do("open", valve="control")
    before = bench.state.totals.burned
    words, runs = starts(bench)
    assert words.startswith("The boiler tries, clicks, and locks out.") and not runs
    bench.wait(20)
    assert bench.state.totals.burned == before == 0.0
    assert "every appliance relit" not in {one.name for one in milestones(bench.log, ALDER)}
    bench.do("purge", ring="rapid")
    bench.wait(60)
    bench.do("stop purge")
    words, runs = starts(bench)
    assert words == "The boiler runs: hot water." and runs


@pytest.mark.parametrize(("gas", "runs"), [(0.049, True), (0.051, False)])
def test_the_boiler_is_not_started_in_a_kitchen_at_the_lower_limit(gas, runs):
    """5 % is the lower flammable limit of natural gas, US Bureau of Mines."""
    bench = Bench(ALDER)
    bench.state.room_gas = gas
    answers = [starts(bench), (bench.do("draw hot water").answer, "boiler" in bench.state.running)]
    assert [found for _, found in answers] == [runs, runs]
    assert all(("full of gas" in words) is not runs for words, _ in answers)
    assert bench.log[0].refused is not runs


@pytest.mark.parametrize(("pressure", "runs"), [(180.0, False), (260.0, True)])
def test_the_boiler_locks_out_without_gas_pressure(pressure, runs):
    """A flame wants 2 mbar: a regulator that gives less lights nothing."""
    bench = Bench(ALDER, plant=still_plant(setting=pressure, lock_up=pressure))
    assert starts(bench)[1] is runs


def test_frames_outside_reason_are_refused():
    with pytest.raises(ValueError, match="a frame lasts"):
        Bench(ALDER).advance(-1.0)
