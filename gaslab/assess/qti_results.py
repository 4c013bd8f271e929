"""Results in the same standard as the questions: one assessmentResult for an attempt.

Names are those of QTI results reporting, from memory of the standard; no conformance
is claimed. What was typed is kept as text beside the number that was read.
"""

from __future__ import annotations

from collections.abc import Iterable
from xml.etree.ElementTree import Element, SubElement

from gaslab.assess import qti, qti_decision
from gaslab.assess.frozen import text
from gaslab.assess.results import DECISION, Result, StepResult
from gaslab.escape import file_name

NAMESPACE = "http://www.imsglobal.org/xsd/imsqti_result_v2p1"


def result_xml(result: Result, paper: str, date: str) -> bytes:
    """Return one attempt's result. `date` is the paper's own, so that marking again gives the same bytes."""
    stamp = f"{date}T00:00:00Z"
    root = Element("assessmentResult", {"xmlns": NAMESPACE})
    SubElement(root, "context", {"sourcedId": result.candidate})
    whole = SubElement(root, "testResult", {"identifier": paper, "datestamp": stamp})
    _variable(whole, "outcomeVariable", "SCORE", "float", str(result.score))
    _variable(whole, "outcomeVariable", "SCORE_MAX", "float", str(result.most))
    _variable(whole, "outcomeVariable", "CRITICAL_MISSED", "integer", str(len(result.missed)))
    items: dict[str, list[StepResult]] = {}
    for step in result.steps:
        items.setdefault(step.item, []).append(step)
    for place, (name, steps) in enumerate(items.items(), start=1):
        one = SubElement(root, "itemResult", {
            "identifier": name, "sequenceIndex": str(place), "datestamp": stamp, "sessionStatus": "final",
        })  # fmt: skip
        decided = [step for step in steps if step.kind == DECISION]
        given = [step for step in steps if step.kind != DECISION]
        for number, step in enumerate(given, start=1):
            _variable(one, "responseVariable", f"ANSWER_{number}", "float", step.read)
            _variable(one, "responseVariable", f"TEXT_{number}", "string", text(step.text))
            _variable(one, "responseVariable", f"UNIT_TEXT_{number}", "string", text(step.unit))
        for number, step in enumerate(decided, start=1):
            _variable(
                one, "responseVariable", qti_decision.response(number), "identifier", _choice(step.text)
            )
        for number, step in enumerate(given, start=1):
            _variable(one, "outcomeVariable", f"SCORE_{number}", "float", str(step.marks))
            _variable(one, "outcomeVariable", f"SLIP_{number}", "identifier", step.slip or None)
            _variable(one, "outcomeVariable", f"RULE_{number}", "string", text(step.rule))
        for number, step in enumerate(decided, start=1):
            _variable(one, "outcomeVariable", qti_decision.score(number), "float", str(step.marks))
            _variable(one, "outcomeVariable", f"RULE_DECISION_{number}", "string", text(step.rule))
        _variable(one, "outcomeVariable", "SCORE", "float", str(sum(step.marks for step in steps)))
    return qti.xml_bytes(root)


def _choice(said: str) -> str | None:
    """Return the name of the choice that a candidate's word stands for."""
    return next((name for name, words in qti_decision.CHOICES.items() if words == said.strip()), None)


def _variable(parent: Element, tag: str, name: str, base: str, value: str | None) -> None:
    made = SubElement(parent, tag, {"identifier": name, "cardinality": "single", "baseType": base})
    holder = SubElement(made, "candidateResponse") if tag == "responseVariable" else made
    if value is not None:
        SubElement(holder, "value").text = value


def results_package(results: Iterable[Result], paper: str, date: str) -> bytes:
    """Return a zip with one result file for each attempt."""
    return qti.zipped({
        f"results/{file_name(result.candidate, '.xml')}": result_xml(result, paper, date)
        for result in results
    })  # fmt: skip
