"""The bench: one live installation, with a clock, hidden faults and a log of all that is done and read.

A site and its faults go in. A person does things, reads instruments and lets time pass;
every action, reading and happening is kept. Time runs in steps that do not depend on how
often the screen asks, so the same log gives the same readings again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict

from gaslab.refit import faults as fault_list
from gaslab.refit import gas_actions, hob_actions, instruments, offers, running, state, work_actions  # noqa: F401  (they fill the list of actions)
from gaslab.refit.actions import Refused, perform
from gaslab.refit.events import Event, plain
from gaslab.refit.flowing import Flowing, trapped_pressure
from gaslab.refit.happen import Hands
from gaslab.refit.instruments import Reading, Unreadable
from gaslab.refit.plant import Plant, build
from gaslab.refit.site import Site

TICK = 10.0  # s: time is worked out afresh from each whole tick and from each action


class Bench(Hands):
    """A live installation. `do`, `read` and `wait` are kept in `log`; `advance` and `view` serve a screen."""

    def __init__(
        self, site: Site, faults: Iterable[fault_list.Fault] = (), seed: int = 0, stage: str = "after",
        tick: float = TICK, plant: Plant | None = None,
    ):  # fmt: skip
        self.site, self.seed, self.faults = site, seed, tuple(faults)
        self.plant = plant or build(site, self.faults, seed, stage)
        self.flowing = Flowing(self.plant)
        self.start_stage, self.tick = self.plant.stage, tick
        self.state = state.at_start(self.plant)
        self.clock = 0.0
        self.log: list[Event] = []
        self.shown: dict | None = None  # a reading that an action itself shows

    # Time

    @property
    def time(self) -> float:
        """The bench's clock [s]."""
        return self.clock

    def wait(self, seconds: float) -> Event:
        """Let time pass and keep it in the log."""
        return self.do("wait", seconds=seconds)

    def advance(self, seconds: float) -> None:
        """Let one frame of a live screen pass; the log keeps only what happens in it."""
        if not 0.0 <= seconds <= 3600.0:
            raise ValueError(f"advance: a frame lasts 0 to 3600 s; got {seconds}")
        self.clock += seconds
        self._run_ticks(self.clock)

    def advance_to(self, time: float) -> None:
        """Move the clock to a time, as frames of a screen would."""
        self.clock = time
        self._run_ticks(time)

    def let_pass(self, seconds: float, pressing: str = "") -> None:
        """Let time pass inside an action. `pressing` is the ring whose knob is held in."""
        end = self.state.time + seconds
        self._run_ticks(end, pressing)
        self._run(end, pressing)

    def _run_ticks(self, end: float, pressing: str = "") -> None:
        tick = (self.state.time // self.tick + 1.0) * self.tick
        while tick <= end:
            self._run(tick, pressing)
            tick += self.tick

    def _run(self, end: float, pressing: str = "") -> None:
        for time, words in running.run(self.plant, self.flowing, self.state, end, pressing):
            self.log.append(Event(time, "happening", "happening", {}, words))

    def _catch_up(self) -> None:
        """Bring the state up to the clock, before something is done or read."""
        if self.clock > self.state.time:
            self._run(self.clock)

    # Doing and reading

    def do(self, action: str, **arguments) -> Event:
        """Do something; return the event with the site's answer. Nothing a person asks for raises."""
        self._catch_up()
        time, place, self.shown = self.state.time, len(self.log), None
        try:
            answer, refused = perform(self, action, arguments), False
        except Refused as refusal:
            answer, refused = str(refusal), True
        self.clock = self.state.time
        named = {str(key): plain(value) for key, value in arguments.items()}
        event = Event(time, "action", str(plain(action)), named, answer, refused,
                      self.shown, offers.in_sight(self.plant, self.state), self.state.time - time)  # fmt: skip
        self.log.insert(place, event)
        return event

    def read(self, instrument: str, at: str = "") -> Reading:
        """Read an instrument; the reading is kept in the log. One that cannot be read has value None and says why."""
        self._catch_up()
        try:
            reading, refused = self.look(instrument, at), False
        except Unreadable as unreadable:
            reading = Reading(
                str(instrument)[:40], str(at)[:40], self.state.time, None, "1", 0.0, str(unreadable)
            )
            refused = True
        named = {"at": plain(at)} if at else {}
        self.log.append(
            Event(
                self.state.time,
                "reading",
                str(plain(instrument)),
                named,
                reading.text,
                refused,
                reading.as_record(),
            )
        )
        return reading

    def look(self, instrument: str, at: str = "") -> Reading:
        """Return a reading without keeping it, or raise Unreadable."""
        return instruments.read(instrument, self.plant, self.flowing, self.state, at)

    # Screen

    def view(self) -> dict:
        """Return what a person can see now, as plain data: no truth that no instrument shows."""
        now = self.state
        if self.clock > now.time:
            now = now.copy()
            running.run(self.plant, self.flowing, now, self.clock)
        return offers.view(self.plant, self.flowing, now)

    def actions(self) -> list[dict]:
        """Return the things that make sense to offer now: name, and the choices for each value."""
        return offers.actions(self.plant, self.state, self.fault_names())

    def fault_names(self) -> tuple[str, ...]:
        """Return the names of all repairs that can be tried: every kind of fault, here or not."""
        return tuple(fault_list.kinds())

    # Keeping

    def record(self) -> dict:
        """Return all that is needed to run the job again, as plain data."""
        return {
            "version": 1,
            "site": self.site.key,
            "seed": self.seed,
            "stage": self.start_stage,
            "faults": [fault.as_record() for fault in self.faults],
            "log": [event.as_record() for event in self.log],
        }

    def truth(self) -> dict:
        """Return what is hidden, for the debrief only."""
        return {
            "faults": [fault.as_record() for fault in self.faults],
            "left": [fault.as_record() for fault in self.plant.hidden],
            "pressure": 0.0 if self.state.parted else trapped_pressure(self.plant, self.state),
            "leaks": {"pipe": dict(self.plant.pipe_leaks), "appliance": dict(self.plant.appliance_leaks)},
            "let_by": self.plant.let_by,
            "room_gas": self.state.room_gas,
            "metered": self.state.metered,
            "totals": asdict(self.state.totals),
            "amount": self.state.amount,
        }


def replay(
    site: Site, seed: int, faults: Iterable[fault_list.Fault], log: Iterable[Mapping], stage: str = "after"
) -> Bench:
    """Return a bench on which a kept log was done again: same times, same actions, same readings."""
    bench = Bench(site, faults, seed, stage)
    for line in log:
        event = line.as_record() if isinstance(line, Event) else line
        if event["kind"] == "happening":
            continue
        if event["time"] > bench.clock:
            bench.advance_to(event["time"])
        if event["kind"] == "action":
            bench.do(event["name"], **event["arguments"])
        else:
            bench.read(event["name"], event["arguments"].get("at", ""))
    return bench
