"""What to say after each try, and in which order. A pure state machine: no clock, no widget.

Locate the step, name the likely slip, one cue, retry with the same numbers, the worked
solution, then new numbers. One short sentence each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from gaslab.learn.family import KIND_WORDS
from gaslab.learn.marking import NO_ANSWER, StepMark
from gaslab.learn.variant import Variant

LOCATE, SLIP, CUE, RETRY, WORKED, NEW_NUMBERS, PRAISE, ASK = (
    "locate", "slip", "cue", "retry", "worked", "new numbers", "right", "ask",
)  # fmt: skip
TRIES = 2  # the first try and one retry on the same numbers


@dataclass(frozen=True)
class Message:
    """One sentence, and which part of the order it is."""

    part: str
    words: str


@dataclass(frozen=True)
class Progression:
    """Where a trainee is in one question: the step to answer, wrong tries at it, and what is behind."""

    step: int = 0
    wrong: int = 0
    helped: tuple[str, ...] = ()  # steps whose worked solution was shown, decisions that were put right
    done: bool = False

    @property
    def clean(self) -> bool:
        """Return True when the whole question was done without a worked solution or a wrong decision."""
        return self.done and not self.helped


def after(variant: Variant, state: Progression, mark: StepMark) -> tuple[Progression, tuple[Message, ...]]:
    """Return the next state and what to say, after an answer to the step that `state` stands at."""
    if state.done:
        return state, (Message(NEW_NUMBERS, "This question is finished. Take new numbers."),)
    if mark.outcome == NO_ANSWER:
        return state, (Message(ASK, mark.words),)
    step = variant.steps[state.step]
    if mark.earned:
        return _onward(variant, state, (Message(PRAISE, mark.words),))
    said = [
        Message(LOCATE, f"Look at step {state.step + 1}: {KIND_WORDS[step.kind]}."),
        Message(SLIP, mark.words),
    ]
    if state.wrong + 1 < TRIES:
        said += [Message(CUE, step.cue), Message(RETRY, "Try again with the same numbers.")]
        return replace(state, wrong=state.wrong + 1), tuple(said)
    said.append(Message(WORKED, step.worked))
    return _onward(variant, replace(state, helped=(*state.helped, step.id)), tuple(said))


def give_up(variant: Variant, state: Progression) -> tuple[Progression, tuple[Message, ...]]:
    """Return the next state and the worked solution, for a trainee who asks for it."""
    if state.done:
        return state, ()
    step = variant.steps[state.step]
    said = (Message(WORKED, step.worked),)
    return _onward(variant, replace(state, helped=(*state.helped, step.id)), said)


def _onward(
    variant: Variant, state: Progression, said: tuple[Message, ...]
) -> tuple[Progression, tuple[Message, ...]]:
    step, done = state.step + 1, state.step + 1 == len(variant.steps)
    onward = replace(state, step=step if not done else state.step, wrong=0, done=done)
    if done and onward.helped:
        said = (*said, Message(NEW_NUMBERS, "Now take new numbers and do it by yourself."))
    return onward, said
