"""The numbers behind the assessor's charts, with the sentence that says what each one shows.

Drawing is elsewhere: nothing here knows a colour or an axis.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaslab.assess import analysis, frozen
from gaslab.assess.results import DECISION, SlipCount

KINDS = (*frozen.KINDS, DECISION)


@dataclass(frozen=True)
class ScoreDistribution:
    """How many attempts got each score, with the cut and the band of its error."""

    scores: tuple[int, ...]
    counts: tuple[int, ...]
    cut: float | None
    band: tuple[float, float] | None
    sentence: str


@dataclass(frozen=True)
class MapPoint:
    """One item: facility across, discrimination up, each with its interval."""

    name: str
    facility: analysis.Interval
    discrimination: analysis.Interval
    flagged: bool


@dataclass(frozen=True)
class ItemMap:
    """Every item at its facility and discrimination."""

    points: tuple[MapPoint, ...]
    sentence: str


@dataclass(frozen=True)
class SlipHeat:
    """Share of answers with each slip: one row a family and step, one column a rank of slip."""

    rows: tuple[str, ...]
    slips: tuple[tuple[str, ...], ...]
    shares: tuple[tuple[float, ...], ...]
    sentence: str


@dataclass(frozen=True)
class CohortProfile:
    """Share of marks won in each kind of step, with its interval."""

    kinds: tuple[str, ...]
    shares: tuple[analysis.Interval, ...]
    sentence: str


def score_distribution(
    scores: Sequence[int], most: int, cut: float | None = None, error: float | None = None
) -> ScoreDistribution:
    """Return the counts of every score from 0 to `most`; `error` is the half width of the cut's band."""
    counts = np.bincount(np.asarray(scores, dtype=int), minlength=most + 1)
    if len(counts) > most + 1:
        raise analysis.AnalysisError("A score lies above the most that the paper gives.")
    band = None if cut is None or error is None else (cut - error, cut + error)
    words = [
        f"{len(scores)} attempts, scores from {min(scores)} to {max(scores)} of {most}."
        if len(scores)
        else "No attempts yet."
    ]
    if cut is not None:
        reached = sum(1 for score in scores if score >= cut)
        words.append(f"{reached} reach the cut of {cut:.1f}.")
    if cut is not None and error is not None:
        near = sum(1 for score in scores if abs(score - cut) < error)
        words.append(f"{near} lie nearer to it than its error of {error:.1f}.")
    return ScoreDistribution(tuple(range(most + 1)), tuple(map(int, counts)), cut, band, " ".join(words))


def item_map(found: analysis.Analysis) -> ItemMap:
    """Return a point for each item that has a discrimination; a refusal gives its own sentence."""
    if found.refused:
        return ItemMap((), found.refused)
    points = tuple(
        MapPoint(item.name, item.facility, item.discrimination, bool(item.flags))
        for item in found.items
        if item.discrimination.value is not None
    )
    flagged = [item.name for item in found.items if item.flags]
    ending = f" Look again at {', '.join(flagged)}." if flagged else " None is flagged."
    return ItemMap(points, f"{len(found.items)} items over {found.attempts} attempts.{ending}")


def slip_heat(rows: Sequence[SlipCount], most_rows: int = 20) -> SlipHeat:
    """Return the slip shares, the row with the commonest slip on top, each row's slips by rank."""
    grouped: dict[str, list[SlipCount]] = {}
    for row in rows:
        grouped.setdefault(f"{row.family} · {row.step}", []).append(row)
    order = sorted(grouped, key=lambda name: (-max(row.share for row in grouped[name]), name))[:most_rows]
    ranked = [sorted(grouped[name], key=lambda row: (-row.share, row.slip)) for name in order]
    width = max((len(each) for each in ranked), default=0)
    slips = tuple(tuple(row.slip for row in each) + ("",) * (width - len(each)) for each in ranked)
    shares = tuple(tuple(row.share for row in each) + (0.0,) * (width - len(each)) for each in ranked)
    sentence = "No named slip was made."
    if ranked:
        top = ranked[0][0]
        sentence = f"The commonest slip is {top.slip} in {order[0]}: {top.count} of {top.answers} answers."
    return SlipHeat(tuple(order), slips, shares, sentence)


def cohort_profile(shares: Mapping[str, Sequence[float]]) -> CohortProfile:
    """Return the share of marks won by kind of step; `shares` is kind -> one share for each attempt."""
    kinds = tuple(kind for kind in KINDS if len(shares.get(kind, ())))
    intervals = tuple(analysis.facility(np.array(shares[kind]), 1.0) for kind in kinds)
    words = [f"{kind} {interval.known:.0%}" for kind, interval in zip(kinds, intervals, strict=True)]
    return CohortProfile(kinds, intervals, f"Marks won: {', '.join(words)}." if words else "No attempts yet.")
