"""Actions on the house and the pipe: looking, making safe, parting and joining, deciding."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaslab.refit.actions import Refused, action, amount, one_of

if TYPE_CHECKING:
    from gaslab.refit.bench import Bench

CHOICES = ("carry on", "put right", "make safe and report")
TOPICS = ("tightness", "pressure", "flame", "supervision", "rate", "room", "electrical")
FOUND = "You find it and put it right. Test again."  # the answer to a repair that was one
STUCK = 0.2  # part of the opening that is free; with less the window does not move


@action("sweep for voltage")
def sweep(bench: Bench) -> str:
    """Sweep the meter and the pipework with the no-contact detector, before touching anything."""
    reading = bench.look("voltage detector")
    bench.shown = reading.as_record()
    return reading.text


@action("wait")
def wait(bench: Bench, seconds: float) -> str:
    """Let time pass."""
    seconds = amount("wait", seconds, 0.0, 7200.0, "0 to 7200 seconds")
    bench.let_pass(seconds)
    return f"{seconds:g} s go by."


@action("open window")
def open_window(bench: Bench) -> str:
    """Open the kitchen window."""
    if bench.state.window_open:
        raise Refused("The window is open already.")
    if bench.plant.size("blocked-opening", default=1.0) <= STUCK:
        raise Refused("The window will not move.")
    bench.state.window_open = True
    return "The window is open."


@action("close window")
def close_window(bench: Bench) -> str:
    """Close the kitchen window."""
    if not bench.state.window_open:
        raise Refused("The window is shut already.")
    bench.state.window_open = False
    return "The window is shut."


@action("isolate oven")
def isolate_oven(bench: Bench) -> str:
    """Switch the electric oven off at its isolator and prove it dead."""
    if bench.state.oven_isolated:
        raise Refused("The oven is isolated already.")
    bench.state.oven_isolated = True
    return "The oven is off at its isolator and proved dead."


@action("fit bond")
def fit_bond(bench: Bench) -> str:
    """Fit the temporary continuity bond across the place where the pipe will be parted."""
    if bench.state.bond_fitted:
        raise Refused("The temporary bond is on already.")
    bench.state.bond_fitted = True
    return "The temporary bond is on."


@action("remove bond")
def remove_bond(bench: Bench) -> str:
    """Take the temporary continuity bond off."""
    if not bench.state.bond_fitted:
        raise Refused("There is no temporary bond on the pipe.")
    bench.state.bond_fitted = False
    return "The temporary bond is off."


@action("part pipe")
def part_pipe(bench: Bench, run: str) -> str:
    """Part the pipe at the start of a run."""
    state = bench.state
    one_of("part pipe", run, (r.id for r in bench.plant.site.runs), "run")
    if state.parted:
        raise Refused("The pipe is parted already.")
    if state.lit() or state.running:
        raise Refused("Something is alight on this pipe. Turn it off and shut the control.")
    if state.control_open:
        bench.blow_out_of_open_end(run)
        state.control_open = False
        bench.part(run)
        return "Gas blows out of the pipe. You run and shut the control. The pipe is parted."
    bench.part(run)
    return "The pipe is parted. The little gas that was left goes into the room."


@action("plug ends")
def plug_ends(bench: Bench) -> str:
    """Plug every open end."""
    if not bench.state.parted:
        raise Refused("There is no open end to plug.")
    if bench.state.plugged:
        raise Refused("The ends are plugged already.")
    bench.state.plugged = True
    return "Every open end is plugged."


@action("join pipe")
def join_pipe(bench: Bench) -> str:
    """Join the pipe again with the new run and the new hob on its end."""
    if not bench.state.parted:
        raise Refused("The pipe is not parted.")
    bench.join()
    return "The new run is joined, with the new hob on its end. There is air in it."


@action("decide")
def decide(bench: Bench, about: str, choice: str, why: str = "") -> str:
    """Write down what you will do about one side of the job, and why."""
    one_of("decide", about, TOPICS, "side of the job")
    one_of("decide", choice, CHOICES, "choice")
    if not isinstance(why, str) or len(why) > 500:
        raise Refused("Give your reason in words, 500 letters at most.")
    return f"Written down: {about}, {choice}."


@action("put right")
def put_right(bench: Bench, fault: str, place: str = "") -> str:
    """Put right what you take to be wrong. The site changes only if you are right about it."""
    one_of("put right", fault, bench.fault_names(), "repair")
    if fault in ("regulator-low", "regulator-high", "regulator-slow", "no-lock-up", "let-by"):
        raise Refused("The control and the regulator are not yours to set. Report it and leave it safe.")
    if fault in ("live-casing", "bond-far"):
        raise Refused("That is electrical work. Tell the responsible person; a competent person does it.")
    if bench.mend(fault, place):
        return FOUND
    return "You look and find nothing wrong there."
