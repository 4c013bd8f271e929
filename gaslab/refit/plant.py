"""What a bench is built of: the numbers of one site with its faults, worked out once.

The `Plant` never changes while a job runs. Gas is counted as the volume it fills
outside, at the site's barometer and temperature.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import blake2b
from statistics import NormalDist

import numpy as np

from gaslab import tables
from gaslab.physics import air as room_air
from gaslab.physics import burner as burner_physics
from gaslab.physics import gas as gas_physics
from gaslab.physics import network
from gaslab.refit import supply
from gaslab.refit.balance import Volume
from gaslab.refit.faults import Fault
from gaslab.refit.parts import Appliance, Room
from gaslab.refit.rooms import Rooms, rooms_of
from gaslab.refit.site import PLATE_GAS, Site

STANDARD_PRESSURE, STANDARD_TEMPERATURE = 101_325.0, 288.15  # Pa, K: gas figures are stated at these
LEAK_STATED_AT = 2100.0  # Pa: leaks are stated at 21 mbar
_NORMAL = NormalDist()


@functools.cache
def bench_number(key: str, quantity: str) -> float:
    """Return one of the bench's numbers [SI] from data/bench.csv."""
    return tables.si("bench", key, quantity)


@functools.cache
def instrument_number(instrument: str, quantity: str) -> float:
    """Return one of an instrument's numbers [SI] from data/instruments.csv."""
    return tables.si("instruments", instrument, quantity)


def spread(seed: int, *name: object) -> float:
    """Return a number drawn from the standard normal distribution, always the same for a name."""
    text = "|".join(str(part) for part in (seed, *name))
    drawn = int.from_bytes(blake2b(text.encode(), digest_size=7).digest(), "big")
    return _NORMAL.inv_cdf((drawn + 0.5) / 2**56)


@dataclass(frozen=True)
class Ring:
    """One ring of the hob as it really is.

    orifice: gas at outside conditions [m3/s] at 1 Pa with the tap full open; low and right_low:
    parts of it; warming and cooling: time constants of the thermocouple [s].
    """

    id: str
    title: str
    run: int
    rated: float
    orifice: float
    low: float
    right_low: float
    emf_hot: float
    emf_hold: float
    emf_release: float
    warming: float
    cooling: float


@dataclass(frozen=True)
class Mode:
    """One way the boiler runs: its run of pipe and its orifice [m3/s outside at 1 Pa]."""

    appliance: str
    run: int
    orifice: float


@dataclass(frozen=True, eq=False)
class Plant:
    """One site with its faults, in numbers. See `build`. `hidden` are all faults, `faults` those there now."""

    site: Site
    hidden: tuple[Fault, ...]
    faults: tuple[Fault, ...]
    seed: int
    stage: str
    hob: Appliance
    kitchen: Room
    rooms: Rooms
    tree: network.Tree
    volume: Volume
    setting: float
    droop: float
    lock_up: float
    capacity: float
    meter_loss: float
    meter_error: float
    dip: float
    recovery: float
    let_by: float
    pipe_leaks: dict[str, float]
    appliance_leaks: dict[str, float]
    hose_leak: float
    warming: float
    barometer_rate: float
    gauge_zero: float
    hose_lag: float
    rings: dict[str, Ring]
    modes: dict[str, Mode]
    heat_per_gas: float
    co2_per_heat: float
    gas_density: float
    viscosity: float
    air_density: float

    def size(self, key: str, place: str | None = None, default: float = 0.0) -> float:
        """Return the size [SI] of a fault, or `default` when the job does not have it."""
        return _size(self.faults, key, place, default)

    def supply(self, flow: float, dip: float = 0.0) -> float:
        """Return the gauge pressure [Pa] at the meter outlet for a flow [m3/s] through the meter.

        Setting less droop, plus what is left of lock-up, less the meter's loss and a passing dip.
        """
        fades = bench_number("bench", "lock_up_flow")
        sound = supply.outlet_pressure(
            flow / self.capacity, self.setting, self.droop, self.lock_up, self.meter_loss, fades
        )
        return sound - dip


def _size(faults: Iterable[Fault], key: str, place: str | None, default: float) -> float:
    for fault in faults:
        if fault.key == key and place in (None, fault.place):
            return fault.size
    return default


def build(site: Site, faults: tuple[Fault, ...] = (), seed: int = 0, stage: str = "after") -> Plant:
    """Return the plant of a site with its faults and the small spread that every home has."""
    hidden, faults = faults, tuple(fault for fault in faults if fault.there(site, stage))
    size = functools.partial(_size, faults)
    nature = {
        name: tables.si("bench", "nature", name) * spread(seed, "nature", name) for name in _nature_names()
    }
    meter = site.meter
    shift = nature["regulator"] + size("regulator-high", None, 0.0) - size("regulator-low", None, 0.0)
    lock_up = meter.lock_up + shift + size("no-lock-up", None, 0.0)
    warming = size("warming", None, 0.0) - size("cooling", None, 0.0) + nature["warming"]
    let_by_pressure = bench_number("let-by-test", "pressure")
    return Plant(
        site=site,
        hidden=hidden,
        faults=faults,
        seed=seed,
        stage=stage,
        hob=site.hob(stage),
        kitchen=site.room(site.hob(stage).room),
        rooms=rooms_of(site),
        tree=_tree(site, faults),
        volume=Volume(site.installation_volume("bore"), site.barometer, site.temperature),
        setting=meter.pressure_setting + shift,
        droop=meter.droop,
        lock_up=lock_up,
        capacity=meter.capacity(),
        meter_loss=tables.si("meters", meter.type, "loss_at_capacity"),
        meter_error=nature["meter"],
        dip=bench_number("bench", "regulator_dip"),
        recovery=size("regulator-slow", None, bench_number("bench", "regulator_recovery")),
        let_by=size("let-by", None, 0.0) / (lock_up - let_by_pressure),
        pipe_leaks=_leaks(faults, "leak-pipe"),
        appliance_leaks=_leaks(faults, "leak-appliance"),
        hose_leak=size("hose-leaking", None, 0.0) / LEAK_STATED_AT,
        warming=warming / 60.0,
        barometer_rate=nature["barometer"] / 3600.0,
        gauge_zero=size("gauge-zero", None, 0.0),
        hose_lag=size("hose-blocked", None, 0.0),
        rings=_rings(site, faults, seed, stage),
        modes=_modes(site, faults, stage),
        heat_per_gas=_cv_here(site, faults),
        co2_per_heat=_co2_per_heat(site.gas),
        gas_density=site.gas_density(),
        viscosity=site.viscosity(),
        air_density=site.air_density(),
    )


def _leaks(faults: tuple[Fault, ...], key: str) -> dict[str, float]:
    return {fault.place: fault.size / LEAK_STATED_AT for fault in faults if fault.key == key}


def _nature_names() -> tuple[str, ...]:
    return tuple(quantity for key, quantity in tables.facts("bench") if key == "nature")


def _tree(site: Site, faults: tuple[Fault, ...]) -> network.Tree:
    tree = site.tree()
    part_left = np.array([_size(faults, "kinked-run", run.id, 1.0) for run in site.runs])
    if np.all(part_left == 1.0):
        return tree
    return network.Tree(tree.parent, tree.length, tree.bore * part_left, tree.roughness, tree.rise)


def _cv_here(site: Site, faults: tuple[Fault, ...]) -> float:
    """Return the gross heat [J] of one cubic metre at the site's outside conditions."""
    standard = float(site.cv_gross) * (1.0 - _size(faults, "cv-off", None, 0.0))
    outside = site.barometer / STANDARD_PRESSURE * STANDARD_TEMPERATURE / site.temperature
    return standard * outside


@functools.cache
def _co2_per_heat(gas: str) -> float:
    """Return the carbon dioxide [m3] that burning the site's gas makes for a joule of gross heat."""
    return float(room_air.co2_source.bare(1.0, gas_physics.mixture(gas)))


@functools.cache
def _plate_wobbe() -> float:
    return gas_physics.properties(gas_physics.mixture(PLATE_GAS)).wobbe_gross


def _orifice(site: Site, faults: tuple[Fault, ...], rated: float, nominal: float) -> float:
    """Return the gas [m3/s outside] at 1 Pa of a burner that gives `rated` heat [W gross] at its nominal pressure.

    The same hole gives heat in proportion to the Wobbe number of the gas that comes.
    """
    weaker = 1.0 - _size(faults, "cv-off", None, 0.0)
    wobbe = site.gas_properties().wobbe_gross * weaker
    heat = float(burner_physics.input_at.bare(rated, nominal, nominal, _plate_wobbe(), wobbe))
    return heat / _cv_here(site, faults) / math.sqrt(nominal)


def _rings(site: Site, faults: tuple[Fault, ...], seed: int, stage: str) -> dict[str, Ring]:
    hob = site.hob(stage)
    found = {}
    for b in hob.burners:
        width = _size(faults, "wrong-injector", b.id, 1.0)
        natural = 1.0 + tables.si("bench", "nature", "injector") * spread(seed, "injector", b.id)
        hot = b.emf_hot * _size(faults, "weak-supervision", b.id, 1.0)
        warming = b.time_constant * (
            1.0 + tables.si("bench", "nature", "thermocouple") * spread(seed, "emf", b.id)
        )
        shut = _size(faults, "slow-supervision", b.id, 0.0)
        cooling = shut / math.log(b.emf_hot / b.emf_release) if shut else warming
        found[b.id] = Ring(
            id=b.id,
            title=b.title,
            run=site.end_index(hob.node),
            rated=b.heat_input_gross,
            orifice=_orifice(site, faults, b.heat_input_gross, hob.pressure_nominal) * width**2 * natural,
            low=b.low_fraction * _size(faults, "low-flame", b.id, 1.0),
            right_low=b.low_fraction,
            emf_hot=hot,
            emf_hold=b.emf_hold,
            emf_release=b.emf_release,
            warming=warming,
            cooling=cooling,
        )
    return found


def _modes(site: Site, faults: tuple[Fault, ...], stage: str) -> dict[str, Mode]:
    found = {}
    for appliance in site.connected(stage):
        for mode in appliance.modes:
            rated = site.heat_input_gross(appliance.id, mode.id)
            orifice = _orifice(site, faults, rated, appliance.pressure_nominal)
            found[f"{appliance.id}/{mode.id}"] = Mode(appliance.id, site.end_index(appliance.node), orifice)
    return found
