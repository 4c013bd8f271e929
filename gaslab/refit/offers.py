"""What a screen may show of the bench, and which actions make sense to offer now."""

from __future__ import annotations

from gaslab.refit import instruments
from gaslab.refit.flowing import Flowing
from gaslab.refit.instruments import GAUGES
from gaslab.refit.plant import Plant
from gaslab.refit.state import State
from gaslab.refit.work_actions import CHOICES, TOPICS


def view(plant: Plant, flowing: Flowing, state: State) -> dict:
    """Return what a person standing there can see, as plain data."""
    gauge = None
    if state.gauge:
        reading = instruments.gauge(plant, flowing, state)
        gauge = {"kind": state.gauge, "at": state.gauge_place, "text": reading.text, "value": reading.value}
    index = instruments.index(plant, flowing, state)
    rings = {}
    for id, ring in state.rings.items():
        seen = instruments.flame(plant, flowing, state, id)
        rings[id] = {"title": plant.rings[id].title, "tap": ring.tap, "lit": ring.lit, "text": seen.text}
    return {
        "time": state.time,
        "clock": f"{int(state.time // 60)} min {int(state.time % 60):02d} s",
        "gauge": gauge,
        "index": {"kind": plant.site.meter.type, "text": index.text, "value": index.value},
        "control": "open" if state.control_open else "shut",
        "valves": {id: "open" if is_open else "shut" for id, is_open in state.valves.items()},
        "rings": rings,
        "running": {id: name.partition("/")[2] for id, name in state.running.items()},
        "window": "open" if state.window_open else "shut",
        "pipe": "parted" if state.parted else "joined",
        "ends": "plugged" if state.plugged else "open" if state.parted else "none",
        "bond": "on" if state.bond_fitted else "off",
        "oven": "isolated" if state.oven_isolated else "on",
        "purging": state.purging,
        "smell": instruments.nose(plant, flowing, state).text,
    }


def in_sight(plant: Plant, state: State) -> dict:
    """Return what stands in plain sight, kept with each action for the score."""
    return {
        "hob": plant.hob.id,
        "control": "open" if state.control_open else "shut",
        "gauge": state.gauge_place if state.gauge else "",
        "window": "open" if state.window_open else "shut",
        "lit": {id: ring.tap for id, ring in state.rings.items() if ring.lit},
        "running": dict(state.running),
        "shut": sorted(id for id, is_open in state.valves.items() if not is_open),
        "parted": state.parted,
        "ends": "plugged" if state.plugged else "open" if state.parted else "none",
        "bond": state.bond_fitted,
        "purging": state.purging,
        "smell": instruments.smells(state),
    }


def actions(plant: Plant, state: State, repairs: tuple[str, ...]) -> list[dict]:
    """Return the actions to offer now, each with the choices for its values; a number is offered as a unit."""
    offered: list[tuple[str, dict]] = [("sweep for voltage", {}), ("wait", {"seconds": "s"})]
    offered += _valves(state) + _gauge(state) + _flames(plant, state) + _work(plant, state)
    offered.append(("decide", {"about": list(TOPICS), "choice": list(CHOICES)}))
    offered.append(("put right", {"fault": list(repairs)}))
    return [{"name": name, "takes": takes} for name, takes in offered]


def _valves(state: State) -> list[tuple[str, dict]]:
    every = {"control": state.control_open, **state.valves}
    can_open = [
        valve for valve, is_open in every.items() if not is_open and not (valve == "control" and state.parted)
    ]
    can_close = [valve for valve, is_open in every.items() if is_open]
    offered = [("open", {"valve": can_open})] if can_open else []
    return offered + ([("close", {"valve": can_close})] if can_close else [])


def _gauge(state: State) -> list[tuple[str, dict]]:
    if not state.gauge:
        places = ["air", "meter", *state.valves]
        return [
            ("connect gauge", {"kind": list(GAUGES), "at": places}),
            ("zero gauge", {"kind": list(GAUGES)}),
        ]
    offered: list[tuple[str, dict]] = [("disconnect gauge", {}), ("zero gauge", {"kind": [state.gauge]})]
    if not state.control_open and not state.parted and not state.lit():
        offered += [("raise pressure", {"to": "Pa"}), ("let pressure out", {"to": "Pa"})]
    return offered


def _flames(plant: Plant, state: State) -> list[tuple[str, dict]]:
    if state.parted:
        return []
    out = [id for id, ring in state.rings.items() if not ring.lit]
    lit, turned = state.lit(), [id for id, ring in state.rings.items() if ring.tap != "off"]
    offered = [("light", {"ring": out})] if out else []
    if lit:
        offered += [("turn", {"ring": lit, "to": ["high", "low"]}), ("blow out", {"ring": lit})]
    if turned:
        offered.append(("turn off", {"ring": turned}))
    idle = sorted({m.appliance for m in plant.modes.values()} - set(state.running))
    if idle:
        offered.append(("start", {"appliance": idle}))
    if any(name.endswith("/hot-water") and m.appliance in idle for name, m in plant.modes.items()):
        offered.append(("draw hot water", {}))
    if state.running:
        offered.append(("stop", {"appliance": list(state.running)}))
    if state.purging:
        offered.append(("stop purge", {}))
    elif state.control_open and state.valves[plant.hob.id] and out:
        offered.append(("purge", {"ring": out}))
    return offered


def _work(plant: Plant, state: State) -> list[tuple[str, dict]]:
    offered: list[tuple[str, dict]] = [("close window", {}) if state.window_open else ("open window", {})]
    if not state.oven_isolated:
        offered.append(("isolate oven", {}))
    offered.append(("remove bond", {}) if state.bond_fitted else ("fit bond", {}))
    if state.parted:
        offered += [] if state.plugged else [("plug ends", {})]
        offered.append(("join pipe", {}))
    elif not state.lit() and not state.running:
        offered.append(("part pipe", {"run": [run.id for run in plant.site.runs]}))
    return offered
