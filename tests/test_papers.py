"""Papers: the same secret gives the same paper, and no file of a pack gives anything away."""

from __future__ import annotations

import ast
import json
import os
import re
import stat
from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest
import sitting
from sitting import SECRET

from gaslab.assess import folders, guide, leaks, pack, papers, parity
from gaslab.assess.papers import Plan
from gaslab.assess.sitting import begin, open_sheet
from gaslab.assess.variants import Bank, PaperError, Question, asked

LONG = os.environ.get("GASLAB_LONG") == "1"
PACKS = 100 if LONG else 10


@pytest.fixture(scope="module")
def paper():
    return sitting.built(questions=20, forms=PACKS)


@pytest.fixture(scope="module")
def written(paper, tmp_path_factory) -> Path:
    return folders.write(paper, SECRET, tmp_path_factory.mktemp("papers") / "paper")


def spellings(value: float, lo: float, hi: float) -> set[str]:
    """Every rounding of a number that would be marked right, in every usual spelling."""
    exact = Decimal(repr(abs(value)))
    found = set()
    for places in range(-4, 10):
        for way in (ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_FLOOR, ROUND_CEILING):
            rounded = exact.quantize(Decimal(1).scaleb(-places), rounding=way)
            signed = float(rounded) if value >= 0 else -float(rounded)
            if lo <= signed <= hi:
                plain = f"{rounded:f}"
                trimmed = plain.rstrip("0").rstrip(".") if "." in plain else plain
                found |= {
                    plain,
                    trimmed,
                    plain.replace(".", ","),
                    trimmed.replace(".", ","),
                    trimmed.lstrip("0"),
                }
    return found - {""}


def test_no_file_of_any_pack_holds_an_answer_an_edge_a_slip_or_the_secret(paper, written):
    """Written without the builder's own search: other tokens, other roundings, every file, nothing excused."""
    searched = 0
    for form in paper.forms:
        for path in sorted((written / folders.HAND_OUT / form.name).rglob("*")):
            text = path.read_text(encoding="utf-8")
            if path.suffix == ".json":
                text += "\n" + json.dumps(json.loads(text), ensure_ascii=False)
            tokens = set(re.findall(r"(?<![\w.,])\d+(?:[.,]\d+)*", text))
            # A label of one plain word may stand in a stem; as a whole string or cell it may not.
            words = {w for w in re.findall(r"[\w-]+", text) if "-" in w} | set(
                re.findall(r"(?<=[\"'>])\w+(?=[\"'<])", text)
            )
            for item, step in ((i, s) for i in form.items for s in i.steps):
                wanted = spellings(step.value, step.lo, step.hi) | {repr(abs(step.lo)), repr(abs(step.hi))}
                assert not wanted & tokens, (path, item.family, step.id, wanted & tokens)
                for slip in step.slips:
                    assert slip.id not in words and slip.says not in text, (path, slip.id)
                assert step.worked not in text
            assert SECRET.hex() not in text.lower() and SECRET not in path.read_bytes()
            searched += 1
    assert searched == 2 * PACKS


def test_the_builders_own_search_finds_what_is_planted(paper):
    form = paper.forms[0]
    clean = folders.pack_files(paper, form)
    assert leaks.search(clean, form.items, SECRET) == ()
    step = form.items[3].steps[0]
    slip = next(s for i in form.items for t in i.steps for s in t.slips)
    planted = {
        "answer": f"{step.value:.9f}", "low edge": repr(step.lo), "high edge": repr(step.hi),
        "comma": f"{step.value:.9f}".replace(".", ","), "glued unit": f"{step.value:.9f}mbar",
        "slip": f"<td>{slip.id}</td>",
        "sentence": slip.says, "hex": SECRET.hex(), "upper hex": SECRET.hex().upper(), "worked": step.worked,
        "grouped": "-".join(SECRET.hex()[n : n + 4] for n in range(0, 64, 4)),
    }  # fmt: skip
    for name, text in planted.items():
        page = clean[pack.HTML_NAME].replace(b"</body>", f"<p>{text}</p></body>".encode())
        assert leaks.search({**clean, pack.HTML_NAME: page}, form.items, SECRET), name
    assert leaks.search({**clean, f"{step.value:.9f}.txt": b""}, form.items, SECRET), "a file's name"
    assert leaks.search({**clean, "x.bin": b"\x00" + SECRET}, form.items, SECRET), "raw bytes"
    hidden = clean[pack.HTML_NAME].replace(
        b"</body>", b"<p>&#x%x;" % ord(slip.id[0]) + slip.id[1:].encode() + b"</p>"
    )
    assert leaks.search({**clean, pack.HTML_NAME: hidden}, form.items, SECRET), "written as an entity"


def test_a_pack_with_a_leak_is_never_written(paper, tmp_path):
    item = paper.forms[0].items[0]
    told = replace(item, title=f"It is {item.steps[0].value:.6f}")
    bad = replace(paper, forms=(replace(paper.forms[0], items=(told, *paper.forms[0].items[1:])),))
    with pytest.raises(PaperError, match="nothing is written"):
        folders.write(bad, SECRET, tmp_path / "p")
    assert list(tmp_path.iterdir()) == []


def test_the_trainees_file_holds_stems_and_readings_only(written):
    paths = list((written / folders.HAND_OUT).rglob("*.json"))
    assert len(paths) == PACKS
    names = set()
    for path in paths:
        paper = pack.read_paper(path.read_bytes())
        names |= {key for item in paper["items"] for key in item}
        names |= {key for item in paper["items"] for step in item["steps"] for key in step}
        names |= {key for item in paper["items"] for key in item.get("reading", {})}
    allowed = {
        "item",
        "title",
        "stem",
        "steps",
        "reading",
        "step",
        "ask",
        "units",
        "precision",
        "marks",
        "instrument",
    }
    assert names <= allowed | {"shows"}
    assert b"correctResponse" not in b"".join(path.read_bytes() for path in paths)


def test_the_same_secret_gives_the_same_paper_and_another_does_not():
    one, again = sitting.built(5, 2), sitting.built(5, 2)
    assert one == again
    other = papers.build(sitting.plan(5, 2), bytes(32))
    assert other.number != one.number and other.forms != one.forms
    later = papers.build(replace(sitting.plan(5, 2), date="2031-11-29"), SECRET)
    assert later.number != one.number and later.forms != one.forms


def test_forms_differ_and_ask_the_same(paper):
    for place in range(20):
        column = [form.items[place] for form in paper.forms]
        seen = {
            str(pack.item_data(f.items[place], f.readings[f.items[place].identifier])) for f in paper.forms
        }
        assert len(seen) > PACKS // 2
        assert (
            len({(i.family, i.version, tuple(s.id for s in i.steps), i.marks, i.critical) for i in column})
            == 1
        )
    assert [i.identifier for i in paper.forms[0].items if i.critical][:1] and paper.forms[0].items[2].critical


def test_key_and_pack_hold_the_same_paper_and_digest(paper, written):
    key = guide.read_key((written / folders.ASSESSOR / "key.json").read_bytes())
    assert key.paper == paper.number and key.plan == paper.plan
    for form in paper.forms:
        data = (written / folders.HAND_OUT / form.name / pack.JSON_NAME).read_bytes()
        assert pack.digest(data) == key.digests[form.name] and pack.read_paper(data)["paper"] == paper.number
        assert key.forms[form.name] == form.items


def test_the_assessors_folder_is_kept_private_and_out_of_git(written, paper):
    secret = written / folders.ASSESSOR / folders.SECRET
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600 and folders.read_secret(written) == SECRET
    assert (written / ".gitignore").read_text() == "*\n"
    with pytest.raises(PaperError, match="nothing was overwritten"):
        folders.write(paper, SECRET, written)


def test_the_marking_guide_shows_each_answer_and_its_working(paper, written):
    text = (written / folders.ASSESSOR / "marking-guide.html").read_text(encoding="utf-8")
    from gaslab.escape import html_text

    for item in paper.forms[0].items:
        for step in item.steps:
            assert html_text(step.worked) in text and f"<b>{step.value:.6g} " in text
    for words in (
        "under supervision",
        "follow-through",
        "Never open or run a notebook",
        "candidate number",
        "Delete",
    ):
        assert words.lower() in text.lower()


def test_parity_says_what_differs(paper):
    rows = parity.report(paper)
    assert len(rows) == 20 * len(parity.MEASURES)
    same = parity.report(replace(paper, forms=(paper.forms[0],) * 3))
    assert not any(row.differs for row in same)
    assert parity.sentences(same) == ("The forms agree in everything that is counted.",)
    first = paper.forms[0]
    longer = replace(first.items[0], stem=first.items[0].stem + " 111 222 333 444 555")
    changed = replace(first, name="form-z", items=(longer, *first.items[1:]))
    found = parity.sentences(parity.report(replace(paper, forms=(first, changed))))
    assert len(found) == 1 and "numbers in the question" in found[0] and "form-z" in found[0]


def test_seats_are_shared_out_evenly_and_the_same_again():
    numbers = [f"GAS-{n:04d}" for n in range(41)]
    seats = papers.assigned(numbers, sitting.plan(3, 4), SECRET)
    assert seats == papers.assigned(numbers[::-1], sitting.plan(3, 4), SECRET)
    counts = [list(seats.values()).count(papers.form_name(n)) for n in range(4)]
    assert sorted(counts) == [10, 10, 10, 11]


GOOD = Question("gas-rate-metric")


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (Plan("t", "12/03/2026", (GOOD,)), "year-month-day"),
        (Plan("t", "2026-13-01", (GOOD,)), "year-month-day"),
        (Plan("", "2026-03-12", (GOOD,)), "title"),
        (Plan("a\nb", "2026-03-12", (GOOD,)), "title"),
        (Plan("a\u202eb", "2026-03-12", (GOOD,)), "title"),
        (Plan("t", "2026-03-12", ()), "1 to 60 questions"),
        (Plan("t", "2026-03-12", (GOOD,), 0), "forms"),
        (Plan("t", "2026-03-12", (Question("gas-rate-metric", marks=0),)), "marks"),
        (Plan("t", "2026-03-12", (Question("gas-rate-metric", ()),)), "has the steps"),
        (Plan("t", "2026-03-12", (Question("gas-rate-metric", ("x",)),)), "has the steps"),
    ],
)
def test_a_plan_that_cannot_be_a_paper(plan, words):
    with pytest.raises(PaperError, match=words):
        papers.build(plan, SECRET)
    with pytest.raises(PaperError, match="too short"):
        papers.build(Plan("t", "2026-03-12", (GOOD,)), b"short")


def test_every_family_can_be_asked_or_says_why_not():
    bank = Bank()
    from gaslab.learn import items

    for family in items.families():
        try:
            assert asked(Question(family), bank).steps
        except PaperError as error:
            assert "as reading an instrument does" in str(error)


def test_the_preview_is_what_the_trainee_sees_and_not_the_paper():
    pages = {papers.preview(GOOD) for _ in range(3)}
    assert len(pages) == 3 and all(b"Preview" in page and b"Answer" in page for page in pages)


def test_an_attempt_begins_at_the_paper_file(written, paper, tmp_path):
    sheet = open_sheet((written / folders.HAND_OUT / "form-a" / pack.JSON_NAME).read_bytes())
    attempt, again = begin(sheet, "GAS-0001", tmp_path)
    assert again is False
    key = guide.key_of(paper)
    assert attempt.events[0]["digest"] == key.digests["form-a"] and attempt.events[0]["paper"] == key.paper
    assert re.match(r"gaslab \d", attempt.events[0]["package"])


def test_a_key_that_cannot_be_read_is_refused(paper):
    data = guide.key_json(guide.key_of(replace(paper, forms=paper.forms[:1])))
    assert guide.read_key(data).paper == paper.number
    loaded = json.loads(data)
    for change in ({"kind": "x"}, {"forms": {}}, {"plan": {}}, {"forms": {"form-a": [{}]}}, {"digests": {}}):
        with pytest.raises(guide.KeyFileError, match=r"[Kk]ey"):
            guide.read_key(json.dumps({**loaded, **change}).encode())
    for bad in (b"", b"[]", b"{}", b"1", data[:-10], b'{"kind":NaN}'):
        with pytest.raises(guide.KeyFileError):
            guide.read_key(bad)


def test_nothing_in_the_room_draws_from_another_source_of_chance():
    """Papers come from HMAC alone: no module of the room imports `random`, `pickle` or an evaluator."""
    for path in Path(papers.__file__).parent.glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        imported = {n.name for node in ast.walk(tree) if isinstance(node, ast.Import) for n in node.names}
        imported |= {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        called = {
            node.func.id
            for node in ast.walk(tree)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert not imported & {
            "random",
            "pickle",
            "marshal",
            "shelve",
            "subprocess",
            "socket",
            "urllib.request",
        }, path
        assert not called & {"eval", "exec", "compile", "__import__"}, path
