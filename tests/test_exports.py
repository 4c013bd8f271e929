"""Exports: RFC 4180 by the csv module and pandas, formulas made harmless, numbers kept, results in XML."""

from __future__ import annotations

import csv
import io
import json

import pandas
import pytest
from lxml import etree

from gaslab import escape
from gaslab.assess import analysis, chain, exports, pictures, qti_results, standard
from gaslab.assess.results import Result, SlipCounter, StepResult, teach_next


def step(item="q01", text="-0.4", read="-0.4", marks=1, slip="", **more) -> StepResult:
    fields = {
        "family": "leak-from-drop", "step": "drop", "kind": "sum", "unit": "mbar", "outcome": "right",
        "most": 1,
        "precise": True, "rule": "S1", "words": "In the band.",
    }  # fmt: skip
    return StepResult(item=item, text=text, read=read, marks=marks, slip=slip, **{**fields, **more})


def result(candidate="GAS-0001", steps=(), **more) -> Result:
    fields = {
        "form": "form-a",
        "file": "a.attempt.jsonl",
        "receipt": "0000-0000-0000-0000",
        "seconds": 61.5,
        "missed": (),
    }
    return Result(candidate=candidate, steps=tuple(steps or [step()]), **{**fields, **more})


FORMULAS = [
    "=1+1",
    "+1",
    "-1+2",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "＝1",
    "＋1",
    "－1",
    "＠x",
    " =1",
    "\x00=1",
    "'=1",
    "=cmd|' /C calc'!A0",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_in_a_text_column_is_only_text(text):
    cell = _rows(exports.csv_bytes({"a": exports.TEXT, "b": exports.NUMBER}, [(text, 1)]))[1][0]
    assert cell.lstrip()[:1] not in tuple("=+-@＝＋－＠\t\r\n") and cell
    if "\x00" not in text:
        assert cell == "'" + text  # nothing of it is lost


def _rows(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))


def test_numbers_stay_numbers():
    data = exports.csv_bytes(
        {"t": exports.TEXT, "n": exports.NUMBER}, [("-0.4", -0.4), ("x", None), ("y", True)]
    )
    assert data == b"t,n\r\n'-0.4,-0.4\r\nx,\r\ny,1\r\n"
    frame = pandas.read_csv(io.BytesIO(data))
    assert frame["n"].tolist()[0] == -0.4
    for bad in (float("nan"), float("inf"), "=1+1", "1"):
        with pytest.raises(exports.ExportError, match="holds numbers"):
            exports.csv_bytes({"n": exports.NUMBER}, [(bad,)])


def test_rfc_4180():
    """RFC 4180: CRLF after each record, cells with quotes, commas or breaks are quoted, quotes doubled."""
    data = exports.csv_bytes(
        {"a": exports.TEXT, "b": exports.TEXT}, [('say "hi"', "x,y"), ("one\r\ntwo", "é")]
    )
    assert data == 'a,b\r\n"say ""hi""","x,y"\r\n"one\r\ntwo",é\r\n'.encode()
    assert exports.csv_bytes({"a": exports.TEXT}, [], spreadsheet=True) == b"\xef\xbb\xbfa\r\n"
    assert _rows(data)[1:] == [['say "hi"', "x,y"], ["one\r\ntwo", "é"]]


def test_every_step_row_reads_back():
    results = [
        result(
            steps=[
                step(text="=2+3", read=None, outcome="unread"),
                step(item="q02", override="Looked, agreed."),
            ]
        )
    ]
    frame = pandas.read_csv(io.BytesIO(exports.steps_csv(results)), dtype={"answer": str})
    assert frame["answer"].tolist() == ["'=2+3", "'-0.4"]
    assert frame["read"].tolist()[1] == -0.4 and pandas.isna(frame["read"].tolist()[0])
    assert frame["override_reason"].tolist()[1] == "Looked, agreed."
    assert list(frame.columns) == list(exports.STEP_COLUMNS)


def test_results_with_decisions():
    made = {"GAS-0001": standard.decide("GAS-0001", 1, ["q01"], 0.5, None)}
    rows = _rows(exports.results_csv([result(missed=("q01",)), result("GAS-0002")], made))
    assert rows[1][:8] == ["GAS-0001", "form-a", "1", "1", "1", "1", "q01", "not yet"]
    assert rows[2][7] == ""


def test_a_refused_analysis_says_so_in_the_table():
    found = analysis.analyse(["q01"], [[1.0]] * 12, [1])
    rows = _rows(exports.items_csv(found))
    assert len(rows) == 2 and rows[1][1] == "12" and rows[1][-1].startswith("Not enough attempts: 12")


def test_the_slip_table_pools_a_family_and_says_what_to_teach():
    made = [
        result(f"GAS-{n:04d}", [step(slip="net-for-gross" if n % 3 == 0 else "", marks=0)]) for n in range(9)
    ]
    made.append(result("GAS-9999", [step(text=" ", read=None)]))
    counter = SlipCounter()
    for each in made:
        counter.add(each)
    rows = counter.rows()
    assert [(r.count, r.answers, r.slip) for r in rows] == [(3, 9, "net-for-gross")]
    assert "3 of 9 made the slip net-for-gross" in teach_next(rows)[0]
    assert _rows(exports.slips_csv(rows))[1] == [
        "leak-from-drop",
        "drop",
        "net-for-gross",
        "3",
        "9",
        repr(3 / 9),
    ]
    heat = pictures.slip_heat(rows)
    assert heat.shares == ((3 / 9,),) and "3 of 9 answers" in heat.sentence
    assert pictures.slip_heat([]).sentence == "No named slip was made."


def test_pictures_hold_the_counts():
    chart = pictures.score_distribution([0, 3, 3, 5], 5, cut=3.0, error=0.5)
    assert chart.counts == (1, 0, 0, 2, 0, 1) and chart.band == (2.5, 3.5)
    assert "3 reach the cut of 3.0" in chart.sentence and "2 lie nearer" in chart.sentence
    assert pictures.score_distribution([], 5).sentence == "No attempts yet."
    with pytest.raises(analysis.AnalysisError, match="above the most"):
        pictures.score_distribution([6], 5)
    profile = pictures.cohort_profile({"reading": [0.0] * 4, "sum": [1.0] * 4, "set-up": []})
    assert [(k, i.value) for k, i in zip(profile.kinds, profile.shares, strict=True)] == [
        ("sum", 1.0),
        ("reading", 0.0),
    ]
    few = pictures.item_map(analysis.analyse(["a"], [[1.0]] * 5, [1]))
    assert few.points == () and few.sentence.startswith("Not enough")
    many = [[n % 2, (n // 2) % 2, n % 2] for n in range(40)]
    points = pictures.item_map(analysis.analyse(["a", "b", "c"], many, [1, 1, 1])).points
    assert [p.name for p in points] == ["a", "b", "c"] and [p.flagged for p in points] == [False, True, False]


def test_results_in_xml_keep_what_was_typed():
    typed = "<b>21\x0b,5</b> & \u202e"
    data = qti_results.result_xml(result(steps=[step(text=typed, read=None)]), "0Z7R-009X", "2026-03-12")
    tree = etree.fromstring(data)
    words = {v.get("identifier"): v.findtext(".//{*}value") for v in tree.iter("{*}responseVariable")}
    assert words["TEXT_1"] == "<b>21\ufffd,5</b> & \ufffd" and words["ANSWER_1"] is None
    assert tree.find("{*}context").get("sourcedId") == "GAS-0001"
    scores = {v.get("identifier"): v.findtext("{*}value") for v in tree.find("{*}testResult")}
    assert scores == {"SCORE": "1", "SCORE_MAX": "1", "CRITICAL_MISSED": "0"}
    assert data == qti_results.result_xml(
        result(steps=[step(text=typed, read=None)]), "0Z7R-009X", "2026-03-12"
    )


def test_json_refuses_what_json_has_not():
    assert json.loads(chain.json_bytes({"a": "é"})) == {"a": "é"}
    with pytest.raises(ValueError, match="JSON"):
        chain.json_bytes({"a": float("nan")})


@pytest.mark.parametrize(
    "name", ["../../x", "..\\x", "con", "NUL.txt", "a/b", "", "x" * 500, "\u202exyz", ".hidden", "a\x00b"]
)
def test_a_file_name_stays_in_its_folder(name, tmp_path):
    safe = escape.file_name(name, ".csv")
    path = (tmp_path / safe).resolve()
    assert path.parent == tmp_path.resolve() and len(safe) < 100 and not safe.startswith(".")
    assert safe.split(".")[0].lower() not in ("con", "nul")
