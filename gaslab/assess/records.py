"""The events of an attempt: one line each, chained, with no field unknown and none missing."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping

from gaslab.assess import chain

ENDING = ".attempt.jsonl"
LONGEST_TEXT = 200
LONGEST_LINE = 4_000
LARGEST_FILE = 1_000_000
CANDIDATE = re.compile(r"[A-Z0-9-]{3,16}\Z")
PAPER = re.compile(r"[0-9A-Z]{4}(-[0-9A-Z]{4}){1,7}\Z")
_KEY = re.compile(r"[a-z0-9][a-z0-9_-]{0,47}\Z")
_LINE = re.compile(rb'\{"event":(\{.*\}),"link":"([0-9a-f]{64})"\}\Z')
_DIGEST = re.compile(r"[0-9a-f]{64}\Z")
_READ = re.compile(r"-?[0-9]{1,7}(\.[0-9]{1,6})?\Z")
_COMMON = {"seq", "seconds", "action"}
_FIELDS = {
    "start": _COMMON | {"candidate", "paper", "digest", "form", "package"},
    "answer": _COMMON | {"item", "step", "text", "unit", "read"},
    "hand-in": _COMMON | {"answered"},
}


class AttemptError(ValueError):
    """An attempt, or a file said to be one, that cannot be used: told in one sentence."""


def candidate_number(text: str) -> str:
    """Return a candidate number, or raise AttemptError.

    >>> candidate_number("GAS-0142")
    'GAS-0142'
    """
    if not isinstance(text, str) or not CANDIDATE.match(text):
        raise AttemptError(
            "A candidate number is 3 to 16 capital letters, figures or hyphens, such as GAS-0142. "
            "Do not use a name."
        )
    return text


def file_name(candidate: str, paper: str) -> str:
    """Return the name of an attempt's file; the word in front keeps it clear of reserved names."""
    if not PAPER.match(paper):
        raise AttemptError("The paper number is not one that gaslab made. Open the paper file again.")
    return f"candidate-{candidate_number(candidate)}.{paper}{ENDING}"


def event_line(event: Mapping, previous: bytes) -> tuple[bytes, bytes]:
    """Return (the line to write, its link) for an event that follows `previous`."""
    body = chain.canonical(event)
    link = chain.link(previous, body)
    return b'{"event":' + body + b',"link":"' + link.hex().encode("ascii") + b'"}\n', link


def step_key(text: object) -> bool:
    """Return True for a name that may stand for an item, a step or a form."""
    return isinstance(text, str) and bool(_KEY.match(text))


def checked_events(data: bytes, name: str) -> tuple[list[dict], bytes]:
    """Return (events, last link) of the bytes of an attempt, or raise AttemptError."""
    if not data:
        raise AttemptError(f"{name} is empty.")
    if not data.endswith(b"\n"):
        raise AttemptError(f"{name} is cut short: its last line is not whole.")
    events: list[dict] = []
    previous = chain.FIRST
    for number, line in enumerate(data[:-1].split(b"\n"), start=1):
        event, previous = unchained(line, previous, f"{name}, line {number}")
        check_event(event, number - 1, f"{name}, line {number}")
        if events and event["seconds"] < events[-1]["seconds"]:
            raise AttemptError(f"{name}, line {number}: the clock runs backwards.")
        if events and events[-1]["action"] == "hand-in":
            raise AttemptError(f"{name}, line {number}: something was added after the hand-in.")
        events.append(event)
    return events, previous


def unchained(line: bytes, previous: bytes, place: str) -> tuple[dict, bytes]:
    """Return (the record of a chained line, its link), or raise AttemptError."""
    if len(line) > LONGEST_LINE:
        raise AttemptError(f"{place}: the line is longer than an attempt's can be.")
    parts = _LINE.match(line)
    if not parts:
        raise AttemptError(f"{place}: this is not a line of an attempt.")
    body, stated = parts.groups()
    try:
        event = chain.strict_json(body, place)
        whole = isinstance(event, dict) and chain.canonical(event) == body
    except chain.ChainError as error:
        raise AttemptError(f"{error}.") from None
    found = chain.link(previous, body)
    if not whole or found.hex().encode("ascii") != stated:
        raise AttemptError(
            f"{place}: the chain is broken here. The line was changed, moved, added or left out."
        )
    return event, found


def check_event(event: dict, seq: int, place: str) -> None:
    """Refuse an event with a missing, extra or unusable field."""
    action = event.get("action")
    if not isinstance(action, str) or action not in _FIELDS or set(event) != _FIELDS[action]:
        raise AttemptError(f"{place}: the record has a field that is unknown or one that is missing.")
    if (action == "start") != (seq == 0) or type(event["seq"]) is not int or event["seq"] != seq:
        raise AttemptError(f"{place}: the record is out of order.")
    seconds = event["seconds"]
    if type(seconds) not in (int, float) or not math.isfinite(seconds) or not 0 <= seconds < 1e7:
        raise AttemptError(f"{place}: the time is not a number of seconds.")
    bad = [key for key, allowed in _CHECKS[action].items() if not allowed(event[key])]
    if bad:
        raise AttemptError(f"{place}: the field {bad[0]} cannot be used.")


def _text(longest: int) -> Callable[[object], bool]:
    return lambda value: isinstance(value, str) and len(value) <= longest


_CHECKS: dict[str, dict[str, Callable[[object], bool]]] = {
    "start": {
        "candidate": lambda v: isinstance(v, str) and bool(CANDIDATE.match(v)),
        "paper": lambda v: isinstance(v, str) and bool(PAPER.match(v)),
        "digest": lambda v: isinstance(v, str) and bool(_DIGEST.match(v)),
        "form": step_key,
        "package": _text(40),
    },
    "answer": {
        "item": step_key,
        "step": step_key,
        "text": _text(LONGEST_TEXT),
        "unit": _text(20),
        "read": lambda v: v is None or (isinstance(v, str) and bool(_READ.match(v))),
    },
    "hand-in": {"answered": lambda v: type(v) is int and 0 <= v < 10_000},
}
