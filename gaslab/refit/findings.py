"""What the readings of a job say on each side of it, held against the limits.

Only readings shown are used. Where the standard's limit has not been entered, the exercise
gives one of its own, and the finding says so. An instructor's overlay is left out of the
score, so that a job replays to the same marks on any machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from gaslab.refit import criteria, doubt
from gaslab.refit.criteria import Finding
from gaslab.refit.milestones import Milestone
from gaslab.refit.plant import bench_number, instrument_number

# What the limits call each gauge.
GAUGE_NAMES = {"water-gauge": "water", "electronic-gauge": "electronic-1", "fine-gauge": "electronic-2"}


def findings(topic: str, done: Iterable[Milestone]) -> list[Finding]:
    """Return the findings on one side of the job; none when its readings are not all there."""
    last: dict[str, Mapping] = {}
    shut_times: list[float] = []
    for milestone in done:
        last[milestone.kind] = milestone.figures
        if milestone.name == "join pipe":
            last.pop("tightness test", None)  # what was tight before says nothing about the new pipe
        if milestone.name == "supervision timed":
            shut_times.append(float(milestone.figures["value"]))
    if topic == "supervision":
        return [_judge("supervision-time", time, "stopwatch", "time") for time in shut_times]
    return TOPICS[topic](last) if topic in TOPICS else []


def _judge(
    key: str, reading: float, tool: str = "", kind: str = "reading", given: float | None = None
) -> Finding:
    """Judge a reading [SI] taken with a tool, with the doubt of its display beside it; a count has none."""
    context = {"gauge": GAUGE_NAMES[tool]} if tool in GAUGE_NAMES else {}
    unsure = doubt.expanded(kind, instrument_number(tool, "resolution")) if tool else None
    return criteria.judge(key, reading, unsure, context, given=given, entries=())


def _tightness(last: Mapping[str, Mapping]) -> list[Finding]:
    """Let-by and the newest tightness test; new pipework may show no movement at all."""
    test, let_by = last.get("tightness test"), last.get("let-by test")
    if test is None or let_by is None:
        return []
    rise = _judge("let-by-rise", let_by["rise"], let_by["gauge"], "difference")
    new_pipe = "join pipe" in last
    key = "no-movement" if new_pipe else "permitted-drop"
    given = None if new_pipe else bench_number("exercise", "permitted_drop")
    return [rise, _judge(key, _fall(test), test["gauge"], "difference", given)]


def _fall(test: Mapping[str, float]) -> float:
    """Return the fall in the two minutes; where the gauge was down before they began, all that it was down."""
    if test["first"] >= bench_number("tightness-test", "pressure_low_supply"):
        return test["drop"]
    return bench_number("tightness-test", "pressure_low") - test["first"] + test["drop"]


def _pressure(last: Mapping[str, Mapping]) -> list[Finding]:
    standing, working = last.get("standing pressure read"), last.get("working pressure read")
    if standing is None or working is None:
        return []
    return [
        _judge("meter-lock-up", standing["value"], standing["gauge"]),
        _judge("meter-working", working["value"], working["gauge"]),
    ]


def _electrical(last: Mapping[str, Mapping]) -> list[Finding]:
    sweep = last.get("sweep for voltage")
    return [] if sweep is None else [_judge("voltage-found", sweep["lights"])]


TOPICS: dict[str, Callable[[Mapping[str, Mapping]], list[Finding]]] = {
    "tightness": _tightness,
    "pressure": _pressure,
    "electrical": _electrical,
}
