"""KR-20 beside alpha on the item analysis: printed where every item is right or wrong, and nowhere else."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from gaslab.assess import analysis
from gaslab.show.panels import desk_views

# Ten each of 000, 100, 110 and 111. By hand: p q is 3/16 + 1/4 + 3/16 = 5/8; the totals 0, 1, 2, 3 have
# variance 5/4; KR-20 = 3/2 (1 - 5/8 ÷ 5/4) = 3/4.
STAIRS = [row for row in ((0, 0, 0), (1, 0, 0), (1, 1, 0), (1, 1, 1)) for _ in range(10)]


def told(marks, most) -> str:
    """Return the lines of the item analysis of a batch with these marks."""
    found = analysis.analyse(["q01", "q02", "q03"], marks, most)
    batch = SimpleNamespace(cohort=SimpleNamespace(analysis=lambda: found), cut=None)
    return " ".join(desk_views.items(batch).lines)


def test_kr20_stands_beside_alpha_when_every_item_is_right_or_wrong():
    words = told(STAIRS, [1, 1, 1])
    assert "Reliability (alpha): 0.75" in words
    assert "KR-20: 0.75. Every item here is right or wrong, so alpha is the same." in words


@pytest.mark.parametrize(
    ("marks", "most"),
    [
        ([(2 * a, b, c) for a, b, c in STAIRS], [2, 1, 1]),  # an item of two marks
        (STAIRS, [1, 1, 2]),  # nobody won the second mark, but it was there to win
        ([(0.5 * a, b, c) for a, b, c in STAIRS], [1, 1, 1]),  # half a mark
    ],
)
def test_kr20_is_not_printed_for_other_marks(marks, most):
    words = told(marks, most)
    assert "Reliability (alpha)" in words and "KR-20" not in words
