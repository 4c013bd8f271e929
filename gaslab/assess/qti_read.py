"""Reading a QTI package of our own back, and marking by its own rules.

A package from outside is hostile until it is read: member names and sizes are checked
and nothing is ever unpacked to the disk; a document type, and with it every entity, is
refused; only the elements of our subset are understood. `run` follows the response
rules in the XML alone, so that it can be held against gaslab's own marking.
"""

from __future__ import annotations

import io
import stat
import zipfile
import zlib
from collections.abc import Mapping
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from gaslab import escape
from gaslab.assess import qti, qti_decision, qti_names
from gaslab.assess.frozen import Decision, FrozenError, Item, Slip, Step, checked, key
from gaslab.learn.variant import Limit

LARGEST_PACKAGE = 20_000_000
LARGEST_MEMBER = 1_000_000
MOST_MEMBERS = 5_000
DEPTH = 40


class QtiError(ValueError):
    """A package or an item that cannot be read, told in one sentence."""


class _Builder(ElementTree.TreeBuilder):
    """A tree builder that refuses a document type and deep nesting."""

    level = 0

    def doctype(self, name: str, pubid: str | None, system: str | None) -> None:
        raise QtiError("The XML has a document type. gaslab's own files have none, so it is refused.")

    def start(self, tag, attrs, /):
        self.level += 1
        if self.level > DEPTH:
            raise QtiError(f"The XML is nested deeper than {DEPTH} levels.")
        return super().start(tag, attrs)

    def end(self, tag, /):
        self.level -= 1
        return super().end(tag)


def parse(data: bytes) -> Element:
    """Return the root of XML text, or raise QtiError."""
    if len(data) > LARGEST_MEMBER:
        raise QtiError("The XML is larger than 1 MB.")
    try:
        return ElementTree.fromstring(data, ElementTree.XMLParser(target=_Builder()))
    except (ElementTree.ParseError, LookupError, ValueError) as error:
        if isinstance(error, QtiError):
            raise
        raise QtiError(f"The XML is not well-formed ({escape.clean(str(error))}).") from None


def members(data: bytes) -> dict[str, bytes]:
    """Return the files of a package by name, or raise QtiError. Nothing is written to the disk."""
    if len(data) > LARGEST_PACKAGE:
        raise QtiError("The package is larger than 20 MB.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_MEMBERS:
                raise QtiError(f"The package holds more than {MOST_MEMBERS} files.")
            _check_entries(entries)
            found, size = {}, 0
            for entry in entries:
                with archive.open(entry) as file:
                    found[entry.filename] = file.read(LARGEST_MEMBER + 1)
                size += len(found[entry.filename])
                if len(found[entry.filename]) > LARGEST_MEMBER or size > LARGEST_PACKAGE:
                    raise QtiError(f"The file {_shown(entry.filename)} unpacks to more than it may.")
            return found
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, zlib.error) as error:
        raise QtiError(
            f"This is not a package that can be read ({escape.clean(str(error))[:120]})."
        ) from None
    except ValueError as error:
        if isinstance(error, QtiError):
            raise
        raise QtiError("This is not a package that can be read (a file in it is damaged).") from None


def _shown(name: str) -> str:
    return repr(escape.clean(name)[:60])


def _check_entries(entries: list[zipfile.ZipInfo]) -> None:
    seen = set()
    for entry in entries:
        name = entry.orig_filename
        parts = name.split("/")
        inside = parts == [qti.MANIFEST] or (
            len(parts) == 2 and parts[0] == "items" and parts[1].endswith(".xml")
        )
        if not inside or not escape.file_name(parts[-1][:-4]) == parts[-1][:-4]:
            raise QtiError(f"The package holds {_shown(name)}, which is no place for a question.")
        if name.lower() in seen:
            raise QtiError(f"The package holds {_shown(name)} twice.")
        seen.add(name.lower())
        mode = entry.external_attr >> 16
        if entry.flag_bits & 1 or stat.S_IFMT(mode) not in (0, stat.S_IFREG):
            raise QtiError(f"The file {_shown(name)} is locked or is not an ordinary file.")


def version_of(root: Element, kind: str) -> str:
    """Return the version whose namespace the root stands in, or raise QtiError."""
    for version, dialect in qti_names.DIALECTS.items():
        space = dialect.item_namespace if kind == "item" else dialect.manifest_namespace
        if root.tag.startswith("{" + space + "}"):
            return version
    raise QtiError(f"The {kind} is not QTI 2.1 or 3.0 as gaslab writes it.")


def read_package(data: bytes) -> tuple[Item, ...]:
    """Return the questions of a package in the order of its manifest, or raise QtiError."""
    files = members(data)
    if qti.MANIFEST not in files:
        raise QtiError(f"The package has no {qti.MANIFEST}.")
    manifest = parse(files[qti.MANIFEST])
    space = "{" + qti_names.DIALECTS[version_of(manifest, "manifest")].manifest_namespace + "}"
    listed = [one.get("href") or "" for one in manifest.iter(space + "resource")]
    if sorted(listed) != sorted(set(files) - {qti.MANIFEST}):
        raise QtiError("The manifest and the files of the package do not agree.")
    return tuple(read_item(files[path]) for path in listed)


def plain_item(data: bytes) -> Element:
    """Return the tree of an item in the names of 2.1, or raise QtiError."""
    root = parse(data)
    try:
        tree = qti_names.plain(root, version_of(root, "item"))
    except KeyError as error:
        raise QtiError(f"The item holds {escape.clean(str(error))}, which gaslab does not write.") from None
    if tree.tag != "assessmentItem":
        raise QtiError("The file is not a question.")
    return tree


def read_item(data: bytes) -> Item:
    """Return the frozen question of an item file that gaslab wrote, or raise QtiError."""
    tree = plain_item(data)
    try:
        item = _item(tree)
        # The one sure test that nothing was lost or added: writing it again gives the same tree.
        if ElementTree.tostring(qti.item_tree(item)) != ElementTree.tostring(tree):
            raise QtiError(f"Question {item.identifier} differs from what gaslab writes. It is not imported.")
        return item
    except (AttributeError, KeyError, IndexError, TypeError, FrozenError, ValueError) as error:
        if isinstance(error, QtiError):
            raise
        raise QtiError(f"The question cannot be imported ({escape.clean(str(error))[:200]}).") from None


def _item(tree: Element) -> Item:
    constants = {d.attrib["identifier"]: d for d in tree.iter("templateDeclaration")}
    body = _inside(tree, "itemBody")
    asks = [p for p in body.iter("p") if p.get("class") == "ask"]
    rubrics = {block.get("class"): _inside(block, "p").text or "" for block in body.iter("rubricBlock")}
    params = {name[2:]: _constant(d) for name, d in constants.items() if name.startswith("P_")}
    steps = tuple(_step(tree, number, ask, constants, rubrics) for number, ask in enumerate(asks, start=1))
    choices = list(body.iter("choiceInteraction"))
    decisions = tuple(_decision(tree, n, one, constants, rubrics) for n, one in enumerate(choices, start=1))
    stem = next(p for p in body.iter("p") if p.get("class") == "stem").text or ""
    return checked(Item(
        tree.attrib["identifier"], tree.attrib["label"], tree.attrib["toolVersion"], tree.attrib["title"],
        stem,
        params, steps, body.get("class") == "critical", rubrics["source"], decisions,
    ))  # fmt: skip


def _constant(declaration: Element) -> Any:
    """Return a number or a text that never varies, by its base type."""
    words = _inside(declaration, "defaultValue/value").text or ""
    base = declaration.attrib["baseType"]
    return (
        words
        if base == "string"
        else int(key_number(words))
        if base == "integer"
        else float(key_number(words))
    )


def key_number(words: str) -> str:
    """Return the text of a plain decimal number, or raise QtiError (no exponent, no nan, no underscore)."""
    digits = words.removeprefix("-")
    if not digits.isascii() or not digits.replace(".", "", 1).isdigit() or len(words) > 400:
        raise QtiError(f"{_shown(words)} is not a plain number.")
    return words


def _step(tree: Element, number: int, ask: Element, constants: Mapping, rubrics: Mapping) -> Step:
    def kept(name: str) -> Any:
        return _constant(constants[f"{name}_{number}"]) if f"{name}_{number}" in constants else None

    entry = _with(tree, "textEntryInteraction", "responseIdentifier", f"ANSWER_{number}")
    choices = list(_with(tree, "inlineChoiceInteraction", "responseIdentifier", f"UNIT_{number}"))
    right = {
        d.attrib["identifier"]: _inside(d, "correctResponse/value").text or ""
        for d in tree.iter("responseDeclaration")
    }
    slips = tuple(
        _slip(one, number, constants)
        for one in tree.iter("modalFeedback")
        if one.get("outcomeIdentifier") == f"SLIP_{number}"
    )
    marks = _with(tree, "outcomeDeclaration", "identifier", f"SCORE_{number}").attrib["normalMaximum"]
    unit = next(c for c in choices if c.attrib["identifier"] == right[f"UNIT_{number}"]).attrib["label"]
    return Step(
        key(ask.get("label"), "The step"), entry.attrib["class"], ask.text or "", unit,
        tuple(c.attrib["label"] for c in choices), float(key_number(right[f"ANSWER_{number}"])), kept("LOW"),
        kept("HIGH"), kept("PLACES"), kept("FIGURES"), int(key_number(marks)), slips,
        rubrics[f"cue step-{number}"], rubrics[f"worked step-{number}"],
    )  # fmt: skip


def _slip(feedback: Element, number: int, constants: Mapping) -> Slip:
    name = feedback.attrib["identifier"]
    value, low, high = (_constant(constants[f"{letter}{number}_{name}"]) for letter in "VLH")
    return Slip(name, value, _inside(feedback, "p").text or "", low, high)


def _decision(tree: Element, number: int, choice: Element, constants: Mapping, rubrics: Mapping) -> Decision:
    name = choice.attrib["label"]
    kept = {
        part: _constant(constants[qti_decision.constant(number, part)])
        for part in ("low", "high", *qti_decision.WORDS)
        if qti_decision.constant(number, part) in constants
    }
    declared = _with(tree, "responseDeclaration", "identifier", qti_decision.response(number))
    marks = _with(tree, "outcomeDeclaration", "identifier", qti_decision.score(number)).attrib[
        "normalMaximum"
    ]
    limit = Limit(
        kept["step"], _inside(choice, "prompt").text or "", kept.get("low"), kept.get("high"), kept["unit"],
        _inside(declared, "correctResponse/value").text == "YES", rubrics[f"meets {name}"],
        rubrics[f"fails {name}"], kept["source"], kept["status"],
    )  # fmt: skip
    return Decision(name, limit, int(key_number(marks)))


def _inside(node: Element, path: str) -> Element:
    found = node.find(path)
    if found is None:
        raise QtiError(f"The question cannot be imported: it has no {path} where one must stand.")
    return found


def _with(tree: Element, tag: str, attribute: str, value: str) -> Element:
    return next(node for node in tree.iter(tag) if node.get(attribute) == value)
