"""A decision in an exported question: a choice of yes or no, marked in truth.

The limit stands in values that never vary, so that an import gives back the same decision.
The format has no words for a decision held against the trainee's own figure.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement

from gaslab.assess.frozen import Decision
from gaslab.assess.qti_parts import decimal_text, declare, give, rubric, unless_given
from gaslab.learn.variant import NO, YES

CHOICES = {"YES": YES, "NO": NO}
WORDS = ("step", "unit", "source", "status")  # what else of a limit is kept as text


def response(number: int) -> str:
    """Return the name of the response to a question's decision 1, 2, ..."""
    return f"DECISION_{number}"


def score(number: int) -> str:
    """Return the name of the marks of a question's decision 1, 2, ..."""
    return f"SCORE_DECISION_{number}"


def constant(number: int, name: str) -> str:
    """Return the name of one part of a limit."""
    return f"LIMIT_{number}_{name.upper()}"


def response_declared(root: Element, number: int, decision: Decision) -> None:
    """Declare the response with its right choice."""
    declare(
        root,
        "responseDeclaration",
        response(number),
        "identifier",
        "YES" if decision.limit.meets else "NO",
    )


def constants(root: Element, number: int, decision: Decision) -> None:
    """Write the limit as values that never vary."""
    for name in ("low", "high"):
        end = getattr(decision.limit, name)
        if end is not None:
            declare(root, "templateDeclaration", constant(number, name), "float", decimal_text(end))
    for name in WORDS:
        declare(root, "templateDeclaration", constant(number, name), "string", getattr(decision.limit, name))


def in_body(body: Element, number: int, decision: Decision) -> None:
    """Write the question, its two choices, and what the marker may say to each truth."""
    chosen = SubElement(body, "choiceInteraction", {
        "responseIdentifier": response(number), "label": decision.id, "shuffle": "false", "maxChoices": "1",
    })  # fmt: skip
    SubElement(chosen, "prompt").text = decision.limit.ask
    for name, words in CHOICES.items():
        SubElement(chosen, "simpleChoice", {"identifier": name}).text = words
    rubric(body, f"meets {decision.id}", decision.limit.words_meets)
    rubric(body, f"fails {decision.id}", decision.limit.words_fails)


def marking(processing: Element, number: int, decision: Decision) -> None:
    """Write the rule: the right choice earns the marks, the other and none earn nothing."""
    branch = SubElement(unless_given(processing, response(number), score(number)), "responseElseIf")
    match = SubElement(branch, "match")
    SubElement(match, "correct", {"identifier": response(number)})
    SubElement(match, "variable", {"identifier": response(number)})
    give(branch, score(number), "float", str(decision.marks))
