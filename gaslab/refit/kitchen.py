"""The kitchen round the hob: thermocouples warm and cool, gas and burnt gas mix into the air."""

from __future__ import annotations

import math

from gaslab.physics import air as room_air
from gaslab.physics import flame, purging
from gaslab.refit.flowing import passing_rings
from gaslab.refit.plant import Plant, bench_number
from gaslab.refit.state import State


def mixture_at_ring(state: State, passed: float) -> float:
    """Return the part of gas in what comes out of the rings, once `passed` has gone through since air got in."""
    if not state.air_volume:
        return 1.0
    return purging.gas_fraction.bare(passed, state.air_volume, bench_number("bench", "mixing_cells"))


def flames_and_room(plant: Plant, state: State, step: float, burned: float, unlit: float) -> None:
    """Warm and cool the thermocouples; mix gas and burnt gas into the kitchen's air."""
    for id, ring in state.rings.items():
        real = plant.rings[id]
        if ring.lit:
            left = math.exp(-step / real.time_constant)
            ring.emf = real.emf_hot + (ring.emf - real.emf_hot) * left
        elif ring.emf:
            ring.emf = flame.emf_cooling.bare(step, ring.emf, real.time_constant)
    gas_part = mixture_at_ring(state, state.passed + 0.5 * unlit * step)
    state.passed += (burned + unlit) * step
    kitchen, changes = plant.site.room(plant.site.hob(plant.stage).room), air_changes(plant, state)
    hob_heat = _hob_heat(plant, state, step, burned)
    state.room_gas = _mixed(step, unlit * gas_part, kitchen.volume, changes, state.room_gas, 0.0)
    outside = bench_number("bench", "outside_carbon_dioxide")
    state.room_co2 = _mixed(
        step, hob_heat * plant.co2_per_heat, kitchen.volume, changes, state.room_co2, outside
    )


def _mixed(step: float, source: float, volume: float, changes: float, start: float, outside: float) -> float:
    if source == 0.0 and start == outside:
        return outside
    return float(room_air.concentration.bare(step, source, volume, changes, start, outside))


def _hob_heat(plant: Plant, state: State, step: float, burned: float) -> float:
    """Return the heat [W] the hob gives off into its room: burned gas that is not the boiler's."""
    rings = sum(
        plant.rings[id].orifice * share
        for id, share in passing_rings(plant, state).items()
        if state.rings[id].lit
    )
    others = sum(plant.modes[name].orifice for name in state.running.values())
    return burned * plant.heat_per_gas * rings / (rings + others) if rings else 0.0


def air_changes(plant: Plant, state: State) -> float:
    """Return the kitchen's air changes [1/s], more with the window open."""
    kitchen = plant.site.room(plant.site.hob(plant.stage).room)
    opened = plant.size("blocked-opening", default=1.0)
    return kitchen.air_changes + (
        bench_number("bench", "window_air_changes") * opened if state.window_open else 0.0
    )
