"""One installation, many lenses: what each chapter sees of the same site.

A lens takes a frozen `Site` and a few settings, and returns SI numbers worked out by
`physics`. No number is kept here, so one change to the site moves every lens at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaslab import tables
from gaslab.physics import air, gas, metering, network, purging, trapped, worktop
from gaslab.refit import supply
from gaslab.refit.parts import Burner, Run
from gaslab.refit.site import Site

EXERCISE_LEAK = 1.0 / 3.6e6  # m3/s: the leak of 1 dm3/h that chapter 04 asks about


@dataclass(frozen=True)
class Trapped:
    """The gas shut in the installation: volumes [m3] and what moves the gauge."""

    pipe: float
    fittings: float
    meter: float
    volume: float
    volume_from_bores: float
    thermal: float  # Pa for each kelvin
    barometer: float

    def drop(self, leak: float, duration: float = 120.0) -> float:
        """Return the drop [Pa] that a steady leak [m3/s] makes while there is pressure left."""
        return trapped.drop_from_leak(leak, self.volume, duration, self.barometer)

    def empty_after(self, pressure: float, leak: float) -> float:
        """Return when [s] a steady leak [m3/s] has brought the gauge from a pressure [Pa] to 0; inf without a leak."""
        return pressure / self.drop(leak, 1.0) if leak > 0.0 else math.inf

    def leak(self, drop: float, duration: float = 120.0) -> float:
        """Return the leak [m3/s] that a drop [Pa] means."""
        return trapped.leak_from_drop(drop, self.volume, duration, self.barometer)


def trapped_gas(site: Site) -> Trapped:
    """Return what a tightness test of the whole site works on."""
    pipe = site.pipe_volume()
    volume = site.installation_volume()
    setting = site.meter.pressure_setting
    return Trapped(
        pipe=pipe,
        fittings=volume - pipe - site.meter.volume(),
        meter=site.meter.volume(),
        volume=volume,
        volume_from_bores=site.installation_volume("bore"),
        thermal=trapped.thermal_change(setting, site.temperature, 1.0, site.barometer),
        barometer=site.barometer,
    )


@dataclass(frozen=True)
class RunLoss:
    """One run in the sizing sum: its lengths [m], flow [m3/s], loss [Pa], and pressure [Pa] at its end."""

    run: Run
    effective_length: float
    flow: float
    loss: float
    pressure_end: float


@dataclass(frozen=True)
class Sizing:
    """The pipe sizing sum, with every load at the fractions asked for."""

    runs: tuple[RunLoss, ...]
    meter_outlet: float

    def run(self, id: str) -> RunLoss:
        return next(part for part in self.runs if part.run.id == id)

    def pressure(self, node: str) -> float:
        """Return the gauge pressure [Pa] at a node."""
        return next(part.pressure_end for part in self.runs if part.run.end == node)


def sizing(site: Site, fractions: Mapping[str, float] | None = None, stage: str = "after") -> Sizing:
    """Return losses and pressures with the meter outlet held at its setting.

    A loss is friction only. A pressure counts the small gain of light gas in a rising run too.
    """
    tree = site.tree()
    state = network.solve(
        tree,
        site.loads(fractions, stage),
        site.meter.pressure_setting,
        site.gas_density(),
        site.viscosity(),
        site.air_density(),
    )
    return _sizing(site, tree, state)


def running(site: Site, fractions: Mapping[str, float], stage: str = "after") -> Sizing:
    """Return pressures and flows as they settle with regulator, meter, pipes and burners together.

    Each appliance is a hole that passes its plate's gas at its nominal pressure, open by its fraction.
    """
    joined = {unit.id: unit for unit in site.connected(stage)}
    loads = site.loads(fractions, stage)
    holes = [0.0] * len(site.runs)
    for id in fractions:
        number = site.end_index(joined[id].node)
        holes[number] = float(loads[number]) / math.sqrt(joined[id].pressure_nominal)
    tree = site.tree()
    state = network.operating_point(
        tree, supply.curve(site.meter), holes, site.gas_density(), site.viscosity(), site.air_density()
    )
    return _sizing(site, tree, state)


def _sizing(site: Site, tree: network.Tree, state: network.State) -> Sizing:
    parts = tuple(
        RunLoss(
            run=run,
            effective_length=float(tree.length[number]),
            flow=float(state.flow[number]),
            loss=float(state.loss[number]),
            pressure_end=float(state.pressure[number]),
        )
        for number, run in enumerate(site.runs)
    )
    return Sizing(parts, float(state.inlet_pressure))


def loss_to(site: Site, node: str, fractions: Mapping[str, float] | None = None) -> float:
    """Return the friction loss [Pa] from the meter outlet to a node."""
    result, total = sizing(site, fractions), 0.0
    while node != site.meter.node:
        part = next(p for p in result.runs if p.run.end == node)
        total, node = total + part.loss, part.run.start
    return total


@dataclass(frozen=True)
class RoomAir:
    """Carbon dioxide in a room while appliances without a flue burn (fractions of one)."""

    volume: float
    source: float  # m3/s of CO2
    air_flow: float  # m3/s
    steady: float
    outside: float
    times: np.ndarray
    levels: np.ndarray

    def time_to(self, level: float) -> float:
        """Return the time [s] to a level, or infinity when the air holds it below."""
        if level >= self.steady:
            return math.inf
        return air.time_to_concentration(
            level, self.source, self.volume, self.air_flow / self.volume, self.outside, self.outside
        )


def room_air(
    site: Site, room: str, heat_input_gross: float, air_changes: float | None = None, minutes: float = 60.0
) -> RoomAir:
    """Return the rise of CO2 in a room for a gross heat input [W] and air changes [1/s]."""
    place = site.room(room)
    changes = place.air_changes if air_changes is None else air_changes
    outside = tables.si("practice", "outside-air", "co2")
    source = air.co2_source(heat_input_gross, gas.mixture(site.gas))
    flow = changes * place.volume
    times = np.linspace(0.0, 60.0 * minutes, 121)
    levels = air.concentration(times, source, place.volume, changes, outside, outside)
    steady = air.steady_concentration(source, flow, outside) if flow > 0.0 else math.inf
    return RoomAir(place.volume, source, flow, steady, outside, times, levels)


@dataclass(frozen=True)
class Purge:
    """A purge through one burner: volume [m3], flow [m3/s], time [s] and what it lets into the room."""

    volume: float
    flow: float
    time: float
    room_fraction: float
    of_lower_limit: float


def burner_flow(site: Site, burner: Burner) -> float:
    """Return the gas rate [m3/s] of a burner at full, by its gross heat input and the site's gas."""
    return burner.heat_input_gross / site.cv_gross


def purge_through(site: Site, volume: float, burner: Burner, room: str = "kitchen") -> Purge:
    """Return the purge of a volume [m3] through one burner into a room."""
    flow = burner_flow(site, burner)
    fraction = purging.room_fraction(volume, site.room(room).volume)
    lower = tables.si("practice", "methane", "lower_flammable_limit")
    of_lower_limit = purging.fraction_of_lower_limit(fraction, lower)
    return Purge(volume, flow, purging.purge_time(volume, flow), fraction, of_lower_limit)


@dataclass(frozen=True)
class Rate:
    """A timed run of the meter: readings [m3], time [s], rate [m3/s], heat [W], relative uncertainty."""

    first: float
    last: float
    duration: float
    digit: float
    rate: float
    gross: float
    net: float
    uncertainty: float  # relative, k = 2

    @property
    def volume(self) -> float:
        return self.last - self.first

    @property
    def digit_share(self) -> float:
        """Return one digit as a fraction of the volume counted; infinite when none passed."""
        return self.digit / self.volume if self.volume > 0.0 else math.inf


def timed_rate(
    site: Site, heat_input_gross: float, duration: float, meter: str = "", start: float = 0.0
) -> Rate:
    """Return what a timed run of the meter shows for appliances taking a gross heat input [W]."""
    kind = meter or site.meter.type
    digit = tables.si("meters", kind, "digit")
    true_rate = heat_input_gross / site.cv_gross
    first = float(metering.index_reading(start, digit))
    last = float(metering.index_reading(start + true_rate * duration, digit))
    volume = last - first
    ratio = tables.si("practice", "gross-to-net", "ratio")
    rate = metering.gas_rate(max(volume, 0.0), duration)
    gross = metering.heat_input_gross(rate, site.cv_gross)
    net = metering.heat_input_net(gross, ratio)
    return Rate(first, last, duration, digit, rate, gross, net, rate_doubt(kind, volume, duration))


def rate_doubt(meter: str, volume: float, duration: float) -> float:
    """Return the expanded uncertainty (k = 2) of a gas rate as a part of it, from a volume [m3] counted in a time [s].

    Infinite where no digit has passed.
    """
    if volume <= 0.0:
        return math.inf
    digit, error = (tables.si("meters", meter, name) for name in ("digit", "class_error"))
    reaction = tables.si("practice", "stopwatch", "reaction_time")
    return 2.0 * metering.rate_uncertainty(volume, duration, digit, error, reaction)


@dataclass(frozen=True)
class Cutting:
    """The cut-out and the day's exposure: margins [m], noise dB(A), vibration [m/s2], dust [kg/m3]."""

    margins: Mapping[str, float]
    noise: float
    vibration: float
    dust: float


def cutting(site: Site, durations: Mapping[str, float] | None = None) -> Cutting:
    """Return margins round the cut-out and exposures for tool times [s] (the site's own by default)."""
    times = [(durations or {}).get(tool.id, tool.duration) for tool in site.tools]
    return Cutting(
        margins=site.worktop.margins(),
        noise=worktop.noise_exposure([tool.noise for tool in site.tools], times),
        vibration=worktop.vibration_exposure([tool.vibration for tool in site.tools], times),
        dust=worktop.dust_average([tool.dust for tool in site.tools], times),
    )


def most_projection(site: Site) -> float:
    """Return how far [m] the pipe may stand out and still leave the new oven the maker's gap."""
    return worktop.projection_gap(site.oven.void_depth, site.oven.new_depth, site.oven.gap_maker)


def oven_gap(site: Site, which: str = "new") -> float:
    """Return the free depth [m] left behind the old or new oven; below zero it will not go home."""
    depth = site.oven.new_depth if which == "new" else site.oven.old_depth
    return worktop.projection_gap(site.oven.void_depth, depth, site.oven.pipe_projection)
