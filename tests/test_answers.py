"""The reader of answers: plain numbers in, everything else sent back with a sentence. Never a silent misreading."""

import math
import os
import random
import re
from decimal import Decimal

import pytest
from tests_support import doctest_failures

from gaslab.learn import answers
from gaslab.learn.answers import LONGEST, read_answer

LONG = os.environ.get("GASLAB_LONG") == "1"
COUNT = 1_000_000 if LONG else 20_000


@pytest.mark.parametrize(
    ("text", "value", "echo"),
    [
        ("21.5", "21.5", ""),
        (" 20.0\t", "20.0", ""),
        ("+3", "3", ""),
        ("-0.4", "-0.4", ""),
        ("007", "7", ""),
        ("0", "0", ""),
        ("1234567.123456", "1234567.123456", ""),
        ("21,5", "21.5", "I read that as 21.5 mbar."),
        ("0,125", "0.125", "I read that as 0.125 mbar."),
        ("1,25", "1.25", "I read that as 1.25 mbar."),
        ("1,2000", "1.2000", "I read that as 1.2000 mbar."),
        ("1234,567", "1234.567", "I read that as 1234.567 mbar."),
    ],
)
def test_plain_numbers(text, value, echo):
    answer = read_answer(text, "mbar")
    assert (str(answer.value), answer.echo, answer.question) == (value, echo, "")


@pytest.mark.parametrize(("text", "large", "small"), [("1,200", 1200, "1.2"), ("-12,345", -12345, "-12.345")])
def test_a_comma_that_may_be_either_asks(text, large, small):
    answer = read_answer(text, "mbar")
    assert answer.value is None and answer.choices == (Decimal(large), Decimal(small))
    assert f"Is that {large}, or {small} with a decimal comma?" in answer.question


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "empty"),
        ("  \t ", "empty"),
        (None, "Type a number"),
        (21.5, "Type a number"),
        ("9" * 17, "too long"),
        ("nan", "a word"),
        ("-inf", "a word"),
        ("Infinity", "a word"),
        ("−0.4", "not the minus"),
        ("–3", "not the minus"),
        ("２０", "not plain"),
        ("²", "not plain"),
        ("½", "not plain"),
        ("٣", "not plain"),
        ("1e3", "letter e"),
        ("1.2E-3", "letter e"),
        ("1_000", "underscore"),
        ("1/2", "fraction"),
        ("1,200.5", "more than one"),
        ("1.200,5", "more than one"),
        ("1..2", "more than one"),
        ("21.5 mbar", "number alone"),
        ("5 cu ft", "number alone"),
        ("21,5 mbar", "number alone"),
        ("£5", "not a number"),
        (".5", "both sides"),
        ("5.", "both sides"),
        ("1 200", "a gap"),
        ("12345678", "at most 7"),
        ("0.1234567", "at most 7"),
        ("--5", "at most 7"),
        ("abc", "not a number"),
        ("9**9**9", "number alone"),
        ("21\n", "not a number"),
        ("2\x000", "number alone"),
    ],
)
def test_what_cannot_be_read_is_sent_back(text, part):
    answer = read_answer(text)
    assert answer.value is None and part in answer.question
    assert answer.question.endswith((".", "?")) and len(answer.question) < 120


# What people and machines type, mixed and bent.
_PIECES = [
    *"0123456789",
    *"0123456789",
    ".",
    ",",
    "-",
    "+",
    " ",
    "\t",
    "\n",
    "e",
    "E",
    "_",
    "/",
    "−",
    "–",
    "０",
    "５",
    "²",
    "½",
    "٣",
    "nan",
    "inf",
    "mbar",
    "kW",
    "\u200b",
    "\u202e",
    "\x00",
    "'",
    '"',
    "<b>",
    "=",
    "(",
    "%",
    "1,200",
    "21.5",
    "1e999",
    "\ud800",
    "𝟙",
]
_TRUE = re.compile(r"^[ \t]*([+-]?)([0-9]{1,7})(?:([.,])([0-9]{1,6}))?[ \t]*$", re.ASCII)


def check(text: str) -> bool:
    """Check one string against a second, separate reading of the grammar. Return True when a number was read."""
    answer = read_answer(text, "mbar")
    found = _TRUE.match(text) if not text.endswith("\n") else None
    if answer.value is None:
        assert answer.question and not answer.echo
        if found and len(text.strip(" \t")) <= LONGEST:
            # A plain number is only ever questioned for a comma before three figures.
            assert found[3] == "," and len(found[4]) == 3 and len(found[2]) <= 3 and found[2][0] != "0", repr(
                text
            )
        return False
    sign, whole, mark, decimals = found.groups()
    size = int(whole) + (int(decimals) / 10 ** len(decimals) if decimals else 0)
    assert math.isclose(float(answer.value), -size if sign == "-" else size, rel_tol=1e-12, abs_tol=1e-12), (
        repr(text)
    )
    assert bool(answer.echo) == (mark == ","), repr(text)
    return True


def test_fuzz_never_raises_and_never_misreads():
    chance = random.Random(11)
    read = 0
    for _ in range(COUNT):
        text = "".join(chance.choice(_PIECES) for _ in range(chance.randint(0, 9)))
        read += check(text)
    # Both ways of going wrong must have had their chance.
    assert COUNT * 0.02 < read < COUNT * 0.8


def test_plain_numbers_of_every_length_are_read():
    chance = random.Random(12)
    for _ in range(2_000):
        text = f"{chance.choice(['', '-', '+'])}{chance.randrange(10**7)}.{chance.randrange(10**6)}"
        assert check(text)


def test_very_long_text_is_refused_at_once():
    for text in ("9" * 1_000_000, " " * 1_000_000 + "x" * 20, "1," * 400_000):
        assert read_answer(text).value is None


def test_doctests():
    assert doctest_failures(answers) == 0


@pytest.mark.parametrize("text", ["0.6 m³", "0.6m³", "1.2 m²"])
def test_a_unit_with_a_small_figure_is_told_as_a_unit(text):
    assert "The unit stands beside the box" in read_answer(text).question
