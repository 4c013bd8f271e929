"""Letting time pass on the bench: gas shut in, or flowing; valves, flames and meter with it."""

from __future__ import annotations

import itertools
import math

from gaslab.physics import flame
from gaslab.refit import balance
from gaslab.refit.flowing import (
    Flowing,
    gas_air,
    gauge_lag,
    gauge_pressure,
    leak_conductance,
    leak_into_kitchen,
    passing_rings,
)
from gaslab.refit.kitchen import ends_in_kitchen, pass_time
from gaslab.refit.plant import Plant, bench_number
from gaslab.refit.state import State


def run(
    plant: Plant, flowing: Flowing, state: State, end: float, pressing: str = ""
) -> list[tuple[float, str]]:
    """Let time pass to `end`, changing `state`; return what a person could see or hear happen.

    `pressing` is the ring whose knob a hand holds in: its valve cannot let go.
    """
    happened: list[tuple[float, str]] = []
    while state.time < end:
        hissing = [id for id, ring in state.rings.items() if ring.held and not ring.lit and id != pressing]
        shut_times = {id: _shut_time(plant, state, id) for id in hissing}
        target = min([end, *shut_times.values()])
        if target > state.time:
            if state.parted:
                _idle(plant, state, target)
            elif state.control_open:
                _flow(plant, flowing, state, target)
            else:
                happened += _shut_in(plant, flowing, state, target)
            happened += [(state.time, words) for words in (water_blown(state),) if words]
        for id, at in shut_times.items():
            if at <= state.time and state.rings[id].held and not state.rings[id].lit:
                state.rings[id].held, state.rings[id].shut_at = False, state.time
                happened.append((state.time, f"Click: the {plant.rings[id].title} ring shuts off its gas."))
    return happened


def _shut_time(plant: Plant, state: State, id: str) -> float:
    ring, real = state.rings[id], plant.rings[id]
    if ring.emf <= real.emf_release:
        return state.time
    return state.time + float(flame.drop_out_time.bare(ring.emf, real.emf_release, real.cooling))


def _idle(plant: Plant, state: State, end: float) -> None:
    """Pass time with the pipe parted: what the control lets by leaves at the end, unless that is plugged."""
    step, air = end - state.time, gas_air(plant, state).at(end)
    let_by = 0.0 if state.plugged else plant.let_by * plant.lock_up
    here = let_by if ends_in_kitchen(plant, state.parted) else 0.0
    pass_time(plant, state, step, leaked=here)
    state.time = end
    state.totals.let_by += let_by * step
    meter(plant, state, let_by * step, 0.0, *air)
    state.totals.vented += let_by * step + state.amount - plant.volume.amount(0.0, *air)
    state.amount = plant.volume.amount(0.0, *air)
    state.shown = 0.0


def _flow(plant: Plant, flowing: Flowing, state: State, end: float) -> None:
    """Pass time with the control open. Flows run with the dip, which dies away exponentially."""
    step, holes = end - state.time, flowing.orifices(state)
    before, _, loads_before = flowing.solve(holes, state.dip)
    settled, _, loads_settled = flowing.solve(holes)
    dip_end = flowing.dip_now(state, end)
    after = settled if not dip_end else flowing.solve(holes, dip_end)[0]
    # Mean weight of the dip over the step: tau (1 - exp(-h/tau)) / h.
    weight = plant.recovery * -math.expm1(-step / plant.recovery) / step if state.dip else 0.0
    loads = [s + (b - s) * weight for b, s in zip(loads_before, loads_settled, strict=True)]
    by_rings, by_others, unlit = _shares(plant, state, loads, holes)
    burned = by_rings + by_others
    leaked = leak_conductance(plant, state) * (settled + (before - settled) * weight)
    start_gauge = gauge_pressure(plant, flowing, state)
    temperature, barometer = gas_air(plant, state).at(end)
    amount = plant.volume.amount(after, temperature, barometer)
    supplied = amount - state.amount + (burned + unlit + leaked) * step
    if supplied < 0.0:  # a regulator takes no gas back
        supplied, amount = 0.0, state.amount - (burned + unlit + leaked) * step
    state.amount = amount
    totals = state.totals
    totals.supplied += supplied
    totals.burned += burned * step
    totals.unlit += unlit * step
    totals.leaked += leaked * step
    meter(plant, state, supplied, after, temperature, barometer)
    pass_time(plant, state, step, by_rings, unlit, leaked * leak_into_kitchen(plant, state))
    state.time, state.dip, state.flow = end, 0.0, sum(loads_settled)
    end_gauge = gauge_pressure(plant, flowing, state)  # where the pressure is heading
    state.dip = dip_end
    state.shown = balance.follow_fading(
        state.shown, end_gauge, start_gauge - end_gauge, plant.recovery, step, gauge_lag(plant, state)
    )


def _shares(
    plant: Plant, state: State, loads: list[float], holes: tuple[float, ...]
) -> tuple[float, float, float]:
    """Return (burned by rings, burned by other appliances, out unlit) [m3/s outside] of the gas leaving the runs."""
    modes = [plant.modes[name] for name in state.running.values()]
    others = sum(loads[mode.run] * mode.orifice / holes[mode.run] for mode in modes)
    rings = unlit = 0.0
    for id, share in passing_rings(plant, state).items():
        ring = plant.rings[id]
        passed = loads[ring.run] * share * ring.orifice / holes[ring.run]
        if state.rings[id].lit:
            rings += passed
        else:
            unlit += passed
    return rings, others, unlit


def _shut_in(plant: Plant, flowing: Flowing, state: State, end: float) -> list[tuple[float, str]]:
    """Pass time with the control shut: the gas in the pipe is all there is."""
    shares = passing_rings(plant, state)
    hole = sum(share * plant.rings[id].orifice for id, share in shares.items())
    ways = balance.Ways(plant.let_by, plant.lock_up, leak_conductance(plant, state), hole)
    air, start = gas_air(plant, state), state.time
    amount, totals, passed = balance.advance(plant.volume, ways, air, state.amount, start, end)
    lost_at = _flames_lost(passed, state)
    if lost_at is not None and start < lost_at < end:
        end = lost_at
        amount, totals, passed = balance.advance(plant.volume, ways, air, state.amount, start, end)
    step, lag = end - start, gauge_lag(plant, state)
    for (t0, p0), (t1, p1) in itertools.pairwise(passed):
        state.shown = balance.follow(state.shown, p0, p1, t1 - t0, lag) if state.gauge else 0.0
    lit_hole = sum(share * plant.rings[id].orifice for id, share in shares.items() if state.rings[id].lit)
    burned = totals[2] * lit_hole / hole if hole else 0.0
    state.amount = amount
    state.totals.let_by += totals[0]
    state.totals.leaked += totals[1]
    state.totals.burned += burned
    state.totals.unlit += totals[2] - burned
    meter(plant, state, totals[0], passed[-1][1], *air.at(end))
    leaked = totals[1] * leak_into_kitchen(plant, state)
    pass_time(plant, state, step, burned / step, (totals[2] - burned) / step, leaked / step)
    state.time, state.dip, state.flow = end, 0.0, 0.0
    if lost_at is None or lost_at > end:
        return []
    return [(end, put_out(plant, state, id, "dies for want of gas")) for id in state.lit()]


def _flames_lost(passed: list[tuple[float, float]], state: State) -> float | None:
    """Return when the pressure falls through the least that a flame lives on, or None."""
    if not state.lit():
        return None
    least = bench_number("bench", "flame_least_pressure")
    for (t0, p0), (t1, p1) in itertools.pairwise(passed):
        if p1 < least:
            return t0 if p0 <= least else t0 + (t1 - t0) * (p0 - least) / (p0 - p1)
    return None


def put_out(plant: Plant, state: State, id: str, how: str) -> str:
    """Put out a flame; return the sentence for it."""
    state.rings[id].lit, state.rings[id].out_at = False, state.time
    return f"The {plant.rings[id].title} flame {how}."


def water_blown(state: State) -> str:
    """Take off a water gauge that has more on it than its water can stand; return the sentence, "" if it stands."""
    if state.gauge != "water-gauge" or state.shown <= bench_number("bench", "supply_limit"):
        return ""
    state.gauge, state.shown = "", 0.0
    return "The water blows out of the gauge. You shut the test point and take the gauge off."


def meter(
    plant: Plant, state: State, amount: float, pressure: float, temperature: float, barometer: float
) -> None:
    """Turn the index by the volume that the gas fills in the meter, with the meter's own error."""
    volume = plant.volume
    inside = (
        amount * volume.outside_pressure / (barometer + pressure) * temperature / volume.outside_temperature
    )
    state.metered += inside * (1.0 + plant.meter_error)
