"""QTI packages of frozen questions: every number baked in, every band absolute.

Each step is a text entry with a choice of unit. Right means: a unit that fits, and
the answer, told in that unit, within an absolute, asymmetric tolerance around the correct one, which
stands first in the comparison, widened by the guard that gaslab's own marking uses.
Slips come out as an outcome, so that they survive the round trip. A decision is a choice
of yes or no. Follow-through marking is not exported: the format has no words for it.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from gaslab import units
from gaslab.assess import qti_decision, qti_names
from gaslab.assess.frozen import FrozenError, Item, Slip, Step, checked
from gaslab.assess.qti_parts import decimal_text, declare, give, outcome, rubric, unless_given
from gaslab.learn.marking import in_unit

GUARD = 1e-9
LANG = "{http://www.w3.org/XML/1998/namespace}lang"
MANIFEST = "imsmanifest.xml"
_FIXED_TIME = (1980, 1, 1, 0, 0, 0)


def centre_and_tolerance(band: Step | Slip, unit: str, given: str) -> tuple[str, str] | None:
    """Return (value, "below above") of a band told in another unit, each side widened by the guard.

    None when the other unit measures something else.
    """
    guard = GUARD * abs(band.hi)
    value, low, high = (in_unit(end, unit, given) for end in (band.value, band.lo - guard, band.hi + guard))
    if value is None or low is None or high is None:
        return None
    return decimal_text(value), f"{decimal_text(value - low)} {decimal_text(high - value)}"


def item_tree(item: Item) -> Element:
    """Return the question as a tree in the names of version 2.1."""
    root = Element("assessmentItem", {
        "identifier": item.identifier, "title": item.title, "label": item.family, "adaptive": "false",
        "timeDependent": "false", "toolName": "gaslab", "toolVersion": item.version, LANG: "en-GB",
    })  # fmt: skip
    for number, step in enumerate(item.steps, start=1):
        _responses(root, number, step)
    decisions = list(enumerate(item.decisions, start=1))
    for number, decision in decisions:
        qti_decision.response_declared(root, number, decision)
    outcome(root, "SCORE", "float", item.marks)
    for number, step in enumerate(item.steps, start=1):
        outcome(root, f"SCORE_{number}", "float", step.marks)
        outcome(root, f"SLIP_{number}", "identifier")
    for number, decision in decisions:
        outcome(root, qti_decision.score(number), "float", decision.marks)
    _constants(root, item)
    _body(root, item)
    processing = SubElement(root, "responseProcessing")
    for number, step in enumerate(item.steps, start=1):
        _marking(processing, number, step)
    for number, decision in decisions:
        qti_decision.marking(processing, number, decision)
    total = SubElement(processing, "setOutcomeValue", {"identifier": "SCORE"})
    adding = SubElement(total, "sum")
    scores = [f"SCORE_{number}" for number in range(1, len(item.steps) + 1)]
    for name in (*scores, *(qti_decision.score(number) for number, _ in decisions)):
        SubElement(adding, "variable", {"identifier": name})
    for number, step in enumerate(item.steps, start=1):
        for slip in step.slips:
            feedback = SubElement(root, "modalFeedback", {
                "outcomeIdentifier": f"SLIP_{number}", "identifier": slip.id, "showHide": "show",
            })  # fmt: skip
            SubElement(feedback, "p").text = slip.says
    return root


def _responses(root: Element, number: int, step: Step) -> None:
    right = f"U{step.units_offered.index(step.unit) + 1}"
    declare(root, "responseDeclaration", f"ANSWER_{number}", "float", decimal_text(step.value))
    declare(root, "responseDeclaration", f"UNIT_{number}", "identifier", right)


def _constants(root: Element, item: Item) -> None:
    """Write parameters and bands as template variables that never vary, so that an import is exact."""
    for name, value in item.params.items():
        base = "string" if isinstance(value, str) else "integer" if isinstance(value, int) else "float"
        shown = decimal_text(value) if isinstance(value, float) else str(value)
        declare(root, "templateDeclaration", f"P_{name}", base, shown)
    for number, step in enumerate(item.steps, start=1):
        for name, value in (("LOW", step.lo), ("HIGH", step.hi)):
            declare(root, "templateDeclaration", f"{name}_{number}", "float", decimal_text(value))
        for name, count in (("PLACES", step.places), ("FIGURES", step.figures)):
            if count is not None:
                declare(root, "templateDeclaration", f"{name}_{number}", "integer", str(count))
        for slip in step.slips:
            for letter, value in (("V", slip.value), ("L", slip.lo), ("H", slip.hi)):
                name = f"{letter}{number}_{slip.id}"
                declare(root, "templateDeclaration", name, "float", decimal_text(value))
    for number, decision in enumerate(item.decisions, start=1):
        qti_decision.constants(root, number, decision)


def _body(root: Element, item: Item) -> None:
    body = SubElement(root, "itemBody", {"class": "critical"} if item.critical else {})
    SubElement(body, "p", {"class": "stem"}).text = item.stem
    for number, step in enumerate(item.steps, start=1):
        SubElement(body, "p", {"class": "ask", "label": step.id}).text = step.ask
        line = SubElement(body, "p")
        entry = {"responseIdentifier": f"ANSWER_{number}", "expectedLength": "16", "class": step.kind}
        SubElement(line, "textEntryInteraction", entry)
        choice = SubElement(
            line, "inlineChoiceInteraction", {"responseIdentifier": f"UNIT_{number}", "shuffle": "false"}
        )
        for place, unit in enumerate(step.units_offered, start=1):
            one = SubElement(choice, "inlineChoice", {"identifier": f"U{place}", "label": unit})
            one.text = units.printed(unit) or "no unit"
        for name, words in (("cue", step.cue), ("worked", step.worked)):
            rubric(body, f"{name} step-{number}", words)
    for number, decision in enumerate(item.decisions, start=1):
        qti_decision.in_body(body, number, decision)
    rubric(body, "source", item.source)


def _marking(processing: Element, number: int, step: Step) -> None:
    """Write the rule of one step: no answer; then, unit by unit, right and each slip."""
    condition = unless_given(processing, f"ANSWER_{number}", f"SCORE_{number}")
    offered = sorted(enumerate(step.units_offered, start=1), key=lambda pair: pair[1] != step.unit)
    for place, unit in offered:
        for band, told_in in _bands(step, unit):
            found = centre_and_tolerance(band, step.unit, told_in)
            if found is None:
                continue
            branch = SubElement(condition, "responseElseIf")
            both = SubElement(branch, "and")
            _unit_is(both, number, f"U{place}", asked=unit == step.unit)
            _near(both, number, found, asked=band is step and unit == step.unit)
            if isinstance(band, Slip):
                give(branch, f"SLIP_{number}", "identifier", band.id)
            else:
                give(branch, f"SCORE_{number}", "float", str(step.marks if told_in == unit else 0))


def _bands(step: Step, unit: str) -> list[tuple[Step | Slip, str]]:
    """Return what is tried for one unit, in the order of the course's marking.

    Between right and the slips stands the right number with a unit that does not fit:
    it earns nothing, and is never blamed on a way of working.
    """
    bare = [] if unit == step.unit else [(step, step.unit)]
    return [(step, unit), *bare, *((slip, unit) for slip in step.slips)]


def _unit_is(parent: Element, number: int, unit: str, *, asked: bool) -> None:
    match = SubElement(parent, "match")
    if asked:
        SubElement(match, "correct", {"identifier": f"UNIT_{number}"})
    else:
        SubElement(match, "baseValue", {"baseType": "identifier"}).text = unit
    SubElement(match, "variable", {"identifier": f"UNIT_{number}"})


def _near(parent: Element, number: int, found: tuple[str, str], *, asked: bool) -> None:
    equal = SubElement(parent, "equal", {
        "toleranceMode": "absolute", "tolerance": found[1], "includeLowerBound": "true", "includeUpperBound": "true",
    })  # fmt: skip
    if asked:
        SubElement(equal, "correct", {"identifier": f"ANSWER_{number}"})
    else:
        SubElement(equal, "baseValue", {"baseType": "float"}).text = found[0]
    SubElement(equal, "variable", {"identifier": f"ANSWER_{number}"})


def xml_bytes(tree: Element) -> bytes:
    """Return the tree as UTF-8 XML, and read it again to be sure that it is well-formed."""
    data = ElementTree.tostring(tree, encoding="utf-8", xml_declaration=True) + b"\n"
    ElementTree.fromstring(data)
    return data


def item_xml(item: Item, version: str = "2.1") -> bytes:
    """Return one question as a QTI item file."""
    return xml_bytes(qti_names.renamed(item_tree(checked(item)), version))


def manifest_xml(identifiers: list[str], package: str, version: str) -> bytes:
    """Return the manifest that lists the items of a package."""
    dialect = qti_names.DIALECTS[version]
    root = Element("manifest", {"xmlns": dialect.manifest_namespace, "identifier": package})
    about = SubElement(root, "metadata")
    SubElement(about, "schema").text = dialect.schema
    SubElement(about, "schemaversion").text = dialect.schema_version
    SubElement(root, "organizations")
    resources = SubElement(root, "resources")
    for name in identifiers:
        href = f"items/{name}.xml"
        one = {"identifier": name, "type": dialect.resource_type, "href": href}
        SubElement(SubElement(resources, "resource", one), "file", {"href": href})
    return xml_bytes(root)


def package(items: Iterable[Item], name: str, version: str = "2.1") -> bytes:
    """Return a package (zip) of questions. The same questions give the same bytes."""
    if version not in qti_names.VERSIONS:
        raise FrozenError(f"The version must be one of {', '.join(qti_names.VERSIONS)}.")
    if not re.match(r"[A-Za-z_][A-Za-z0-9_-]{0,63}\Z", name):
        raise FrozenError(
            "The package's name must begin with a letter and hold letters, figures, hyphens only."
        )
    files = {f"items/{item.identifier}.xml": item_xml(item, version) for item in items}
    order = [path[len("items/") : -len(".xml")] for path in files]
    if not order or len({each.lower() for each in order}) != len(order):
        raise FrozenError("A package needs at least one question, and no name may stand twice.")
    files[MANIFEST] = manifest_xml(order, name, version)
    return zipped(files)


def zipped(files: dict[str, bytes]) -> bytes:
    """Return a zip with sorted names, one fixed time and fixed permissions."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(files):
            entry = zipfile.ZipInfo(path, _FIXED_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3
            entry.external_attr = 0o100644 << 16
            archive.writestr(entry, files[path])
    return out.getvalue()
