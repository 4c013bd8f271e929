"""A cohort gathered attempt by attempt: small counts, not the attempts themselves.

Ten thousand marked attempts do not fit in a small machine's memory; their marks do.
"""

from __future__ import annotations

from array import array
from collections.abc import Mapping, Sequence

import numpy as np

from gaslab.assess import analysis, pictures, standard
from gaslab.assess.attempt_reader import RefusedAttempt
from gaslab.assess.guide import Key
from gaslab.assess.results import Result, SlipCount, SlipCounter


class Cohort:
    """Marks by item, slips by family, and the lists that a person must see."""

    def __init__(self, items: Sequence[str], most: Sequence[int]):
        self.items, self.most = tuple(items), tuple(most)
        self.candidates: list[str] = []
        self.missed: dict[str, tuple[str, ...]] = {}
        self.unsafe: list[tuple[str, str, str, str]] = []  # candidate, item, step, reason
        self.refused: list[RefusedAttempt] = []
        self.unread = 0  # answers that nothing could be read from
        self.follow_through = 0
        self._marks = array("h")
        self._slips = SlipCounter()
        self._kinds = {kind: array("d") for kind in pictures.KINDS}

    @classmethod
    def of_key(cls, key: Key) -> Cohort:
        """Return an empty cohort for a paper; every form asks the same families for the same marks."""
        first = next(iter(key.forms.values()))
        return cls([item.identifier for item in first], [item.marks for item in first])

    def add(self, result: Result) -> None:
        """Count one marked attempt."""
        by_item = result.by_item()
        self._marks.extend(by_item[item] for item in self.items)
        self.candidates.append(result.candidate)
        if result.missed:
            self.missed[result.candidate] = result.missed
        won: dict[str, list[int]] = {}
        for step in result.steps:
            pair = won.setdefault(step.kind, [0, 0])
            pair[0] += step.marks
            pair[1] += step.most
            self.unread += step.unread
            self.follow_through += step.follow_through
            if step.unsafe:
                self.unsafe.append((result.candidate, step.item, step.step, step.unsafe_words))
        for kind, (marks, most) in won.items():
            self._kinds[kind].append(marks / most)
        self._slips.add(result)

    def table(self) -> np.ndarray:
        """Return the marks, one row an attempt and one column an item."""
        return np.array(self._marks, dtype=float).reshape(-1, len(self.items))

    def scores(self) -> list[int]:
        return self.table().sum(axis=1).astype(int).tolist()

    def slips(self) -> tuple[SlipCount, ...]:
        return self._slips.rows()

    def analysis(self) -> analysis.Analysis:
        """Return the item analysis; below thirty attempts it says so instead."""
        return analysis.analyse(list(self.items), self.table(), self.most)

    def profile(self) -> pictures.CohortProfile:
        return pictures.cohort_profile(self._kinds)

    def decisions(self, cut: float, error: float | None) -> Mapping[str, standard.Decision]:
        """Return the decision on each candidate; see `standard.decide`."""
        return {
            candidate: standard.decide(candidate, float(score), self.missed.get(candidate, ()), cut, error)
            for candidate, score in zip(self.candidates, self.scores(), strict=True)
        }
