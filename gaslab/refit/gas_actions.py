"""Actions on valves, gauge and pressure, with the consequences they have on site."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaslab.refit import balance
from gaslab.refit.actions import Refused, action, amount, one_of
from gaslab.refit.flowing import (
    gauge_lag,
    gauge_pressure,
    leak_conductance,
    passing_rings,
    trapped_pressure,
)
from gaslab.refit.instruments import GAUGES
from gaslab.refit.plant import bench_number
from gaslab.refit.running import put_out, water_blown
from gaslab.refit.state import OPEN_AIR

if TYPE_CHECKING:
    from gaslab.refit.bench import Bench

HAND_STEP = 0.1  # s: how finely a hand on the control is followed
HAND_TIME = 40.0  # s: nobody goes on longer than this when nothing comes of it


@action("open")
def open_valve(bench: Bench, valve: str) -> str:
    """Open the control or an appliance's valve."""
    state = bench.state
    one_of("open", valve, ["control", *state.valves], "valve")
    if valve != "control":
        if state.valves[valve]:
            raise Refused(f"The {valve} valve is open already.")
        state.valves[valve] = True
        return f"The {valve} valve is open."
    if state.control_open:
        raise Refused("The control is open already.")
    if state.parted and not state.plugged:
        bench.blow_out_of_open_end(state.parted)
        raise Refused("Gas blows out of the open end. You shut the control at once. Plug the ends first.")
    if state.parted:
        raise Refused("The pipe is parted. Join it and test it before you let gas in.")
    state.control_open = True
    bench.fill()
    return "The control is open. Gas fills the pipe."


@action("close")
def close_valve(bench: Bench, valve: str) -> str:
    """Close the control or an appliance's valve."""
    state = bench.state
    one_of("close", valve, ["control", *state.valves], "valve")
    if valve == "control":
        if not state.control_open:
            raise Refused("The control is shut already.")
        state.control_open, state.dip = False, 0.0
        answer, starved = ["The control is shut."], list(state.running)
    elif not state.valves[valve]:
        raise Refused(f"The {valve} valve is shut already.")
    else:
        state.valves[valve] = False
        answer, starved = [f"The {valve} valve is shut."], [valve] if valve in state.running else []
    for appliance in starved:
        del state.running[appliance]
        answer.append(f"The {appliance} goes out.")
    if valve == bench.plant.hob.id:
        answer += [put_out(bench.plant, state, id, "goes out") for id in state.lit()]
    return " ".join(answer)


@action("connect gauge")
def connect_gauge(bench: Bench, kind: str = "water-gauge", at: str = "meter") -> str:
    """Join a gauge to the test point at the meter or at an appliance."""
    state = bench.state
    one_of("connect gauge", kind, GAUGES, "gauge")
    one_of("connect gauge", at, ["meter", *state.valves, OPEN_AIR], "test point")
    if state.gauge_joined:
        raise Refused("A gauge is joined already. Take it off first.")
    state.gauge, state.gauge_place, state.zeroed_by = kind, at, state.zeroed.get(kind, 0.0)
    state.shown = 0.0
    if not bench.plant.hose_lag:
        state.shown = gauge_pressure(bench.plant, bench.flowing, state)
    blown = water_blown(state)
    if blown:
        return blown
    if at == OPEN_AIR:
        return f"The {GAUGES[kind]} is in your hand, open to the air."
    return f"The {GAUGES[kind]} is joined at the {at} test point."


@action("disconnect gauge")
def disconnect_gauge(bench: Bench) -> str:
    """Take the gauge off and close the test point."""
    state = bench.state
    if not state.gauge:
        raise Refused("No gauge is joined.")
    state.gauge, state.shown = "", 0.0
    return "The gauge is off and the test point is shut."


@action("zero gauge")
def zero_gauge(bench: Bench, kind: str = "water-gauge") -> str:
    """Set a gauge that is open to the air to zero. Done under pressure it takes the pressure for zero."""
    state = bench.state
    one_of("zero gauge", kind, GAUGES, "gauge")
    if state.gauge and state.gauge != kind:
        raise Refused(f"The gauge in your hand is the {GAUGES[state.gauge]}.")
    seen = state.shown if state.gauge else 0.0
    under_pressure = abs(seen) > 20.0
    if state.gauge_joined and not state.parted and not under_pressure:
        raise Refused("The gauge is on the pipe. Open it to the air before you set it to zero.")
    if not under_pressure:
        bench.mend("gauge-zero", "")
    state.zeroed[kind] = -(seen + bench.plant.gauge_zero)
    if state.gauge:
        state.zeroed_by = state.zeroed[kind]
    if under_pressure:
        return "The gauge is set to zero, with pressure on it."
    return "The gauge shows zero, open to the air."


@action("raise pressure")
def raise_pressure(bench: Bench, to: float) -> str:
    """Ease the control open until the gauge shows `to` [Pa], then shut it."""
    state = _ready(bench, "raise the pressure")
    limit = bench_number("bench", "supply_limit")
    to = amount("raise pressure", to, 0.0, 7500.0, "a gauge pressure in Pa; 20.5 mbar is 2050 Pa")
    if to > limit:
        raise Refused(
            f"Not above {limit / 100:.0f} mbar: the water would leave the gauge. The test pressure is 20 to 21 mbar."
        )
    if to <= _shows(bench):
        raise Refused("The gauge shows that much already. Let some out, or leave it.")
    started, top = state.time, min(limit, bench.plant.lock_up)
    pressure = _by_hand(bench, to, 1)
    if _shows(bench) >= to:
        return f"You ease the control open and shut it again. It took {state.time - started:.0f} s."
    if pressure >= top - 1.0:
        return "It goes no higher than this. The control is shut again."
    return "The gauge will not come up. Something takes the gas away, or the gauge does not see it."


@action("let pressure out")
def let_pressure_out(bench: Bench, to: float = 0.0) -> str:
    """Let gas out at the test point until the gauge shows `to` [Pa]."""
    state = _ready(bench, "let pressure out")
    to = amount("let pressure out", to, 0.0, 7500.0, "a gauge pressure in Pa; 8.5 mbar is 850 Pa")
    if to > _shows(bench):
        raise Refused("The gauge shows less than that already.")
    started = state.time
    _by_hand(bench, to, -1)
    return f"You let gas out through the test point for {state.time - started:.0f} s."


def _ready(bench: Bench, what: str):
    state = bench.state
    if state.parted:
        raise Refused(f"The pipe is parted. You cannot {what}.")
    if not state.gauge_joined:
        raise Refused(f"No gauge is joined. Never {what} without one.")
    if state.control_open:
        raise Refused("The control is open, so the supply holds the pressure. Shut the control first.")
    if state.lit() or state.running:
        raise Refused("Something is still alight. Turn it off first.")
    return state


def _shows(bench: Bench) -> float:
    """Return what the gauge shows, without its flicker [Pa]."""
    return bench.state.shown + bench.plant.gauge_zero + bench.state.zeroed_by


def _by_hand(bench: Bench, to: float, way: int) -> float:
    """Let gas in (way 1) or out (way -1) until the gauge shows `to` [Pa]; return the true pressure.

    The hand slows as the gauge nears its mark. A gauge that does not move is followed to the end.
    """
    state, plant = bench.state, bench.plant
    hole = sum(share * plant.rings[id].orifice for id, share in passing_rings(plant, state).items())
    ways = balance.Ways(0.0, 0.0, leak_conductance(plant, state), hole)
    lag, stiffness = gauge_lag(plant, state), plant.volume.stiffness(plant.site.temperature)
    full, top = (
        bench_number("bench", "inflow_rate"),
        min(bench_number("bench", "supply_limit"), plant.lock_up),
    )
    start = pressure = trapped_pressure(plant, state)
    leaked = unlit = seconds = 0.0
    while (
        seconds < HAND_TIME
        and way * (to - _shows(bench)) > 0.0
        and way * pressure < (top if way > 0 else 0.0)
    ):
        rate = way * min(full, max(10.0, abs(to - _shows(bench))))
        _, leak, through = ways.flows(pressure)
        after = max(0.0, pressure + (rate - (leak + through) * stiffness) * HAND_STEP)
        leaked, unlit, seconds = leaked + leak * HAND_STEP, unlit + through * HAND_STEP, seconds + HAND_STEP
        state.shown = balance.follow(state.shown, pressure, after, HAND_STEP, lag)
        pressure = after
    bench.pass_by_hand(seconds, start, pressure, leaked, unlit)
    return pressure
