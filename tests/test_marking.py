"""Marking of one answer: right, own figures, slips, units, decisions, precision; and the order of the feedback."""

from dataclasses import replace
from decimal import Decimal

import pytest
from tests_support import doctest_failures

from gaslab.learn import feedback, items, marking, variant
from gaslab.learn.answers import read_answer
from gaslab.learn.chance import Chance
from gaslab.learn.marking import (
    NO_ANSWER,
    OUTSIDE,
    OWN_FIGURES,
    RIGHT,
    SLIP,
    WRONG_UNIT,
    mark_decision,
    mark_precision,
    mark_step,
)


@pytest.fixture
def rate():
    """0.088 m3 in 122 s at 38.7 MJ/m3: by hand 2.597 m3/h and 27.92 kW gross."""
    return items.variant("gas-rate-metric", {"start": 1008.436, "used": 0.088, "time": 122, "cv": 38.7})


@pytest.fixture
def boiler():
    """500 ppm CO and 9.0 % CO2: 90 000 ppm, ratio 0.00556, above the limit of 0.0040."""
    return items.variant("co-ratio", {"co": 500, "co2": 9.0})


def test_right_answers_and_units(rate):
    step = rate.step("rate")
    for text in ("2.597", "2.60", "2,6"):
        assert mark_step(step, read_answer(text), "m3/h").outcome == RIGHT
    # The same rate in other units that measure the same thing: 2597 dm3/h; 91.7 ft3/h (2.597 x 35.315).
    assert (mark_step(step, 91.7, "ft3/h").outcome, mark_step(step, 91.7, "ft3/h").rule) == (RIGHT, "K3")
    assert "m³/h" in mark_step(step, 91.7, "ft3/h").words
    for unit in ("m3", "kW"):
        mark = mark_step(step, 2.597, unit)
        assert (mark.outcome, mark.rule, mark.earned) == (WRONG_UNIT, "K5", False)
        assert "belongs with m³/h" in mark.words
    assert mark_step(step, 2.597, "ft3/h").outcome == WRONG_UNIT


def test_the_right_number_in_a_wrong_unit_is_never_blamed_on_a_way_of_working():
    """33.8 dm3 and 4 mbar leak 4.00 dm3/h; as m3/h that is what the slip that forgets the barometer gives, 4056."""
    leak = items.variant(
        "leak-from-drop", {"start": 20.5, "true_drop": 4.0, "volume": 33.8, "minutes": 2}
    ).step("leak")
    assert mark_step(leak, 4050, "dm3/h").slip == "no-barometer"
    assert mark_step(leak, 4.05, "m3/h").outcome == WRONG_UNIT
    assert mark_step(leak, 4.05, "dm3/h").outcome == RIGHT


@pytest.mark.parametrize(
    ("step", "text", "slip"),
    [
        ("volume", "88", "whole-figures"),
        ("volume", "-0.088", "backwards"),
        ("rate", "0.0433", "per-minute"),
        ("rate", "2.64", "no-watch"),
        ("heat", "100.5", "no-three-six"),
        ("heat", "25.15", "net"),
    ],
)
def test_slips_are_named(rate, step, text, slip):
    """Each wrong answer by hand from 0.088 m3, 122 s, 38.7 MJ/m3."""
    mark = mark_step(rate.step(step), read_answer(text), rate.step(step).unit)
    assert (mark.outcome, mark.slip, mark.rule) == (SLIP, slip, "K4")
    assert mark.words == next(s.says for s in rate.step(step).slips if s.id == slip)


def test_what_fits_nothing_and_what_is_no_number(rate):
    step = rate.step("rate")
    mark = mark_step(step, 7.77, "m3/h")
    assert (mark.outcome, mark.slip, mark.rule) == (OUTSIDE, None, "K6")
    for nothing in (None, float("nan"), float("inf"), read_answer("abc"), read_answer("1,200")):
        assert mark_step(step, nothing, "m3/h").outcome == NO_ANSWER
    assert "1.2 with a decimal comma" in mark_step(step, read_answer("1,200"), "m3/h").words


def test_own_figures_earn_the_step(rate):
    """Volume misread as 0.098: 0.098 x 3600 / 122 = 2.892 m3/h; then 2.892 x 38.7 / 3.6 = 31.09 kW."""
    wrong = {"volume": (Decimal("0.098"), "m3")}
    mark = mark_step(rate.step("rate"), 2.89, "m3/h", wrong, rate)
    assert (mark.outcome, mark.rule, mark.earned) == (OWN_FIGURES, "K2", True)
    both = wrong | {"rate": (Decimal("2.892"), "m3/h")}
    assert mark_step(rate.step("heat"), 31.1, "kW", both, rate).outcome == OWN_FIGURES
    # The earlier answer in another unit counts as what it is: 98 dm3 is 0.098 m3.
    assert mark_step(rate.step("rate"), 2.89, "m3/h", {"volume": (98.0, "dm3")}, rate).outcome == OWN_FIGURES
    # Right in truth stays right, and without the variant there is nothing to work from.
    assert mark_step(rate.step("rate"), 2.597, "m3/h", wrong, rate).rule == "K1"
    assert mark_step(rate.step("rate"), 2.89, "m3/h", wrong).outcome == OUTSIDE
    # A slip made with own figures is named too: 0.098 x 60 / 122 = 0.0482.
    assert mark_step(rate.step("rate"), 0.0482, "m3/h", wrong, rate).slip == "per-minute"


@pytest.mark.parametrize(
    ("earlier", "unit", "answer", "rule"),
    [
        (-0.088, "m3", -2.597, "K7"),
        (88.0, "m3", 2596.7, "K7"),
        (0.1, "m3", 2.951, "K8"),
        (1.0, "m3", 29.51, "K8"),
    ],
)
def test_own_figures_that_do_not_count(rate, earlier, unit, answer, rule):
    mark = mark_step(rate.step("rate"), answer, "m3/h", {"volume": (earlier, unit)}, rate)
    assert (mark.outcome, mark.rule) == (OUTSIDE, rule) and not mark.earned


def test_an_earlier_answer_of_another_kind_does_not_count(rate):
    """kW is no volume, so there is nothing to follow from."""
    mark = mark_step(rate.step("rate"), 2.951, "m3/h", {"volume": (0.1, "ft3/h")}, rate)
    assert not mark.earned and mark.rule == "K7"


def test_own_figures_never_turn_a_critical_fail_into_a_pass(boiler):
    """CO2 taken as 180 000 ppm gives 500 / 180 000 = 0.00278: it would pass what fails at 0.00556."""
    mark = mark_step(boiler.step("ratio"), 0.00278, "1", {"in_ppm": (180_000, "ppm")}, boiler)
    assert (mark.outcome, mark.rule) == (OUTSIDE, "K9") and "pass what fails" in mark.words
    # 80 000 ppm gives 0.00625, still a fail: own figures count.
    assert mark_step(boiler.step("ratio"), 0.00625, "1", {"in_ppm": (80_000, "ppm")}, boiler).rule == "K2"


@pytest.mark.parametrize(
    ("says_meets", "own", "consistent", "right", "unsafe", "rule"),
    [
        (False, 0.00556, True, True, False, "D1"),
        (True, 0.00278, True, False, True, "D2"),
        (False, 0.00278, False, True, False, "D3"),
        (True, 0.00556, False, False, True, "D4"),
    ],
)
def test_a_decision_is_marked_twice(boiler, says_meets, own, consistent, right, unsafe, rule):
    mark = mark_decision(boiler.limits[0], says_meets, own)
    assert (mark.consistent, mark.right, mark.unsafe, mark.rule) == (consistent, right, unsafe, rule)
    assert "may not be left in use" in mark.words


def test_saying_that_it_meets_is_unsafe_only_when_it_does_not():
    good = items.variant("co-ratio", {"co": 120, "co2": 9.5}).limits[0]
    assert not mark_decision(good, True, 0.00126).unsafe and mark_decision(good, True, 0.00126).rule == "D1"
    assert mark_decision(good, False, 0.00126).rule == "D4"


def test_limits_compare_inclusively():
    limit = variant.Limit("x", "?", 18.5, 23.0, "mbar", True, "Yes.", "No.", "practice", "given")
    assert limit.met_by(18.5) and limit.met_by(23.0) and not limit.met_by(18.49) and not limit.met_by(23.01)


@pytest.mark.parametrize(
    ("places", "figures", "text", "fine", "cue"),
    [
        (1, None, "20.0", True, ""),
        (1, None, "20", False, "1 decimal place"),
        (1, None, "20.04", True, "More decimals"),
        (0, None, "20", True, ""),
        (2, None, "1.5", False, "2 decimal places"),
        (None, 3, "2.60", True, ""),
        (None, 3, "2.6", False, "3 figures"),
        (None, 3, "1200", True, ""),
        (None, 2, "1200", True, ""),
        (None, 2, "1230", True, "More figures"),
        (None, 3, "0.00126", True, ""),
        (None, 3, "0.0013", False, "3 figures"),
        (None, 3, "27.942", True, "More figures"),
    ],
)
def test_precision_is_marked_apart(rate, places, figures, text, fine, cue):
    step = replace(rate.step("rate"), places=places, figures=figures)
    ok, words = mark_precision(step, Decimal(text))
    assert ok == fine and cue in words and bool(words) == bool(cue)


def test_marking_again_gives_the_same(rate):
    marks = [mark_step(rate.step("heat"), 31.1, "kW", {"rate": (2.89, "m3/h")}, rate) for _ in range(3)]
    assert marks[0] == marks[1] == marks[2] and set(marking.RULES) >= {mark.rule for mark in marks}


def test_carried_units_stand_for_themselves_only():
    assert (
        marking.in_unit(85.0, "points", "dB(A)") is None and marking.in_unit(85.0, "dB(A)", "dB(A)") == 85.0
    )
    assert marking.in_unit(5.0, "%", "ppm") == pytest.approx(50_000)


# --- feedback --------------------------------------------------------------------------------------------------------


def answered(question, state, text, unit):
    return feedback.after(question, state, mark_step(question.steps[state.step], read_answer(text), unit))


def parts(said):
    return [message.part for message in said]


def test_feedback_keeps_its_order(rate):
    state = feedback.Progression()
    state, said = answered(rate, state, "88", "m3")
    assert parts(said) == [feedback.LOCATE, feedback.SLIP, feedback.CUE, feedback.RETRY]
    assert "step 1: reading the instrument" in said[0].words and "thousandths" in said[1].words
    state, said = answered(rate, state, "0.88", "m3")
    assert parts(said) == [feedback.LOCATE, feedback.SLIP, feedback.WORKED]
    assert "0.088 m³" in said[2].words and (state.step, state.wrong, state.helped) == (1, 0, ("volume",))
    state, said = answered(rate, state, "2.597", "m3/h")
    assert parts(said) == [feedback.PRAISE]
    state, said = answered(rate, state, "27.9", "kW")
    assert parts(said) == [feedback.PRAISE, feedback.NEW_NUMBERS] and state.done and not state.clean


def test_a_clean_run_asks_for_nothing(rate):
    state = feedback.Progression()
    for text, unit in (("0.088", "m3"), ("2.597", "m3/h"), ("27.9", "kW")):
        state, said = answered(rate, state, text, unit)
        assert parts(said) == [feedback.PRAISE]
    assert state.done and state.clean
    assert parts(answered(rate, state, "1", "kW")[1]) == [feedback.NEW_NUMBERS]


def test_what_cannot_be_read_costs_no_try(rate):
    state, said = answered(rate, feedback.Progression(), "1,200", "m3")
    assert state == feedback.Progression() and parts(said) == [feedback.ASK]


def test_asking_for_the_worked_solution(rate):
    state, said = feedback.give_up(rate, feedback.Progression())
    assert parts(said) == [feedback.WORKED] and state.helped == ("volume",) and state.step == 1


def test_every_message_is_one_or_two_short_sentences():
    stream = Chance(b"messages")
    for family_id in items.families():
        question = items.draw(family_id, stream)
        _, said = feedback.after(question, feedback.Progression(), mark_step(question.steps[0], 1e6, "m/s"))
        for message in said:
            assert message.words and len(message.words) < 220, (family_id, message)


def test_doctests():
    assert doctest_failures(marking) == 0
