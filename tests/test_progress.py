"""Progress: nothing is lost, whatever happens to the program, the file or the disk."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from datetime import date, datetime
from pathlib import Path

import pytest

from gaslab.learn import boxes, kept_copy, progress, recall
from gaslab.learn.boxes import Attempt
from gaslab.learn.chance import Chance
from gaslab.learn.progress import BACKUP, FILE, Progress
from gaslab.refit.folder import LARGEST_FILE, FileFault

LONG = os.environ.get("GASLAB_LONG") == "1"
KILLS = 200 if LONG else 20
ROOT = Path(__file__).resolve().parent.parent


def add(kept, family="leak-from-drop", outcome="right", **changes):
    values = {"step": "leak", "kind": "sum", "slip": "", "first": True, "last_step": True} | changes
    step, kind = values.pop("step"), values.pop("kind")
    return kept.record(family, step, kind, outcome, **values)


def at(text):
    return lambda: datetime.fromisoformat(text)


def test_what_is_recorded_is_there_again(own_home):
    kept = Progress.load()
    first = add(kept, slip="no-hour", outcome="slip")
    again = Progress.load()
    assert again.attempts == (first,) and again.notices == [] and not again.session_only
    assert (own_home / FILE).exists() and first.slip == "no-hour"


def test_the_file_is_strict_json_with_its_schema(own_home):
    add(Progress.load())
    raw = json.loads((own_home / FILE).read_text(encoding="utf-8"))
    assert (
        raw["kind"] == "gaslab progress"
        and raw["schema"] == 1
        and len(raw["attempts"][0]) == len(raw["columns"]) == 9
    )


def test_answers_of_the_same_second_stay_in_the_order_in_which_they_were_given():
    kept = Progress.load()
    given = [add(kept, outcome=f"answer {n:02d}", now=at("2031-05-05T10:00:00")).outcome for n in range(30)]
    assert [a.outcome for a in kept.attempts] == given
    assert [a.outcome for a in Progress.load().attempts] == given


# --- two notebooks at once -------------------------------------------------------------------------------------------


def test_two_notebooks_join_their_attempts():
    one, two = Progress.load(), Progress.load()
    kept = {add(one).id, add(two).id, add(one).id, add(two).id}
    assert {a.id for a in Progress.load().attempts} == kept
    assert {a.id for a in two.attempts} == kept


WRITER = """
import sys
from pathlib import Path
from gaslab.learn.progress import Progress
kept = Progress.load(Path(sys.argv[1]))
for _ in range(int(sys.argv[2])):
    attempt = kept.record("co-ratio", "ratio", "sum", "right", first=True, last_step=True)
    if kept.session_only:
        sys.exit(f"not saved: {kept.notices}")
    print(attempt.id, flush=True)
"""


def writer(folder, count):
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder), str(count)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )


def test_two_processes_lose_nothing(tmp_path):
    children = [writer(tmp_path, 40) for _ in range(2)]
    told = {name for child in children for name in child.communicate(timeout=300)[0].split()}
    assert all(child.returncode == 0 for child in children) and len(told) == 80
    assert {a.id for a in Progress.load(tmp_path).attempts} == told


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system cannot kill a process outright")
def test_killed_mid_save_loses_nothing(tmp_path):
    """Each child saves as fast as it can and is killed at a random moment: what it said it saved must be there."""
    chance, told, cut_short = random.Random(3), set(), 0
    for _ in range(KILLS):
        child = writer(tmp_path, 100_000)
        told |= {child.stdout.readline().strip() for _ in range(2)}  # it is in the midst of saving
        time.sleep(chance.uniform(0.0, 0.06))
        child.send_signal(signal.SIGKILL)
        lines = child.communicate(timeout=300)[0].split("\n")
        told |= set(lines[:-1])  # a line without its end was still being written
        cut_short += bool(list(tmp_path.glob(".*.part")))
        kept = Progress.load(tmp_path)
        assert kept.notices == [] and told - {""} <= {a.id for a in kept.attempts}
        assert len(kept.attempts) <= len(told) + KILLS  # at most one more a child, saved but not yet told
    assert len(told) > KILLS
    assert not list(tmp_path.glob(".*.part"))  # the next notebook clears what a dead one left half-written
    print(f"{KILLS} kills, {cut_short} stopped with a file half-written, {len(told)} answers, none lost")


# The first replace puts the backup in place, the second the file itself.
@pytest.mark.parametrize(("stage", "call"), [("fsync", 1), ("replace", 1), ("replace", 2)])
def test_a_fault_at_each_stage_of_saving_keeps_the_old_file(tmp_path, monkeypatch, stage, call):
    kept = Progress.load(tmp_path)
    first = add(kept)
    add(kept)
    before = (tmp_path / FILE).read_bytes()
    real, calls = getattr(os, stage), 0

    def failing(*arguments):
        nonlocal calls
        calls += 1
        if calls == call:
            raise OSError(28, "No space left on device")
        return real(*arguments)

    monkeypatch.setattr(os, stage, failing)
    third = add(kept)
    monkeypatch.undo()
    assert calls == call and kept.session_only and "this session only" in kept.notices[-1]
    assert (tmp_path / FILE).read_bytes() == before and first in Progress.load(tmp_path).attempts
    kept.save()  # the disk has room again: nothing from the session is lost
    assert not kept.session_only and third in Progress.load(tmp_path).attempts


# --- damage and disks ------------------------------------------------------------------------------------------------


def test_a_damaged_file_is_set_aside_and_the_backup_used(tmp_path):
    kept = Progress.load(tmp_path)
    first = add(kept)
    add(kept)
    whole = (tmp_path / FILE).read_bytes()
    for cut in (0, 1, len(whole) // 2, len(whole) - 3):
        (tmp_path / FILE).write_bytes(whole[:cut])
        again = Progress.load(tmp_path)
        assert first in again.attempts
        assert "damaged" in again.notices[0] and "1 answer was found in the backup" in again.notices[0]
    aside = sorted(tmp_path.glob("progress.damaged-*.json"))
    assert len(aside) == 4
    assert {p.read_bytes() for p in aside} == {whole[:cut] for cut in (0, 1, len(whole) // 2, len(whole) - 3)}


ROW = '["0123456789abcdef","2026-03-12T10:00:00","f","s","sum","right","",true,true]'


def file_of(rows="", kind="gaslab progress", schema="1", more=""):
    return f'{{"kind":"{kind}","schema":{schema},"columns":[],"attempts":[{rows}]{more}}}'


@pytest.mark.parametrize(
    "bad",
    [
        file_of(kind="other"),
        file_of(schema="2"),
        file_of(schema="NaN"),
        file_of(more=',"x":1'),
        file_of(more=',"kind":"gaslab progress"'),
        file_of('["short"]'),
        file_of(ROW.replace("-03-12", "-99-12")),
        file_of(ROW.replace("-03-12", "-02-31")),
        file_of(ROW.replace('"f"', '"../f"')),
        file_of(ROW.replace('"f"', "7")),
        file_of(ROW.replace("true,true", "1,true")),
        file_of(ROW.replace('"sum"', '"guess"')),
        "[]",
        "[" * 100_000,
        "\ufffd",
    ],
)
def test_a_file_that_is_no_progress_is_set_aside_and_refused_at_import(tmp_path, bad):
    (tmp_path / FILE).write_text(bad, encoding="utf-8")
    kept = Progress.load(tmp_path)
    assert (
        kept.attempts == () and "damaged" in kept.notices[0] and len(list(tmp_path.glob("*.damaged-*"))) == 1
    )
    first = add(kept)
    with pytest.raises(FileFault):
        kept_copy.read(bad, "it")
    assert Progress.load(tmp_path).attempts == (first,)


def test_a_lost_file_comes_back_from_the_backup(tmp_path):
    kept = Progress.load(tmp_path)
    first = add(kept)
    add(kept)
    (tmp_path / FILE).unlink()
    again = Progress.load(tmp_path)
    assert first in again.attempts and "brought back from the backup" in again.notices[0]
    assert (tmp_path / BACKUP).exists()


def test_a_disk_that_cannot_be_written_is_said_and_the_session_goes_on(tmp_path):
    """A file where the folder should be: no folder can be made there, not even by an administrator."""
    (tmp_path / "taken").write_text("x", encoding="utf-8")
    kept = Progress.load(tmp_path / "taken")
    assert kept.session_only and "this session only" in kept.notices[0]
    first = add(kept)
    assert kept.attempts == (first,)
    elsewhere = Progress.load(tmp_path / "good")
    assert elsewhere.join(kept_copy.read(kept.export_text(), "it").attempts) == 1 and elsewhere.attempts == (
        first,
    )


def test_export_and_import_join(tmp_path):
    one, two = Progress.load(tmp_path / "one"), Progress.load(tmp_path / "two")
    a, b = add(one), add(two)
    copied = kept_copy.read(two.export_text(), "it").attempts
    assert one.join(copied) == 1 and one.join(copied) == 0
    assert {x.id for x in Progress.load(tmp_path / "one").attempts} == {a.id, b.id}


def test_bad_values_are_refused_before_they_are_kept(tmp_path):
    kept = Progress.load(tmp_path)
    for changes in (
        {"family": "<b>"},
        {"step": ""},
        {"kind": "guess"},
        {"outcome": "x" * 41},
        {"slip": "a b"},
    ):
        with pytest.raises(FileFault):
            add(kept, **changes)
    assert kept.attempts == () and not (tmp_path / FILE).exists()


def test_too_many_attempts_are_said_and_the_file_stays(tmp_path, monkeypatch):
    kept = Progress.load(tmp_path)
    first = add(kept)
    monkeypatch.setattr(progress, "MOST", 1)
    second = add(kept)
    assert kept.session_only and "export it" in kept.notices[0] and {first, second} == set(kept.attempts)
    assert Progress.load(tmp_path).attempts == (first,)


def test_the_largest_progress_still_fits_its_file():
    names = [f"{n:016x}" for n in range(progress.MOST)]
    text = progress._text(
        Attempt(
            n,
            "2026-03-12T10:00:00",
            "f" * 24,
            "s" * 12,
            "reading",
            "right by own figures",
            "x" * 24,
            True,
            True,
        )
        for n in names
    )
    assert len(text) < LARGEST_FILE


# --- boxes, due and profile: each worked out by hand -----------------------------------------------------------------


def attempt(day, outcome="right", family="f", step="a", kind="sum", first=True, last=True, hour=10):
    return Attempt(
        f"{day:08d}{hour:08d}",
        f"2026-03-{day:02d}T{hour:02d}:00:00",
        family,
        step,
        kind,
        outcome,
        "",
        first,
        last,
    )


def test_boxes_go_up_by_clean_questions_and_back_by_others():
    clean = [attempt(day) for day in (1, 2, 3)]
    assert boxes.states(clean)["f"] == boxes.FamilyState(4, date(2026, 3, 3), 3)
    assert boxes.states([*clean, attempt(4, "slip")])["f"].box == 1
    many = [attempt(day) for day in range(1, 12)]
    assert boxes.states(many)["f"].box == 5 and boxes.states(reversed(many)) == boxes.states(many)
    # A question of two steps: a slip at the first makes it not clean, though the last is right.
    two = [attempt(1, "slip", step="a", last=False), attempt(1, "right", step="b", hour=11)]
    assert boxes.states(two)["f"].box == 1
    # A retry that comes right does not undo the first try, and does not count as one.
    retry = [attempt(1, "slip", last=False), attempt(1, "right", first=False, hour=11)]
    assert boxes.states(retry)["f"].box == 1
    assert boxes.states([attempt(1, "right by own figures")])["f"].box == 2


def test_due_by_spacing():
    states = boxes.states(
        [
            attempt(1, family="once"),
            *(attempt(day, family="thrice") for day in (1, 2, 3)),
            attempt(5, "slip", family="lost"),
        ]
    )
    # Box 2 is due a day after day 1; box 4 seven days after day 3; box 1 at once.
    assert boxes.due(states, date(2026, 3, 1)) == ()
    assert boxes.due(states, date(2026, 3, 9)) == ("once", "lost")
    assert boxes.due(states, date(2026, 3, 10)) == ("once", "lost", "thrice")


def test_profile_counts_first_tries_by_kind():
    tries = [
        attempt(1, kind="set-up"),
        attempt(2, "slip", kind="set-up"),
        attempt(3, kind="reading"),
        attempt(4, "slip", first=False),
    ]
    assert boxes.profile(tries) == {"set-up": (1, 2), "sum": (0, 0), "reading": (1, 1)}
    recent = [attempt(d, "slip", kind="sum", hour=h) for d in (1, 2) for h in range(10)] + [
        attempt(3, hour=h) for h in range(20)
    ]
    assert boxes.profile(recent)["sum"] == (20, 20)


def test_progress_gives_states_due_and_profile(tmp_path):
    kept = Progress.load(tmp_path)
    add(kept, family="co-ratio", now=at("2026-03-01T09:00:00"))
    assert kept.states()["co-ratio"].box == 2 and kept.due(date(2026, 3, 2)) == ("co-ratio",)
    assert kept.profile()["sum"] == (1, 1)


# --- recall ----------------------------------------------------------------------------------------------------------

COURSE = [
    ("01", ["a1", "a2"]),
    ("02", ["b1"]),
    ("03", ["c1", "shared"]),
    ("04", ["d1"]),
    ("05", ["e1", "shared"]),
]


def test_recall_takes_one_back_three_back_and_another():
    for seed in range(40):
        chosen = recall.choose(COURSE, "05", {}, Chance(bytes([seed, 1])), date(2026, 3, 1))
        assert len(set(chosen)) == 3 and chosen[0] == "d1" and chosen[1] == "b1"
        assert chosen[2] in {"a1", "a2", "c1"}  # what chapter 05 practises itself is no recall


def test_recall_prefers_what_is_due_and_takes_what_there_is():
    late = {"a2": boxes.FamilyState(1, date(2026, 1, 1), 1), "a1": boxes.FamilyState(5, date(2026, 3, 1), 5)}
    for seed in range(20):
        assert recall.choose(COURSE, "05", late, Chance(bytes([seed, 2])), date(2026, 3, 2))[2] == "a2"
    assert recall.choose(COURSE, "01", {}, Chance(b"x"), date(2026, 3, 1)) == ()
    assert set(recall.choose(COURSE, "02", {}, Chance(b"x"), date(2026, 3, 1))) == {"a1", "a2"}
    with pytest.raises(ValueError, match="no chapter"):
        recall.choose(COURSE, "99", {}, Chance(b"x"), date(2026, 3, 1))


def _tries(*steps):
    """Return first tries of one family, a second apart, from (step, outcome); the step called leak is the last."""
    day = "2026-03-12T10:00"
    return [
        Attempt(f"{at}", f"{day}:{at:02d}", "leak-from-drop", step, "sum", outcome, "", True, step == "leak")
        for at, (step, outcome) in enumerate(steps)
    ]


def test_a_question_left_half_done_does_not_spoil_the_next_one():
    done = [("drop", "right"), ("leak", "right")]
    assert boxes.states(_tries(("drop", "outside"), *done))["leak-from-drop"].box == 2
    assert boxes.states(_tries(*done))["leak-from-drop"].box == 2


def test_a_step_that_was_shown_sends_the_question_back():
    assert boxes.states(_tries(("drop", "shown"), ("leak", "right")))["leak-from-drop"].box == 1
