"""Actions on flames: lighting, turning down, blowing out, hot water, and the purge."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaslab.refit.actions import Refused, action, amount, one_of
from gaslab.refit.flowing import pressure_at
from gaslab.refit.kitchen import mixture_at_ring
from gaslab.refit.plant import bench_number
from gaslab.refit.running import put_out

if TYPE_CHECKING:
    from gaslab.refit.bench import Bench

BURNS_STEADY = 0.9  # part of gas in what leaves the ring, for a steady flame


@action("light")
def light(bench: Bench, ring: str, hold: float = 5.0) -> str:
    """Press and turn a ring's tap to high, light it, and hold the knob in for `hold` seconds."""
    state = bench.state
    one_of("light", ring, state.rings, "ring")
    hold = amount("light", hold, 0.0, 60.0, "0 to 60 seconds of holding the knob in")
    burner = state.rings[ring]
    if burner.lit:
        raise Refused("That ring is alight already.")
    _may_light(bench)
    if not _has_pressure(bench, bench.plant.hob.id):
        return "You press and spark. No gas comes, so nothing lights."
    mixture = mixture_at_ring(state)
    burner.tap, burner.held, burner.shut_at, burner.out_at = "high", True, None, None
    if mixture < bench_number("bench", "lower_limit"):
        bench.load_changed()
        bench.let_pass(hold, pressing=ring)
        _let_go(bench, ring)
        return "You press and spark. Only air comes out, so nothing lights."
    burner.lit = True
    bench.load_changed()
    if not burner.lit:
        return "It lights and dies again at once."
    bench.let_pass(hold, pressing=ring)
    words = "It lights"
    if mixture < BURNS_STEADY:
        words = "There is air in the pipe: it lights with a pop and a wild flame"
    held = _let_go(bench, ring)
    if burner.lit and held:
        return f"{words} and stays alight."
    return f"{words} and goes out when you let go of the knob."


def _let_go(bench: Bench, ring: str) -> bool:
    """Let go of the knob: the magnet holds the valve only if the thermocouple gives enough."""
    burner, real = bench.state.rings[ring], bench.plant.rings[ring]
    if burner.emf >= real.emf_hold:
        return True
    burner.held, burner.shut_at = False, bench.state.time
    if burner.lit:
        put_out(bench.plant, bench.state, ring, "goes out")
    burner.tap = "off"
    bench.load_changed()
    return False


def _need_pipe(bench: Bench) -> None:
    if bench.state.parted:
        raise Refused("The pipe is parted. Nothing can be lit.")


def _may_light(bench: Bench) -> None:
    """Refuse any flame with the pipe parted, or in a kitchen full of gas."""
    _need_pipe(bench)
    if bench.state.room_gas >= bench_number("bench", "lower_limit"):
        raise Refused(
            "Stop. The kitchen is full of gas. No flame, no switch. Open up, get out, ring 0800 111 999."
        )


def _has_pressure(bench: Bench, appliance: str) -> bool:
    """Return True when gas comes to an appliance with enough pressure for a flame."""
    pressure = pressure_at(bench.plant, bench.flowing, bench.state, appliance)
    return bench.state.valves[appliance] and pressure >= bench_number("bench", "flame_least_pressure")


@action("turn")
def turn(bench: Bench, ring: str, to: str) -> str:
    """Turn a ring that is alight to high or low."""
    state = bench.state
    one_of("turn", ring, state.rings, "ring")
    one_of("turn", to, ("high", "low"), "setting")
    burner = state.rings[ring]
    if not burner.lit:
        raise Refused("That ring is not alight.")
    burner.tap = to
    bench.load_changed()
    return f"The ring is turned {to}." if burner.lit else f"You turn it {to}. The flame shrinks and goes out."


@action("turn off")
def turn_off(bench: Bench, ring: str) -> str:
    """Turn a ring's tap off."""
    state = bench.state
    one_of("turn off", ring, state.rings, "ring")
    burner = state.rings[ring]
    if burner.tap == "off":
        raise Refused("That ring's tap is off already.")
    burner.tap, burner.lit, burner.held = "off", False, False
    if burner.shut_at is None:
        burner.out_at = None  # the tap was shut before the click: there is nothing to time
    bench.load_changed()
    return "The ring is off."


@action("blow out")
def blow_out(bench: Bench, ring: str) -> str:
    """Blow a ring's flame out and start the watch."""
    state = bench.state
    one_of("blow out", ring, state.rings, "ring")
    if not state.rings[ring].lit:
        raise Refused("That ring is not alight. There is nothing to blow out.")
    put_out(bench.plant, state, ring, "is blown out")
    state.rings[ring].shut_at = None
    return "The flame is out. Gas hisses. The watch runs."


@action("start")
def start(bench: Bench, appliance: str, mode: str = "") -> str:
    """Start an appliance other than the hob, in one of its ways of running."""
    state, plant = bench.state, bench.plant
    others = {m.appliance for m in plant.modes.values()}
    one_of("start", appliance, others, "appliance of that kind")
    ways = [name.partition("/")[2] for name, m in plant.modes.items() if m.appliance == appliance]
    mode = one_of("start", mode or ways[0], ways, "way of running")
    _may_light(bench)
    if not state.control_open or not _has_pressure(bench, appliance):
        return f"The {appliance} tries to light, finds no gas and locks out."
    if mixture_at_ring(state) < bench_number("bench", "lower_limit"):
        return f"The {appliance} tries, clicks, and locks out. Only air comes."
    state.running[appliance] = f"{appliance}/{mode}"
    bench.load_changed()
    return f"The {appliance} runs: {mode.replace('-', ' ')}."


@action("stop")
def stop(bench: Bench, appliance: str) -> str:
    """Stop an appliance other than the hob."""
    state = bench.state
    if appliance not in state.running:
        raise Refused(f"The {str(appliance)[:40]} is not running.")
    del state.running[appliance]
    bench.load_changed()
    return f"The {appliance} stops."


@action("draw hot water")
def draw_hot_water(bench: Bench) -> str:
    """Open a hot tap, so that the boiler fires."""
    makers = [name for name in bench.plant.modes if name.endswith("/hot-water")]
    if not makers:
        raise Refused("Nothing here heats water with gas as you draw it. Start another appliance instead.")
    appliance, _, mode = makers[0].partition("/")
    return start(bench, appliance, mode)


@action("purge")
def purge(bench: Bench, ring: str) -> str:
    """Hold a ring open, unlit, so that gas drives the air out of the pipe."""
    state = bench.state
    one_of("purge", ring, state.rings, "ring")
    _need_pipe(bench)
    if state.purging:
        raise Refused("You are purging already.")
    if not state.control_open:
        raise Refused("You hold the ring open. Nothing comes: the control is shut.")
    if not state.valves[bench.plant.hob.id]:
        raise Refused("You hold the ring open. Nothing comes: the hob's valve is shut.")
    if state.rings[ring].lit:
        raise Refused("That ring is alight. Purge through a ring that is out.")
    state.purging = ring
    bench.load_changed()
    return "You hold the ring open and wait. Air comes first, then gas."


@action("stop purge")
def stop_purge(bench: Bench) -> str:
    """Let go of the ring."""
    state = bench.state
    if not state.purging:
        raise Refused("You are not purging.")
    state.purging = ""
    bench.load_changed()
    return "The ring is shut. The purge is over."
