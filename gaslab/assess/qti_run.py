"""An interpreter of the response rules of our QTI subset.

It knows nothing of gaslab's marking: it follows the elements as the standard
describes them. `equal` compares its second child y with its first x, and holds when
x - below <= y <= x + above; an answer not given is NULL, and NULL meets no condition.
"""

from __future__ import annotations

from collections.abc import Mapping
from xml.etree.ElementTree import Element

from gaslab.assess.qti_read import QtiError, key_number, plain_item

Value = float | str | None


def run(data: bytes, responses: Mapping[str, Value]) -> dict[str, Value]:
    """Return the outcomes of an item file for responses by identifier (ANSWER_1, UNIT_1, ...)."""
    tree = plain_item(data)
    correct = {d.attrib["identifier"]: _typed(d, "correctResponse") for d in tree.iter("responseDeclaration")}
    unknown = set(responses) - set(correct)
    if unknown:
        raise QtiError(f"The item asks for no response {min(unknown)!r}.")
    values: dict[str, Value] = {name: responses.get(name) for name in correct}
    outcomes = {d.attrib["identifier"]: _typed(d, "defaultValue") for d in tree.iter("outcomeDeclaration")}
    machine = _Machine(values, correct, outcomes)
    for rule in tree.iterfind("responseProcessing/*"):
        machine.rule(rule)
    return machine.outcomes


def _typed(declaration: Element, holder: str) -> Value:
    found = declaration.find(f"{holder}/value")
    if found is None:
        return None
    return float(key_number(found.text or "")) if declaration.get("baseType") == "float" else found.text


class _Machine:
    def __init__(self, responses: dict[str, Value], correct: dict[str, Value], outcomes: dict[str, Value]):
        self.responses, self.correct, self.outcomes = responses, correct, outcomes

    def rule(self, node: Element) -> None:
        """Carry out one response rule."""
        if node.tag == "setOutcomeValue":
            self.outcomes[node.attrib["identifier"]] = self.value(node[0])
        elif node.tag == "responseCondition":
            for branch in node:
                if self.holds(branch[0]):
                    for rule in branch[1:]:
                        self.rule(rule)
                    return
        else:
            raise QtiError(f"The rule {node.tag} is outside the subset.")

    def holds(self, node: Element) -> bool:
        """Return True when a condition is true; NULL is not."""
        if node.tag == "isNull":
            return self.value(node[0]) is None
        if node.tag == "and":
            return all(self.holds(child) for child in node)
        first, second = self.value(node[0]), self.value(node[1])
        if first is None or second is None:
            return False
        if node.tag == "match":
            return first == second
        if not isinstance(first, (int, float)) or not isinstance(second, (int, float)):
            raise QtiError(f"The condition {node.tag} compares numbers, and was given words.")
        if node.tag == "equal" and node.get("toleranceMode") == "absolute":
            below, _, above = node.attrib["tolerance"].partition(" ")
            return first - float(key_number(below)) <= second <= first + float(key_number(above or below))
        raise QtiError(f"The condition {node.tag} is outside the subset.")

    def value(self, node: Element) -> Value:
        """Return the value of an expression."""
        name = node.get("identifier", "")
        if node.tag == "variable":
            return self.outcomes[name] if name in self.outcomes else self.responses[name]
        if node.tag == "correct":
            return self.correct[name]
        if node.tag == "baseValue":
            return float(key_number(node.text or "")) if node.get("baseType") == "float" else node.text
        if node.tag == "sum":
            parts = [self.value(child) for child in node]
            numbers = [part for part in parts if isinstance(part, (int, float))]
            return sum(numbers) if len(numbers) == len(parts) else None
        raise QtiError(f"The expression {node.tag} is outside the subset.")
