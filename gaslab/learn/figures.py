"""What stands behind a question: its source, its limit's source and status, and the facts that it is made with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from gaslab import tables
from gaslab.learn import items
from gaslab.learn.family import Chosen, Family
from gaslab.learn.formulas import evaluate
from gaslab.learn.item_file import FOLDER
from gaslab.learn.variant import Limit, Variant
from gaslab.refit.limits import GIVEN_WORDS
from gaslab.refit.provenance import Figure, figure_of

LIMIT = "criterion"  # the word by which a question's file names a limit
QUESTIONS = "questions"  # what the list of figures calls them


def question_words(variant: Variant) -> str:
    """Return where a question comes from. It is the same for all its numbers, so it gives no answer away."""
    return f"Where this question comes from: {tables.sources()[variant.source].named}."


def limit_words(limit: Limit) -> str:
    """Return where a question's limit comes from and how sure it is, in the words of page 00."""
    status = GIVEN_WORDS if limit.status == "given" else tables.STATUS_WORDS[limit.status]
    if limit.source == "practice":  # a source row for what has no source
        return f"The limit is {status}."
    return f"The limit comes from: {tables.sources()[limit.source].named}. It is {status}."


def family_figures() -> tuple[Figure, ...]:
    """Return every figure that a question family takes from a table of facts or holds an answer against.

    Each is in the unit that the question uses. A limit that is drawn for the exercise is no figure of a source.
    """
    plans = items.families().values()
    return tuple(figure for plan in plans for figure in (*_of_family(plan), *_of_limits(plan)))


def _of_family(plan: Family) -> Iterator[Figure]:
    """Return the facts of a family. A limit that it reads stands among the limits, with its own source."""
    # The plan keeps the numbers; the file says which facts they are.
    raw = tables.toml_file(f"{FOLDER}/{plan.id}.toml")
    for name, place in raw.get("facts", {}).items():
        if LIMIT not in place:
            yield _figure(plan, name, plan.facts[name].value, place)
    for part in plan.drawn:
        if isinstance(part, Chosen):
            for option, numbers in zip(raw["draw"][part.name]["choose"], part.numbers, strict=True):
                for field, place in option.items():
                    if isinstance(place, Mapping) and LIMIT not in place:
                        name = f"{option['text']}, {field}"
                        yield _figure(plan, name, numbers[f"{part.name}_{field}"], place)


def _of_limits(plan: Family) -> Iterator[Figure]:
    facts = {name: fact.value for name, fact in plan.facts.items()}
    for limit in plan.limits:
        ends = ((limit.low, "at least"), (limit.high, "at most"))
        fixed = [(end, words) for end, words in ends if end is not None and end.names <= set(plan.facts)]
        if limit.status != "given" and fixed:
            value = " and ".join(f"{words} {evaluate(end, facts):.6g}" for end, words in fixed)
            name, unit = f"{plan.title}: {plan.with_facts(limit.ask)}", plan.step(limit.step).unit
            yield figure_of(
                QUESTIONS, name, value, unit, "limit of the question", limit.source, limit.status, "",
            )  # fmt: skip


def _figure(plan: Family, name: str, value: float, place: Mapping[str, str]) -> Figure:
    """Return one figure. `place` is table, key and quantity of its fact, and the unit that the question uses."""
    fact = tables.fact(place["table"], place["key"], place["quantity"])
    return figure_of(
        QUESTIONS, f"{plan.title}: {name.replace('_', ' ')} ({fact.key}: {fact.quantity.replace('_', ' ')})",
        f"{value:.6g}", place["unit"], fact.basis, fact.source, fact.status, fact.note,
    )  # fmt: skip
