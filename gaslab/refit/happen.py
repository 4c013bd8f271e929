"""What actions bring about on the bench: gas filling a pipe, pressure by hand, parting, joining, mending."""

from __future__ import annotations

from gaslab.physics import trapped
from gaslab.refit.events import Event
from gaslab.refit.flowing import Flowing, gas_air, leak_into_kitchen, steady_air, trapped_pressure, wall_air
from gaslab.refit.kitchen import ends_in_kitchen, pass_time
from gaslab.refit.plant import LEAK_STATED_AT, Plant, bench_number, build
from gaslab.refit.running import meter, put_out
from gaslab.refit.site import Site
from gaslab.refit.state import OPEN_AIR, RingState, State


class Hands:
    """The consequences of actions; `Bench` has them, the actions call them."""

    site: Site
    plant: Plant
    flowing: Flowing
    state: State
    seed: int
    log: list[Event]

    def fill(self) -> None:
        """Let gas in through the control that was just opened, until the regulator holds it."""
        state, plant = self.state, self.plant
        before = trapped_pressure(plant, state)
        after = max(before, self.flowing.solve(self.flowing.orifices(state))[0])
        self.warm_by(after - before)
        air = gas_air(plant, state).at(state.time)
        let_in = max(0.0, plant.volume.amount(after, *air) - state.amount)
        state.amount += let_in
        state.totals.supplied += let_in
        meter(plant, state, let_in, after, *air)
        state.flow = 0.0
        self.load_changed()

    def warm_by(self, rise: float) -> None:
        """Warm the gas a little for a rise of pressure [Pa]; it settles to the pipe again. A fall cools it."""
        state, plant = self.state, self.plant
        left = gas_air(plant, state).at(state.time)[0] - steady_air(plant).at(state.time)[0]
        state.disturbance = left + bench_number("bench", "compression_warming") * rise / LEAK_STATED_AT
        state.disturbed_at = state.time

    def pass_by_hand(
        self, seconds: float, start: float, pressure: float, leaked: float, unlit: float
    ) -> None:
        """Let the time of a hand on the control or test point pass, and account for its gas."""
        state, plant = self.state, self.plant
        if seconds == 0.0:
            return
        here = leaked * leak_into_kitchen(plant, state)
        pass_time(plant, state, seconds, 0.0, unlit / seconds, here / seconds)
        state.time += seconds
        self.warm_by(pressure - start)
        air = gas_air(plant, state).at(state.time)
        amount = plant.volume.amount(pressure, *air)
        by_hand = amount - state.amount + leaked + unlit
        state.amount = amount
        state.totals.leaked += leaked
        state.totals.unlit += unlit
        if by_hand >= 0.0:
            state.totals.supplied += by_hand
            meter(plant, state, by_hand, pressure, *air)
        else:
            state.totals.vented -= by_hand

    def load_changed(self) -> None:
        """Let the regulator feel a new load: it dips when more is asked, and weak flames may die."""
        state, plant = self.state, self.plant
        if not state.control_open or state.parted:
            return
        flow = sum(self.flowing.solve(self.flowing.orifices(state))[2])
        more = max(0.0, flow - state.flow) / self.flowing.squeeze
        state.dip += plant.dip * more / plant.capacity
        state.flow = flow
        for id in self._weak_flames():
            self._happen(put_out(plant, state, id, "shrinks and goes out"))

    def _weak_flames(self) -> list[str]:
        """Return the rings whose flame is too small to live at the pressure they have."""
        state, plant = self.state, self.plant
        _, ends, _ = self.flowing.solve(self.flowing.orifices(state), state.dip)
        weak = []
        for id in state.lit():
            ring, pressure = plant.rings[id], max(0.0, ends[plant.rings[id].run])
            strength = ring.low / ring.right_low * (pressure / plant.hob.pressure_nominal) ** 0.5
            too_small = state.rings[id].tap == "low" and strength < bench_number("bench", "flame_lost")
            if too_small or pressure < bench_number("bench", "flame_least_pressure"):
                weak.append(id)
        return weak

    def _happen(self, words: str) -> None:
        self.log.append(Event(self.state.time, "happening", "happening", {}, words))

    def blow_out_of_open_end(self, run: str) -> None:
        """Let gas blow out at the start of a run, into the room there, until a hand shuts the control."""
        state, plant = self.state, self.plant
        lost = bench_number("bench", "open_end_release")
        state.totals.supplied += lost
        state.totals.vented += lost
        meter(plant, state, lost, 0.0, *gas_air(plant, state).at(state.time))
        if ends_in_kitchen(plant, run):
            state.room_gas += lost / plant.kitchen.volume

    def part(self, run: str) -> None:
        """Open the pipe to the air at the start of a run."""
        state, plant = self.state, self.plant
        left = plant.volume.amount(0.0, *gas_air(plant, state).at(state.time))
        state.totals.vented += state.amount - left
        state.amount, state.parted, state.plugged, state.shown, state.purging = left, run, False, 0.0, ""

    def join(self) -> None:
        """Join the pipe again, with air in the new runs; the new hob takes the old one's place."""
        state, runs = self.state, self.site.runs
        new = [run for run in runs if run.state == "new"] or [self.site.run(state.parted)]
        state.air_volume = sum(trapped.pipe_volume.bare(run.bore(), run.length) for run in new)
        state.passed, state.parted, state.plugged, state.altered = 0.0, "", False, True
        if self.plant.stage == "before":
            self._rebuild(self.plant.hidden, "after")
            state.rings = {id: RingState() for id in self.plant.rings}
            state.valves = {a.id: state.valves.get(a.id, True) for a in self.site.connected("after")}
            # A gauge on the old hob loses its test point with it.
            if state.gauge_place not in ("meter", OPEN_AIR, *state.valves):
                state.gauge, state.gauge_place, state.shown = "", "meter", 0.0

    def mend(self, key: str, place: str) -> bool:
        """Take a fault away if it is there; return whether it was."""
        found = [f for f in self.plant.faults if f.key == key and place in (f.place, "")]
        if not found:
            return False
        left = tuple(f for f in self.plant.hidden if f not in found)
        state, time = self.state, self.state.time
        gas, wall = (air(self.plant, state).at(time)[0] for air in (gas_air, wall_air))
        self._rebuild(left, self.plant.stage)
        # Gas and pipe keep the warmth they have, and go to the kitchen's from there.
        now = steady_air(self.plant).at(time)[0]
        state.disturbance, state.disturbed_at = gas - now, time
        state.wall_warmth, state.wall_left_at = wall - now, time
        return True

    def _rebuild(self, faults: tuple, stage: str) -> None:
        self.plant = build(self.site, faults, self.seed, stage)
        self.flowing = Flowing(self.plant)
