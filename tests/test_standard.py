"""The cut and the borderline: a constructed sheet, and scipy as the second opinion."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from gaslab.assess import standard

# A constructed sheet from the literature note: sums 3.5, 3.0, 3.8, 3.3; cut 3.40, SD .3367, SE .1683.
SHEET = {
    "J1": [0.8, 0.6, 0.7, 0.5, 0.9],
    "J2": [0.7, 0.5, 0.6, 0.4, 0.8],
    "J3": [0.9, 0.6, 0.8, 0.6, 0.9],
    "J4": [0.8, 0.5, 0.7, 0.5, 0.8],
}


def test_the_constructed_sheet():
    found = standard.angoff(SHEET)
    assert found.sums == pytest.approx((3.5, 3.0, 3.8, 3.3), abs=1e-12)
    assert found.cut == pytest.approx(3.40, abs=1e-12) and found.most == 5
    assert found.deviation == pytest.approx(0.3367, abs=5e-5)
    assert found.error == pytest.approx(0.1683, abs=5e-5)
    assert "Only 4 judges" in found.advice[0]


def test_marks_weigh_the_ratings_as_scipy_has_it():
    marks = [1, 2, 3, 1, 4]
    sums = np.array(list(SHEET.values())) @ marks
    found = standard.angoff(SHEET, marks)
    assert found.cut == pytest.approx(sums.mean()) and found.error == pytest.approx(scipy.stats.sem(sums))
    assert found.most == 11


@pytest.mark.parametrize(
    ("sheet", "words"),
    [
        ({"J1": [0.5]}, "two judges"),
        ({"J1": [0.5, 0.5], "J2": [0.5]}, "every item once"),
        ({"J1": [], "J2": []}, "every item once"),
        ({"J1": [0.5], "J2": [1.2]}, "0 to 1"),
        ({"J1": [0.5], "J2": [float("nan")]}, "0 to 1"),
        ({"J1": [0.5], "J2": ["0.5"]}, "0 to 1"),
        ({"J1": [0.5], "J2": [True]}, "0 to 1"),
    ],
)
def test_a_sheet_that_cannot_be_used(sheet, words):
    with pytest.raises(standard.StandardError, match=words):
        standard.angoff(sheet)


def test_critical_items_stand_outside_the_cut():
    assert standard.decide("A-1", 20.0, ["q03"], cut=12.0, error=1.0).outcome == "not yet"
    assert standard.decide("A-1", 20.0, [], cut=12.0, error=1.0).outcome == "pass"


def test_the_borderline_is_strictly_within_one_error():
    at = {
        score: standard.decide("A-1", score, [], 12.0, 1.5).outcome
        for score in (10.5, 10.6, 12.0, 13.4, 13.5)
    }
    assert at == {10.5: "not yet", 10.6: "borderline", 12.0: "borderline", 13.4: "borderline", 13.5: "pass"}
    assert standard.decide("A-1", 12.0, [], 12.0, None).outcome == "pass"


def test_the_borderline_list_is_in_order_and_leaves_out_missed_critical_items():
    scores = [
        ("C-3", 13.0, []),
        ("B-2", 11.9, []),
        ("A-1", 12.1, ["q01"]),
        ("D-4", 18.0, []),
        ("A-2", 11.0, []),
    ]
    assert [d.candidate for d in standard.borderline(scores, 12.0, 1.5)] == ["B-2", "A-2", "C-3"]


def test_binomial_error_by_hand():
    """Lord (1955): sqrt(x (n - x) / (n - 1)). For 16 of 20, sqrt(16 x 4 / 19) = 1.835."""
    assert standard.binomial_error(16, 20) == pytest.approx(1.835, abs=5e-4)
    with pytest.raises(standard.StandardError):
        standard.binomial_error(21, 20)
