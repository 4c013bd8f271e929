"""The accept band: every answer that a competent trainee could reach, and no wider.

1. Work the step out with each number on the way, and each earlier answer, kept exact or
   rounded as taught.
2. Work it out again at the corners of every number read off a scale, plus and minus half
   of what can be read. Figures on a display, and numbers printed, are alike to everyone.
3. Take the hull, and widen it by half a unit in the last place asked for.

All corners are worked out at once, as arrays.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from gaslab.learn.family import DEFAULT_FIGURES, Family, Precision, StepPlan, last_place
from gaslab.learn.formulas import Tree, evaluate

GUARD = 1e-9
TIE = 1e-6  # of a step: floats miss a half by less


@dataclass(frozen=True)
class Band:
    """The exact answer and the range of answers that count as it."""

    value: float
    lo: float
    hi: float

    def holds(self, answer: float) -> bool:
        """Return True when a finite answer lies in the band, ends included."""
        guard = GUARD * abs(self.hi)
        return math.isfinite(answer) and self.lo - guard <= answer <= self.hi + guard

    @property
    def width(self) -> float:
        return self.hi - self.lo

    def touches(self, other: Band, apart: float = 0.0) -> bool:
        """Return True when the bands overlap or come nearer than `apart`."""
        return self.lo - apart <= other.hi and other.lo - apart <= self.hi


@functools.cache
def _corners(bits: int) -> np.ndarray:
    """Return an array (bits, 2 ** bits) of 0 and 1: every corner once."""
    return (np.arange(2**bits) >> np.arange(bits)[:, None]) & 1


def rounding_ends(values: Any, precision: Precision) -> tuple[Any, Any]:
    """Return (low, high) arrays that hold each value, exact and rounded; a half may go either way.

    People round halves up, calculators may round them to even: both are right.
    """
    if precision.places is not None:
        step = 10.0**-precision.places
    else:
        size = np.floor(np.log10(np.maximum(np.abs(values), 1e-300)))
        step = 10.0 ** (size - (precision.figures or DEFAULT_FIGURES) + 1)
    units_of_step = values / step
    down, up = np.ceil(units_of_step - 0.5 - TIE) * step, np.floor(units_of_step + 0.5 + TIE) * step
    return np.minimum(values, down), np.maximum(values, up)


def half_unit(value: float, precision: Precision) -> float:
    """Return half a unit in the last place asked for.

    >>> half_unit(2.597, Precision(places=3)), half_unit(1340.0, Precision(figures=3))
    (0.0005, 5.0)
    """
    places = precision.places
    if places is None:
        places = last_place(value, precision.figures or DEFAULT_FIGURES)
    return 0.5 * 10.0**-places


class Workings:
    """All numbers of one variant: exact ones, and the same at every corner."""

    def __init__(self, family: Family, scene: Mapping[str, float], own: Mapping[str, float] | None = None):
        """`scene` is what the question shows. `own` puts a trainee's own earlier answers in their place."""
        self.family, self.own = family, own or {}
        self.exact: dict[str, Any] = dict(scene)
        self.spread: dict[str, Any] = dict(scene)
        read = family.read
        rounders = len(family.on_the_way) + len(family.steps) - 1
        corners = _corners(len(read) + rounders)
        for bit, (name, resolution) in zip(corners, read.items(), strict=False):
            self.spread[name] = scene[name] + (bit - 0.5) * resolution
        self._flags = iter(corners[len(read) :])
        for number in family.on_the_way:
            self._put(number.name, number.tree, number.precision)

    def _put(self, name: str, tree: Tree, precision: Precision) -> None:
        """Work a number out, and keep it exact, and at the corners as low and as high as rounding takes it."""
        self.exact[name] = evaluate(tree, self.exact)
        low, high = rounding_ends(evaluate(tree, self.spread), precision)
        self.spread[name] = np.where(next(self._flags, 0) == 1, high, low)

    def band(self, tree: Tree, precision: Precision) -> Band:
        """Return the band of a formula with the numbers worked out so far."""
        value, spread = evaluate(tree, self.exact), evaluate(tree, self.spread)
        low, high = float(min(value, np.min(spread))), float(max(value, np.max(spread)))
        # Each end by its own size: past 100, three figures round to whole numbers.
        return Band(value, low - half_unit(low, precision), high + half_unit(high, precision))

    def step_done(self, step: StepPlan) -> None:
        """Make a step's answer known to the steps after it: the right one, or the trainee's own."""
        if step.id in self.own:
            next(self._flags, None)
            self.exact[step.id] = self.spread[step.id] = self.own[step.id]
        else:
            self._put(step.id, step.tree, step.precision)
