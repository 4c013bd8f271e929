"""A made-up paper and a made-up batch to try the marking on. Nobody sat these attempts.

Each invented candidate has a strength and each question a difficulty; chance does the
rest. The candidate numbers say MADE-UP, so that the batch cannot pass for a real one.
"""

from __future__ import annotations

import math
from pathlib import Path

from gaslab.assess import chain, pack, papers, records
from gaslab.assess.frozen import Item, Step
from gaslab.assess.guide import Key
from gaslab.assess.papers import Paper, Plan
from gaslab.assess.variants import Question
from gaslab.learn.answers import read_answer
from gaslab.learn.chance import Chance
from gaslab.learn.family import Precision, print_number
from gaslab.learn.variant import NO, YES
from gaslab.refit.folder import write_new

TITLE = "Made-up paper to practise marking"
FAMILIES = (
    "gas-rate-metric", "leak-from-drop", "pipe-drop-run", "air-co2-time", "purge-volume",
    "drop-out-time", "co-ratio", "effective-length", "ft3-to-kw", "room-volume",
)  # fmt: skip
CRITICAL = "leak-from-drop"
COUNT = 40
FINE = 10_000  # steps of a drawn share


def paper(secret: bytes, date: str = "2031-11-28") -> Paper:
    """Return the made-up paper: ten questions in two forms."""
    asked = tuple(Question(family, critical=family == CRITICAL) for family in FAMILIES)
    return papers.build(Plan(TITLE, date, asked, forms=2), secret)


def write_batch(key: Key, folder: Path, count: int = COUNT) -> int:
    """Write `count` invented attempts and two files that must be refused, and return how many files."""
    chance = Chance(b"an invented batch: nobody sat these")
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    forms = sorted(key.forms)
    for number in range(1, count + 1):
        form = forms[number % len(forms)]
        candidate = f"MADE-UP-{number:03d}"
        data = _attempt(key, form, candidate, chance.child(candidate))
        write_new(folder / records.file_name(candidate, key.paper), data)
    cut_short = _attempt(key, forms[0], "MADE-UP-CUT", chance)[:-40]
    write_new(folder / records.file_name("MADE-UP-CUT", key.paper), cut_short)
    write_new(folder / "made-up.ipynb", b'{"cells":[],"nbformat":4}\n')
    return count + 2


def _share(chance: Chance) -> float:
    return chance.below(FINE) / FINE


def _attempt(key: Key, form: str, candidate: str, chance: Chance) -> bytes:
    strength = (
        2.6 * (_share(chance) + _share(chance) + _share(chance)) - 2.8
    )  # three shares make a bell shape
    events: list[dict] = [{
        "action": "start", "candidate": candidate, "paper": key.paper, "digest": key.digests[form], "form": form,
        "package": key.package,
    }]  # fmt: skip
    for place, item in enumerate(key.forms[form]):
        easier = 2.0 if item.critical else 0.5  # most people get right what nobody may get wrong
        events += _answers(item, strength - 0.35 * (place % 5) + easier, chance)
    given = sum(1 for event in events[1:] if event["text"])
    events.append({"action": "hand-in", "answered": given})
    lines, previous = [], chain.FIRST
    for seq, event in enumerate(events):
        line, previous = records.event_line({"seq": seq, "seconds": 40.0 * seq, **event}, previous)
        lines.append(line)
    return b"".join(lines)


def _answers(item: Item, lead: float, chance: Chance) -> list[dict]:
    """Return one answer event for each part: right with the chance of a logistic curve, else a slip or a blank."""
    right = 1 / (1 + math.exp(-lead))
    out = []
    for step in item.steps:
        text = _typed(step.value, step)
        unit = pack.unit_name(step.unit)
        if _share(chance) > right:
            text, unit = _wrong(step, chance)
        value = read_answer(text).value
        out.append({
            "action": "answer", "item": item.identifier, "step": step.id, "text": text, "unit": unit,
            "read": None if value is None else f"{value:f}",
        })  # fmt: skip
    for decision in item.decisions:
        said = decision.limit.meets == (_share(chance) <= right)
        out.append({
            "action": "answer", "item": item.identifier, "step": decision.id, "text": YES if said else NO, "unit": "",
            "read": None,
        })  # fmt: skip
    return out


def _wrong(step: Step, chance: Chance) -> tuple[str, str]:
    kind, unit = _share(chance), pack.unit_name(step.unit)
    if kind < 0.6 and step.slips:
        first_most_often = step.slips[
            min(chance.below(4), len(step.slips) - 1) if _share(chance) < 0.4 else 0
        ]
        return _typed(first_most_often.value, step), unit
    if kind < 0.75 and len(step.units_offered) > 1:
        return _typed(step.value, step), pack.unit_name(chance.pick(step.units_offered[1:]))
    if kind < 0.85:
        return "", ""
    return _typed(step.value * (1.3 + _share(chance)), step), unit


def _typed(value: float, step: Step) -> str:
    return print_number(value, Precision(step.places, step.figures))
