"""The kitchen round the hob: thermocouples warm and cool, gas and burnt gas mix into the air."""

from __future__ import annotations

import math

from gaslab.physics import air as room_air
from gaslab.physics import flame, purging
from gaslab.refit.plant import Plant, bench_number
from gaslab.refit.state import State

PURGED = 1e-9  # part of the air still in the pipe at which it counts as gone


def mixture_at_ring(state: State) -> float:
    """Return the part of gas in what comes out of the rings now; less than one while air is in the pipe."""
    if not state.air_volume:
        return 1.0
    return purging.gas_fraction.bare(state.passed, state.air_volume, bench_number("bench", "mixing_cells"))


def air_driven_out(passed: float, air_volume: float) -> float:
    """Return the air [m3] that has left the pipe once `passed` [m3] has gone through.

    The integral of 1 - `purging.gas_fraction` over the volume passed. For N stirred cells it
    is V/N times the sum of the fractions of 1, 2 ... N cells, each a cell of V/N.
    """
    cells = int(bench_number("bench", "mixing_cells"))
    fractions = (
        purging.gas_fraction.bare(passed * cells / k, air_volume, float(k)) for k in range(1, cells + 1)
    )
    return air_volume / cells * sum(fractions)


def pass_time(
    plant: Plant, state: State, step: float, hob_burned: float = 0.0, unlit: float = 0.0, leaked: float = 0.0
) -> None:
    """Let the kitchen feel a step [s]: its rings burned, let out unlit, and cracks leaked so much [m3/s outside]."""
    for id, ring in state.rings.items():
        real = plant.rings[id]
        if ring.lit:
            left = math.exp(-step / real.warming)
            ring.emf = real.emf_hot + (ring.emf - real.emf_hot) * left
        elif ring.emf:
            ring.emf = flame.emf_cooling.bare(step, ring.emf, real.cooling)
    air = _drive_out_air(state, (hob_burned + unlit) * step)
    gas = max(0.0, unlit - air / step) + leaked
    kitchen, changes = plant.kitchen, air_changes(plant, state)
    state.room_gas = _mixed(step, gas, kitchen.volume, changes, state.room_gas, 0.0)
    carbon_dioxide = hob_burned * plant.heat_per_gas * plant.co2_per_heat
    outside = bench_number("bench", "outside_carbon_dioxide")
    state.room_co2 = _mixed(step, carbon_dioxide, kitchen.volume, changes, state.room_co2, outside)


def ends_in_kitchen(plant: Plant, run: str) -> bool:
    """Return True when the end of a pipe that is parted at the start of a run is in the kitchen."""
    return plant.rooms.starts[run] == plant.kitchen.id


def _drive_out_air(state: State, passed: float) -> float:
    """Count what passes the rings while air is in the pipe; return the air [m3] that leaves with it."""
    if not state.air_volume:
        return 0.0
    before = air_driven_out(state.passed, state.air_volume)
    state.passed += passed
    after = air_driven_out(state.passed, state.air_volume)
    if after >= state.air_volume * (1.0 - PURGED):
        state.air_volume = 0.0
    return after - before


def _mixed(step: float, source: float, volume: float, changes: float, start: float, outside: float) -> float:
    if source == 0.0 and start == outside:
        return outside
    return float(room_air.concentration.bare(step, source, volume, changes, start, outside))


def air_changes(plant: Plant, state: State) -> float:
    """Return the kitchen's air changes [1/s], more with the window open."""
    if not state.window_open:
        return plant.kitchen.air_changes
    opened = plant.size("blocked-opening", default=1.0)
    return plant.kitchen.air_changes + bench_number("bench", "window_air_changes") * opened
