"""Reads a number that a person typed. It never guesses and never raises.

A plain decimal is taken. A comma may be a decimal comma, and then the reader says what
it read; where it may as well be a thousands mark, the reader asks. Everything else is
sent back with a sentence that says what to type.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from gaslab import units

LONGEST = 16
_PLAIN = re.compile(r"[+-]?[0-9]{1,7}(?:[.,][0-9]{1,6})?\Z")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}\Z")
_NUMBER_AND_MORE = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?\s*[^0-9.,\s+-]")
_POWER = re.compile(r"[+-]?[0-9.]+[eE][+-]?[0-9]+\Z")
_TOO_MANY = re.compile(r"[+-]*[0-9]+(?:[.,][0-9]+)?\Z")
_WORDS = {"nan", "inf", "infinity"}
_MINUS_MARKS = "\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d"


@dataclass(frozen=True)
class Answer:
    """What was read. Either `value` is a number, or `question` says what to do.

    `echo` shows how a number was read when that is not plain to see. `choices` holds the
    numbers it may be when it could be more than one.
    """

    value: Decimal | None
    echo: str = ""
    question: str = ""
    choices: tuple[Decimal, ...] = ()


def _again(sentence: str) -> Answer:
    return Answer(None, question=sentence)


def read_answer(text: object, unit: str = "") -> Answer:
    """Return the answer in a text.

    >>> read_answer("21,5", "mbar").echo
    'I read that as 21.5 mbar.'
    >>> read_answer("1,200").question
    'Is that 1200, or 1.2 with a decimal comma? Type it without the comma.'
    >>> str(read_answer("20.0").value)
    '20.0'
    """
    if not isinstance(text, str):
        return _again("Type a number, such as 21.5.")
    plain = text.strip(" \t")
    if not plain:
        return _again("The box is empty. Type a number, such as 21.5.")
    if len(plain) > LONGEST:
        return _again(f"That is too long. Type at most {LONGEST} characters, such as 21.5.")
    if not _PLAIN.match(plain):
        return _again(_what_is_wrong(plain))
    if _THOUSANDS.match(plain):
        large, small = Decimal(plain.replace(",", "")), Decimal(plain.replace(",", "."))
        return Answer(
            None,
            question=f"Is that {large}, or {small.normalize():f} with a decimal comma? Type it without the comma.",
            choices=(large, small),
        )
    value = Decimal(plain.replace(",", "."))
    return Answer(value, echo=read_back(value, unit) if "," in plain else "")


def read_back(value: Decimal, unit: str = "") -> str:
    """Return the sentence that says how an answer was read."""
    printed = units.printed(unit) if unit else ""
    return f"I read that as {value:f}{f' {printed}' if printed else ''}."


def _odd_figures(plain: str) -> bool:
    bare = re.sub(r"(?<=[A-Za-z])[²³]", "", plain)  # of a unit, such as m³; that is told as a unit
    return any(character.isnumeric() and not "0" <= character <= "9" for character in bare)


# Each test of a text that is not a plain number, with the sentence it earns. The first that fits is said.
_FAULTS: tuple[tuple[Callable[[str], object], str], ...] = (
    (
        lambda t: t.lower().lstrip("+-") in _WORDS,
        "That is a word and not a number. Type figures, such as 21.5.",
    ),
    (
        lambda t: any(mark in t for mark in _MINUS_MARKS),
        "That dash is not the minus on your keys. Type - and then the number.",
    ),
    (_odd_figures, "Some of those figures are not plain ones. Type 0 to 9."),
    (_POWER.match, "Write the number out, without the letter e. Type 1200 and not 1.2e3."),
    (lambda t: "_" in t, "Leave out the underscore. Type 1200."),
    (lambda t: "/" in t, "Type a decimal and not a fraction, such as 0.5."),
    (
        lambda t: t.count(",") + t.count(".") > 1,
        "There is more than one point or comma. Leave out the thousands mark, such as 1200.5.",
    ),
    (_NUMBER_AND_MORE.match, "Type the number alone. The unit stands beside the box."),
    (lambda t: t[0] in ".," or t[-1] in ".,", "Put a figure on both sides of the point, such as 0.5."),
    (lambda t: " " in t or "\t" in t, "There is a gap in the number. Type it without one, such as 1200."),
    (_TOO_MANY.match, "Type at most 7 figures before the point and 6 after it, such as 21.5."),
)


def _what_is_wrong(plain: str) -> str:
    """Return the sentence for a text that is not a plain number."""
    for fits, sentence in _FAULTS:
        if fits(plain):
            return sentence
    return "That is not a number I can read. Type figures, such as 21.5."
