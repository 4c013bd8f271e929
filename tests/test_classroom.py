"""The classroom: nothing gives the number away before the reveal, and no answer stands on a handout."""

import base64
import html
import json
import re
from decimal import Decimal

import ipywidgets
import pytest

from gaslab.assess import handout
from gaslab.assess.variants import PaperError
from gaslab.learn import chapters, guesses, items, lesson_card
from gaslab.refit import faults
from gaslab.refit.folder import FileFault
from gaslab.show import palette, stage
from gaslab.show.chapter import INSTRUMENTS, SCENES, open_chapter
from gaslab.show.panels.hands import ShowOfHands
from gaslab.show.panels.scenes import Scene, on_scale
from gaslab.show.panels.secret import SecretFault

WITH_SUMS = [number for number in chapters.numbers() if chapters.words(number).families]


@pytest.fixture
def page():
    return open_chapter("20")


@pytest.fixture(autouse=True)
def own_screen():
    yield
    stage.off()


def widgets_of(panel) -> list[ipywidgets.Widget]:
    """Return every widget that a panel shows or keeps, each once, in order."""
    found: dict[str, ipywidgets.Widget] = {}

    def walk(widget):
        if widget.model_id not in found:
            found[widget.model_id] = widget
            for child in getattr(widget, "children", ()):
                walk(child)

    walk(panel.widget)
    for control in panel.controls.values():
        walk(control)
    return list(found.values())


def all_that_a_page_holds(panel) -> str:
    """Return everything that the browser and a stored page get of a panel: widget state, pictures and text."""
    states = [
        {
            name: value
            for name, value in widget.get_state().items()
            if not isinstance(value, str) or not value.startswith("IPY_MODEL")
        }
        for widget in widgets_of(panel)
    ]
    said = json.dumps(states, default=lambda part: "…", ensure_ascii=False)
    return "\n".join((said, panel.view_svg, panel.text, repr(panel)))


def begun(page, scene: Scene) -> ShowOfHands:
    panel = ShowOfHands(page, {"04": lambda _: scene})
    panel._number = (
        1  # each panel marks its drawings with a number of its own; here it must not tell them apart
    )
    panel.controls["begin"].click()
    return panel


def count(panel, guess: str, hands: str) -> None:
    panel.controls["guess"].value, panel.controls["hands"].value = guess, hands
    panel.controls["add"].click()


def made_up(value: float) -> Scene:
    return on_scale("Drop in two minutes", value, "mbar", 0, 10, 3, 0.001)


def test_the_page_is_the_same_to_the_last_letter_whatever_the_truth_is(page):
    """Two classes, two truths, the same guesses. Until the reveal nobody can tell the two pages apart."""
    one, other = begun(page, made_up(3.187)), begun(page, made_up(7.643))

    def held(panel) -> str:
        return re.sub(r"[0-9a-f]{8,}", "id", all_that_a_page_holds(panel))

    assert held(one) == held(other)
    for panel in (one, other):
        count(panel, "2", "5")
        count(panel, "6", "11")
        panel.controls["show"].value = "the guesses"
    assert held(one) == held(other)
    for panel in (one, other):
        panel.controls["lock"].click()
    assert held(one) == held(other)
    for panel in (one, other):
        panel.controls["reveal"].click()
    assert held(one) != held(other), "the comparison must be able to tell them apart"
    assert "3.187 mbar" in html.unescape(one.view_svg) and "3.187 mbar" in one.text


@pytest.mark.parametrize("look", ["cream", "stage"])
@pytest.mark.parametrize("number", sorted(SCENES))
def test_no_chapters_number_stands_anywhere_before_the_reveal(page, number, look):
    truth = SCENES[number](page)
    palette.use(look)
    panel = page.classroom("show-of-hands")
    panel.controls["chapter"].value = number
    panel.controls["begin"].click()
    count(panel, "1", "3")
    before = [all_that_a_page_holds(panel)]
    panel.controls["show"].value = "the guesses"
    before.append(all_that_a_page_holds(panel))
    panel.controls["lock"].click()
    before.append(all_that_a_page_holds(panel))
    for held in before:
        words = re.sub(
            r"<[^>]+>", " ", held
        )  # a place on the sheet may be any number; what is written may not
        assert f"{truth.value!r}" not in re.findall(r"\d+\.\d+", words)
        for told in (f"reading: {truth.text}", f"shows {truth.text}", f">{truth.text}<"):
            assert told not in html.unescape(held), told
        if not truth.text.split()[0].isdigit():  # a whole number may be a mark of the scale as well
            assert truth.text not in html.unescape(held)
    scale = re.findall(r"A scale from [^.]+?\. ", panel.view_svg)
    panel.controls["reveal"].click()
    assert truth.text in html.unescape(panel.view_svg), "drawn over the guesses"
    assert re.findall(r"A scale from [^.]+?\. ", panel.view_svg) == scale, "the axis stays where it was"
    assert truth.text in panel.text


def test_the_order_holds_commit_lock_reveal(page):
    panel = begun(page, made_up(3.187))
    panel.controls["reveal"].click()
    assert panel.model.revealed is None
    panel.controls["lock"].click()
    assert panel.model.stage == "gather" and "Nobody" in panel.text
    count(panel, "4", "2")
    panel.controls["lock"].click()
    count(panel, "9", "30")
    panel.controls["back"].click()
    assert panel.model.counts() == {Decimal(4): 2}, "locked is locked"


def test_the_tally_adds_shows_and_takes_back(page):
    panel = begun(page, made_up(3.187))
    count(panel, "0.4", "12")
    count(panel, "2", "5")
    count(panel, "0,4", "1")
    assert panel.model.counts() == {Decimal("0.4"): 13, Decimal(2): 5}
    assert "18 hands. 0.4 mbar: 13; 2 mbar: 5." in panel.text
    panel.controls["show"].value = "the guesses"
    assert panel.view_svg.count("<circle") >= 18
    panel.controls["back"].click()
    assert panel.model.counts() == {Decimal("0.4"): 12, Decimal(2): 5}


def test_guesses_beyond_the_scale_are_counted_in_words(page):
    panel = begun(page, made_up(3.187))
    for guess, hands in (("-1", "2"), ("0", "4"), ("10", "8"), ("11", "16")):
        count(panel, guess, hands)
    assert "30 hands." in panel.text and "18 beyond the scale" in panel.text


def test_a_guess_stands_over_its_own_mark(page):
    """The mark for 2 on a scale from 0 to 10 lies a fifth along; a pile of guesses of 2 stands right over it."""
    panel = begun(page, made_up(3.187))
    count(panel, "2", "3")
    mark = re.search(r'<text x="([\d.]+)"[^>]*>2\.0<', panel.view_svg)[1]
    dots = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', panel.view_svg)
    assert sum(float(x) == pytest.approx(float(mark), abs=0.1) for x, _ in dots) == 3


@pytest.mark.parametrize(
    ("guess", "hands"),
    [("", "2"), ("two", "2"), ("2", ""), ("2", "0"), ("2", "1.5"), ("2", "-3"), ("2", "501")],
)
def test_hands_that_cannot_be_counted_are_said_and_not_counted(page, guess, hands):
    panel = begun(page, made_up(3.187))
    count(panel, guess, hands)
    assert panel.model.counts() == {}
    assert len(panel.message.sentence.split()) > 4


def test_where_the_class_stood_is_counted_to_the_step_of_the_instrument(page):
    """By hand: the truth is 3.2 read to 0.1, so 3.1 and 3.3 hit it, 3.0 is less and 3.4 more."""
    panel = begun(page, on_scale("Drop", 3.2, "mbar", 0, 10, 1, 0.1))
    for guess, hands in (("3.0", "4"), ("3.1", "1"), ("3.3", "2"), ("3.4", "8")):
        count(panel, guess, hands)
    panel.controls["lock"].click()
    panel.controls["reveal"].click()
    assert "Of 15: 4 guessed less, 3 hit it, 8 guessed more." in panel.text


# Guesses from the trainees' own pages


def test_a_guess_locked_on_a_trainees_page_reaches_the_class(page, tmp_path):
    own = open_chapter("04").predict()
    own.controls["guess"].value = "0,4"
    assert "download" not in own.handing.value
    own.controls["lock"].click()
    data = re.search(r"base64,([^\"]+)", own.handing.value)[1]
    (tmp_path / "07.json").write_bytes(base64.b64decode(data))
    (tmp_path / "copy of 07.json").write_bytes(base64.b64decode(data))
    (tmp_path / "08.json").write_text(guesses.guess_text("05", "1", Decimal(4)), encoding="utf-8")
    (tmp_path / "09.json").write_text("{", encoding="utf-8")
    panel = page.classroom("show-of-hands")
    panel.controls["chapter"].value = "04"
    panel.controls["begin"].click()
    panel.controls["folder"].value = str(tmp_path)
    panel.controls["read"].click()
    assert panel.model.counts() == {Decimal("0.4"): 1}
    for name in ("copy of 07.json", "08.json", "09.json"):
        assert name in panel.message.sentence
    panel.controls["read"].click()
    assert panel.model.counts() == {Decimal("0.4"): 1}, "read again, counted once"


@pytest.mark.parametrize(
    "change",
    [
        {"guess": "1e5"}, {"guess": "NaN"}, {"guess": 3}, {"guess": "0x1"}, {"id": "x"}, {"schema": 2}, {"kind": "?"},
        {"more": "1"},
    ],
)  # fmt: skip
def test_a_guess_file_that_was_changed_is_refused(change):
    data = json.loads(guesses.guess_text("04", "mbar", Decimal("1.5")))
    assert guesses.read_guess(json.dumps(data), "a.json").value == Decimal("1.5")
    with pytest.raises(FileFault):
        guesses.read_guess(json.dumps({**data, **change}), "a.json")


# A fault in secret


def put(page, number: str) -> SecretFault:
    panel = page.classroom("secret-fault")
    panel.controls["number"].value = number
    panel.controls["put"].click()
    return panel


def test_the_job_number_is_shown_nowhere_and_hides_the_same_fault_again(page):
    panel, twin = put(page, "4821"), put(page, "4821")
    assert "4821" not in all_that_a_page_holds(panel)
    assert panel.bench.model.faults == twin.bench.model.faults
    panel.controls["again"].click()
    assert panel.bench.model.faults == twin.bench.model.faults
    assert len({put(page, str(number)).bench.model.faults for number in range(1, 40)}) > 8


def test_the_fault_stands_only_among_all_kinds_of_faults(page):
    """The list of what can be put right names every kind, so it gives none away; nothing else names one."""
    panel = put(page, "8")
    hidden = panel.bench.model.faults[0]
    held = all_that_a_page_holds(panel)
    for kind in faults.kinds().values():
        assert kind.title not in held, kind.title
    assert held.count(hidden.key) <= 1
    panel.bench.controls["truth"].click()
    assert faults.kinds()[hidden.key].title in all_that_a_page_holds(panel)


def test_the_same_job_with_new_numbers_keeps_the_faults_and_changes_readings(page):
    panel = put(page, "7")
    panel.controls["exercise"].value = "bench-pressures"
    panel.controls["again"].click()

    def temperature() -> str:
        return panel.bench.model.read("thermometer").text

    first, kept = temperature(), panel.bench.model.faults
    panel.controls["again"].click()
    assert temperature() == first
    seeds = {panel.bench.model.seed}
    for _ in range(3):
        panel.controls["fresh"].click()
        assert panel.bench.model.faults == kept
        seeds.add(panel.bench.model.seed)
    assert len(seeds) == 4


def test_before_a_class_every_number_hides_a_fault(page):
    assert all(put(page, str(number)).bench.model.faults for number in range(1, 30))


def test_new_numbers_before_a_job_are_refused_with_a_sentence(page):
    panel = page.classroom("secret-fault")
    panel.controls["fresh"].click()
    assert "Put a job in first" in panel.text
    for wrong in ("", "0", "10000", "1.5", "abc"):
        panel.controls["number"].value = wrong
        panel.controls["put"].click()
        assert panel.bench is None and "whole number" in panel.text


# Handout and answer sheet


def tokens(page: bytes) -> set[str]:
    return set(re.findall(r"(?<![\w.,])\d+(?:[.,]\d+)*", html.unescape(page.decode("utf-8"))))


@pytest.mark.parametrize("number", WITH_SUMS)
def test_answers_stand_on_the_answer_sheet_and_nowhere_on_the_handout(number):
    sheet = handout.make(number, 4821)
    page, answers = handout.handout_html(sheet), handout.answers_html(sheet)
    assert len(sheet.items) + len(sheet.left_out) == len(chapters.words(number).families)
    assert len(sheet.items) >= 3
    printed = tokens(page)
    steps = [step for item in sheet.items for step in item.steps]
    for step in steps:
        right = [t for t in printed if t.count(",") == 0 and step.lo <= float(t) <= step.hi and step.lo > 0]
        assert right == [], (step.id, right)
        assert step.worked not in html.unescape(page.decode())
        assert step.worked in html.unescape(answers.decode())
        assert re.search(rf"<b>{re.escape(f'{step.value:.6g}')} ", answers.decode()), step.id
    for item in sheet.items:
        assert item.stem.split("\n")[0][:40] in html.unescape(page.decode())


def test_the_same_number_gives_the_same_two_pages_and_another_number_others():
    one, again, other = (handout.make("04", n) for n in (12, 12, 13))
    assert handout.handout_html(one) == handout.handout_html(again)
    assert handout.answers_html(one) == handout.answers_html(again)
    assert handout.handout_html(one) != handout.handout_html(other)


@pytest.mark.parametrize("number", [0, 10_000, -1, 1.5, "12", True, None])
def test_a_job_number_that_cannot_be_is_refused(number):
    with pytest.raises(PaperError, match="whole number"):
        handout.make("04", number)


def test_the_panel_gives_both_pages_as_files(page):
    panel = page.classroom("handout")
    panel.controls["chapter"].value = "09"
    panel.controls["number"].value = "31"
    panel.controls["make"].click()
    assert re.findall(r'download="([^"]+)"', panel.links.value) == [
        "handout-09-31.html",
        "answers-09-31.html",
    ]


# Lesson cards


@pytest.mark.parametrize("number", chapters.numbers())
def test_a_card_says_all_that_the_chapter_and_its_sums_say(number):
    words, card = chapters.words(number), lesson_card.card(number)
    made = html.unescape(lesson_card.card_html(card))
    for said in (words.aim, str(words.minutes), words.likely_slip, words.ask, words.caution):
        assert said in made
    assert [one.family for one in card.sums] == list(words.families)
    for one in card.sums:
        listed = [slip.says for step in items.family(one.family).steps for slip in step.slips]
        assert one.title in made
        assert one.slip in listed or (one.slip == "" and not listed)


# The screen, and one thing on it


def test_one_press_turns_the_screen_on_and_off(page):
    panel, other = page.classroom("screen"), page.classroom("lesson-cards")
    before = other.style.value
    panel.controls["on"].click()
    assert palette.current().key == "stage" and other.style.value != before
    panel.controls["off"].click()
    assert palette.current().key != "stage" and other.style.value == before


@pytest.mark.parametrize("topic", sorted(INSTRUMENTS))
def test_every_instrument_can_stand_alone_on_the_screen(page, topic):
    panel = page.classroom("show")
    panel.controls["topic"].value = topic
    panel.controls["put"].click()
    assert panel.place.children == (panel.shown.widget,)


def test_a_question_on_the_screen_is_kept_in_nobodys_progress(page):
    panel = page.classroom("show")
    panel.controls["kind"].value = "a question"
    panel.controls["family"].value = "leak-from-drop"
    panel.controls["put"].click()
    panel.shown.controls["answer"].value = "3"
    panel.shown.controls["unit"].value = "mbar"
    panel.shown.controls["check"].click()
    assert panel.shown.message.sentence
    assert page.progress.attempts == ()


def test_an_unknown_panel_is_named(page):
    with pytest.raises(ValueError, match="show-of-hands"):
        page.classroom("nothing")


def test_the_class_picture_is_shown_with_what_was_skipped(page, tmp_path):
    (tmp_path / "<b>.json").write_text("{", encoding="utf-8")
    panel = page.classroom("class-picture")
    panel.controls["folder"].value = str(tmp_path)
    panel.controls["look"].click()
    assert "0 trainees" in panel.text
    assert "&lt;b&gt;.json" in panel.lines.value and "<b>.json" not in panel.lines.value
    panel.controls["folder"].value = str(tmp_path / "nowhere")
    panel.controls["look"].click()
    assert "no folder" in panel.text


def test_the_number_is_not_even_kept_before_the_reveal(page):
    """A scene holds the number, so a panel that kept one could show it by mistake."""
    panel = begun(page, made_up(3.187))
    count(panel, "4", "2")
    panel.controls["lock"].click()

    def held() -> list:
        return [v for v in (*vars(panel).values(), *vars(panel.model).values()) if isinstance(v, Scene)]

    assert held() == []
    panel.controls["reveal"].click()
    assert len(held()) == 1
