"""The small parts that exported questions are put together from: declarations, notes to the marker, outcomes."""

from __future__ import annotations

from decimal import Decimal
from xml.etree.ElementTree import Element, SubElement

_HOLDERS = {"responseDeclaration": "correctResponse"}  # all others hold a defaultValue


def decimal_text(value: float) -> str:
    """Return the shortest decimal text that reads back as this float, without an exponent."""
    return f"{Decimal(repr(float(value))):f}"


def declare(root: Element, tag: str, name: str, base: str, value: str | None = None) -> Element:
    """Add a declaration of one value, with its correct or its default value where there is one."""
    made = SubElement(root, tag, {"identifier": name, "cardinality": "single", "baseType": base})
    if value is not None:
        SubElement(SubElement(made, _HOLDERS.get(tag, "defaultValue")), "value").text = value
    return made


def outcome(root: Element, name: str, base: str, most: int | None = None) -> None:
    """Add an outcome; one with marks says the most that it gives, and begins at nought."""
    if most is None:
        declare(root, "outcomeDeclaration", name, base)
        return
    made = declare(root, "outcomeDeclaration", name, base, "0")
    made.set("normalMaximum", str(most))
    made.set("normalMinimum", "0")


def rubric(body: Element, name: str, words: str) -> None:
    """Add words that only the marker sees."""
    block = SubElement(body, "rubricBlock", {"view": "scorer", "class": name})
    SubElement(block, "p").text = words


def give(parent: Element, name: str, base: str, value: str) -> None:
    """Add a rule that sets an outcome to a value."""
    made = SubElement(
        SubElement(parent, "setOutcomeValue", {"identifier": name}), "baseValue", {"baseType": base}
    )
    made.text = value


def unless_given(processing: Element, response: str, score: str) -> Element:
    """Begin the rule of one response: an answer not given earns nothing. Return the rule, to go on with."""
    condition = SubElement(processing, "responseCondition")
    first = SubElement(condition, "responseIf")
    SubElement(SubElement(first, "isNull"), "variable", {"identifier": response})
    give(first, score, "float", "0")
    return condition
