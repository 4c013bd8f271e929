"""The list of things a person can do on the bench, and what the site answers.

An action is a function of the bench and plain values. It returns the site's answer as a
sentence, or raises `Refused` with one when it cannot be done. Either way the log keeps it.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gaslab.refit.bench import Bench


class Refused(ValueError):
    """Something that cannot be done now, told in the site's own words."""


@dataclass(frozen=True)
class Action:
    """One thing to do: its name, its function, and the values it takes (name -> default or required)."""

    name: str
    do: Callable[..., str]
    takes: dict[str, inspect.Parameter]


ACTIONS: dict[str, Action] = {}


def action(name: str) -> Callable[[Callable[..., str]], Callable[..., str]]:
    """Put a function on the list of actions under its plain name."""

    def add(function: Callable[..., str]) -> Callable[..., str]:
        takes = dict(list(inspect.signature(function).parameters.items())[1:])  # the bench comes first
        ACTIONS[name] = Action(name, function, takes)
        return function

    return add


def perform(bench: Bench, name: object, arguments: dict) -> str:
    """Do an action by name; raise Refused when the name or its values make no sense."""
    if not isinstance(name, str) or name not in ACTIONS:
        raise Refused(f"Nobody here knows how to {str(name)[:40]!r}. You can: {', '.join(ACTIONS)}.")
    chosen = ACTIONS[name]
    unknown = [key for key in arguments if key not in chosen.takes]
    missing = [
        key
        for key, p in chosen.takes.items()
        if p.default is inspect.Parameter.empty and key not in arguments
    ]
    if unknown or missing:
        wanted = ", ".join(chosen.takes) or "nothing more"
        raise Refused(
            f"To {name} you must say {wanted}; you said {', '.join(map(str, arguments)) or 'nothing'}."
        )
    return chosen.do(bench, **arguments)


def amount(name: str, value: object, low: float, high: float, words: str) -> float:
    """Return a number from a person, or raise Refused with what is needed."""
    if isinstance(value, (int, float)) and not isinstance(value, bool) and low <= value <= high:
        return float(value)  # NaN fails both comparisons
    raise Refused(f"{name} needs {words}; got {str(value)[:40]!r}.")


def one_of(name: str, value: object, known: Iterable[str], what: str) -> str:
    """Return a name from a person if it is known, or raise Refused with the known ones."""
    known = list(known)
    if not isinstance(value, str) or value not in known:
        raise Refused(
            f"{name}: there is no {what} called {str(value)[:40]!r} here. There is: {', '.join(known) or 'none'}."
        )
    return value
