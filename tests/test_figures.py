"""What stands behind a question: said on the screen, true to the tables, and no help with the answer."""

import csv

import pytest
from desk_support import DATE

from gaslab import tables
from gaslab.assess import folders
from gaslab.learn import figures, items
from gaslab.learn.chance import Chance
from gaslab.show.panels.desk_setting import SettingPanel
from gaslab.show.panels.question import QuestionPanel

FAMILIES = sorted(items.families())
CO_RATIO = {"co": 500, "co2": 9.0}


def documents() -> dict[str, tuple[str, str]]:
    """Return key -> (document, edition), read from the file itself."""
    with (tables.data_folder() / "sources.csv").open(newline="", encoding="utf-8") as stream:
        return {row["key"]: (row["document"], row["edition"]) for row in csv.DictReader(stream)}


def solved(panel: QuestionPanel) -> QuestionPanel:
    """Have every step shown, up to the decision."""
    for _ in panel.variant.steps:
        panel.controls["show"].click()
    assert panel.model.done
    return panel


@pytest.mark.parametrize("family", FAMILIES)
def test_every_question_names_its_document_and_edition_and_gives_nothing_away(family):
    drawn = [items.draw(family, Chance(seed)) for seed in (b"one", b"two", b"three")]
    assert len({tuple(step.value for step in variant.steps) for variant in drawn}) > 1
    words = {figures.question_words(variant) for variant in drawn}
    # The same words for other numbers: no answer can be read out of them.
    assert len(words) == 1
    document, edition = documents()[items.family(family).source]
    assert document in words.copy().pop() and edition in words.pop()
    assert len({tuple(figures.limit_words(limit) for limit in variant.limits) for variant in drawn}) == 1


@pytest.mark.parametrize(
    ("family", "source", "said"),
    [
        # The two words of page 00 that a trainee must not take for "published", and the exercise's own figure.
        ("drop-from-leak", "IGEM/UP/1B", "Edition 4. It is given for this exercise, not the standard's."),
        ("hood-height", "", "The limit is given for this exercise, not the standard's."),
        ("co-ratio", "condensing boilers, 2013", "It is published."),
    ],
)
def test_a_limit_says_its_source_and_its_status(family, source, said):
    limit = items.draw(family, Chance(b"limit")).limits[0]
    words = figures.limit_words(limit)
    assert source in words and words.endswith(said)


def test_every_status_of_a_limit_is_told_in_the_words_of_page_00():
    plain = {
        "memory": "from memory, check it",
        "published": "published",
        "practice": "common practice, no source",
    }
    seen = set()
    for family in FAMILIES:
        for limit in items.draw(family, Chance(b"all")).limits:
            assert figures.limit_words(limit).endswith(
                f"is {plain.get(limit.status, 'given for this exercise, not the standard' + chr(39) + 's')}."
            ), family
            seen.add(limit.status)
    assert seen == {*plain, "given"}


def test_the_screen_says_it_quietly_and_the_limits_part_only_when_the_decision_is_asked():
    panel = QuestionPanel(lambda: items.variant("co-ratio", CO_RATIO))
    assert panel.behind in panel.side.children
    assert panel.behind.value.startswith('<p class="gl-quiet">Where this question comes from: ')
    assert "condensing boilers, 2013" in panel.behind.value and "The limit" not in panel.behind.value
    solved(panel)
    assert "The limit comes from: Industry-body note on condensing boilers, 2013. It is published." in (
        panel.behind.value
    )
    panel.controls["new"].click()
    assert "The limit" not in panel.behind.value


def test_a_paper_that_is_handed_out_does_not_say_where_its_questions_come_from(own_home):
    panel = SettingPanel()
    c = panel.controls
    c["chapter"].value, c["family"].value = "12", "co-ratio"
    c["decision"].value = True
    c["add"].click()
    c["date"].value, c["forms"].value = DATE, 1
    c["build"].click()
    assert panel.folder is not None, panel.text
    handed = [path for path in (panel.folder / folders.HAND_OUT).rglob("*") if path.is_file()]
    text = "".join(path.read_bytes().decode("utf-8", "replace") for path in handed)
    assert items.family("co-ratio").title in text, "the question is not in the paper at all"
    assert "comes from" not in text and "condensing boilers" not in text
