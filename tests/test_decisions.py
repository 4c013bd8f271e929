"""A paper that asks for the decision: yes or no to a limit, told to nobody, and marked twice."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree
from sitting import DATE, SECRET

from gaslab.assess import (
    attempt_reader,
    cohort,
    demo,
    exports,
    folders,
    guide,
    leaks,
    marking_batch,
    pack,
    papers,
    parity,
    qti,
    qti_names,
    qti_read,
    qti_results,
    qti_run,
    variants,
)
from gaslab.assess import sitting as sheets
from gaslab.assess.attempt_reader import HandedIn
from gaslab.assess.frozen import FrozenError, checked
from gaslab.assess.marking_batch import Ready
from gaslab.assess.papers import Plan
from gaslab.assess.variants import Bank, PaperError, Question
from gaslab.learn import items

EARLIER = Path(__file__).parent / "earlier"
ASKED = (Question("drop-from-leak", decision=2), Question("wobbe-number", marks=3, decision=1))
LIMITED = sorted(name for name, family in items.families().items() if family.limits)


@pytest.fixture(scope="module")
def paper():
    return papers.build(Plan("Kitchen refit numbers", DATE, (*ASKED, Question("gas-rate-metric")), 6), SECRET)


def drop(given: float, marks: int = 2) -> Ready:
    """A joint leaks 1.2 dm³/h for 2 minutes from 10 dm³: 0.040 dm³ goes, and 0.04 × 1013 ÷ 10 = 4.05 mbar."""
    variant = Bank().variant("drop-from-leak", {"leak": 1.2, "volume": 10.0, "given": given})
    question = Question("drop-from-leak", decision=marks)
    return Ready(variants.freeze(variant, "q01", question, ("lost", "drop")), variant)


def told(ready: Ready, figure: str, said: str, unit: str = "mbar", overrides=None):
    """The marked decision of a candidate who gives this figure for the drop and says this."""
    answers = {
        ("q01", step): {"text": text, "unit": used, "read": read}
        for step, text, used, read in (
            ("lost", "0.040", "dm3", "0.040"), ("drop", figure, unit, figure or None), ("decision-1", said, "", None),
        )
    }  # fmt: skip
    attempt = HandedIn("a", "GAS-0001", "P", "d", "form-a", "gaslab", "R", b"", 1.0, answers)
    return marking_batch.mark(attempt, [ready], overrides)


# What the trainee holds


def test_the_trainee_gets_the_question_and_neither_answer_nor_verdict(paper):
    for form in paper.forms:
        files = folders.pack_files(paper, form)
        assert leaks.search(files, form.items, SECRET) == ()
        held = json.loads(files[pack.JSON_NAME])["items"]
        assert [len(item.get("decisions", ())) for item in held] == [1, 2, 0]
        for item in held[:2]:
            assert all(set(each) == {"decision", "ask", "marks"} for each in item["decisions"])
        page = files[pack.HTML_NAME].decode()
        assert page.count("Tick one. Yes") == 3
        for decision in (each for item in form.items for each in item.decisions):
            for words in (decision.limit.words_meets, decision.limit.words_fails):
                assert words not in page and words not in json.dumps(held, ensure_ascii=False)
            assert decision.limit.ask in page


def test_what_the_trainee_holds_is_the_same_whatever_the_truth():
    item = drop(3.0).item
    limit = item.decisions[0].limit
    turned = replace(limit, meets=not limit.meets, low=1.0, high=99.0, words_meets="a", words_fails="b")
    other = replace(item, decisions=(replace(item.decisions[0], limit=turned),))
    assert pack.item_data(item) == pack.item_data(other)
    assert pack.question_html(item) == pack.question_html(other)


def test_a_verdict_in_a_pack_is_a_leak(paper):
    form = paper.forms[0]
    files = folders.pack_files(paper, form)
    for words in ("No, it is over the limit given here.", "Yes, it is not below the lower limit."):
        page = files[pack.HTML_NAME].replace(b"</body>", f"<p>{words}</p></body>".encode())
        found = leaks.search({**files, pack.HTML_NAME: page}, form.items, SECRET)
        assert [leak.found for leak in found] == [words]


@pytest.mark.parametrize("family", LIMITED)
def test_every_family_with_a_limit_can_ask_for_its_decision(family):
    plan = Plan("Numbers", DATE, (Question(family, decision=1),), 1)
    try:
        paper = papers.build(plan, SECRET)
    except PaperError as error:
        assert "as reading an instrument does" in str(error)
        return
    item = paper.forms[0].items[0]
    assert len(item.decisions) == len(items.family(family).limits)
    assert leaks.search(folders.pack_files(paper, paper.forms[0]), [item], SECRET) == ()
    for decision in item.decisions:
        worked = Bank().variant(family, item.params).step(decision.limit.step).value
        high = decision.limit.high
        low = decision.limit.low
        assert decision.limit.meets == ((high is None or worked <= high) and (low is None or worked >= low))


@pytest.mark.parametrize(
    ("question", "words"),
    [
        (Question("gas-rate-metric", decision=1), "against no limit"),
        (Question("co-ratio", decision=21), "A decision gives"),
        (Question("co-ratio", decision=-1), "A decision gives"),
        (Question("co-ratio", decision=True), "A decision gives"),
    ],
)
def test_a_decision_that_cannot_be_asked(question, words):
    with pytest.raises(PaperError, match=words):
        papers.build(Plan("Numbers", DATE, (question,), 1), SECRET)


# Key and guide


def test_the_key_comes_back_and_the_guide_gives_the_reason(paper):
    key = guide.key_of(paper)
    data = guide.key_json(key)
    assert guide.read_key(data) == key and guide.key_json(guide.read_key(data)) == data
    assert key.plan.questions[0].decision == 2
    ready = drop(3.0)
    page = guide.guide_html(replace(key, forms={"form-a": (ready.item,)})).decode()
    assert "Answer <b>No</b>. No, it is over the limit given here." in page
    assert "to 3 mbar, both included" in page and "(decision, two marks)" in page
    assert "earns its marks when it is right in truth" in page


def test_a_key_whose_truth_was_turned_is_refused(paper):
    loaded = json.loads(guide.key_json(guide.key_of(paper)))
    limit = loaded["forms"]["form-a"][0]["decisions"][0]["limit"]
    for change in ({"meets": not limit["meets"]}, {"high": limit["high"] + 1}, {"low": 0.5}):
        was = dict(limit)
        limit.update(change)
        with pytest.raises(guide.KeyFileError, match="another limit"):
            marking_batch.prepared(guide.read_key(json.dumps(loaded).encode()))
        limit.clear()
        limit.update(was)


@pytest.mark.parametrize(
    "change",
    [{"meets": 1}, {"low": None, "high": None}, {"high": float("nan")}, {"high": "3"}, {"unit": "furlong"}],
)
def test_a_decision_that_cannot_stand_in_a_key(change):
    item = drop(3.0).item
    limit = replace(item.decisions[0].limit, **change)
    with pytest.raises(FrozenError, match=r"limit|decision"):
        checked(replace(item, decisions=(replace(item.decisions[0], limit=limit),)))


def test_a_decision_never_shares_a_name_with_a_step():
    item = drop(3.0).item
    with pytest.raises(FrozenError, match="a name that no step has"):
        checked(replace(item, decisions=(replace(item.decisions[0], id="drop"),)))


# Marking. The drop is 4.05 mbar; the limit is given with each case.


@pytest.mark.parametrize(
    ("given", "figure", "unit", "said", "rule", "marks", "unsafe"),
    [
        (5.0, "4.1", "mbar", "Yes", "D1", 2, False),
        (3.0, "4.1", "mbar", "No", "D1", 2, False),
        (3.0, "2.0", "mbar", "Yes", "D2", 0, True),  # half the drop: it fits that figure, and is not safe
        (5.0, "8.1", "mbar", "No", "D2", 0, False),  # wrong, but it stops what could go on
        (3.0, "2.0", "mbar", "No", "D3", 2, False),
        (5.0, "8.1", "mbar", "Yes", "D3", 2, False),
        (3.0, "4.1", "mbar", "Yes", "D4", 0, True),
        (5.0, "4.1", "mbar", "No", "D4", 0, False),
        (3.0, "410", "Pa", "No", "D1", 2, False),
        (3.0, "200", "Pa", "Yes", "D2", 0, True),  # 200 Pa is 2.0 mbar
        (3.0, "", "mbar", "Yes", "D4", 0, True),  # no figure of their own: held against the worked one
    ],
)
def test_a_decision_is_held_against_the_own_figure_and_the_truth(
    given, figure, unit, said, rule, marks, unsafe
):
    found = told(drop(given), figure, said, unit)
    last = found.steps[-1]
    assert (last.step, last.kind, last.rule, last.marks, last.most) == (
        "decision-1",
        "decision",
        rule,
        marks,
        2,
    )
    assert last.unsafe is unsafe and last.rule in marking_batch.RULES
    assert last.outcome == ("right" if marks else "wrong decision") and found.notes == ()


def test_an_unsafe_decision_is_listed_and_never_earns():
    count = cohort.Cohort(["q01"], [4])
    count.add(told(drop(3.0), "2.0", "Yes"))
    assert [(item, step) for _, item, step, _ in count.unsafe] == [("q01", "drop"), ("q01", "decision-1")]
    assert [words.partition(":")[0] for *_, words in count.unsafe] == ["Consistent but unsafe"] * 2
    against = cohort.Cohort(["q01"], [4])
    against.add(told(drop(3.0), "4.1", "Yes"))
    assert [words.partition(":")[0] for *_, words in against.unsafe] == ["Unsafe, and against the own figure"]
    rows = exports.steps_csv([told(drop(3.0), "2.0", "Yes"), told(drop(3.0), "4.1", "Yes")]).decode()
    decided = [line.split(",") for line in rows.splitlines() if "decision-1" in line]
    at = list(exports.STEP_COLUMNS).index("consistent_but_unsafe")
    assert [line[at] for line in decided] == ["1", "0"]


def test_a_critical_question_is_missed_when_only_its_decision_is_wrong():
    ready = drop(3.0)
    assert ready.item.critical
    assert told(ready, "4.1", "No").missed == ()
    assert told(ready, "4.1", "Yes").missed == ("q01",)
    assert told(ready, "4.1", "").missed == ("q01",)


@pytest.mark.parametrize(
    ("said", "outcome"), [("", "blank"), ("maybe", "no answer"), ("yes no", "no answer")]
)
def test_no_decision_earns_nothing_and_says_so(said, outcome):
    found = told(drop(5.0), "4.1", said)
    last = found.steps[-1]
    assert (last.outcome, last.marks, last.rule, last.unsafe) == (outcome, 0, "D0", False)
    assert last.unread is (outcome == "no answer")
    assert "Yes" in last.words or last.words == "No answer."


def test_a_decision_that_the_form_does_not_ask_is_named():
    ready = drop(5.0)
    bare = Ready(replace(ready.item, decisions=()), ready.variant)
    assert "decision-1, which this form does not ask" in told(bare, "4.1", "Yes").notes[0]


# The reports, the analysis, the exports


def test_the_parity_report_says_where_the_truth_lies():
    plan = Plan("Numbers", DATE, (Question("drop-from-leak", decision=1),), 3)
    forms = tuple(
        papers.Form(f"form-{letter}", (drop(given).item,))
        for letter, given in (("a", 3.0), ("b", 5.0), ("c", 3.0))
    )
    rows = parity.report(papers.Paper("P", plan, forms))
    words = "Q01: the right decision-1 is Yes on form-b and No on form-a, form-c."
    assert words in parity.sentences(rows)
    assert [(r.low, r.middle, r.high, r.differs) for r in rows if r.sentence == words] == [(0, 0, 1, True)]
    alike = parity.sentences(parity.report(papers.Paper("P", plan, (forms[0], forms[2]))))
    assert alike == ("Q01: the right decision-1 is No on form-a, form-c.",)


def test_a_batch_with_decisions_is_marked_analysed_and_written_out(paper, tmp_path):
    key = guide.read_key(guide.key_json(guide.key_of(paper)))
    demo.write_batch(key, tmp_path, 40)
    out = tmp_path.parent / f"{tmp_path.name}.jsonl"
    found = marking_batch.mark_to_file(tmp_path, key, out)
    first = out.read_bytes()
    marking_batch.mark_to_file(tmp_path, key, out)
    assert out.read_bytes() == first, "marking again gives the same bytes"
    assert found.most == tuple(item.marks for item in paper.forms[0].items)
    assert found.most[0] == 1 + 1 + 2, "two steps of one mark and a decision of two"
    assert len(found.analysis().items) == 3 and not found.analysis().refused
    assert found.profile().kinds[-1] == "decision"
    marked = [
        each for each in marking_batch.mark_folder(tmp_path, key) if isinstance(each, marking_batch.Result)
    ]
    rules = {step.rule for each in marked for step in each.steps if step.kind == "decision"}
    assert {"D1", "D2", "D3", "D4"} >= rules >= {"D1", "D4"}
    tree = etree.fromstring(qti_results.result_xml(marked[0], key.paper, DATE))
    names = [node.get("identifier") for node in tree.iter("{*}responseVariable")]
    assert names.count("DECISION_1") == 2 and names.count("DECISION_2") == 1


@pytest.mark.parametrize("version", qti_names.VERSIONS)
def test_a_decision_goes_out_as_a_choice_and_comes_back_the_same(paper, version):
    rules = etree.RelaxNG(etree.parse(str(Path(qti.__file__).parent / f"qti-subset-{version}.rng")))
    for item in (each for form in paper.forms for each in form.items):
        data = qti.item_xml(item, version)
        assert rules.validate(etree.fromstring(data)), rules.error_log
        assert qti_read.read_item(data) == item
    assert qti_read.read_package(qti.package(paper.forms[0].items, "p", version)) == paper.forms[0].items


@pytest.mark.parametrize("version", qti_names.VERSIONS)
def test_the_choice_is_marked_by_its_own_rules(version):
    for given, right, wrong in ((5.0, "YES", "NO"), (3.0, "NO", "YES")):
        data = qti.item_xml(drop(given).item, version)
        found = {said: qti_run.run(data, {"DECISION_1": said}) for said in (right, wrong, None)}
        assert [each["SCORE_DECISION_1"] for each in found.values()] == [2, 0, 0]
        assert [each["SCORE"] for each in found.values()] == [2, 0, 0]
        whole = {"DECISION_1": right, "ANSWER_1": 0.04, "UNIT_1": "U1", "ANSWER_2": 4.1, "UNIT_2": "U1"}
        assert qti_run.run(data, whole)["SCORE"] == 4


def test_a_changed_choice_is_not_imported():
    data = qti.item_xml(drop(5.0).item)
    for old, new in ((b">YES</value>", b">NO</value>"), (b'maxChoices="1"', b'maxChoices="2"'),
                     (b"<simpleChoice identifier=\"NO\">No", b"<simpleChoice identifier=\"NO\">Never")):  # fmt: skip
        changed = data.replace(old, new)
        assert changed != data
        if new == b">NO</value>":
            assert (
                qti_read.read_item(changed).decisions[0].limit.meets is False
            )  # the marker refuses that key
        else:
            with pytest.raises(qti_read.QtiError):
                qti_read.read_item(changed)


# Sitting the paper file


def test_the_paper_file_opens_with_its_decisions(paper):
    form = paper.forms[0]
    sheet = sheets.open_sheet(form.json(paper.number, paper.plan))
    decides = [(part.item, part.step, part.marks) for part in sheet.parts if part.decides]
    assert decides == [
        ("q01", "decision-1", "two marks"), ("q02", "decision-1", "one mark"), ("q02", "decision-2", "one mark"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "decisions", [5, [5], [{}], [{"decision": "decision-1", "ask": "?", "marks": "one mark", "meets": True}],
                  [{"decision": "../x", "ask": "?", "marks": "one mark"}],
                  [{"decision": "drop", "ask": "?", "marks": "one mark"}],
                  [{"decision": "decision-1", "ask": 5, "marks": "one mark"}]],
)  # fmt: skip
def test_a_paper_file_with_a_bad_decision_is_refused(paper, decisions):
    loaded = json.loads(paper.forms[0].json(paper.number, paper.plan))
    loaded["items"][0]["decisions"] = decisions
    with pytest.raises(pack.PackError, match=r"Ask for the file|unknown or missing"):
        sheets.open_sheet(json.dumps(loaded).encode())


# What was written before decisions could be asked


def test_a_key_of_before_reads_and_is_written_the_same():
    data = (EARLIER / "key.json").read_bytes()
    key = guide.read_key(data)
    assert guide.key_json(key) == data
    assert all(not item.decisions for item in key.forms["form-a"])
    assert papers.paper_number(key.plan, SECRET) == key.paper, "the same plan and secret give the same paper"


def test_a_paper_of_before_is_written_and_opened_the_same():
    data = (EARLIER / "paper.json").read_bytes()
    key = guide.read_key((EARLIER / "key.json").read_bytes())
    held = json.loads(data)
    readings = {item["item"]: item.get("reading") for item in held["items"]}
    form = papers.Form("form-a", key.forms["form-a"], readings)
    assert form.json(key.paper, key.plan) == data
    page = pack.paper_html(
        key.paper, "form-a", key.plan.title, key.plan.date, form.items, readings=form.readings
    )
    assert page == (EARLIER / "paper.html").read_bytes()
    assert (
        parity.report_csv(parity.report(papers.Paper(key.paper, key.plan, (form,))))
        == (EARLIER / "parity.csv").read_bytes()
    )
    assert not any(part.decides for part in sheets.open_sheet(data).parts)


def test_attempts_of_before_are_marked_the_same():
    key = guide.read_key((EARLIER / "key.json").read_bytes())
    found = marking_batch.mark_folder(EARLIER / "attempts", key)
    assert b"".join(map(marking_batch.result_line, found)) == (EARLIER / "marks.jsonl").read_bytes()


def test_a_question_without_a_decision_is_written_as_before():
    assert "decision" not in Question("co-ratio").data()
    assert Question("co-ratio", decision=1).data()["decision"] == 1
    plain = Plan("t", DATE, (Question("co-ratio"),))
    asked = Plan("t", DATE, (Question("co-ratio", decision=1),))
    assert papers.paper_number(plain, SECRET) != papers.paper_number(asked, SECRET)


def test_an_attempt_holds_the_decision_as_it_was_said(paper, tmp_path):
    form = paper.forms[0]
    sheet = sheets.open_sheet(form.json(paper.number, paper.plan))
    attempt, _ = sheets.begin(sheet, "GAS-0001", tmp_path)
    attempt.answer("q01", "decision-1", "Yes", "", None)
    attempt.answer("q01", "decision-1", "No", "", None)
    attempt.hand_in()
    key = guide.key_of(paper)
    back = attempt_reader.read(attempt.path, key.paper, dict(key.digests))
    assert back.answers["q01", "decision-1"]["text"] == "No" and back.changes == 1
    ready: list[Ready] = list(marking_batch.prepared(key)["form-a"])
    found = next(
        s for s in marking_batch.mark(back, ready).steps if (s.item, s.step) == ("q01", "decision-1")
    )
    assert found.marks == (0 if form.items[0].decisions[0].limit.meets else 2)
