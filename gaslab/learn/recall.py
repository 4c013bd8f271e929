"""The three recall questions that open a chapter: one chapter back, three back, and any earlier one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from gaslab.learn.boxes import FamilyState
from gaslab.learn.chance import Chance

BACK = (1, 3)
COUNT = 3


def choose(
    chapters: Sequence[tuple[str, Sequence[str]]],
    current: str,
    states: Mapping[str, FamilyState],
    chance: Chance,
    today: date,
) -> tuple[str, ...]:
    """Return up to three families from earlier chapters, each once, what is due before what is not.

    `chapters` lists (chapter, its families) in course order. The first chapters have fewer
    behind them, so they recall what there is.
    """
    order = [number for number, _ in chapters]
    if current not in order:
        raise ValueError(f"There is no chapter {current!r} to recall for.")
    # A family that the chapter itself practises is no recall.
    own = set(dict(chapters)[current])
    behind = [[f for f in found if f not in own] for _, found in chapters[: order.index(current)]]
    behind = [found for found in behind if found]
    chosen: list[str] = []
    for back in BACK:
        if len(behind) >= back:
            _add(behind[-back], chosen, states, chance, today)
    everything = list(dict.fromkeys(family for found in behind for family in found))
    while len(chosen) < min(COUNT, len(everything)):
        _add(everything, chosen, states, chance, today)
    return tuple(chosen)


def _add(
    families: Sequence[str], chosen: list[str], states: Mapping[str, FamilyState], chance: Chance, today: date
) -> None:
    """Add one family that was not chosen yet: a due one if there is any, else any."""
    left = [family for family in families if family not in chosen]
    due = [family for family in left if family in states and states[family].due_on() <= today]
    if due or left:
        chosen.append(chance.pick(due or left))
