"""The state of a bench at one moment: all that changes while a job runs."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field

from gaslab.refit.plant import Plant, bench_number

OPEN_AIR = "air"  # the place of a gauge whose hose hangs free


@dataclass
class RingState:
    """One ring: its tap, its flame, its thermocouple [V], and whether the magnet holds the valve.

    out_at and shut_at [s] are when the flame last went out and the valve last let go.
    """

    tap: str = "off"
    lit: bool = False
    held: bool = False
    emf: float = 0.0
    out_at: float | None = None
    shut_at: float | None = None


@dataclass
class Totals:
    """Gas so far [m3 outside]: in through the control, let by, and out by each way."""

    supplied: float = 0.0
    let_by: float = 0.0
    leaked: float = 0.0
    burned: float = 0.0
    unlit: float = 0.0
    vented: float = 0.0

    def net_in(self) -> float:
        """Return what came in less what went out [m3 outside]."""
        return self.supplied + self.let_by - self.leaked - self.burned - self.unlit - self.vented


@dataclass
class State:
    """Everything that changes. Pressures are gauge [Pa], amounts [m3 outside], times [s].

    disturbance and wall_warmth [K] are what gas and pipe wall are warmer than they will be; both fade
    from disturbed_at and wall_left_at on.
    """

    time: float = 0.0
    amount: float = 0.0
    disturbance: float = 0.0
    disturbed_at: float = 0.0
    wall_warmth: float = 0.0
    wall_left_at: float = 0.0
    control_open: bool = True
    valves: dict[str, bool] = field(default_factory=dict)
    rings: dict[str, RingState] = field(default_factory=dict)
    running: dict[str, str] = field(default_factory=dict)
    gauge: str = ""
    gauge_place: str = "meter"
    shown: float = 0.0
    zeroed_by: float = 0.0
    zeroed: dict[str, float] = field(default_factory=dict)
    window_open: bool = False
    oven_isolated: bool = False
    bond_fitted: bool = False
    parted: str = ""
    plugged: bool = False
    altered: bool = False
    air_volume: float = 0.0
    passed: float = 0.0
    purging: str = ""
    dip: float = 0.0
    flow: float = 0.0
    metered: float = 0.0
    room_gas: float = 0.0
    room_co2: float = 0.0
    totals: Totals = field(default_factory=Totals)

    @property
    def gauge_joined(self) -> bool:
        """True when a gauge is on a test point: in hand, and its hose does not hang free."""
        return bool(self.gauge) and self.gauge_place != OPEN_AIR

    def copy(self) -> State:
        """Return a state that can run on without changing this one."""
        other = copy(self)
        other.valves, other.running = dict(self.valves), dict(self.running)
        other.zeroed = dict(self.zeroed)
        other.rings = {id: copy(ring) for id, ring in self.rings.items()}
        other.totals = copy(self.totals)
        return other

    def ring_passes(self, id: str) -> bool:
        """Return True when gas comes out of a ring: tap open and its valve held."""
        ring = self.rings[id]
        return ring.tap != "off" and ring.held

    def lit(self) -> list[str]:
        """Return the rings that are alight."""
        return [id for id, ring in self.rings.items() if ring.lit]


def at_start(plant: Plant) -> State:
    """Return the state a person walks into: gas on, every appliance valve open, nothing alight."""
    state = State(
        valves={appliance.id: True for appliance in plant.site.connected(plant.stage)},
        rings={id: RingState() for id in plant.rings},
        metered=plant.site.meter.index_start,
        room_co2=bench_number("bench", "outside_carbon_dioxide"),
    )
    pressure = plant.supply(0.0)
    state.amount = plant.volume.amount(pressure, plant.site.temperature, plant.site.barometer)
    return state
