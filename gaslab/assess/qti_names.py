"""QTI names: one tree in the names of version 2.1, and the table that renames it for 3.0.

QTI is the question exchange standard of 1EdTech. Names are from memory of the
standard and of the literature note; gaslab writes QTI XML and claims no conformance.
"""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree

VERSIONS = ("2.1", "3.0")

ELEMENTS = {
    "assessmentItem": "qti-assessment-item",
    "responseDeclaration": "qti-response-declaration",
    "correctResponse": "qti-correct-response",
    "value": "qti-value",
    "outcomeDeclaration": "qti-outcome-declaration",
    "defaultValue": "qti-default-value",
    "templateDeclaration": "qti-template-declaration",
    "itemBody": "qti-item-body",
    "textEntryInteraction": "qti-text-entry-interaction",
    "inlineChoiceInteraction": "qti-inline-choice-interaction",
    "inlineChoice": "qti-inline-choice",
    "choiceInteraction": "qti-choice-interaction",
    "prompt": "qti-prompt",
    "simpleChoice": "qti-simple-choice",
    "rubricBlock": "qti-rubric-block",
    "contentBody": "qti-content-body",
    "responseProcessing": "qti-response-processing",
    "responseCondition": "qti-response-condition",
    "responseIf": "qti-response-if",
    "responseElseIf": "qti-response-else-if",
    "setOutcomeValue": "qti-set-outcome-value",
    "isNull": "qti-is-null",
    "and": "qti-and",
    "match": "qti-match",
    "equal": "qti-equal",
    "sum": "qti-sum",
    "correct": "qti-correct",
    "variable": "qti-variable",
    "baseValue": "qti-base-value",
    "modalFeedback": "qti-modal-feedback",
    "p": "p",
}  # fmt: skip

ATTRIBUTES = {
    "adaptive": "adaptive",
    "baseType": "base-type",
    "cardinality": "cardinality",
    "class": "class",
    "expectedLength": "expected-length",
    "identifier": "identifier",
    "includeLowerBound": "include-lower-bound",
    "includeUpperBound": "include-upper-bound",
    "label": "label",
    "maxChoices": "max-choices",
    "normalMaximum": "normal-maximum",
    "normalMinimum": "normal-minimum",
    "outcomeIdentifier": "outcome-identifier",
    "responseIdentifier": "response-identifier",
    "showHide": "show-hide",
    "shuffle": "shuffle",
    "timeDependent": "time-dependent",
    "title": "title",
    "tolerance": "tolerance",
    "toleranceMode": "tolerance-mode",
    "toolName": "tool-name",
    "toolVersion": "tool-version",
    "use": "use",
    "view": "view",
    "{http://www.w3.org/XML/1998/namespace}lang": "{http://www.w3.org/XML/1998/namespace}lang",
}  # fmt: skip

# Version 3.0 wraps the words of these in a content body; 2.1 does not.
WRAPPED = ("rubricBlock", "modalFeedback")


@dataclass(frozen=True)
class Dialect:
    """What differs between the versions beside the names."""

    item_namespace: str
    manifest_namespace: str
    schema: str
    schema_version: str
    resource_type: str


DIALECTS = {
    "2.1": Dialect(
        "http://www.imsglobal.org/xsd/imsqti_v2p1", "http://www.imsglobal.org/xsd/imscp_v1p1",
        "QTIv2.1 Package", "1.0.0", "imsqti_item_xmlv2p1",
    ),
    "3.0": Dialect(
        "http://www.imsglobal.org/xsd/imsqtiasi_v3p0", "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1",
        "QTI Package", "3.0.1", "imsqti_item_xmlv3p0",
    ),
}  # fmt: skip


def renamed(tree: ElementTree.Element, version: str) -> ElementTree.Element:
    """Return the tree (2.1 names, no namespace) in the names and the namespace of `version`."""

    def rename(node: ElementTree.Element) -> ElementTree.Element:
        new = version == "3.0"
        attributes = {(ATTRIBUTES[name] if new else name): value for name, value in node.attrib.items()}
        made = ElementTree.Element(ELEMENTS[node.tag] if new else node.tag, attributes)
        made.text, made.tail = node.text, node.tail
        inside = made
        if new and node.tag in WRAPPED:
            inside = ElementTree.SubElement(made, ELEMENTS["contentBody"])
            inside.text, made.text = made.text, None
            if node.tag == "rubricBlock":
                made.set("use", "scoring")
        inside.extend(rename(child) for child in node)
        return made

    root = rename(tree)
    root.set("xmlns", DIALECTS[version].item_namespace)
    return root


def plain(tree: ElementTree.Element, version: str) -> ElementTree.Element:
    """Return a parsed tree in the names of 2.1 without namespace: the way back from `renamed`.

    Raises KeyError with the name of an element or attribute outside the subset.
    """
    space = "{" + DIALECTS[version].item_namespace + "}"
    new = version == "3.0"
    elements = {(v if new else k): k for k, v in ELEMENTS.items()}
    attributes = {(v if new else k): k for k, v in ATTRIBUTES.items()}

    def rename(node: ElementTree.Element) -> ElementTree.Element:
        if not node.tag.startswith(space):
            raise KeyError(node.tag)
        tag = elements[node.tag.removeprefix(space)]
        kept = {attributes[name]: value for name, value in node.attrib.items() if name not in ("use",)}
        made = ElementTree.Element(tag, kept)
        made.text, made.tail = node.text, node.tail
        for child in node:
            child_made = rename(child)
            if child_made.tag == "contentBody":
                made.text = child_made.text
                made.extend(child_made)
            else:
                made.append(child_made)
        return made

    return rename(tree)
