"""Where a reading meets a limit: one function, `judge`.

Limits are data (`limits`), and each finding carries the limit's edition and what
stands behind it to the screen and the sheet. A limit that could not be confirmed
is an `enter` row: nobody can judge by it until it has been entered (`overlay`).
The reading is compared as read, at the limit's stated resolution.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from gaslab import units
from gaslab.refit import conditions, overlay
from gaslab.refit.limits import Criterion, rows

MEETS, FAILS, NO_LIMIT, IN_DOUBT = "meets", "does not meet", "cannot judge", "cannot tell"
OUTCOMES = (MEETS, FAILS, NO_LIMIT, IN_DOUBT)
ENTER_WORDS = "cannot judge: enter the limit from the edition in force"


class CriterionError(ValueError):
    """A question that no limit can answer: an unknown key or a reading that is no number."""


@dataclass(frozen=True)
class Finding:
    """What a reading says against a limit. `reading` is SI; `words` is one plain sentence."""

    key: str
    outcome: str
    words: str
    reading: float | None
    uncertainty: float | None
    criterion: Criterion | None
    advice: str = ""

    @property
    def sentence(self) -> str:
        """What is said of the finding, with its advice beside it."""
        advice = f" Note: {self.advice}." if self.advice else ""
        return f"{self.words[:1].upper()}{self.words[1:]}.{advice}"

    def record(self) -> dict:
        """Return the finding as plain values for the job file and the sheet."""
        c = self.criterion
        return {
            "key": self.key, "outcome": self.outcome, "words": self.words, "advice": self.advice,
            "reading": self.reading, "uncertainty": self.uncertainty,
            "unit": units.si_unit(c.unit) if c else "",
            "limit": c.words() if c and c.known else "",
            "backing": c.backing() if c else "",
            "status": c.status if c else "",
            "edition": c.edition if c else "",
            "clause": c.clause if c else "",
            "entered_by": c.entered_by if c else "",
            "entered_on": c.entered_on if c else "",
            "superseded": bool(c and c.superseded),
        }  # fmt: skip


def keys() -> tuple[str, ...]:
    """Return the keys of all limits."""
    return tuple(rows())


def superseded(key: str, context: Mapping[str, object]) -> Criterion | None:
    """Return the limit of an edition no longer in force that would apply, for comparison, or None."""
    return _applying([c for c in _known(key) if c.superseded], context)


def criterion(
    key: str, context: Mapping[str, object] | None = None, entries: tuple | None = None
) -> Criterion | None:
    """Return the limit in force that applies in this context, or None when none does.

    An `enter` limit is filled from the entered limits (`entries`; the user's file by default).
    A `maker` limit is filled from `context["maker"][key]`, in SI. Raises conditions.NotKnown.
    """
    context = context or {}
    limit = shipped(key, context)
    if limit is None or limit.known:
        return limit
    if limit.from_maker:
        maker = context.get("maker")
        if not isinstance(maker, Mapping) or key not in maker:
            return limit
        return limit.filled(units.from_si(maker[key], limit.unit))
    return _entered(limit, context, overlay.load() if entries is None else entries)


def shipped(key: str, context: Mapping[str, object], edition: str | None = None) -> Criterion | None:
    """Return the row of the data that applies, with nothing entered: the one in force, or that of an edition."""
    wanted = [c for c in _known(key) if (not c.superseded if edition is None else c.edition == edition)]
    return _applying(wanted, context)


def _known(key: str) -> tuple[Criterion, ...]:
    if key not in rows():
        raise CriterionError(f"no limit is called {key!r}; known: {', '.join(rows())}")
    return rows()[key]


def _applying(limits: list[Criterion], context: Mapping[str, object]) -> Criterion | None:
    fit = [c for c in limits if conditions.holds(conditions.parse(c.applies_when), context)]
    if len(fit) > 1:
        raise CriterionError(
            f"{fit[0].key}: {len(fit)} limits apply at once; mend applies_when in data/criteria"
        )
    return fit[0] if fit else None


def _entered(limit: Criterion, context: Mapping[str, object], entries: tuple) -> Criterion:
    fit = [
        e
        for e in entries
        if e.key == limit.key and conditions.holds(conditions.parse(e.applies_when), context)
    ]
    if len(fit) > 1:
        raise overlay.OverlayError(
            f"{overlay.FILE}: {len(fit)} entered limits for {limit.key!r} apply at once"
        )
    if not fit:
        return limit
    entry = fit[0]
    try:
        value = units.convert(entry.value, entry.unit, limit.unit)
    except units.UnitError as error:
        raise overlay.OverlayError(f"{overlay.FILE}, limit {entry.key!r}: {error}") from None
    return limit.filled(
        value,
        edition=entry.edition,
        clause=entry.clause,
        entered_by=entry.entered_by,
        entered_on=entry.entered_on,
    )


def at_resolution(value: float, resolution: float | None) -> Decimal:
    """Return a value rounded to the limit's resolution, halves away from zero as people round.

    Twelve figures are kept first: a change of unit leaves dust in the last ones.

    >>> at_resolution(1.049999, 0.1), at_resolution(1.05, 0.1)
    (Decimal('1.0'), Decimal('1.1'))
    """
    exact = Decimal(f"{value:.12g}")
    if resolution is None:
        return exact
    step = Decimal(repr(resolution)).normalize()  # 1, not 1.0: the step sets the decimals shown
    return (exact / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step


def judge(
    key: str,
    reading_si: float,
    uncertainty: float | None = None,
    context: Mapping[str, object] | None = None,
    given: float | None = None,
    *,
    entries: tuple | None = None,
) -> Finding:
    """Hold a reading [SI] against the limit called `key`, and say what it shows.

    `uncertainty` [SI] stands beside the finding as advice; it changes the outcome only where
    the limit's row asks for it. `given` [SI] is an exercise's own limit and is printed as such.
    """
    reading = _number(key, "reading", reading_si)
    doubt = None if uncertainty is None else abs(_number(key, "uncertainty", uncertainty))
    try:
        limit = _given(key, given, context or {}) if given is not None else criterion(key, context, entries)
    except conditions.NotKnown as missing:
        return Finding(key, NO_LIMIT, f"{NO_LIMIT}: {missing.args[0]} is not known", reading, doubt, None)
    except overlay.OverlayError as error:
        return Finding(key, NO_LIMIT, f"{NO_LIMIT}: {error}", reading, doubt, None)
    if limit is None:
        return Finding(key, NO_LIMIT, f"{NO_LIMIT}: no limit is listed for this case", reading, doubt, None)
    if not limit.known:
        words = f"{NO_LIMIT}: enter the maker's figure" if limit.from_maker else ENTER_WORDS
        return Finding(key, NO_LIMIT, words, reading, doubt, limit)
    return _compared(limit, reading, doubt)


def _given(key: str, given: float, context: Mapping[str, object]) -> Criterion:
    """Return the row for this key with the exercise's own limit in it."""
    current = [c for c in _known(key) if not c.superseded]
    limit = _applying(current, context) or current[0]
    if limit.op == "between":
        raise CriterionError(f"{key}: an exercise cannot give one number for a limit with two ends")
    value = units.from_si(_number(key, "given limit", given), limit.unit)
    empty = replace(limit, low=None, high=None, from_maker=False)
    return empty.filled(value, status="given", edition="", clause="")


def _compared(limit: Criterion, reading: float, doubt: float | None) -> Finding:
    value = at_resolution(units.from_si(reading, limit.unit), limit.resolution)
    met = _within(limit, value)
    tail = f" {units.printed(limit.unit)}".rstrip()
    reach = None if doubt is None else Decimal(f"{_scaled(doubt, limit.unit):.12g}")
    near = reach is not None and any(
        abs(value - Decimal(repr(end))) <= reach for end in (limit.low, limit.high) if end is not None
    )
    outcome = IN_DOUBT if near and "doubt counts" in limit.flags else MEETS if met else FAILS
    words = f"{value:f}{tail} {outcome}: the limit is {limit.words()} ({limit.backing()})"
    advice = (
        f"the doubt of {reach:.2g}{tail} reaches over the limit: read again, for longer or with a finer tool"
        if near
        else ""
    )
    return Finding(limit.key, outcome, words, reading, doubt, limit, advice)


def _scaled(difference: float, unit: str) -> float:
    """Return a difference [SI] in `unit`; an offset such as that of Celsius falls out."""
    return units.from_si(difference, unit) - units.from_si(0.0, unit)


def _within(limit: Criterion, value: Decimal) -> bool:
    """Return whether a value is inside the ends the limit has; `<` and `>` leave the end itself out."""
    if limit.low is not None:
        low = Decimal(repr(limit.low))
        if value < low or (limit.op == ">" and value == low):
            return False
    if limit.high is not None:
        high = Decimal(repr(limit.high))
        if value > high or (limit.op == "<" and value == high):
            return False
    return True


def _number(key: str, what: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise CriterionError(f"{key}: the {what} must be a number; got {str(value)[:40]!r}")
    return float(value)
