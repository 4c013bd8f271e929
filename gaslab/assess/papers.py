"""The paper builder: from a plan and one secret to forms whose answers are nowhere in them.

Every number is drawn from HMAC-SHA-256 of the assessor's secret, so the same plan
and secret give the same paper, and nobody without the secret can make it again.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields

from gaslab.assess import chain, leaks, pack, records, variants
from gaslab.assess.frozen import Item, line
from gaslab.assess.variants import Asked, Bank, GivesAway, PaperError, Question
from gaslab.learn.chance import Chance

MOST_FORMS, MOST_QUESTIONS = 2_000, 60
RESTARTS = 40


@dataclass(frozen=True)
class Plan:
    """What the assessor chose."""

    title: str
    date: str  # as 2026-03-12
    questions: tuple[Question, ...]
    forms: int = 4

    def data(self) -> dict:
        """Return plain values for a file and for the paper's number."""
        plain = {each.name: getattr(self, each.name) for each in fields(self)}
        return {**plain, "questions": [question.data() for question in self.questions]}


@dataclass(frozen=True)
class Form:
    """One form: the frozen questions and what each one's instrument shows."""

    name: str
    items: tuple[Item, ...]
    readings: Mapping[str, Mapping | None] = field(hash=False, default_factory=dict)

    def json(self, paper: str, plan: Plan) -> bytes:
        """Return the trainee's file for the notebook."""
        questions = [pack.item_data(item, self.readings.get(item.identifier)) for item in self.items]
        return pack.paper_json(paper, self.name, plan.title, plan.date, questions)


@dataclass(frozen=True)
class Paper:
    """A paper with its key. Keep it from trainees."""

    number: str
    plan: Plan
    forms: tuple[Form, ...]


def new_secret() -> bytes:
    """Return a new secret of 32 bytes. It belongs in the assessor's folder and nowhere else."""
    return secrets.token_bytes(32)


def checked_plan(plan: Plan) -> Plan:
    """Return the plan, or raise PaperError."""
    if not re.match(r"20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])\Z", plan.date):
        raise PaperError("Write the date as year-month-day, such as 2026-03-12.")
    if not 1 <= len(plan.questions) <= MOST_QUESTIONS:
        raise PaperError(
            f"A paper holds 1 to {MOST_QUESTIONS} questions; this plan has {len(plan.questions)}."
        )
    if not 1 <= plan.forms <= MOST_FORMS:
        raise PaperError(f"A paper has 1 to {MOST_FORMS} forms; this plan asks for {plan.forms}.")
    if any(type(q.marks) is not int or not 1 <= q.marks <= 20 for q in plan.questions):
        raise PaperError("Each step gives 1 to 20 marks.")
    if any(type(q.decision) is not int or not 0 <= q.decision <= 20 for q in plan.questions):
        raise PaperError("A decision gives 1 to 20 marks, or none when it is not asked.")
    if not line(plan.title) or line(plan.title) != plan.title:
        raise PaperError("Give the paper a title on one line, without marks that cannot be printed.")
    return plan


def form_name(index: int) -> str:
    """Return form-a, form-b, ... form-z, form-aa, ...

    >>> form_name(0), form_name(25), form_name(26)
    ('form-a', 'form-z', 'form-aa')
    """
    letters = ""
    index += 1
    while index:
        index, place = divmod(index - 1, 26)
        letters = chr(97 + place) + letters
    return f"form-{letters}"


def _derived(secret: bytes, *parts: str) -> bytes:
    return hmac.new(secret, "\x1f".join(parts).encode("utf-8"), hashlib.sha256).digest()


def build(
    plan: Plan, secret: bytes, bank: Bank | None = None, progress: Callable[[int, int], None] | None = None
) -> Paper:
    """Return the whole paper."""
    number = paper_number(plan, secret)
    forms = []
    for done, form in enumerate(each_form(plan, secret, bank), start=1):
        forms.append(form)
        if progress is not None:
            progress(done, plan.forms)
    return Paper(number, plan, tuple(forms))


def paper_number(plan: Plan, secret: bytes) -> str:
    """Return the paper's number; it says nothing about the secret."""
    if len(secret) < 16:
        raise PaperError("The secret is too short. Make one with new_secret().")
    return chain.grouped(
        chain.crockford(_derived(secret, "paper", chain.canonical(plan.data()).decode())[:10])
    )


def each_form(plan: Plan, secret: bytes, bank: Bank | None = None) -> Iterator[Form]:
    """Yield the forms one after another."""
    checked_plan(plan)
    bank = bank or Bank()
    known = {question: variants.asked(question, bank) for question in set(plan.questions)}
    for index in range(plan.forms):
        yield _form(plan, secret, form_name(index), bank, known)


def _form(plan: Plan, secret: bytes, name: str, bank: Bank, known: Mapping[Question, Asked]) -> Form:
    """Draw a form; where its questions cannot stand side by side, begin again with other numbers."""
    for attempt in range(RESTARTS):
        try:
            return _drawn_form(plan, secret, (name, str(attempt)), bank, known)
        except GivesAway as error:
            reason = error
    raise reason


def _drawn_form(
    plan: Plan, secret: bytes, place: tuple[str, str], bank: Bank, known: Mapping[Question, Asked]
) -> Form:
    number, name = paper_number(plan, secret), place[0]
    shell = pack.paper_html(number, name, plan.title, plan.date, ()) + pack.paper_json(
        number, name, plan.title, plan.date, []
    )
    shown = leaks.numbers(shell.decode("utf-8")).union(
        *(known[question].always for question in plan.questions)
    )
    bands: list[leaks.Band] = []
    items, readings = [], {}
    for index, question in enumerate(plan.questions, start=1):
        chance = Chance(_derived(secret, "item", number, *place, str(index), question.family))
        item, reading, own = variants.draw(
            question,
            f"q{index:02d}",
            chance,
            bank=bank,
            steps=known[question].steps,
            shown=shown,
            bands=bands,
        )
        shown |= own
        bands += leaks.bands([item])
        items.append(item)
        readings[item.identifier] = reading
    return Form(name, tuple(items), readings)


def assigned(candidates: list[str], plan: Plan, secret: bytes) -> dict[str, str]:
    """Return candidate -> form: a shuffle by the secret, then each form in turn, so that forms are even."""
    numbers = sorted({records.candidate_number(each) for each in candidates})
    order = sorted(numbers, key=lambda each: _derived(secret, "seat", paper_number(plan, secret), each))
    return {each: form_name(place % plan.forms) for place, each in enumerate(order)}


def preview(question: Question, bank: Bank | None = None) -> bytes:
    """Return one question as a page, as the trainee will see it, with numbers that no paper has used."""
    bank = bank or Bank()
    steps = variants.asked(question, bank).steps
    item, reading, _ = variants.draw(
        question, "q00", Chance.fresh(), bank=bank, steps=steps, shown=set(), bands=[]
    )
    return pack.page("Preview", "<h1>Preview</h1>\n" + pack.question_html(item, reading))
