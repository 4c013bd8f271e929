"""Every chapter's words: complete, one right answer each, and faults named by file and place."""

import pytest

from gaslab import tables
from gaslab.learn import chapters

LESSONS = [f"{n:02d}" for n in range(1, 15)]


@pytest.mark.parametrize("number", chapters.numbers())
def test_every_chapter_reads(number):
    found = chapters.words(number)
    assert found.title and found.caution.endswith(".")
    assert found.question.endswith("?")


@pytest.mark.parametrize("number", LESSONS)
def test_every_lesson_has_its_parts(number):
    found = chapters.words(number)
    assert found.prediction is not None and len(found.prediction.reasons.options) == 3
    assert len(found.entry) == 3
    assert found.decision is not None
    assert found.families


@pytest.mark.parametrize("number", LESSONS)
def test_entry_check_cannot_be_passed_by_one_position(number):
    right = [[o.right for o in choice.options].index(True) for choice in chapters.words(number).entry]
    assert len(set(right)) > 1


@pytest.mark.parametrize(
    ("damage", "place"),
    [
        (lambda raw: raw.pop("question"), "question"),
        (lambda raw: raw.update(minutes="ten"), "minutes"),
        (lambda raw: raw["predict"].update(unit="furlong"), "predict.unit"),
        (lambda raw: [r.update(right=True) for r in raw["predict"]["reasons"]], "predict.reasons"),
        (lambda raw: raw["entry"][0].update(right=9), "entry"),
        (lambda raw: raw["decision"].update(source="nowhere"), "decision.source"),
    ],
)
def test_a_damaged_chapter_names_file_and_place(monkeypatch, damage, place):
    raw = tables.toml_file("chapters/09.toml")
    damage(raw)
    monkeypatch.setattr(tables, "toml_file", lambda file: raw)
    chapters.words.cache_clear()
    with pytest.raises(tables.TableError, match=r"chapters/09\.toml") as told:
        chapters.words("09")
    chapters.words.cache_clear()
    assert told.value.column == place
