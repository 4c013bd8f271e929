"""A mark is changed only with a written reason, and the reason stays."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from gaslab.assess import marking_batch, overrides
from gaslab.assess.overrides import Override, OverrideError
from gaslab.assess.records import AttemptError

ENTRY = Override("GAS-0142", "q01", "drop", 1, "The scale was smudged on this copy.", "JB")


def test_every_entry_is_kept_and_the_last_one_counts(tmp_path):
    book = tmp_path / "overrides.jsonl"
    assert overrides.in_force(book) == {}
    overrides.add(book, ENTRY)
    overrides.add(book, replace(ENTRY, step="leak"))
    overrides.add(book, replace(ENTRY, marks=0, reason="Looked again: it was legible."))
    entries, _ = overrides.read(book)
    assert [(e.step, e.marks) for e in entries] == [("drop", 1), ("leak", 1), ("drop", 0)]
    assert overrides.in_force(book)["GAS-0142", "q01", "drop"].reason == "Looked again: it was legible."


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"reason": ""}, "Write the reason"),
        ({"reason": "         ok         "}, "Write the reason"),
        ({"reason": "x" * 501}, "Write the reason"),
        ({"marks": -1}, "whole number"),
        ({"marks": True}, "whole number"),
        ({"marks": 1.5}, "whole number"),
        ({"initials": ""}, "initials"),
        ({"initials": "=1"}, "initials"),
        ({"item": "../q"}, "Name the question"),
    ],
)
def test_an_override_without_its_grounds_is_refused(tmp_path, change, words):
    book = tmp_path / "overrides.jsonl"
    with pytest.raises(OverrideError, match=words):
        overrides.add(book, replace(ENTRY, **change))
    assert not book.exists()


def test_a_name_is_refused(tmp_path):
    with pytest.raises(AttemptError, match="candidate number"):
        overrides.add(tmp_path / "book", replace(ENTRY, candidate="Pat Smith"))


def test_a_changed_book_is_refused(tmp_path):
    book = tmp_path / "overrides.jsonl"
    overrides.add(book, ENTRY)
    overrides.add(book, replace(ENTRY, step="leak"))
    data = book.read_bytes()
    lines = data.splitlines(True)
    for changed in (
        data.replace(b'"marks":1', b'"marks":0', 1),
        data[:-5],
        data[:-1],
        lines[1],
        lines[1] + lines[0],
    ):
        book.write_bytes(changed)
        with pytest.raises(OverrideError, match="Restore the book"):
            overrides.in_force(book)


@pytest.mark.parametrize(
    ("outcome", "override", "marks", "right"),
    [
        ("right", "", 1, True),
        ("right", "7", 0, False),
        ("outside", "7", 1, True),
        ("own figures", "", 1, False),
    ],
)
def test_a_critical_step_is_right_in_truth_or_by_a_persons_written_word(outcome, override, marks, right):
    """A person who takes the marks away takes the step away too."""
    step = SimpleNamespace(outcome=outcome, override=override, marks=marks, most=1)
    assert marking_batch._right_in_truth(step) is right
