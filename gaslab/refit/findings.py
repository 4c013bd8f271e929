"""What the readings of a job say on each side of it, held against the limits.

Only readings shown are used. Where the standard's limit has not been entered, the exercise
gives one of its own, and the finding says so. An instructor's overlay is left out of the
score, so that a job replays to the same marks on any machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from gaslab.physics import metering
from gaslab.refit import criteria, doubt, faults, lenses, plausible
from gaslab.refit.criteria import Finding
from gaslab.refit.milestones import Milestone
from gaslab.refit.plant import bench_number, instrument_number

# What the limits call each gauge.
GAUGE_NAMES = {"water-gauge": "water", "electronic-gauge": "electronic-1", "fine-gauge": "electronic-2"}
# A fault decided under another side of the job than its own: a bad gauge spoils the tightness test.
DECIDED_UNDER = {"gauge": "tightness"}
# Readings kept for each ring, each set of rings, or each set of shut valves; of all others the newest counts.
EACH = {"supervision timed": "ring", "gas rate timed": "rings", "tightness test": "shut"}
# What says nothing any more once a fault was put right: by the fault, or else by its side of the job.
STALE: dict[str, tuple[str, ...]] = {
    "tightness": ("tightness test",),
    "pressure": ("working pressure read",),
    "flame": ("low flames proved",),
    "supervision": ("supervision timed",),
    "rate": ("gas rate timed",),
    "cv-off": ("gas rate timed", "read gas bill"),
    "meter-card": (),
    "blocked-opening": ("read opening",),
    "hood-low": ("hood measured",),
}
Last = dict[str, Mapping]


def side(key: str) -> str:
    """Return the side of the job that a kind of fault is decided under."""
    topic = faults.kinds()[key].topic
    return DECIDED_UNDER.get(topic, topic)


def findings(topic: str, done: Iterable[Milestone]) -> list[Finding]:
    """Return the findings on one side of the job; none when its readings are not all there."""
    return TOPICS[topic](newest(done))


def newest(done: Iterable[Milestone]) -> Last:
    """Return the newest figures of each kind of milestone that still says something about the pipe as it is now."""
    last: Last = {}
    for milestone in done:
        kind, figures = milestone.kind, milestone.figures
        if kind in EACH:
            last[kind] = {**last.get(kind, {}), str(figures[EACH[kind]]): figures}
        else:
            last[kind] = figures
        if kind == "join pipe":  # what was read before says nothing about the new pipe and the new hob
            for stale in (*EACH, "low flames proved"):
                last.pop(stale, None)
        if kind == "put right" and figures:
            _forget(last, str(figures["fault"]), str(figures["place"]))
    return last


def _forget(last: Last, fault: str, place: str) -> None:
    """Drop the readings that were taken with a fault that has been put right: "Test again"."""
    for stale in STALE[fault] if fault in STALE else STALE[side(fault)]:
        one_ring = place and EACH.get(stale) == "ring"
        if one_ring and stale in last:
            last[stale] = {ring: figures for ring, figures in last[stale].items() if ring != place}
        elif not one_ring:
            last.pop(stale, None)


def _judge(
    key: str, reading: float, tool: str = "", kind: str = "reading", given: float | None = None
) -> Finding:
    """Judge a reading [SI] taken with a tool, with the doubt of its display beside it; a count has none."""
    context = {"gauge": GAUGE_NAMES[tool]} if tool in GAUGE_NAMES else {}
    unsure = doubt.expanded(kind, instrument_number(tool, "resolution")) if tool else None
    return criteria.judge(key, reading, unsure, context, given=given, entries=())


def _tightness(last: Last) -> list[Finding]:
    """Let-by, the newest tightness test with each set of valves shut, and what the nose said.

    Pipe that was there before is tested with its appliances joined up: a test with a valve shut is not enough.
    """
    tests, let_by, new_pipe = last.get("tightness test", {}), last.get("let-by test"), "join pipe" in last
    if not tests or let_by is None or not (new_pipe or "" in tests):
        return []
    found = [_judge("let-by-rise", let_by["rise"], let_by["gauge"], "difference")]
    if "read nose" in last:
        found.append(_judge("gas-smell", last["read nose"]["value"]))
    return found + [tightness_test(test, new_pipe) for test in tests.values()]


def tightness_test(test: Mapping, new_pipe: bool) -> Finding:
    """Judge one tightness test by its figures; new pipework, and pipework alone, may show no movement at all."""
    alone = new_pipe or bool(test["shut"])
    return _moved("no-movement" if alone else "permitted-drop", _fall(test), test["gauge"])


def _moved(key: str, change: float, gauge: str) -> Finding:
    """Judge a change of pressure [Pa]; a rise in a drop test has not dropped, so it is held against no movement."""
    limit, movement = plausible.judged(key, change)
    given = bench_number("exercise", "permitted_drop") if limit == "permitted-drop" else None
    return _judge(limit, movement, gauge, "difference", given)


def _fall(test: Mapping[str, float]) -> float:
    """Return the fall in the two minutes; where the gauge was down before they began, all that it was down."""
    if test["first"] >= bench_number("tightness-test", "pressure_low_supply"):
        return test["drop"]
    return bench_number("tightness-test", "pressure_low") - test["first"] + test["drop"]


def _pressure(last: Last) -> list[Finding]:
    standing, working = last.get("standing pressure read"), last.get("working pressure read")
    if standing is None or working is None:
        return []
    return [
        _judge("meter-lock-up", standing["value"], standing["gauge"]),
        _judge("meter-working", working["value"], working["gauge"]),
    ]


def _electrical(last: Last) -> list[Finding]:
    sweep = last.get("sweep for voltage")
    return [] if sweep is None else [_judge("voltage-found", sweep["lights"])]


def _supervision(last: Last) -> list[Finding]:
    """Each ring that was timed."""
    timed = last.get("supervision timed", {})
    return [_judge("supervision-time", ring["value"], "stopwatch", "time") for ring in timed.values()]


def _flame(last: Last) -> list[Finding]:
    """The low flames that went out while hot water was drawn."""
    proved = last.get("low flames proved")
    return [] if proved is None else [_judge("low-flame", float(proved["lost"]))]


def _rate(last: Last) -> list[Finding]:
    """Each set of rings that was timed on high, against its plate; by the bill's calorific value where it was read."""
    bill = last.get("read gas bill", {"value": bench_number("bench", "cv_default")})
    timed = [one for one in last.get("gas rate timed", {}).values() if one["plate"]]
    return [_heat(one, bill["value"]) for one in timed]


def _heat(timed: Mapping, cv: float) -> Finding:
    """Judge heat against the plate: V/t times the calorific value [J/m3], less the plate, as a part of the plate."""
    rate = metering.gas_rate.bare(timed["volume"], timed["seconds"])
    share = metering.heat_input_gross.bare(rate, cv) / timed["plate"]
    unsure = share * lenses.rate_doubt(timed["meter"], timed["volume"], timed["seconds"])
    return criteria.judge("gas-rate-band", share - 1.0, unsure, {}, entries=())


def _room(last: Last) -> list[Finding]:
    """The opening, held against the exercise's own limit, and the hood, held against its maker's figure."""
    opening, hood = last.get("read opening"), last.get("hood measured")
    if opening is None or hood is None:
        return []
    clear = _judge("opening-clear", opening["value"], given=bench_number("exercise", "opening_clear"))
    unsure = doubt.expanded("reading", instrument_number("tape", "resolution"))
    maker = {"maker": {"clearance-above": hood["maker"]}}
    return [clear, criteria.judge("clearance-above", hood["value"], unsure, maker, entries=())]


TOPICS: dict[str, Callable[[Last], list[Finding]]] = {
    "tightness": _tightness,
    "pressure": _pressure,
    "electrical": _electrical,
    "supervision": _supervision,
    "flame": _flame,
    "rate": _rate,
    "room": _room,
}
