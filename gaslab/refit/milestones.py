"""What was done, told from the log alone: tests, readings and slips as named milestones.

The log says what a person did, what stood in plain sight and what was read. The hidden
truth of the bench is never looked at here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from gaslab.refit.events import Event
from gaslab.refit.loads import loads_met, rings_timed
from gaslab.refit.noted import NOT_TOUCHING, noted, refused
from gaslab.refit.plant import bench_number
from gaslab.refit.site import Site
from gaslab.refit.work_actions import FOUND

# Actions that leave the pressure alone, and actions that touch no pipe.
STEADY = (
    "wait", "sweep for voltage", "open window", "close window", "decide", "isolate oven", "fit bond", "remove bond",
)  # fmt: skip
AT_START = {
    "control": "open",
    "gauge": "",
    "window": "shut",
    "lit": {},
    "running": {},
    "parted": "",
    "purging": "",
    "smell": False,
    "hob": "",
    "shut": [],
    "bond": False,
    "ends": "none",
}
SLACK = 1e-6  # s and Pa: rounding of the clock and of printed figures
NEAR = 50.0  # Pa: a let-by test that begins this little outside its range still counts


@dataclass(frozen=True)
class Milestone:
    """Something done: its name, its time [s], the lines of the log it rests on, and figures read [SI]."""

    name: str
    time: float
    events: tuple[int, ...]
    figures: Mapping[str, float | str] = field(default_factory=dict)

    @property
    def kind(self) -> str:
        """The name without what stands after a colon, such as the load under which a pressure was read."""
        return self.name.partition(": ")[0]


@dataclass
class _Walk:
    """What is known while walking along the log."""

    site: Site
    sight: Mapping = field(default_factory=lambda: dict(AT_START))
    found: list[Milestone] = field(default_factory=list)
    calm_since: float = 0.0
    load_since: float = 0.0
    aimed: float = 0.0
    readings: list[tuple[int, float, float]] = field(default_factory=list)
    index: list[tuple[int, float, float]] = field(default_factory=list)
    purge_from: float | None = None
    timed: set[str] = field(default_factory=set)
    proved: dict[str, float] | None = None  # each ring read while hot water is drawn: 1 alight, 0 out
    rested: float = 0.0  # s: the longest time left alone since a test last ended
    test_ended: float = 0.0
    lit_ever: set[str] = field(default_factory=set)
    lit_at: dict[str, float] = field(default_factory=dict)
    live: bool = False  # the voltage detector lit up when it was last used
    tested: bool = False  # the pipe was tested since it was last joined
    wetted: set[str] = field(default_factory=set)

    def add(self, name: str, time: float, *events: int, **figures: float | str) -> None:
        self.found.append(Milestone(name, time, events, figures))


def milestones(log: Iterable[Mapping | Event], site: Site) -> list[Milestone]:
    """Return the milestones of a log in the order they were reached."""
    walk = _Walk(site)
    for number, line in enumerate(log):
        event = line if isinstance(line, Mapping) else line.as_record()
        if event["kind"] == "happening":
            continue
        if event["kind"] == "reading":
            if not event["refused"]:
                _reading(walk, number, event)
        elif not event["refused"]:
            _action(walk, number, event)
        else:
            walk.add(f"refused: {event['name']}", event["time"], number)
            for words, shown in refused(event, walk.sight).items():
                if shown:
                    walk.add(words, event["time"], number)
    return walk.found


def _action(walk: _Walk, number: int, event: Mapping) -> None:
    name, time, before, after = event["name"], event["time"], walk.sight, event["seen"]
    in_air = name in ("connect gauge", "zero gauge") and after["gauge"] in ("", "air")
    if name not in NOT_TOUCHING and not in_air:
        walk.add("touch", time, number)
    shown = noted(event, before, live=walk.live and not in_air, tested=walk.tested, lit_at=walk.lit_at)
    for words in shown:
        walk.add(words, time, number)
    if name == "join pipe":
        walk.tested = False
    figures: dict[str, float | str] = {"lights": event["reading"]["value"]} if event["reading"] else {}
    walk.live = bool(figures["lights"]) if figures else walk.live
    if name == "put right" and event["answer"] == FOUND:
        figures = {"fault": event["arguments"]["fault"], "place": event["arguments"].get("place", "")}
    elif name in ("open", "close"):
        figures = {"valve": event["arguments"]["valve"]}
    walk.add(name, time, number, **figures)
    if name not in STEADY:
        walk.rested = max(walk.rested, time - max(walk.calm_since, walk.test_ended))
        walk.readings.clear()
        walk.calm_since = time + event["took"]
    if name in ("raise pressure", "let pressure out"):
        walk.aimed = event["arguments"].get("to", 0.0)
    elif name in ("part pipe", "join pipe") or event["arguments"].get("valve") == "control":
        walk.aimed = 0.0
    if (after["lit"], after["running"]) != (before["lit"], before["running"]) or name in (
        "start",
        "draw hot water",
    ):
        walk.index.clear()
        walk.purge_from = None
        walk.load_since = time
    if name == "purge" and after["purging"]:
        walk.purge_from = walk.index[-1][2] if walk.index else None
    if name in ("start", "draw hot water"):
        rings = {b.id for b in walk.site.hob("after").burners}
        walk.proved = {} if {id for id, tap in before["lit"].items() if tap == "low"} == rings else None
    elif walk.proved is not None and (
        name == "close" or event["arguments"].get("ring", "") not in ("", *walk.proved)
    ):
        walk.proved = None  # a hand on a flame before it was looked at: nothing is proved any more
    walk.sight = after
    _note_lit(walk, event, before, after)
    _relit(walk, number, time)


def _note_lit(walk: _Walk, event: Mapping, before: Mapping, after: Mapping) -> None:
    """Keep what was lit or started since the gas was last turned off or the pipe joined."""
    arguments = event["arguments"]
    if event["name"] == "join pipe" or (event["name"] == "close" and arguments.get("valve") == "control"):
        walk.lit_ever.clear()
    if event["name"] == "light" and arguments["ring"] in after["lit"]:
        walk.lit_ever.add(arguments["ring"])
        walk.lit_at[arguments["ring"]] = event["time"]
    walk.lit_ever |= set(after["running"]) - set(before["running"])


def _relit(walk: _Walk, number: int, time: float) -> None:
    if not any(m.name == "join pipe" for m in walk.found) and not any(m.name == "close" for m in walk.found):
        return
    for unit in walk.site.connected("after"):
        wanted = {b.id for b in unit.burners} or {unit.id}
        if not wanted <= walk.lit_ever:
            return
    if not any(m.name == "every appliance relit" for m in walk.found):
        walk.add("every appliance relit", time, number)


def _reading(walk: _Walk, number: int, event: Mapping) -> None:
    name, time, value, at = (
        event["name"],
        event["time"],
        event["reading"]["value"],
        event["arguments"].get("at", ""),
    )
    walk.add(f"read {name}", time, number, value=value, at=at)
    if name == "gauge":
        _gauge(walk, number, time, value, event["reading"]["instrument"])
    elif name == "index":
        _index(walk, number, time, value, event["reading"]["resolution"])
    elif name == "voltage detector":
        walk.add("sweep for voltage", time, number, lights=value)
        walk.live = bool(value)
    elif name == "stopwatch":
        walk.timed.add(at)
        walk.add("supervision timed", time, number, value=value, ring=at)
        if walk.timed >= {b.id for b in walk.site.hob("after").burners}:
            walk.add("supervision timed on every ring", time, number)
    elif name == "flame" and walk.proved is not None and walk.sight["running"]:
        walk.proved.setdefault(at, value)
        if set(walk.proved) >= {b.id for b in walk.site.hob("after").burners}:
            walk.add("low flames proved", time, number, lost=list(walk.proved.values()).count(0.0))
    elif name == "tape" and at == "hood":
        maker = walk.site.clearance("above").maker
        walk.add("hood measured", time, number, value=value, maker=maker)
    elif name == "leak fluid" and walk.sight["control"] == "open":
        walk.wetted.add(at)
        if walk.wetted >= {"control", walk.site.hob("after").id}:
            walk.add("leak fluid where the test cannot reach", time, number)


def _gauge(walk: _Walk, number: int, time: float, value: float, kind: str) -> None:
    sight = walk.sight
    if sight["gauge"] == "air":
        walk.add("gauge checked open to the air", time, number, value=value)
        return
    if sight["parted"]:
        return
    if sight["gauge"] != "meter":
        if sight["control"] == "open" and (sight["lit"] or sight["running"]):
            walk.add("appliance pressure read", time, number, value=value, gauge=kind, at=sight["gauge"])
        return
    if sight["control"] == "open":
        _running_pressure(walk, number, time, value, kind)
        return
    count = len(walk.found)
    for earlier, start, first in walk.readings:
        _closed_test(walk, (earlier, number), (start, time), (first, value), kind)
    if any(m.name == "tightness test" for m in walk.found[count:]):
        walk.rested, walk.test_ended = 0.0, time
    walk.readings.append((number, time, value))


def _closed_test(walk: _Walk, events: tuple[int, int], times: tuple, values: tuple, gauge: str) -> None:
    (start, end), (first, last) = times, values
    lasted = end - start + SLACK
    if _at_pressure(first, first, "let-by-test", NEAR) and lasted >= bench_number("let-by-test", "duration"):
        walk.add("let-by test", end, *events, rise=last - first, gauge=gauge)
    # A pipe that will not come up to the test pressure, or loses it in the minute, was tested all the same.
    aimed = _at_pressure(walk.aimed, first, "tightness-test", SLACK)
    if not aimed or lasted < bench_number("tightness-test", "duration"):
        return
    settled = start - walk.calm_since
    figures = {
        "drop": first - last, "first": first, "gauge": gauge, "shut": " ".join(walk.sight["shut"]),
        "began": walk.calm_since, "settled": settled,
        "rested": max(walk.rested, start - max(walk.calm_since, walk.test_ended)),
    }  # fmt: skip
    walk.add("tightness test", end, *events, **figures)
    if start - walk.calm_since + SLACK >= bench_number("tightness-test", "stabilise"):
        walk.add("settled tightness test", end, *events, **figures)
    names = {m.name for m in walk.found}
    if "join pipe" in names and "purge" not in names:
        walk.add("second tightness test", end, *events, **figures)
        walk.tested = True


def _at_pressure(aimed: float, first: float, test: str, near: float) -> bool:
    """Return True when the pressure aimed at, or the first one read, is in the range of a test."""
    low, high = bench_number(test, "pressure_low"), bench_number(test, "pressure_high")
    return low - near <= aimed <= high + near or low - SLACK <= first <= high + SLACK


def _running_pressure(walk: _Walk, number: int, time: float, value: float, gauge: str) -> None:
    sight = walk.sight
    if not sight["lit"] and not sight["running"] and not sight["purging"]:
        walk.add("standing pressure read", time, number, value=value, gauge=gauge)
    elif time - walk.load_since + SLACK >= bench_number("exercise", "working_settle"):
        for load in loads_met(walk.site, sight):
            walk.add(f"working pressure read: {load}", time, number, value=value, gauge=gauge)


def _index(walk: _Walk, number: int, time: float, value: float, digit: float) -> None:
    sight = walk.sight
    if walk.purge_from is not None and value - walk.purge_from + digit >= bench_number(
        "exercise", "purge_volume"
    ):
        walk.add("purge volume passed", time, number, volume=value - walk.purge_from)
        walk.purge_from = None
    if walk.index and sight["lit"] and not sight["running"]:
        earlier, start, first = walk.index[0]  # the longest run with these rings is the surest
        if time - start + SLACK >= 60.0 and value > first:
            walk.add("gas rate timed", time, earlier, number, volume=value - first, seconds=time - start,
                     meter=walk.site.meter.type, **rings_timed(walk.site, sight))  # fmt: skip
    walk.index.append((number, time, value))
