"""Item analysis against a published table, an analytic variance case and general statistics libraries."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats
from statsmodels.stats.proportion import proportion_confint

from gaslab.assess import analysis

# LSAT section 6, 5 items, N = 1000: response patterns with their frequencies, from
# Bock & Lieberman (1970), Psychometrika 35, as printed by the R package ltm.
LSAT6 = """
00000 3  00001 6  00010 2  00011 11 00100 1  00101 1  00110 3  00111 4
01000 1  01001 8  01010 0  01011 16 01100 0  01101 3  01110 2  01111 15
10000 10 10001 29 10010 14 10011 81 10100 3  10101 28 10110 15 10111 80
11000 16 11001 56 11010 21 11011 173 11100 11 11101 61 11110 28 11111 298
"""


@pytest.fixture(scope="module")
def lsat6() -> np.ndarray:
    words = LSAT6.split()
    rows = [
        [int(c) for c in pattern]
        for pattern, n in zip(words[::2], words[1::2], strict=True)
        for _ in range(int(n))
    ]
    return np.array(rows, dtype=float)


def test_lsat6_published_figures(lsat6):
    """Figures of the literature note, recomputed there from the table of response patterns.

    The score counts 3, 20, 85, 237, 357, 298 are the table's own margin.
    """
    found = analysis.analyse([f"item {n}" for n in range(1, 6)], lsat6, [1] * 5)
    assert np.bincount(lsat6.sum(axis=1).astype(int)).tolist() == [3, 20, 85, 237, 357, 298]
    assert [i.facility.value for i in found.items] == pytest.approx(
        [0.924, 0.709, 0.553, 0.763, 0.870], abs=1e-12
    )
    rest = [i.discrimination.value for i in found.items]
    assert rest == pytest.approx([0.1128, 0.1532, 0.1728, 0.1444, 0.1216], abs=5e-5)
    without = [i.alpha_without for i in found.items]
    assert without == pytest.approx([0.2754, 0.2376, 0.2168, 0.2459, 0.2663], abs=5e-5)
    assert found.alpha.value == pytest.approx(0.2950, abs=5e-5)
    assert found.mean == pytest.approx(3.819, abs=1e-12)
    assert found.deviation == pytest.approx(1.0350, abs=5e-5)
    assert found.error_of_measurement == pytest.approx(0.8691, abs=5e-5)
    totals = lsat6.sum(axis=1)
    assert analysis.kr20(lsat6) == pytest.approx(0.2950, abs=5e-5)
    assert analysis.kr20(lsat6) == pytest.approx(found.alpha.value, abs=1e-12)
    assert analysis.livingston(totals, found.alpha.value, 3) == pytest.approx(0.5666, abs=5e-5)
    assert analysis.livingston(totals, found.alpha.value, 4) == pytest.approx(0.3159, abs=5e-5)


def test_lsat6_variance_convention_is_not_mixed(lsat6):
    """p q with N - 1 in the total would give .2960: the slip this check is there to catch."""
    p = lsat6.mean(axis=0)
    mixed = 5 / 4 * (1 - float(p @ (1 - p)) / float(np.var(lsat6.sum(axis=1), ddof=1)))
    assert round(mixed, 4) == 0.2960
    assert round(analysis.kr20(lsat6), 4) == 0.2950


def test_lsat6_items_are_flagged_in_words(lsat6):
    found = analysis.analyse(list("abcde"), lsat6, [1] * 5)
    assert not any("Very easy" in said for said in found.items[1].flags)
    assert "Very easy" in analysis.item_flags(0.96, 0.5)[0]
    assert "go with the rest" in analysis.item_flags(0.5, 0.09)[0]
    assert "Very hard" in analysis.item_flags(0.29, 0.5)[0]
    assert analysis.item_flags(0.5, 0.3) == ()


def test_near_constant_totals_keep_their_spread():
    """The pattern of NIST StRD NumAcc4: one 10000000.2, then .1 and .3 in turn; SD is 0.1 exactly.

    A one-pass sum of squares gives nonsense here (the note measured a variance of -2).
    """
    totals = np.array([10000000.2] + [10000000.1, 10000000.3] * 500)
    table = np.column_stack([totals / 2, totals / 2])
    found = analysis.analyse(["a", "b"], table, [1e8, 1e8])
    assert found.deviation == pytest.approx(0.1, rel=1e-7)
    assert found.alpha.value == pytest.approx(1.0, abs=1e-6)
    one_pass = (sum(totals**2) - sum(totals) ** 2 / len(totals)) / (len(totals) - 1)
    assert one_pass < 0


@pytest.fixture(scope="module")
def cohort() -> np.ndarray:
    """Sixty sittings of eight part-marked items (0 to 4 marks) with a common ability."""
    rng = np.random.default_rng(12)
    ability = rng.normal(size=(60, 1))
    return np.clip(np.round(2 + ability + rng.normal(size=(60, 8))), 0, 4)


def test_correlations_and_intervals_against_scipy(cohort):
    found = analysis.analyse([str(n) for n in range(8)], cohort, [4] * 8)
    for at, item in enumerate(found.items):
        rest = np.delete(cohort, at, axis=1).sum(axis=1)
        theirs = scipy.stats.pearsonr(cohort[:, at], rest)
        assert item.discrimination.value == pytest.approx(theirs.statistic, abs=1e-12)
        low, high = theirs.confidence_interval(0.95)
        assert (item.discrimination.low, item.discrimination.high) == pytest.approx((low, high), abs=1e-9)


def test_alpha_against_its_covariance_form(cohort):
    """alpha = k^2 mean(c) / sum(C): Cronbach (1951), from numpy's covariance matrix, another route."""
    matrix = np.cov(cohort, rowvar=False)
    k = len(matrix)
    between = (matrix.sum() - np.trace(matrix)) / (k * (k - 1))
    assert analysis.alpha(cohort) == pytest.approx(k * k * between / matrix.sum(), abs=1e-12)


def test_alpha_interval_covers_as_often_as_it_says():
    """Bonett's interval on 1 500 normal cohorts of known alpha = k rho/(1 + (k - 1) rho) covers near 95 %."""
    rng = np.random.default_rng(5)
    rho, k, n = 0.3, 6, 50
    true = k * rho / (1 + (k - 1) * rho)
    inside = 0
    for _ in range(1500):
        common = rng.normal(size=(n, 1)) * math.sqrt(rho)
        table = common + rng.normal(size=(n, k)) * math.sqrt(1 - rho)
        bounds = analysis.alpha_interval(analysis.alpha(table), n, k)
        inside += bounds.low <= true <= bounds.high
    # Three standard errors of a proportion .95 in 1500, and half a point for Bonett's approximation.
    assert abs(inside / 1500 - 0.95) < 3 * math.sqrt(0.95 * 0.05 / 1500) + 0.005


@pytest.mark.parametrize(("right", "count"), [(0, 12), (7, 12), (30, 30), (553, 1000)])
def test_wilson_against_statsmodels(right, count):
    low, high = proportion_confint(right, count, method="wilson")
    assert analysis.wilson(right / count, count) == pytest.approx((low, high), abs=1e-12)


def test_standard_error_of_small_classes():
    """The note: the standard error of a facility of .7 is .13 at n = 12 and .046 at n = 100."""
    for count, error in ((12, 0.13), (100, 0.046)):
        low, high = analysis.wilson(0.7, count)
        assert (high - low) / (2 * 1.96) == pytest.approx(error, rel=0.1)


def test_part_marks_interval_against_scipy(cohort):
    share = cohort[:, 0] / 4
    low, high = scipy.stats.norm.interval(0.95, loc=share.mean(), scale=scipy.stats.sem(share))
    found = analysis.facility(cohort[:, 0], 4)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-12)


def test_upper_lower_by_hand():
    """100 attempts with totals 1 to 100: right from total 74 up only; groups of 27, so D = 1."""
    totals = np.arange(1.0, 101.0)
    assert analysis.upper_lower((totals >= 74).astype(float), totals, 1) == pytest.approx(1.0)
    assert analysis.upper_lower((totals >= 87).astype(float), totals, 1) == pytest.approx(14 / 27)
    assert analysis.upper_lower((totals <= 27).astype(float), totals, 1) == pytest.approx(-1.0)


def test_upper_lower_does_not_depend_on_the_order_of_files(cohort):
    totals = cohort.sum(axis=1)
    order = np.random.default_rng(3).permutation(60)
    for at in range(8):
        here = analysis.upper_lower(cohort[:, at], totals, 4)
        assert analysis.upper_lower(cohort[order, at], totals[order], 4) == pytest.approx(here, abs=1e-12)


def test_below_thirty_attempts_the_figures_are_refused(cohort):
    found = analysis.analyse([str(n) for n in range(8)], cohort[:29], [4] * 8)
    assert found.refused.startswith("Not enough attempts: 29")
    assert found.items == () and found.alpha.value is None and found.error_of_measurement is None
    assert not analysis.analyse([str(n) for n in range(8)], cohort[:30], [4] * 8).refused


def test_items_that_everyone_gets_have_no_correlation():
    table = np.column_stack([np.ones(40), np.tile([0.0, 1.0], 20), np.tile([0.0, 0.0, 1.0, 1.0], 10)])
    found = analysis.analyse(["a", "b", "c"], table, [1, 1, 1])
    assert found.items[0].discrimination.value is None
    assert "same mark" in found.items[0].discrimination.why
    constant = analysis.analyse(["a", "b"], np.ones((40, 2)), [1, 1])
    assert constant.alpha.value is None and "totals that differ" in constant.alpha.why
    # A third of a mark cannot be stored exactly; equal marks must still count as no spread.
    thirds = analysis.correlation(np.full(40, 0.1 + 0.2), np.arange(40.0))
    assert thirds.value is None


@pytest.mark.parametrize(
    ("marks", "most", "words"),
    [
        ([[1, 2], [1]], [2, 2], "one row an attempt"),
        ([["1", "x"]], [2, 2], "one row an attempt"),
        ([[1, float("nan")]], [2, 2], "not a number"),
        ([[1, 3]], [2, 2], "above the most"),
        ([[1, -1]], [2, 2], "below zero"),
        ([[1, 1]], [2], "one row an attempt"),
        ([[1, 1]], [2, 0], "not a number"),
        ([], [1], "one row an attempt"),
    ],
)
def test_marks_that_cannot_be_analysed(marks, most, words):
    with pytest.raises(analysis.AnalysisError, match=words):
        analysis.analyse(["a", "b"], marks, most)


def test_kr20_refuses_part_marks(cohort):
    with pytest.raises(analysis.AnalysisError, match="right or wrong"):
        analysis.kr20(cohort)
