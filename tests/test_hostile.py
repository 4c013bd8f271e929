"""The hostile corpus through the assessor's desk: nothing runs, escapes its folder or is lost."""

from __future__ import annotations

import csv
import html
import io
import json
import zipfile
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from lxml import etree
from test_attempts import PAPER, begin
from test_qti import ITEM, STEP

from gaslab import escape
from gaslab.assess import (
    attempt_reader,
    chain,
    exports,
    frozen,
    pack,
    qti,
    qti_names,
    qti_read,
    qti_results,
    records,
)
from gaslab.assess.results import Result, StepResult

from hostile import HOSTILE

KINDS = pytest.mark.parametrize("kind", HOSTILE)
ALLOWED_TAGS = {
    "html", "head", "meta", "title", "style", "body", "h1", "h2", "h3", "p", "span", "section", "table",
    "tr", "td",
    "th", "b",
}  # fmt: skip


class Tags(HTMLParser):
    """Collects every element and attribute of a page, and its text."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.words = set(), set(), []

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes.update(name for name, _ in attrs)

    handle_startendtag = handle_starttag

    def handle_data(self, data):
        self.words.append(data)


def assert_harmless(page: bytes, text: str) -> None:
    parser = Tags()
    parser.feed(page.decode("utf-8"))
    parser.close()
    assert parser.tags <= ALLOWED_TAGS, parser.tags - ALLOWED_TAGS
    assert parser.attributes <= {"lang", "charset", "http-equiv", "content", "class"}
    assert escape.clean(text) in "".join(parser.words) or " ".join(escape.clean(text).split()) in "".join(
        parser.words
    )


def hostile_item(text: str) -> frozen.Item:
    step = replace(STEP, ask=text, cue=text, worked=text, slips=(replace(STEP.slips[0], says=text),))
    return frozen.checked(
        replace(ITEM, title=text, stem=text, version=text, source=text, params={"note": text}, steps=(step,))
    )


@KINDS
def test_an_answer_comes_back_as_it_was_typed(kind, tmp_path):
    text = HOSTILE[kind]
    attempt = begin(tmp_path)
    attempt.answer("q01", "sum", text, "mbar", None)
    attempt.hand_in()
    assert attempt_reader.read(attempt.path).answers["q01", "sum"]["text"] == text
    assert attempt.path.read_bytes().isascii()


@KINDS
def test_it_is_refused_as_a_candidate_an_item_a_form_or_a_paper(kind, tmp_path):
    text = HOSTILE[kind]
    if records.CANDIDATE.match(text):
        assert kind == "reserved"  # CON may be a number; the file's name keeps it clear of the device
        assert records.file_name(text, PAPER).startswith("candidate-CON.")
    else:
        with pytest.raises(records.AttemptError):
            begin(tmp_path, text)
    with pytest.raises(records.AttemptError):
        begin(tmp_path, paper=text)
    attempt = begin(tmp_path)
    if kind not in ("nan", "infinity"):  # "nan" and "1e999" are harmless as the name of a question
        with pytest.raises(records.AttemptError):
            attempt.answer(text, "sum", "1", "mbar", None)
    with pytest.raises(records.AttemptError):
        attempt.answer("q01", "sum", "1", "mbar", text)
    assert [path.parent for path in tmp_path.rglob("*")] == [tmp_path]


@KINDS
def test_a_file_of_it_is_refused_and_the_batch_goes_on(kind, tmp_path):
    data = HOSTILE[kind].encode("utf-8", "surrogatepass")
    (tmp_path / f"a{records.ENDING}").write_bytes(data)
    (tmp_path / f"b{records.ENDING}").write_bytes(b'{"event":' + data + b',"link":"' + b"0" * 64 + b'"}\n')
    attempt = begin(tmp_path)
    attempt.hand_in()
    found = list(attempt_reader.read_folder(tmp_path))
    assert [type(each).__name__ for each in found] == ["RefusedAttempt", "RefusedAttempt", "HandedIn"]


@KINDS
def test_printed_pages_hold_it_as_text_only(kind):
    text = HOSTILE[kind]
    item = hostile_item(text)
    page = pack.paper_html(text, text, text, text, (item,))
    assert_harmless(page, text)
    assert b"default-src 'none'" in page


@KINDS
@pytest.mark.parametrize("version", qti_names.VERSIONS)
def test_packages_hold_it_as_text_only_and_read_back(kind, version):
    item = hostile_item(HOSTILE[kind])
    data = qti.package([item], "p", version)
    assert qti_read.read_package(data) == (item,)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        tree = etree.fromstring(
            archive.read(f"items/{item.identifier}.xml"), etree.XMLParser(resolve_entities=False)
        )
    names = {etree.QName(node).localname for node in tree.iter()}
    known = set(qti_names.ELEMENTS) if version == "2.1" else set(qti_names.ELEMENTS.values())
    assert names <= known


def one_result(text: str) -> Result:
    step = StepResult(
        "q01",
        "f",
        "s",
        "sum",
        text,
        text[:20],
        None,
        "unread",
        0,
        1,
        None,
        "",
        text,
        text,
        False,
        False,
        text,
    )
    return Result("GAS-0142", "form-a", text, "0000", 1.0, (step,), (), (text,))


@KINDS
def test_results_hold_it_as_text_only(kind):
    text = HOSTILE[kind]
    result = one_result(text)
    rows = list(csv.reader(io.StringIO(exports.steps_csv([result]).decode("utf-8"), newline=""), strict=True))
    assert len(rows) == 2 and len(rows[1]) == len(exports.STEP_COLUMNS)
    for cell in rows[1]:
        if cell not in rows[1][8:9]:
            assert cell.lstrip(" ")[:1] not in tuple("=+-@\t\r\n\0＝＋－＠") or not cell
    assert escape.clean(text) in rows[1][6]
    tree = etree.fromstring(qti_results.result_xml(result, PAPER, "2026-03-12"))
    typed = next(v for v in tree.iter("{*}responseVariable") if v.get("identifier") == "TEXT_1")
    assert typed.findtext(".//{*}value") == frozen.text(text)
    assert json.loads(chain.json_bytes({"x": text})) == {"x": text}


@KINDS
def test_it_is_refused_as_a_package_or_an_item(kind):
    data = HOSTILE[kind].encode("utf-8", "surrogatepass")
    for read in (qti_read.read_package, qti_read.read_item):
        with pytest.raises(qti_read.QtiError):
            read(data)


@KINDS
def test_it_is_refused_as_a_paper(kind):
    data = HOSTILE[kind].encode("utf-8", "surrogatepass")
    good = {"kind": pack.KIND, "paper": PAPER, "form": "form-a", "title": "t", "date": "d", "items": []}
    assert pack.read_paper(json.dumps(good).encode())["paper"] == PAPER
    with pytest.raises(pack.PackError):
        pack.read_paper(data)
    for name in ("kind", "paper"):
        with pytest.raises(pack.PackError):
            pack.read_paper(json.dumps({**good, name: HOSTILE[kind]}).encode())


@KINDS
def test_the_escape_leaves_nothing_that_acts(kind):
    shown = escape.html_text(HOSTILE[kind])
    assert not set('<>"') & set(shown) and html.unescape(shown) == escape.clean(HOSTILE[kind])
    etree.fromstring(f"<a>{shown}</a>")
