"""QTI export: valid against our own grammar, marked by its own rules, and read back the same."""

from __future__ import annotations

import io
import math
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from gaslab.assess import frozen, qti, qti_names, qti_read, qti_run
from gaslab.assess.variants import Question, freeze
from gaslab.learn import items, marking
from gaslab.learn.chance import Chance

from hostile import zipped

ROOM = Path(qti.__file__).parent
STEP = frozen.Step(
    "heat", "sum", "What is the gross heat input?", "kW", ("kW", "MJ", "m3/h"), 13.0, 12.9, 13.1, 1, None, 2,
    (frozen.Slip("net-for-gross", 11.7, "That is the net figure.", 11.6, 11.8),
     frozen.Slip("per-minute", 0.78, "Seconds, not minutes.", 0.775, 0.79)),
    "Seconds first.", "0.020 × 3600 ÷ 60 = 1.2 m³/h. Then × 39.0 ÷ 3.6 = 13.0 kW.",
)  # fmt: skip
FIRST = frozen.Step(
    "rate", "set-up", "What is the gas rate?", "m3/h", ("m3/h", "m3/s"), 1.2, 1.195, 1.2051, None, 3, 1, (),
    "", "",
)  # fmt: skip
ITEM = frozen.Item(
    "q01-heat", "gas-rate-metric", "1", "Gross heat input from a meter reading",
    "A hob test passes 0.020 m³ of gas in 60 s & the CV is 39.0 MJ/m³ < 40.\nRead the plate too.",
    {"volume": 0.02, "seconds": 60, "fuel": "natural gas"}, (FIRST, STEP), True, "practice",
)  # fmt: skip
VERSIONS = pytest.mark.parametrize("version", qti_names.VERSIONS)


def grammar(version: str) -> etree.RelaxNG:
    return etree.RelaxNG(etree.parse(str(ROOM / f"qti-subset-{version}.rng")))


@VERSIONS
def test_an_item_is_valid_against_our_grammar(version):
    rules = grammar(version)
    tree = etree.fromstring(qti.item_xml(ITEM, version))
    assert rules.validate(tree), rules.error_log
    broken = etree.fromstring(qti.item_xml(ITEM, version).replace(b"absolute", b"relative"))
    assert not rules.validate(broken)
    other = "3.0" if version == "2.1" else "2.1"
    assert not grammar(other).validate(tree)


def test_element_order_is_the_standards_own():
    """As the literature note lists it."""
    tags = [etree.QName(child).localname for child in etree.fromstring(qti.item_xml(ITEM))]
    order = [
        "responseDeclaration",
        "outcomeDeclaration",
        "templateDeclaration",
        "itemBody",
        "responseProcessing",
    ]
    order += ["modalFeedback"]
    assert [tag for at, tag in enumerate(tags) if at == 0 or tags[at - 1] != tag] == order


def test_the_correct_response_stands_first_in_every_comparison():
    for equal in etree.fromstring(qti.item_xml(ITEM)).iter("{*}equal"):
        assert etree.QName(equal[0]).localname in ("correct", "baseValue")
        assert etree.QName(equal[1]).localname == "variable"
        assert equal.get("toleranceMode") == "absolute"


def marked(item: frozen.Item, version: str, number: int, value: float | None, unit: str) -> dict:
    offered = item.steps[number - 1].units_offered
    responses = {f"ANSWER_{number}": value, f"UNIT_{number}": f"U{offered.index(unit) + 1}"}
    return qti_run.run(qti.item_xml(item, version), responses)


@VERSIONS
def test_the_worked_example_of_the_note(version):
    """The note's own boundary cases: 12.9, 13.0, 13.1 right; 12.89, 13.11 not; 11.7 gets the net label."""
    assert [marked(ITEM, version, 2, x, "kW")["SCORE_2"] for x in (12.9, 13.0, 13.1)] == [2, 2, 2]
    assert [marked(ITEM, version, 2, x, "kW")["SCORE_2"] for x in (12.89, 13.11)] == [0, 0]
    assert marked(ITEM, version, 2, 11.7, "kW")["SLIP_2"] == "net-for-gross"
    assert marked(ITEM, version, 2, 13.0, "MJ")["SCORE_2"] == 0
    assert marked(ITEM, version, 2, None, "kW")["SCORE_2"] == 0
    assert marked(ITEM, version, 2, 13.0, "kW")["SCORE"] == 2


def test_the_interpreter_on_a_hand_written_item():
    """The rule of `equal` in the standard: x - t0 <= y <= x + t1, bounds included; NULL meets nothing."""
    space = qti_names.DIALECTS["2.1"].item_namespace
    item = f"""<assessmentItem xmlns="{space}"><responseDeclaration identifier="A" cardinality="single"
      baseType="float"><correctResponse><value>100</value></correctResponse></responseDeclaration>
      <outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float"/>
      <responseProcessing><responseCondition><responseIf><equal toleranceMode="absolute" tolerance="1 2">
      <correct identifier="A"/><variable identifier="A"/></equal><setOutcomeValue identifier="SCORE">
      <baseValue baseType="float">1</baseValue></setOutcomeValue></responseIf></responseCondition>
      </responseProcessing></assessmentItem>""".encode()
    found = {x: qti_run.run(item, {"A": x})["SCORE"] for x in (98.99, 99.0, 100.0, 102.0, 102.01, None)}
    assert found == {98.99: None, 99.0: 1.0, 100.0: 1.0, 102.0: 1.0, 102.01: None, None: None}


@pytest.mark.parametrize(
    ("value", "lo", "hi"),
    [
        (0.1 + 0.2, 0.3, 0.35),
        (-0.4, -0.5, -0.3),
        (0.0, -0.05, 0.05),
        (1e-7, 9e-8, 1.1e-7),
        (99999.9, 99999.85, 1e5),
    ],
)
@VERSIONS
def test_bounds_survive_awkward_numbers(value, lo, hi, version):
    """Negative, zero-centred, tiny and large bands: lo and hi are in, just outside is not."""
    step = replace(STEP, value=value, lo=lo, hi=hi, slips=())
    item = replace(ITEM, steps=(step,))
    out = (hi - lo) * 1e-3
    found = [marked(item, version, 1, x, "kW")["SCORE"] for x in (lo - out, lo, value, hi, hi + out)]
    assert found == [0, 2, 2, 2, 0]
    assert qti_read.read_item(qti.item_xml(item, version)) == item


@VERSIONS
def test_a_package_comes_back_the_same(version):
    items = tuple(replace(ITEM, identifier=f"q{n:02d}", critical=bool(n % 2)) for n in range(1, 21))
    data = qti.package(items, "paper-a", version)
    assert qti_read.read_package(data) == items
    assert data == qti.package(items, "paper-a", version)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.namelist() == sorted(archive.namelist()) and "imsmanifest.xml" in archive.namelist()
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        manifest = etree.fromstring(archive.read("imsmanifest.xml"))
    hrefs = [node.get("href") for node in manifest.iter("{*}resource")]
    assert hrefs == [f"items/q{n:02d}.xml" for n in range(1, 21)]


def test_rename_tables_name_each_thing_once():
    assert len(set(qti_names.ELEMENTS.values())) == len(qti_names.ELEMENTS)
    assert len(set(qti_names.ATTRIBUTES.values())) == len(qti_names.ATTRIBUTES)
    assert all(v == "p" or v.startswith("qti-") for v in qti_names.ELEMENTS.values())


def test_decimal_text_never_has_an_exponent():
    for value in (1e-9, 1e17, 0.1 + 0.2, -0.0, 123456.789, 5e-324):
        words = qti.decimal_text(value)
        assert "e" not in words.lower() and float(words) == value


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"value": math.nan}, "inside its band"),
        ({"value": 14.0}, "inside its band"),
        ({"hi": math.inf}, "inside its band"),
        ({"unit": "mbar"}, "units offered"),
        ({"units_offered": ("kW", "bananas")}, "units offered"),
        ({"kind": "guess"}, "kind"),
        ({"marks": -1}, "marks"),
        ({"id": "../x"}, "begin with a letter"),
        ({"slips": (frozen.Slip("a b", 1.0, "", 1.0, 1.0),)}, "begin with a letter"),
        ({"slips": (frozen.Slip("a", math.nan, "", 1.0, 1.0),)}, "finite"),
        ({"worked": "x" * 5000}, "characters long"),
    ],
)
def test_a_question_that_cannot_be_a_key_is_refused(change, words):
    with pytest.raises(frozen.FrozenError, match=words):
        qti.item_xml(replace(ITEM, steps=(replace(STEP, **change),)))


BOMB = b"""<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">
<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]><x>&c;</x>"""
EXTERNAL = b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><x>&a;</x>'


@pytest.mark.parametrize("data", [BOMB, EXTERNAL, BOMB.decode().encode("utf-16")])
def test_entities_are_refused(data):
    with pytest.raises(qti_read.QtiError, match="document type"):
        qti_read.read_item(data)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not well-formed"),
        (b"<a>" * 100 + b"</a>" * 100, "deeper"),
        (b"<a/>", "not QTI"),
        (b"x" * 1_000_001, "larger than 1 MB"),
        (b'<?xml version="1.0" encoding="bananas"?><a/>', "not well-formed"),
        (
            qti.item_xml(ITEM).replace(b'baseType="float"', b'baseType="float" onclick="x"', 1),
            "does not write",
        ),
        (qti.item_xml(ITEM).replace(b"<p>", b"<script/><p>", 1), "does not write"),
        (qti.item_xml(ITEM).replace(b">12.9<", b">12.8<", 1), "differs"),
        (qti.item_xml(ITEM).replace(b">12.9<", b">nan<", 1), "not a plain number"),
        (qti.item_xml(ITEM).replace(b"<value>3</value>", b"", 1), "cannot be imported|differs"),
        (qti.item_xml(ITEM).replace(b'title="Gross', b'title=" Gross', 1), "differs"),
    ],
)
def test_a_bad_item_is_refused(data, words):
    with pytest.raises(qti_read.QtiError, match=words):
        qti_read.read_item(data)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("../evil.xml", "no place"), ("/etc/x.xml", "no place"), ("items/../x.xml", "no place"),
        ("items\\x.xml", "no place"), ("C:/x.xml", "no place"), ("items/a/b.xml", "no place"),
        ("items/con.xml", "no place"), ("items/x.html", "no place"), ("items/x\x00.xml", "no place"),
        ("items/\u202exml.xml", "no place"), ("items/.xml", "no place"), ("run.sh", "no place"),
    ],
)  # fmt: skip
def test_zip_paths_are_refused(name, words):
    with pytest.raises(qti_read.QtiError, match=words):
        qti_read.read_package(zipped(**{"imsmanifest.xml": b"<a/>", name: b"<a/>"}))


def test_other_bad_packages_are_refused():
    link = zipfile.ZipInfo("items/x.xml")
    link.external_attr = 0o120777 << 16
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(link, "/etc/passwd")
    good = qti.package([ITEM], "p")
    cases = {
        "not an ordinary file": out.getvalue(),
        "unpacks to more": _deflated("items/x.xml", bytes(30_000_000)),
        "not a package": good[:-40],
        "has no imsmanifest": zipped(**{"items/x.xml": b"<a/>"}),
        "do not agree": zipped(
            **{"imsmanifest.xml": qti.manifest_xml(["q02"], "p", "2.1"), "items/q01.xml": b"<a/>"}
        ),
        "larger than 20 MB": bytes(20_000_001),
    }
    for words, data in cases.items():
        with pytest.raises(qti_read.QtiError, match=words):
            qti_read.read_package(data)
    twice = io.BytesIO()
    with zipfile.ZipFile(twice, "w") as archive:
        archive.writestr("items/x.xml", "1")
        archive.writestr("items/X.xml", "2")
    with pytest.raises(qti_read.QtiError, match="twice"):
        qti_read.read_package(twice.getvalue())


def _deflated(name: str, data: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, data)
    return out.getvalue()


def test_a_damaged_package_never_raises_anything_else():
    good = bytearray(qti.package([ITEM], "p"))
    for at in range(0, len(good), 7):
        changed = bytearray(good)
        changed[at] ^= 0xFF
        try:
            qti_read.read_package(bytes(changed))
        except qti_read.QtiError as error:
            assert str(error)


def probes(step: frozen.Step) -> list[float]:
    """The values where a rule can differ: the ends, just inside and outside, the middle, and each slip's own ends."""
    found = []
    for band in (step, *step.slips):
        out = max(1e-6 * abs(band.hi), 1e-3 * (band.hi - band.lo))
        found += [band.value, band.lo, band.hi, band.lo - out, band.hi + out, band.lo + out, band.hi - out]
        # Half of the guard outside counts as the end itself; ten guards outside does not.
        found += [
            band.hi + 0.5e-9 * abs(band.hi),
            band.hi + 1e-8 * abs(band.hi),
            band.lo - 0.5e-9 * abs(band.hi),
        ]
    return found


@pytest.mark.parametrize("family_id", sorted(items.families()))
def test_the_package_marks_as_the_course_does(family_id):
    """Every family, both versions: score and slip by the XML alone against `learn.marking`, in the asked unit."""
    variant = items.draw(family_id, Chance(family_id.encode()))
    item = freeze(variant, "q01", Question(family_id, marks=1), [step.id for step in variant.steps])
    for version in qti_names.VERSIONS:
        data = qti.item_xml(item, version)
        assert grammar(version).validate(etree.fromstring(data)), grammar(version).error_log
        assert qti_read.read_item(data) == item
    data = qti.item_xml(item, "2.1")
    for number, step in enumerate(item.steps, start=1):
        unit = f"U{step.units_offered.index(step.unit) + 1}"
        for value in probes(step):
            by_xml = qti_run.run(data, {f"ANSWER_{number}": value, f"UNIT_{number}": unit})
            ours = marking.mark_step(variant.step(step.id), value, step.unit)
            assert (by_xml[f"SCORE_{number}"] == 1) == ours.earned, (step.id, value)
            assert by_xml[f"SLIP_{number}"] == ours.slip, (step.id, value)
        for place, other in enumerate(step.units_offered, start=1):
            turned = [marking.in_unit(value, step.unit, other) for value in probes(step)]
            # A number in the band with a unit that does not fit is never right.
            for value in [each for each in turned if each is not None] or [
                step.value,
                *(s.value for s in step.slips),
            ]:
                by_xml = qti_run.run(data, {f"ANSWER_{number}": value, f"UNIT_{number}": f"U{place}"})
                ours = marking.mark_step(variant.step(step.id), value, other)
                assert (by_xml[f"SCORE_{number}"] == 1) == ours.earned, (step.id, value, other)
                assert by_xml[f"SLIP_{number}"] == ours.slip, (step.id, value, other)
