"""Gas on the move: regulator, meter, pipes and burners solved together, and who passes gas."""

from __future__ import annotations

import math

from gaslab.physics import network
from gaslab.refit import balance
from gaslab.refit.plant import Plant, bench_number, instrument_number
from gaslab.refit.state import OPEN_AIR, State

SMALL_DIP = 0.05  # Pa: a dip smaller than this is over


class Flowing:
    """Regulator, meter, pipes and burners solved together; remembers what it has solved.

    The tree is solved in the volumes that pass through the pipe; the bench counts gas by
    the volume it fills outside. `squeeze` is the one over the other.
    """

    REMEMBERED = 256

    def __init__(self, plant: Plant):
        self.plant = plant
        self.solved: dict[tuple, tuple[float, tuple[float, ...], tuple[float, ...]]] = {}
        barometer = plant.site.barometer
        self.squeeze = (barometer + plant.site.meter.pressure_setting) / barometer

    def orifices(self, state: State) -> tuple[float, ...]:
        """Return the open orifice at the end of each run [m3/s outside at 1 Pa]."""
        open_holes = [0.0] * len(self.plant.tree.parent)
        for id, share in passing_rings(self.plant, state).items():
            ring = self.plant.rings[id]
            open_holes[ring.run] += share * ring.orifice
        for name in state.running.values():
            mode = self.plant.modes[name]
            open_holes[mode.run] += mode.orifice
        return tuple(open_holes)

    def solve(
        self, holes: tuple[float, ...], dip: float = 0.0
    ) -> tuple[float, tuple[float, ...], tuple[float, ...]]:
        """Return (pressure at the meter outlet, pressure at each run's end, gas leaving there [m3/s outside])."""
        key = (holes, dip)
        if key not in self.solved:
            if len(self.solved) >= self.REMEMBERED:
                self.solved.clear()
            plant = self.plant
            found = network.operating_point.bare(
                plant.tree,
                lambda flow: plant.supply(flow, dip),
                [hole / self.squeeze for hole in holes],
                plant.gas_density,
                plant.viscosity,
                plant.air_density,
            )
            loads = tuple(float(q) * self.squeeze for q in found.load)
            self.solved[key] = float(found.inlet_pressure), tuple(float(p) for p in found.pressure), loads
        return self.solved[key]

    def dip_now(self, state: State, time: float) -> float:
        """Return the regulator's dip [Pa] at a time; it dies away from the last change of load."""
        dip = state.dip * math.exp(-(time - state.time) / self.plant.recovery)
        return dip if dip > SMALL_DIP else 0.0


def passing_rings(plant: Plant, state: State) -> dict[str, float]:
    """Return the rings that pass gas, each with the part of its hole that is open."""
    shares: dict[str, float] = {}
    if not state.valves[plant.hob.id] or state.parted:
        return shares
    for id, ring in state.rings.items():
        if state.purging == id:
            shares[id] = 1.0
        elif state.ring_passes(id):
            shares[id] = plant.rings[id].low if ring.tap == "low" else 1.0
    for fault in plant.faults:
        if fault.key == "tap-open":
            shares[fault.place] = max(shares.get(fault.place, 0.0), fault.size)
    return shares


def gas_air(plant: Plant, state: State) -> balance.Air:
    """Return temperature and barometer round the trapped gas over time."""
    return steady_air(plant, state.disturbance, state.disturbed_at)


def wall_air(plant: Plant, state: State) -> balance.Air:
    """Return temperature of the pipe wall, and barometer, over time."""
    return steady_air(plant, state.wall_warmth, state.wall_left_at)


def steady_air(plant: Plant, warmth: float = 0.0, since: float = 0.0) -> balance.Air:
    """Return the kitchen's temperature and barometer over time, with a warmth [K] that fades from `since` [s] on."""
    return balance.Air(
        plant.site.temperature, plant.warming, bench_number("bench", "warming_ends"),
        plant.site.barometer, plant.barometer_rate, warmth, since, bench_number("bench", "settling_time"),
    )  # fmt: skip


def leak_conductance(plant: Plant, state: State) -> float:
    """Return the cracks [m3/(s Pa)] that gas can reach: pipework, open appliances, and the hose if joined."""
    return sum(crack for _, crack in _cracks(plant, state))


def leak_into_kitchen(plant: Plant, state: State) -> float:
    """Return the part of what leaks that goes into the kitchen; the rest goes elsewhere in the home or outside."""
    cracks = _cracks(plant, state)
    here = sum(crack for room, crack in cracks if room == plant.kitchen.id)
    return here / sum(crack for _, crack in cracks) if here else 0.0


def _cracks(plant: Plant, state: State) -> list[tuple[str, float]]:
    """Return room and size [m3/(s Pa)] of each crack that gas can reach."""
    rooms = plant.rooms
    cracks = [(rooms.runs[run], crack) for run, crack in plant.pipe_leaks.items()]
    cracks += [
        (rooms.appliances[id], crack) for id, crack in plant.appliance_leaks.items() if state.valves[id]
    ]
    if state.gauge_joined:
        cracks.append((rooms.appliances.get(state.gauge_place, rooms.meter), plant.hose_leak))
    return cracks


def trapped_pressure(plant: Plant, state: State) -> float:
    """Return the gauge pressure [Pa] of the gas in the pipe now."""
    return plant.volume.pressure(state.amount, *gas_air(plant, state).at(state.time))


def gauge_lag(plant: Plant, state: State) -> float:
    """Return how far the gauge lags [s]; a blocked hose slows it."""
    return instrument_number(state.gauge, "lag") + plant.hose_lag if state.gauge else 0.0


def pressure_at(plant: Plant, flowing: Flowing, state: State, place: str = "meter") -> float:
    """Return the true gauge pressure [Pa] now at the meter outlet or at an appliance's test point."""
    if state.parted or place == OPEN_AIR:
        return 0.0
    if not state.control_open:
        return trapped_pressure(plant, state)
    holes = flowing.orifices(state)
    inlet, ends, _ = flowing.solve(holes, state.dip)
    # With nothing flowing, warming gas may stand above the regulator's lock-up.
    above = 0.0 if any(holes) else max(0.0, trapped_pressure(plant, state) - inlet)
    if place == "meter":
        return inlet + above
    return ends[plant.site.end_index(plant.site.appliance(place).node)] + above


def gauge_pressure(plant: Plant, flowing: Flowing, state: State) -> float:
    """Return the true gauge pressure [Pa] at the hose's end; zero when the hose hangs free."""
    return pressure_at(plant, flowing, state, state.gauge_place) if state.gauge else 0.0
