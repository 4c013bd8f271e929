"""Item analysis: what a cohort's marks say about the questions.

Symbols: N attempts, k items, x_ij the mark of attempt i on item j, X_i its total.
Every figure is printed with an interval, and below `FEWEST` attempts only the slip
table and the plain counts are given: a class of twelve cannot tell a good item from a
bad one. Variances are two-pass; each says whether it divides by N or by N - 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

FEWEST = 30
Z95 = 1.959963984540054  # the 97.5 % point of the normal curve


class AnalysisError(ValueError):
    """Marks that cannot be analysed, told in one sentence."""


@dataclass(frozen=True)
class Interval:
    """A figure with its 95 % interval. `value` is None where the figure does not exist."""

    value: float | None
    low: float | None
    high: float | None
    why: str = ""

    @property
    def known(self) -> float:
        """The value of an interval that has one."""
        assert self.value is not None, self.why
        return self.value


@dataclass(frozen=True)
class Item:
    """One question over a cohort."""

    name: str
    facility: Interval
    discrimination: Interval  # item-rest correlation
    upper_lower: float | None  # D, upper 27 % less lower 27 %
    alpha_without: float | None
    flags: tuple[str, ...]


@dataclass(frozen=True)
class Analysis:
    """A whole paper over a cohort."""

    attempts: int
    items: tuple[Item, ...]
    mean: float
    deviation: float  # of the totals, dividing by N - 1
    alpha: Interval
    error_of_measurement: float | None
    refused: str = ""
    kr20: float | None = None  # only where every item gives one mark or none


def marks_table(marks: object, most: object) -> tuple[np.ndarray, np.ndarray]:
    """Return (marks as an N x k array, most marks per item), or raise AnalysisError."""
    try:
        table, top = np.asarray(marks, dtype=float), np.asarray(most, dtype=float)
    except (TypeError, ValueError):  # rows of different lengths, or a word where a mark belongs
        table, top = np.empty(0), np.empty(0)
    if table.ndim != 2 or top.shape != table.shape[1:] or table.shape[1] < 1:
        raise AnalysisError(
            "The marks must be one row an attempt and one column an item, with the most for each item."
        )
    if not np.isfinite(table).all() or not np.isfinite(top).all() or (top <= 0).any():
        raise AnalysisError("A mark is missing or is not a number. Mark the batch again.")
    if (table < 0).any() or (table > top).any():
        raise AnalysisError("A mark lies below zero or above the most that its item gives.")
    return table, top


def facility(marks: np.ndarray, most: float) -> Interval:
    """Return the mean mark as a share of the most, p = mean(x)/most, with an interval.

    Right-or-wrong items get Wilson's interval; others mean +- z s/sqrt(N), kept in 0..1
    because no cohort can lie outside.
    """
    share = np.asarray(marks, dtype=float) / most
    count, p = len(share), float(np.mean(share))
    if np.isin(share, (0.0, 1.0)).all():
        low, high = wilson(p, count)
        return Interval(p, low, high)
    if count < 2:
        return Interval(p, None, None, "one attempt has no spread")
    half = Z95 * float(np.std(share, ddof=1)) / math.sqrt(count)
    return Interval(p, max(0.0, p - half), min(1.0, p + half))


def wilson(share: float, count: int) -> tuple[float, float]:
    """Return Wilson's 95 % score interval of a proportion `share` out of `count`."""
    square = Z95 * Z95
    middle = (share + square / (2 * count)) / (1 + square / count)
    half = Z95 / (1 + square / count) * math.sqrt(share * (1 - share) / count + square / (4 * count * count))
    return max(0.0, middle - half), min(1.0, middle + half)


def correlation(one: np.ndarray, other: np.ndarray) -> Interval:
    """Return Pearson's r with Fisher's 95 % interval, tanh(atanh r +- z/sqrt(N - 3))."""
    a, b = one - np.mean(one), other - np.mean(other)
    spread_a, spread_b = math.sqrt(float(a @ a)), math.sqrt(float(b @ b))
    # A spread below the rounding of the mean is no spread: every mark is the same.
    if spread_a <= 1e-12 * np.linalg.norm(one) or spread_b <= 1e-12 * np.linalg.norm(other):
        return Interval(None, None, None, "everyone has the same mark")
    r = min(1.0, max(-1.0, float(a @ b) / (spread_a * spread_b)))
    if len(one) < 4 or abs(r) == 1.0:
        return Interval(r, None, None, "no interval from so few attempts")
    middle, half = math.atanh(r), Z95 / math.sqrt(len(one) - 3)
    return Interval(r, math.tanh(middle - half), math.tanh(middle + half))


def alpha(table: np.ndarray) -> float | None:
    """Return Cronbach's alpha, k/(k-1) (1 - sum s2_j / s2_X); None where it does not exist.

    The ratio is the same with N or N - 1, as long as both variances use the same one.
    For right-or-wrong items it is KR-20: sum p q is the sum of variances that divide by N.
    """
    count, items = table.shape
    if items < 2 or count < 2:
        return None
    whole = float(np.var(table.sum(axis=1)))
    parts = float(np.sum(np.var(table, axis=0)))
    return None if whole <= 1e-24 else items / (items - 1) * (1 - parts / whole)


def kr20(table: np.ndarray) -> float | None:
    """Return KR-20, k/(k-1) (1 - sum p q / sigma2_X), sigma2_X dividing by N as p q does."""
    if not np.isin(table, (0.0, 1.0)).all():
        raise AnalysisError("KR-20 is for items that are right or wrong. Use alpha.")
    p = table.mean(axis=0)
    items, whole = table.shape[1], float(np.var(table.sum(axis=1)))
    return None if items < 2 or whole <= 1e-24 else items / (items - 1) * (1 - float(p @ (1 - p)) / whole)


def alpha_interval(value: float, attempts: int, items: int) -> Interval:
    """Return alpha with a 95 % interval of ln(1 - alpha), by Bonett (2002):
    standard error sqrt(2 k / ((k - 1)(N - 2)))."""
    if value >= 1.0 or attempts < 3:
        return Interval(value, None, None, "no interval from these marks")
    half = Z95 * math.sqrt(2 * items / ((items - 1) * (attempts - 2)))
    middle = math.log(1 - value)
    return Interval(value, 1 - math.exp(middle + half), 1 - math.exp(middle - half))


def error_of_measurement(totals: np.ndarray, reliability: float | None) -> float | None:
    """Return the standard error of measurement, s_X sqrt(1 - r); s_X divides by N - 1."""
    if reliability is None or len(totals) < 2:
        return None
    return float(np.std(totals, ddof=1)) * math.sqrt(1 - reliability)


def livingston(totals: np.ndarray, reliability: float, cut: float) -> float | None:
    """Return Livingston's k2(C) = (r s2 + (M - C)2) / (s2 + (M - C)2): how well a cut is served.

    s2 divides by N, as the second term of the ratio is a mean of squares over N as well.
    """
    square, off = float(np.var(totals)), (float(np.mean(totals)) - cut) ** 2
    return None if square + off == 0 else (reliability * square + off) / (square + off)


def upper_lower(marks: np.ndarray, totals: np.ndarray, most: float) -> float | None:
    """Return D: facility in the best 27 % of totals less that in the weakest 27 %.

    Attempts tied at the edge of a group each count for their share of the places left,
    so the order of the files cannot change D.
    """
    size = 0.27 * len(totals)
    if size < 1:
        return None
    groups = []
    for order in (totals, -totals):
        left, gathered = size, 0.0
        for level in np.unique(order):
            tied = marks[order == level]
            taken = min(left, float(len(tied)))
            gathered += float(np.mean(tied)) * taken
            left -= taken
            if left <= 0:
                break
        groups.append(gathered / size / most)
    return groups[1] - groups[0]


def item_flags(facility_value: float, rest: float | None) -> tuple[str, ...]:
    """Return plain sentences for an item that wants a look. Nothing is dropped by itself."""
    said = []
    if facility_value < 0.3:
        said.append("Very hard: fewer than three in ten marks were won.")
    if facility_value > 0.95:
        said.append("Very easy: it tells little about who can do the work.")
    if rest is not None and rest < 0.1:
        said.append("It does not go with the rest of the paper. Read its wording and its key again.")
    return tuple(said)


def analyse(names: list[str], marks: object, most: object) -> Analysis:
    """Return the item analysis of a cohort; below `FEWEST` attempts the figures are refused."""
    table, top = marks_table(marks, most)
    count, width = table.shape
    if len(names) != width:
        raise AnalysisError("There must be one name for each item.")
    totals = table.sum(axis=1)
    mean = float(np.mean(totals)) if count else 0.0
    if count < FEWEST:
        sentence = (
            f"Not enough attempts: {count}, and {FEWEST} are needed. "
            "With so few, chance outweighs the question. "
            "Gather more sittings of the same families."
        )
        return Analysis(count, (), mean, 0.0, Interval(None, None, None, sentence), None, sentence)
    value = alpha(table)
    nothing = Interval(None, None, None, "alpha needs two items and totals that differ")
    whole = alpha_interval(value, count, width) if value is not None else nothing
    items = tuple(_item(name, at, table, totals, top) for at, name in enumerate(names))
    deviation = float(np.std(totals, ddof=1))
    right_or_wrong = kr20(table) if (top == 1).all() and np.isin(table, (0.0, 1.0)).all() else None
    return Analysis(
        count, items, mean, deviation, whole, error_of_measurement(totals, value), kr20=right_or_wrong
    )


def _item(name: str, at: int, table: np.ndarray, totals: np.ndarray, top: np.ndarray) -> Item:
    marks = table[:, at]
    easy = facility(marks, float(top[at]))
    rest = correlation(marks, totals - marks)
    without = alpha(np.delete(table, at, axis=1))
    split = upper_lower(marks, totals, float(top[at]))
    return Item(name, easy, rest, split, without, item_flags(easy.known, rest.value))
