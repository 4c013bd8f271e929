"""What a trainee is told: the right words for a right answer, and the likely slip for a wrong one.

Right answers are worked out here, from the numbers in the picture and from sums published elsewhere.
"""

import re
import tomllib

import pytest
from at_panel import AtPanel
from lab import ROOT
from tab import in_group

G = 9.80665  # m/s2, standard gravity: CGPM 1901
WATER = 999.1  # kg/m3 at 15 degC: handbook of chemistry and physics, from memory
WORKED = r"× 10\.2 = (\d+)"  # how the step from mbar to mm is worked out


def millimetres_of_water(mbar: float) -> float:
    """Hydrostatics: h = p / (rho g). 1 mbar is 100 Pa, SI brochure."""
    return 1000.0 * 100.0 * mbar / (WATER * G)


@pytest.fixture(scope="module")
def page(tab):
    """Take the page on units and gauges once, as somebody meets it who has done nothing yet."""
    sheet = tab.anew("01")
    yield sheet
    assert sheet.errors() == []


@pytest.fixture(scope="module")
def words() -> dict:
    """The words of chapter 01 as they stand in its file."""
    return tomllib.loads((ROOT / "data" / "chapters" / "01.toml").read_text(encoding="utf-8"))


def pressure_and_levels(question: AtPanel) -> tuple[float, float]:
    """Return the drawn pressure [mbar] and how far it holds the levels apart [mm], by the figure in the question.

    The question gives the figure to one decimal; hydrostatics must round to the same.
    """
    mbar = float(re.search(r"(\d+\.\d) mbar", " ".join(question.drawn_words())).group(1))
    for_each = float(re.search(r"holds up ([\d.]+) mm of water", question.words()).group(1))
    assert for_each == round(millimetres_of_water(1.0), 1)
    return mbar, mbar * for_each


def choose_sum(page, title: str) -> AtPanel:
    """Put up a sum with new numbers and all of its steps to do."""
    turn = AtPanel(page, "Your turn")
    turn.pick("Sum", title)
    turn.pick("Help", "one step left to me")
    before = turn.picture()
    turn.pick("Help", "all of it is mine")
    turn.until(lambda: turn.picture() not in ("", before), "no new picture")
    question = AtPanel(page, "Your turn", inner=True)
    question.until(lambda: "Step 1 of" in question.words(), "the first step is not asked")
    return question


def answer(question: AtPanel, step: int, text: str, unit: str) -> str:
    before = question.said()
    question.type(f"Your answer, step {step}", text)
    question.pick("Unit", unit)
    question.press("Check")
    question.until(lambda: question.said() != before, "nothing was said")
    question.settle()
    return question.said()


@in_group("01")
def test_slips_are_named_and_right_answers_praised(page):
    """A pressure in mbar to Pa and to mm of water: first ten for a hundred, then right; then two slips."""
    question = choose_sum(page, "Change the units of a pressure")
    mbar, levels = pressure_and_levels(question)

    said = answer(question, 1, f"{mbar * 10:.0f}", "Pa")
    assert said.startswith("✗") and "step 1" in said and "multiplied by 10" in said and "Try again" in said
    said = answer(question, 1, f"{mbar * 100:.0f}", "Pa")
    assert said.startswith("✓")
    assert "Step 2 of 2" in question.words()

    said = answer(question, 2, f"{mbar / 10.2:.2f}", "mm")
    assert said.startswith("✗") and "divided" in said
    said = answer(question, 2, f"{levels / 2:.0f}", "mm")
    assert said.startswith("✗") and "one limb" in said, "the second slip is another, and is named as such"
    question.until(lambda: re.search(WORKED, question.words()), "the step is not worked out")
    shown = float(re.search(WORKED, question.words()).group(1))
    assert abs(shown - levels) <= 0.5, "the worked step shows it, to the whole mm"


@in_group("01")
def test_a_whole_sum_done_right_is_called_whole(page):
    question = choose_sum(page, "Change the units of a pressure")
    mbar, levels = pressure_and_levels(question)
    assert answer(question, 1, f"{mbar * 100:.0f}", "Pa").startswith("✓")
    said = answer(question, 2, f"{levels:.1f}", "mm")
    assert said.startswith("✓") and "the whole sum" in said


@in_group("04")
def test_the_decision_on_a_limit_is_asked_last(tab):
    """Boyle's law from the question's own figures says whether the drop is within the limit of the exercise."""
    turn = AtPanel(tab.ran("04"), "Your turn")
    turn.pick("Sum", "How\u00a0far\u00a0will\u00a0the\u00a0gauge\u00a0drop?")
    question = AtPanel(turn.sheet, "Your turn", inner=True)
    question.until(lambda: "A joint leaks" in question.words(), "the question is not there")
    while question.control("Show me this step").count():
        question.press("Show me this step")
        question.settle()
    question.until(lambda: "Now decide" in question.words(), "no decision is asked")
    leak, volume, limit = (
        float(re.search(pattern, question.words()).group(1))
        for pattern in (r"leaks ([\d.]+) dm", r"hold ([\d.]+) dm", r"a drop of ([\d.]+) mbar")
    )
    meets = leak * 2.0 / 60.0 * 1013.0 / volume <= limit
    question.root.get_by_role("radio", name="Yes" if meets else "No").focus()
    question.page.keyboard.press("Space")
    question.press("That is my decision")
    question.until(lambda: question.said().startswith("✓ Right."), "the right decision is not called right")
    question.settle()
    assert "Now decide" not in question.words()


@in_group("01")
def test_a_doubtful_answer_is_asked_about_and_costs_nothing(page):
    question = choose_sum(page, "Change the units of a pressure")
    said = answer(question, 1, "1,640", "Pa")
    assert not said.startswith(("✓", "✗"))
    assert question.control("Your answer, step 1").input_value() == "1,640"
    assert "Step 1 of 2" in question.words()


@in_group("01")
def test_say_first_then_look(page, words):
    """Lock, run, record, reason. 21 mbar holds the levels 214 mm apart, by hydrostatics."""
    panel, asked = AtPanel(page, "Say first, then look"), words["predict"]
    true = millimetres_of_water(21.0)
    assert panel.control("Run").is_disabled()
    assert f"{true:.0f}" not in panel.words() + " ".join(panel.drawn_words()), "told before it was foretold"
    panel.type("Your guess [mm]", "about right")
    panel.press("Lock my guess")
    panel.hears("Your guess")
    assert panel.control("Run").is_disabled()
    panel.type("Your guess [mm]", "150")
    panel.press("Lock my guess")
    panel.hears("Locked")
    panel.until(lambda: panel.control("Run").is_enabled(), "Run stays shut")
    panel.press("Run")
    panel.hears("Type what you see")
    panel.until(lambda: " mm" in " ".join(panel.drawn_words()), "the picture shows no number")
    drawn = float(re.search(r"([\d.]+) mm", " ".join(panel.drawn_words())).group(1))
    assert abs(drawn - true) <= 1.0, "a scale in mm is read to 1 mm"
    panel.type("The reading you see [mm]", f"{true / 10:.0f}")
    panel.press("Check my reading")
    panel.hears("Look again")
    panel.type("The reading you see [mm]", f"{true:.0f}")
    panel.press("Check my reading")
    panel.hears("You read it well")
    wrong = next(one for one in asked["reasons"] if not one["right"])
    right = next(one for one in asked["reasons"] if one["right"])
    for reason, mark in ((wrong, "✗ Not that one."), (right, "✓")):
        panel.choose(reason["text"])
        panel.press("That is my reason")
        assert right["says"] not in panel.hears(mark, reason["says"]) or reason is right


@in_group("01")
def test_on_site(page, words):
    panel = AtPanel(page, "On site")
    panel.press("That is my answer")
    panel.hears("Choose one answer first.")
    for option in sorted(words["decision"]["options"], key=lambda one: one["right"]):
        panel.choose(option["text"])
        panel.press("That is my answer")
        panel.hears("✓" if option["right"] else "✗", option["says"])
