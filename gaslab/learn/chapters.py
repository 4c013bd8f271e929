"""The words of each chapter, read from data/chapters and checked.

A chapter is data: its question, what to predict, the reasons to choose from, the entry
check that picks a route, and the decision on site. The numbers come from elsewhere.
"""

from __future__ import annotations

import functools
import zlib
from collections.abc import Mapping
from dataclasses import dataclass

from gaslab import tables, units

Raw = Mapping[str, object]


@dataclass(frozen=True)
class Option:
    """One answer to choose, whether it is right, and the sentence that it earns."""

    text: str
    right: bool
    says: str


@dataclass(frozen=True)
class Choice:
    """A question with answers to choose from. Exactly one is right."""

    question: str
    options: tuple[Option, ...]
    source: str = ""


@dataclass(frozen=True)
class Prediction:
    """What the trainee guesses before looking, its unit, and why it comes out as it does."""

    question: str
    unit: str
    reasons: Choice


@dataclass(frozen=True)
class ChapterWords:
    """All the words of one chapter."""

    number: str
    title: str
    question: str
    aim: str
    minutes: int
    likely_slip: str
    ask: str
    families: tuple[str, ...]
    caution: str
    prediction: Prediction | None
    entry: tuple[Choice, ...]
    decision: Choice | None


def numbers() -> tuple[str, ...]:
    """Return the numbers of all chapters, in order."""
    return tuple(name.removesuffix(".toml") for name in tables.files("chapters", ".toml"))


def _text(file: str, raw: Raw, key: str) -> str:
    value = raw.get(key)
    if not isinstance(value, str) or not value.strip():
        raise tables.TableError(file, None, key, "needs words")
    return value


def _options(file: str, place: str, raw: object) -> tuple[Option, ...]:
    if not isinstance(raw, list):
        raise tables.TableError(file, None, place, "needs a list of options")
    options = tuple(
        Option(_text(file, one, "text"), one.get("right") is True, _text(file, one, "says")) for one in raw
    )
    if len(options) < 2 or sum(option.right for option in options) != 1:
        raise tables.TableError(file, None, place, "needs two or more options, exactly one of them right")
    # Authors write the right answer first; people see an order of its own that is the same each time.
    return tuple(sorted(options, key=lambda option: zlib.crc32(option.text.encode())))


def _entry(file: str, raw: Raw) -> Choice:
    texts, right, says = raw.get("options"), raw.get("right"), _text(file, raw, "says")
    if not isinstance(texts, list) or not isinstance(right, int) or not 0 <= right < len(texts):
        raise tables.TableError(
            file, None, "entry", "needs options, and `right` as the number of one of them from 0"
        )
    # The sentence tells what is right, so every answer earns it.
    return Choice(
        _text(file, raw, "question"), tuple(Option(text, i == right, says) for i, text in enumerate(texts))
    )


def _prediction(file: str, raw: Raw) -> Prediction:
    unit = _text(file, raw, "unit")
    if unit not in units.TRADE_UNITS:
        raise tables.TableError(file, None, "predict.unit", f"{unit!r} is not a listed unit")
    reasons = Choice(
        _text(file, raw, "reason_question"), _options(file, "predict.reasons", raw.get("reasons", []))
    )
    return Prediction(_text(file, raw, "question"), unit, reasons)


def prediction(number: str) -> Prediction:
    """Return what a chapter asks its trainees to foretell, or raise ValueError where it asks nothing."""
    found = words(number).prediction
    if found is None:
        raise ValueError(f"Chapter {number} has nothing to foretell.")
    return found


@functools.cache
def words(number: str) -> ChapterWords:
    """Return the words of a chapter, or raise TableError naming the file and the place."""
    file = f"chapters/{number}.toml"
    raw = tables.toml_file(file)
    if _text(file, raw, "chapter") != number:
        raise tables.TableError(file, None, "chapter", f"must be {number}, as the file is named")
    minutes = raw.get("minutes")
    if not isinstance(minutes, int) or minutes < 1:
        raise tables.TableError(file, None, "minutes", "needs a whole number of minutes")
    decision = raw.get("decision")
    if decision is not None and decision.get("source") not in tables.sources():
        raise tables.TableError(
            file, None, "decision.source", f"{decision.get('source')!r} is not in sources.csv"
        )
    return ChapterWords(
        number=number,
        title=_text(file, raw, "title"),
        question=_text(file, raw, "question"),
        aim=_text(file, raw, "aim"),
        minutes=minutes,
        likely_slip=_text(file, raw, "likely_slip"),
        ask=_text(file, raw, "ask"),
        families=tuple(raw.get("families", ())),
        caution=_text(file, raw, "caution"),
        prediction=_prediction(file, raw["predict"]) if "predict" in raw else None,
        entry=tuple(_entry(file, one) for one in raw.get("entry", ())),
        decision=Choice(
            _text(file, decision, "question"),
            _options(file, "decision", decision["options"]),
            decision["source"],
        )
        if decision is not None
        else None,
    )
