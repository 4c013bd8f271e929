"""An attempt file: nothing typed is lost, and nothing changed goes unseen."""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import random
import signal
import subprocess
import sys
import textwrap
from pathlib import Path
from types import SimpleNamespace

import pytest

from gaslab.assess import attempt_reader, chain, records, sitting
from gaslab.assess.attempts import Attempt
from gaslab.assess.records import AttemptError

LONG = os.environ.get("GASLAB_LONG") == "1"
PAPER = "0Z7R-009X-0NR5-EJXR"
DIGEST = "ab" * 32
SHEET = SimpleNamespace(paper=PAPER, digest=DIGEST, form="form-a")  # what a sitting needs of a paper


class Clock:
    """A clock that moves on one second each time it is read."""

    def __init__(self):
        self.now = 0.0

    def __call__(self) -> float:
        self.now += 1.0
        return self.now


def begin(folder: Path, candidate: str = "GAS-0142", paper: str = PAPER) -> Attempt:
    return Attempt.start(
        folder,
        candidate=candidate,
        paper=paper,
        digest=DIGEST,
        form="form-a",
        package="gaslab 1",
        clock=Clock(),
    )


def sat(folder: Path, candidate: str = "GAS-0142", answers: int = 3) -> Attempt:
    attempt = begin(folder, candidate)
    for number in range(answers):
        attempt.answer(f"q{number:02d}", "sum", f"2{number}.5", "mbar", f"2{number}.5")
    attempt.hand_in()
    return attempt


def test_links_are_what_the_docstring_says(tmp_path):
    """Recomputed here by hand from the file, with hashlib alone."""
    attempt = sat(tmp_path)
    previous = bytes(32)
    for line in attempt.path.read_bytes().splitlines():
        whole = json.loads(line)
        body = json.dumps(whole["event"], sort_keys=True, separators=(",", ":")).encode()
        previous = hashlib.sha256(b"gaslab attempt 1\n" + previous + body).digest()
        assert whole["link"] == previous.hex()
    alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    number = int.from_bytes(previous[:10], "big")
    code = "".join(alphabet[number >> shift & 31] for shift in range(75, -1, -5))
    assert attempt.receipt.replace("-", "") == code
    assert attempt_reader.read(attempt.path).receipt == attempt.receipt


def test_crockford_alphabet():
    """Crockford base 32 leaves out I, L, O and U and reads I and L as 1, O as 0 (the encoding's own page)."""
    every = int("".join(f"{n:05b}" for n in range(32)), 2).to_bytes(20, "big")
    assert chain.crockford(every) == "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    assert chain.same_receipt("o1il 0000 abcd efgh", "0111-0000-ABCD-EFGH")
    assert not chain.same_receipt("0111-0000-ABCD-EFGJ", "0111-0000-ABCD-EFGH")
    assert not chain.same_receipt("", "0111-0000-ABCD-EFGH")


def test_every_flipped_byte_is_caught(tmp_path):
    attempt = sat(tmp_path)
    data = attempt.path.read_bytes()
    places = [(at, bit) for at in range(len(data)) for bit in range(8)]
    if not LONG:
        places = random.Random(1).sample(places, 400)
    for at, bit in places:
        changed = bytearray(data)
        changed[at] ^= 1 << bit
        attempt.path.write_bytes(changed)
        with pytest.raises(AttemptError):
            attempt_reader.read(attempt.path)


def test_a_rebuilt_chain_is_caught_by_receipt_and_seal(tmp_path):
    attempt = sat(tmp_path)
    receipt, last = attempt.receipt, attempt.last_link
    secret = bytes(range(32))
    seal = chain.seal(secret, PAPER, "GAS-0142", last)
    previous, lines = chain.FIRST, []
    for event in attempt.events:
        line, previous = records.event_line({**event, "text": "99.9"} if "text" in event else event, previous)
        lines.append(line)
    attempt.path.write_bytes(b"".join(lines))
    forged = attempt_reader.read(attempt.path)  # the chain itself is whole again
    assert not chain.same_receipt(receipt, forged.receipt)
    assert chain.seal_holds(seal, secret, PAPER, "GAS-0142", last)
    assert not chain.seal_holds(seal, secret, PAPER, "GAS-0142", forged.last_link)
    assert not chain.seal_holds(seal, secret, PAPER, "GAS-0143", last)
    assert not chain.seal_holds(seal, bytes(32), PAPER, "GAS-0142", last)
    message = json.dumps({"candidate": "GAS-0142", "link": last.hex(), "paper": PAPER}, separators=(",", ":"))
    assert seal == hmac.new(secret, b"gaslab seal 1\n" + message.encode(), "sha256").hexdigest()
    with pytest.raises(chain.ChainError, match="too short"):
        chain.seal(b"short", PAPER, "GAS-0142", last)


def _chained(events: list[dict]) -> bytes:
    previous, out = chain.FIRST, b""
    for event in events:
        line, previous = records.event_line(event, previous)
        out += line
    return out


START = {
    "seq": 0, "seconds": 0.0, "action": "start", "candidate": "GAS-0142", "paper": PAPER,
    "digest": DIGEST, "form": "form-a", "package": "gaslab 1",
}  # fmt: skip
ANSWER = {
    "seq": 1, "seconds": 5.0, "action": "answer", "item": "q01", "step": "sum", "text": "21.5",
    "unit": "mbar", "read": "21.5",
}  # fmt: skip
END = {"seq": 2, "seconds": 9.0, "action": "hand-in", "answered": 1}


def _raw(body: bytes) -> bytes:
    """A first line whose chain is right, whatever stands in it."""
    return b'{"event":' + body + b',"link":"' + chain.link(chain.FIRST, body).hex().encode() + b'"}\n'


START_BODY = chain.canonical(START)
BAD_FILES = {
    "empty": (b"", "is empty"),
    "not an attempt": (b"hello\n", "not a line of an attempt"),
    "cut short in a line": (_chained([START, ANSWER, END])[:-30], "cut short"),
    "cut short at a line": (_chained([START, ANSWER]), "without a hand-in"),
    "reordered": (
        b"".join(_chained([START, ANSWER, END]).splitlines(True)[i] for i in (0, 2, 1)),
        "chain is broken",
    ),
    "a line left out": (
        b"".join(_chained([START, ANSWER, END]).splitlines(True)[i] for i in (0, 2)),
        "chain is",
    ),
    "reordered, chained anew": (_chained([START, {**END, "seq": 1}, {**ANSWER, "seq": 2}]), "runs backwards"),
    "seq skips": (_chained([START, {**ANSWER, "seq": 2}, END]), "out of order"),
    "seq is true": (_chained([START, {**ANSWER, "seq": True}, END]), "out of order"),
    "two starts": (_chained([START, {**START, "seq": 1}, END]), "out of order"),
    "after the hand-in": (
        _chained([START, ANSWER, END, {**ANSWER, "seq": 3, "seconds": 10.0}]),
        "after the hand-in",
    ),
    "unknown field": (_chained([{**START, "name": "Pat"}]), "field that is unknown"),
    "missing field": (_chained([{k: v for k, v in START.items() if k != "form"}]), "one that is missing"),
    "unknown action": (_chained([{**START, "action": "mark-me-right"}]), "unknown"),
    "action is a list": (_chained([{**START, "action": []}]), "unknown"),
    "a name": (_chained([{**START, "candidate": "Pat Smith"}]), "candidate"),
    "a path": (_chained([{**START, "candidate": "../../x"}]), "candidate"),
    "long text": (_chained([START, {**ANSWER, "text": "9" * 201}, END]), "text"),
    "read is a float": (_chained([START, {**ANSWER, "read": 21.5}, END]), "read"),
    "read is nan": (_chained([START, {**ANSWER, "read": "nan"}, END]), "read"),
    "huge time": (_chained([{**START, "seconds": 1e300}]), "seconds"),
    "duplicated key": (_raw(START_BODY[:-1] + b',"seq":0}'), "stands twice"),
    "NaN": (_raw(START_BODY.replace(b'"seconds":0.0', b'"seconds":NaN')), "NaN is not a number"),
    "infinity": (_raw(START_BODY.replace(b'"seconds":0.0', b'"seconds":1e999')), "too large"),
    "deep": (_raw(b'{"a":' + b"[" * 500 + b"]" * 500 + b"}"), "nested deeper"),
    "deep in a string is fine, the field is not": (_raw(b'{"a":"[[[[[[[[[[[["}'), "unknown"),
    "long integer": (_raw(START_BODY.replace(b'"seq":0', b'"seq":' + b"1" * 3000)), "out of order"),
    "spaces": (_raw(START_BODY.replace(b'"seq":0', b'"seq": 0')), "chain is broken"),
    "not UTF-8": (_raw(START_BODY.replace(b"gaslab 1", b"gaslab \xff")), "not UTF-8"),
    "long line": (_raw(b'{"a":"' + b"x" * 5000 + b'"}'), "longer than"),
    "oversized": (b"x" * 1_000_001, "larger than 1 MB"),
    "notebook inside": (b'{"cells":[],"nbformat":4}\n', "notebook"),
    "carriage return": (_chained([START, ANSWER, END]).replace(b"\n", b"\r\n"), "not a line"),
    "byte order mark": (b"\xef\xbb\xbf" + _chained([START, ANSWER, END]), "not a line"),
}


@pytest.mark.parametrize("kind", BAD_FILES)
def test_a_bad_file_is_refused_with_a_sentence(kind, tmp_path):
    data, words = BAD_FILES[kind]
    path = tmp_path / f"candidate-GAS-0142.{PAPER}{records.ENDING}"
    path.write_bytes(data)
    with pytest.raises(AttemptError, match=words) as told:
        attempt_reader.read(path)
    assert str(told.value).endswith(".") and "Traceback" not in str(told.value)


def test_the_good_file_behind_the_bad_ones_is_read(tmp_path):
    path = tmp_path / f"x{records.ENDING}"
    path.write_bytes(_chained([START, ANSWER, END]))
    assert attempt_reader.read(path).answers[("q01", "sum")]["text"] == "21.5"


def test_the_rest_of_a_batch_still_goes_on(tmp_path):
    for number, (data, _) in enumerate(BAD_FILES.values()):
        (tmp_path / f"bad-{number:02d}{records.ENDING}").write_bytes(data)
    sat(tmp_path, "GAS-0001")
    sat(tmp_path, "ZZZ-9999")
    (tmp_path / "work.ipynb").write_text("{}")
    (tmp_path / "holiday.txt").write_text("hello")
    (tmp_path / "a folder").mkdir()
    os.symlink("/etc/hostname", tmp_path / f"link{records.ENDING}")
    os.mkfifo(tmp_path / f"pipe{records.ENDING}")
    again = next(tmp_path.glob("candidate-ZZZ*"))
    (tmp_path / f"z-copy{records.ENDING}").write_bytes(again.read_bytes())
    told: list[tuple[int, int]] = []
    found = list(attempt_reader.read_folder(tmp_path, progress=lambda done, of: told.append((done, of))))
    good = [each for each in found if isinstance(each, attempt_reader.HandedIn)]
    bad = {each.file: each.reason for each in found if isinstance(each, attempt_reader.RefusedAttempt)}
    assert [each.candidate for each in good] == ["GAS-0001", "ZZZ-9999"]
    assert len(bad) == len(BAD_FILES) + 5
    assert "never opened or run" in bad["work.ipynb"]
    assert "ends in .attempt.jsonl" in bad["holiday.txt"]
    assert "not an ordinary file" in bad[f"pipe{records.ENDING}"]
    assert f"link{records.ENDING}" in bad
    assert "Decide which one counts" in bad[f"z-copy{records.ENDING}"]
    assert told[-1] == (len(found), len(found))


def test_a_foreign_or_changed_paper_is_refused(tmp_path):
    path = sat(tmp_path).path
    with pytest.raises(AttemptError, match="belongs to paper"):
        attempt_reader.read(path, paper="1111-1111-1111-1111")
    with pytest.raises(AttemptError, match="differs from the one handed out"):
        attempt_reader.read(path, paper=PAPER, digests={"form-a": "cd" * 32})
    assert attempt_reader.read(path, paper=PAPER, digests={"form-a": DIGEST}).candidate == "GAS-0142"


def test_only_a_candidate_number_may_stand_for_a_person(tmp_path):
    for name in ("Pat Smith", "pat", "AB", "A" * 17, "ABC\n", "ABC/..", "", None, "ÄBC"):
        with pytest.raises(AttemptError, match="candidate number"):
            begin(tmp_path, name)
    assert list(tmp_path.iterdir()) == []


def test_an_attempt_is_never_overwritten_and_nothing_follows_the_hand_in(tmp_path):
    attempt = sat(tmp_path)
    before = attempt.path.read_bytes()
    with pytest.raises(AttemptError, match="nothing was overwritten"):
        begin(tmp_path)
    with pytest.raises(AttemptError, match="was handed in"):
        attempt.answer("q01", "sum", "1", "mbar", "1")
    with pytest.raises(AttemptError, match="was handed in"):
        Attempt.resume(attempt.path).answer("q01", "sum", "1", "mbar", "1")
    assert attempt.path.read_bytes() == before


def test_a_receipt_before_the_hand_in_is_refused(tmp_path):
    with pytest.raises(AttemptError, match="when the attempt is handed in"):
        _ = begin(tmp_path).receipt


@pytest.mark.parametrize("keep", [1, 20, 150])
def test_power_lost_in_the_middle_of_a_line(tmp_path, keep):
    """The torn line is set aside, every whole line stays, and the attempt goes on."""
    attempt = begin(tmp_path)
    attempt.answer("q01", "sum", "21.5", "mbar", "21.5")
    whole = attempt.path.read_bytes()
    attempt.answer("q02", "sum", "7.77", "kW", "7.77")
    torn = attempt.path.read_bytes()[: len(whole) + keep]
    attempt.path.write_bytes(torn)
    again = Attempt.resume(attempt.path, clock=Clock())
    assert again.answers() == {("q01", "sum"): ("21.5", "mbar")}
    assert attempt.path.with_name(attempt.path.name + ".torn").read_bytes() == torn[len(whole) :] + b"\n"
    again.answer("q02", "sum", "7.77", "kW", "7.77")
    again.hand_in()
    assert attempt_reader.read(again.path).answers[("q02", "sum")]["text"] == "7.77"


def test_a_process_killed_while_it_answers_loses_at_most_one_answer(tmp_path):
    """A child process writes answers and says each one once it is told to be saved; it is then killed."""
    child = textwrap.dedent(f"""
        from pathlib import Path
        from gaslab.assess.attempts import Attempt
        a = Attempt.start(Path({str(tmp_path)!r}), candidate="GAS-0142", paper={PAPER!r}, digest={DIGEST!r},
                          form="form-a", package="x")
        for n in range(100000):
            a.answer("q01", f"s{{n}}", str(n), "mbar", None)
            print(n, flush=True)
    """)
    with subprocess.Popen([sys.executable, "-c", child], stdout=subprocess.PIPE, text=True) as process:
        said = [int(process.stdout.readline()) for _ in range(25)]
        os.kill(process.pid, signal.SIGKILL)
        said += [int(line) for line in process.stdout.read().splitlines()]
    path = next(tmp_path.glob(f"*{records.ENDING}"))
    kept = {text for text, _ in Attempt.resume(path).answers().values()}
    assert {str(n) for n in said} <= kept
    assert len(kept) <= len(said) + 1


def test_a_full_disk_is_told_and_leaves_the_file_whole(tmp_path, monkeypatch):
    attempt = begin(tmp_path)
    real = os.write

    def half(handle, data):
        return real(handle, data[: len(data) // 2])

    monkeypatch.setattr(os, "write", half)
    with pytest.raises(AttemptError, match="not saved"):
        attempt.answer("q01", "sum", "21.5", "mbar", "21.5")
    monkeypatch.undo()
    attempt.answer("q01", "sum", "21.5", "mbar", "21.5")
    attempt.hand_in()
    assert len(attempt_reader.read(attempt.path).answers) == 1


def test_two_windows_on_one_attempt_do_not_mix(tmp_path):
    first = begin(tmp_path)
    second = Attempt.resume(first.path)
    first.answer("q01", "sum", "1", "mbar", "1")
    with pytest.raises(AttemptError, match="Close other windows"):
        second.answer("q01", "sum", "2", "mbar", "2")
    assert Attempt.resume(first.path).answers() == {("q01", "sum"): ("1", "mbar")}


def test_the_last_answer_counts_and_changes_are_kept(tmp_path):
    attempt = begin(tmp_path)
    for text in ("1", "2", "3"):
        attempt.answer("q01", "sum", text, "mbar", text)
    attempt.hand_in()
    back = attempt_reader.read(attempt.path)
    assert back.answers[("q01", "sum")]["text"] == "3" and back.changes == 2
    assert [e["text"] for e in attempt.events if e["action"] == "answer"] == ["1", "2", "3"]


def test_a_power_cut_before_the_first_line_locks_nobody_out(tmp_path):
    """Nothing was answered yet: whatever half a line there is goes aside, and the candidate begins."""
    path = tmp_path / records.file_name("GAS-0001", PAPER)
    for left in (b"", b'{"seq": 0, "sec'):
        path.write_bytes(left)
        attempt, again = sitting.begin(SHEET, "GAS-0001", tmp_path)
        assert not again and attempt.candidate == "GAS-0001"
        path.unlink()


def test_a_disk_that_takes_no_first_line_leaves_no_file(tmp_path, monkeypatch):
    def full(handle, line):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    with pytest.raises(records.AttemptError, match="not saved"):
        sitting.begin(SHEET, "GAS-0001", tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_read_by_file_name_whatever_order_the_disk_gives(tmp_path, monkeypatch):
    names = [f"candidate-GAS-{n}.{PAPER}{records.ENDING}" for n in (3, 1, 10, 2)]
    for name in names:
        (tmp_path / name).write_bytes(b"x\n")
    entries = list(os.scandir(tmp_path))
    for order in (entries, entries[::-1], entries[2:] + entries[:2]):
        monkeypatch.setattr(attempt_reader.os, "scandir", lambda folder, order=order: iter(order))
        assert [found.file for found in attempt_reader.read_folder(tmp_path)] == sorted(names)
