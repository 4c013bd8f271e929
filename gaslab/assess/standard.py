"""The pass mark: judges' ratings give the cut and its error; the borderline is for people.

Each judge says, item by item, how likely a trainee who is only just good enough is to
get it right (Angoff). Critical items stand outside: all must be right, whatever the score.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

FEWEST_JUDGES = 5


class StandardError(ValueError):
    """Ratings that cannot be used, told in one sentence."""


@dataclass(frozen=True)
class Standard:
    """A cut score, in marks, with what it rests on."""

    cut: float
    most: float
    judges: int
    sums: tuple[float, ...]
    deviation: float  # of the judges' sums, dividing by J - 1
    error: float  # deviation / sqrt(J)
    advice: tuple[str, ...]


def angoff(ratings: Mapping[str, Sequence[float]], marks: Sequence[float] | None = None) -> Standard:
    """Return the cut: the mean over judges of the sum of rating x marks, with SE = SD/sqrt(J).

    `ratings` is judge -> one chance (0 to 1) for each item. `marks` are the marks of the
    items, one each when left out.

    >>> angoff({"J1": [0.8, 0.6], "J2": [0.6, 0.4]}).cut
    1.2
    """
    if len(ratings) < 2:
        raise StandardError("A cut needs at least two judges; five or more are better.")
    widths = {len(row) for row in ratings.values()}
    if len(widths) != 1 or not widths.pop():
        raise StandardError("Each judge must rate every item once.")
    weights = [1.0] * len(next(iter(ratings.values()))) if marks is None else list(marks)
    if len(weights) != len(next(iter(ratings.values()))):
        raise StandardError("There must be marks for each item that was rated.")
    sums = tuple(
        math.fsum(_rating(judge, r) * w for r, w in zip(row, weights, strict=True))
        for judge, row in ratings.items()
    )
    cut = math.fsum(sums) / len(sums)
    deviation = math.sqrt(math.fsum((s - cut) ** 2 for s in sums) / (len(sums) - 1))
    advice = []
    if len(sums) < FEWEST_JUDGES:
        advice.append(
            f"Only {len(sums)} judges. Ask at least {FEWEST_JUDGES}, and set the standard again each year."
        )
    return Standard(
        cut, math.fsum(weights), len(sums), sums, deviation, deviation / math.sqrt(len(sums)), tuple(advice)
    )


def _rating(judge: str, rating: object) -> float:
    if isinstance(rating, bool) or not isinstance(rating, (int, float)) or not 0 <= rating <= 1:
        raise StandardError(f"Judge {judge}: a rating is a number from 0 to 1, such as 0.7.")
    return float(rating)


def binomial_error(score: float, most: float) -> float:
    """Return Lord's standard error of one score, sqrt(x (n - x) / (n - 1)), for n marks of one each.

    It needs no cohort, so it serves a class too small for the standard error of measurement.
    """
    if most <= 1 or not 0 <= score <= most:
        raise StandardError(
            "The score must lie between zero and the most marks, and the paper needs two marks or more."
        )
    return math.sqrt(score * (most - score) / (most - 1))


@dataclass(frozen=True)
class Decision:
    """What a score and the critical items come to. `outcome` is one of `OUTCOMES`."""

    candidate: str
    score: float
    outcome: str
    reason: str


OUTCOMES = ("pass", "not yet", "borderline")


def decide(candidate: str, score: float, missed: Sequence[str], cut: float, error: float | None) -> Decision:
    """Return the decision on one score.

    `missed` are the critical items not right in truth; one is enough for *not yet*.
    `error` is the standard error of measurement; a score nearer the cut than that is
    borderline and goes to a person with a fresh parallel paper.
    """
    if missed:
        return Decision(candidate, score, "not yet", f"Critical items not right: {', '.join(missed)}.")
    if error is not None and abs(score - cut) < error:
        return Decision(
            candidate, score, "borderline", "Within one standard error of the cut. Sit a fresh form."
        )
    if score >= cut:
        return Decision(
            candidate, score, "pass", "The score reaches the cut and every critical item is right."
        )
    return Decision(candidate, score, "not yet", "The score is below the cut.")


def borderline(
    scores: Iterable[tuple[str, float, Sequence[str]]], cut: float, error: float | None
) -> tuple[Decision, ...]:
    """Return the borderline decisions, nearest the cut first. `scores` are (candidate, score, missed)."""
    found = [decide(candidate, score, missed, cut, error) for candidate, score, missed in scores]
    near = [each for each in found if each.outcome == "borderline"]
    return tuple(sorted(near, key=lambda each: (abs(each.score - cut), each.candidate)))
