"""The search for answers in what a trainee holds. It excuses nothing.

A number anywhere in the pack, whatever it stands for, is a leak when it would be
marked right for any step of that paper: that covers the answer in every rounding and the
edges of its band. So is a slip's label or sentence, what is said to a decision, and the secret in any spelling. A label
that is one plain word ("doubled") is sought as a whole string or cell: a stem may use the word.
"""

from __future__ import annotations

import base64
import bisect
import html
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from gaslab.assess.chain import crockford
from gaslab.assess.frozen import Item

GUARD = 1e-9
# A number that no letter, figure or point stands before; a unit may be glued behind it.
_NUMBER = re.compile(r"(?<![\w.,])[0-9]+(?:[.,][0-9]+)*")
_WORD = re.compile(r"[\w-]+")
_CELL = re.compile(r"""(?<=["'>])[\w-]+(?=["'<])""")


@dataclass(frozen=True)
class Leak:
    """Something that must not stand in a trainee's file."""

    file: str
    found: str
    what: str

    def __str__(self) -> str:
        return f"{self.file}: {self.found!r} is {self.what}."


def numbers(text: str) -> set[float]:
    """Return every number in a text, by whole tokens, without its sign.

    A comma may be a decimal comma, a thousands mark or a list: all readings count.

    >>> sorted(numbers("0.020 m³ in 60s, 1,5 kW; h1 x2"))
    [0.02, 1.0, 1.5, 5.0, 15.0, 60.0]
    """
    found: set[float] = set()
    for token in set(_NUMBER.findall(text)):
        try:
            found.add(float(token))  # the pattern lets through figures, points and commas only
        except ValueError:
            readings = [*re.split(r"[.,]", token), re.sub(r"[.,]", "", token), *token.split(",")]
            readings.append(token.replace(",", "."))
            found.update(float(each) for each in readings if each.count(".") <= 1)
    return found


class Banded(Protocol):
    """Whatever has a band that counts as right: a step of a question or of a paper."""

    @property
    def lo(self) -> float: ...

    @property
    def hi(self) -> float: ...


class Band:
    """The unsigned band of a step, wide enough for the guard of the marking."""

    __slots__ = ("high", "low", "where")

    def __init__(self, step: Banded, where: str):
        ends = sorted((abs(step.lo), abs(step.hi)))
        # A band across zero holds every unsigned number up to its larger end.
        self.low = 0.0 if step.lo <= 0 <= step.hi else ends[0] * (1 - GUARD)
        self.high = ends[1] * (1 + GUARD)
        self.where = where

    def holds(self, number: float) -> bool:
        return self.low <= number <= self.high


def bands(items: Iterable[Item]) -> list[Band]:
    """Return the band of every step, with the name of its place."""
    return [Band(step, f"{item.identifier}, step {step.id}") for item in items for step in item.steps]


def first_hit(found: Iterable[float], wanted: Iterable[Band]) -> Band | None:
    """Return the first band that holds one of the numbers, or None."""
    order = sorted(found)
    for band in wanted:
        at = bisect.bisect_left(order, band.low)
        if at < len(order) and order[at] <= band.high:
            return band
    return None


def secret_spellings(secret: bytes) -> tuple[str, ...]:
    """Return the secret as hexadecimal, base 64, base 32, Crockford base 32 and a whole number."""
    whole = secret + bytes(-len(secret) % 5)
    return (
        secret.hex(), base64.b64encode(secret).decode().rstrip("="),
        base64.urlsafe_b64encode(secret).decode().rstrip("="),
        base64.b32encode(secret).decode().rstrip("="), crockford(whole), str(int.from_bytes(secret, "big")),
    )  # fmt: skip


def search(files: Mapping[str, bytes], items: Iterable[Item], secret: bytes) -> tuple[Leak, ...]:
    """Return every leak in the files of one trainee's pack."""
    items = tuple(items)
    wanted = bands(items)
    found: list[Leak] = []
    for name in sorted(files):
        for text in _readings(name, files[name]):
            found += _numbers_in(name, text, wanted)
            found += _words_in(name, text, items)
            plain = text.replace("-", "").lower()
            found += [
                Leak(name, "the secret", "the assessor's secret")
                for spelling in secret_spellings(secret)
                if spelling in text or spelling.replace("-", "").lower() in plain
            ]
        if secret in files[name]:
            found.append(Leak(name, "the secret", "the assessor's secret"))
    return tuple(dict.fromkeys(found))


def _readings(name: str, data: bytes) -> set[str]:
    """Return a file's text as it stands, with HTML written out, and with JSON written out."""
    text = data.decode("utf-8", "replace")
    readings = {text, html.unescape(text), name}
    if name.endswith(".json"):
        readings.add(json.dumps(json.loads(text), ensure_ascii=False))
    return readings


def _numbers_in(name: str, text: str, wanted: list[Band]) -> list[Leak]:
    return [
        Leak(name, f"{number:g}", f"marked right for {band.where}")
        for number in sorted(numbers(text))
        for band in wanted
        if band.holds(number)
    ]


def _words_in(name: str, text: str, items: Iterable[Item]) -> list[Leak]:
    words = {word for word in _WORD.findall(text.lower()) if "-" in word}
    words.update(_CELL.findall(text.lower()))
    found = []
    for item in items:
        for step in item.steps:
            for slip in step.slips:
                if slip.id.lower() in words:
                    found.append(Leak(name, slip.id, f"a slip's label in {item.identifier}"))
                if slip.says and slip.says in text:
                    found.append(Leak(name, slip.says, f"a slip's sentence in {item.identifier}"))
            if step.worked and step.worked in text:
                found.append(Leak(name, step.worked, f"the worked solution of {item.identifier}"))
        for decision in item.decisions:
            for verdict in (decision.limit.words_meets, decision.limit.words_fails):
                if verdict and verdict in text:
                    found.append(Leak(name, verdict, f"what is said to a decision in {item.identifier}"))
    return found


def folder_files(folder: Path) -> dict[str, bytes]:
    """Return every file under a folder by its path in it."""
    folder = Path(folder)
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
