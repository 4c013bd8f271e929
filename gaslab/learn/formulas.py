"""A small language of formulas for questions: read into a tree, and the tree is walked.

    formula  = term  { ("+" | "-") term }
    term     = signed { ("*" | "/") signed }
    signed   = [ "-" | "+" ] signed | power
    power    = atom [ "^" signed ]
    atom     = number | name | name "(" formula { "," formula } ")" | "(" formula ")"

Numbers are plain decimals. × ÷ − are welcome too. The names of functions are those of
`trade_functions.FUNCTIONS`. Nothing in a formula is ever run as Python.
"""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from gaslab.learn.trade_functions import FUNCTIONS

LONGEST, DEEPEST = 400, 24
_TOKEN = re.compile(r"\s*(?:([0-9]+(?:\.[0-9]+)?)|([a-z][a-z0-9_]*)|([-+*/^(),]))")
_SAME = str.maketrans({"×": "*", "÷": "/", "−": "-"})
Values = Mapping[str, Any]  # name -> float or array


class FormulaError(ValueError):
    """A formula that cannot be read or worked out: what is wrong, and at which character."""

    def __init__(self, problem: str, text: str, position: int):
        self.problem, self.text, self.position = problem, text, position
        super().__init__(f"{problem}, at character {position + 1} of {text[:60]!r}")


class _Failed(Exception):
    """Something went wrong at a place in the tree; `evaluate` adds the text."""

    def __init__(self, problem: str, position: int):
        self.problem, self.position = problem, position
        super().__init__(problem)


def _power(base: Any, exponent: Any) -> Any:
    result = base**exponent
    # Python makes a complex number of (-8) ** 0.5; a trainee's calculator says error.
    if isinstance(result, complex):
        raise ValueError
    return result


_OPERATIONS: dict[str, Callable] = {
    "+": operator.add, "-": operator.sub, "*": operator.mul, "/": operator.truediv, "^": _power,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Number:
    """A number as it stands."""

    value: float
    position: int

    def work(self, names: Values) -> Any:
        return self.value


@dataclass(frozen=True, slots=True)
class Name:
    """A name, to be looked up among the values."""

    name: str
    position: int

    def work(self, names: Values) -> Any:
        try:
            return names[self.name]
        except KeyError:
            raise _Failed(f"nothing is called {self.name!r} here", self.position) from None


@dataclass(frozen=True, slots=True)
class Minus:
    """A minus sign before a part."""

    inside: Node
    position: int

    def work(self, names: Values) -> Any:
        return -self.inside.work(names)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two parts with a sign between them."""

    sign: str
    left: Node
    right: Node
    position: int

    def work(self, names: Values) -> Any:
        left, right = self.left.work(names), self.right.work(names)
        try:
            return _OPERATIONS[self.sign](left, right)
        except ZeroDivisionError:
            raise _Failed("this divides by zero", self.position) from None
        except (OverflowError, ValueError):
            raise _Failed(f"{left:g} {self.sign} {right:g} has no usable answer", self.position) from None


@dataclass(frozen=True, slots=True)
class Call:
    """A function of the trade with its arguments."""

    name: str
    arguments: tuple[Node, ...]
    position: int

    def work(self, names: Values) -> Any:
        values = [argument.work(names) for argument in self.arguments]
        try:
            found = FUNCTIONS[self.name].work(*values)
            if isinstance(found, complex):
                raise ValueError("a root of a negative number")
            return found
        except (ZeroDivisionError, OverflowError, ValueError):
            raise _Failed(f"{self.name} has no answer for these numbers", self.position) from None


Node = Number | Name | Minus | Pair | Call


@dataclass(frozen=True, slots=True)
class Tree:
    """A formula that was read: its text, its root, and the names it needs."""

    text: str
    root: Node
    names: frozenset[str]


class _Reader:
    def __init__(self, text: str):
        self.text = text
        self.tokens = list(self._split(text))
        self.at = 0
        self.names: set[str] = set()

    def _split(self, text: str) -> Iterator[tuple[str, str, int]]:
        place, end = 0, len(text.rstrip())
        while place < end:
            found = _TOKEN.match(text, place)
            if not found:
                spot = place + len(text[place:]) - len(text[place:].lstrip())
                raise FormulaError(f"{text[spot]!r} is not part of a formula", text, spot)
            group = found.lastindex or 1
            yield ("number", "name", "sign")[group - 1], found[group], found.start(group)
            place = found.end()
        yield "end", "", end

    def fail(self, problem: str) -> FormulaError:
        return FormulaError(problem, self.text, self.tokens[self.at][2])

    def next_is(self, *signs: str) -> str | None:
        """Return the sign that stands next and step over it, or None."""
        kind, token, _ = self.tokens[self.at]
        if kind == "sign" and token in signs:
            self.at += 1
            return token
        return None

    def formula(self, depth: int) -> Node:
        return self.chain(depth, self.term, "+", "-")

    def term(self, depth: int) -> Node:
        return self.chain(depth, self.signed, "*", "/")

    def chain(self, depth: int, part: Callable[[int], Node], *signs: str) -> Node:
        left = part(depth)
        while sign := self.next_is(*signs):
            place = self.tokens[self.at - 1][2]
            left = Pair(sign, left, part(depth), place)
        return left

    def signed(self, depth: int) -> Node:
        if depth > DEEPEST:
            raise self.fail(f"the formula is nested more than {DEEPEST} deep")
        place = self.tokens[self.at][2]
        if sign := self.next_is("-", "+"):
            inside = self.signed(depth + 1)
            return Minus(inside, place) if sign == "-" else inside
        base = self.atom(depth)
        place = self.tokens[self.at][2]
        return Pair("^", base, self.signed(depth + 1), place) if self.next_is("^") else base

    def atom(self, depth: int) -> Node:
        kind, token, place = self.tokens[self.at]
        if kind == "number":
            self.at += 1
            return Number(float(token), place)
        if kind == "name":
            self.at += 1
            if self.next_is("("):
                return self.call(token, place, depth)
            self.names.add(token)
            return Name(token, place)
        if self.next_is("("):
            inside = self.formula(depth + 1)
            if not self.next_is(")"):
                raise self.fail("a closing bracket is missing")
            return inside
        raise self.fail("a number or a name is missing")

    def call(self, name: str, place: int, depth: int) -> Node:
        if name not in FUNCTIONS:
            raise FormulaError(f"there is no function {name!r}", self.text, place)
        arguments = [self.formula(depth + 1)]
        while self.next_is(","):
            arguments.append(self.formula(depth + 1))
        if not self.next_is(")"):
            raise self.fail("a closing bracket is missing")
        fewest, most = FUNCTIONS[name].fewest, FUNCTIONS[name].most
        if not fewest <= len(arguments) <= most:
            need = f"{fewest}" if fewest == most else f"{fewest} to {most}"
            raise FormulaError(f"{name} takes {need} values; {len(arguments)} were given", self.text, place)
        return Call(name, tuple(arguments), place)


def parse(text: str) -> Tree:
    """Return the tree of a formula, or raise FormulaError.

    >>> round(evaluate(parse("0.088 * 3600 / 122"), {}), 3)
    2.597
    >>> sorted(parse("rate * cv / 3.6").names)
    ['cv', 'rate']
    """
    if not isinstance(text, str) or not text.strip():
        raise FormulaError("a formula is missing", str(text), 0)
    if len(text) > LONGEST:
        raise FormulaError(f"the formula is longer than {LONGEST} characters", text, LONGEST)
    reader = _Reader(text.translate(_SAME))
    root = reader.formula(0)
    if reader.tokens[reader.at][0] != "end":
        raise reader.fail("a sign such as + or * is missing")
    return Tree(text, root, frozenset(reader.names))


def evaluate(tree: Tree, names: Values) -> Any:
    """Return the value of a formula: a float, or an array when a name stands for one.

    Raises FormulaError when a name is missing or any element has no finite value.
    """
    try:
        with np.errstate(all="ignore"):
            value = tree.root.work(names)
    except _Failed as failed:
        raise FormulaError(failed.problem, tree.text, failed.position) from None
    finite = np.isfinite(value).all() if isinstance(value, np.ndarray) else math.isfinite(value)
    if not finite:
        raise FormulaError("the answer is not a usable number", tree.text, 0)
    return value if isinstance(value, np.ndarray) else float(value)
