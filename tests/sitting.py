"""Sittings made up for tests: a paper from the course's own families, and answers of every sort."""

from __future__ import annotations

import random
from pathlib import Path

from gaslab.assess import chain, guide, pack, papers, records
from gaslab.assess.frozen import Item
from gaslab.assess.papers import Paper, Plan
from gaslab.assess.variants import Bank, PaperError, Question, asked
from gaslab.learn import items

SECRET = bytes(range(32))
DATE = "2031-11-28"


def usable_families() -> list[str]:
    """Every course family that a paper can ask."""
    found, bank = [], Bank()
    for family_id in sorted(items.families()):
        try:
            asked(Question(family_id), bank)
        except PaperError:
            continue
        found.append(family_id)
    return found


def plan(questions: int = 20, forms: int = 4, first: int = 0) -> Plan:
    ids = usable_families()
    chosen = tuple(
        Question(ids[(first + n) % len(ids)], critical=n == 2, marks=2 if n % 5 == 0 else 1)
        for n in range(questions)
    )
    return Plan("Kitchen refit numbers", DATE, chosen, forms)


def answer_events(form_items: tuple[Item, ...], chance: random.Random) -> list[dict]:
    """Answers to every step: most right, some by a slip, some off, unreadable or left out."""
    events = []
    for item in form_items:
        for step in item.steps:
            sort = chance.random()
            value = step.value
            if sort > 0.9 and step.slips:
                value = chance.choice(step.slips).value
            elif sort > 0.85:
                value = step.value * 1.7 + 1
            text = typed(value, step)
            if 0.8 < sort < 0.82:
                text = chance.choice(["", "abc", "1,200", "=1+1", "21.5 mbar"])
            events.append(
                {"item": item.identifier, "step": step.id, "text": text, "unit": pack.unit_name(step.unit)}
            )
    return events


def typed(value: float, step) -> str:
    """A value as a candidate types it: plain, with the places or figures asked for."""
    from gaslab.learn.family import Precision, print_number

    return print_number(value, Precision(step.places, step.figures))


def attempt_bytes(paper: Paper, digest: str, form: str, candidate: str, answers: list[dict]) -> bytes:
    """A whole attempt file, written at once; the same bytes that `Attempt` writes step by step."""
    from gaslab.learn.answers import read_answer

    events: list[dict] = [{
        "action": "start", "candidate": candidate, "paper": paper.number, "digest": digest, "form": form,
        "package": "gaslab 1.0.0",
    }]  # fmt: skip
    for answer in answers:
        value = read_answer(answer["text"]).value
        events.append({"action": "answer", **answer, "read": None if value is None else f"{value:f}"})
    events.append({"action": "hand-in", "answered": sum(1 for a in answers if a["text"].strip())})
    out, previous = [], chain.FIRST
    for seq, event in enumerate(events):
        line, previous = records.event_line({"seq": seq, "seconds": float(seq), **event}, previous)
        out.append(line)
    return b"".join(out)


def write_attempts(folder: Path, paper: Paper, count: int, start: int = 1) -> None:
    """Write `count` attempts, spread over the forms."""
    folder.mkdir(parents=True, exist_ok=True)
    digests = guide.key_of(paper).digests
    for number in range(start, start + count):
        form = paper.forms[number % len(paper.forms)]
        candidate = f"GAS-{number:05d}"
        data = attempt_bytes(
            paper, digests[form.name], form.name, candidate, answer_events(form.items, random.Random(number))
        )
        (folder / records.file_name(candidate, paper.number)).write_bytes(data)


def built(questions: int = 20, forms: int = 4, first: int = 0) -> Paper:
    return papers.build(plan(questions, forms, first), SECRET)
