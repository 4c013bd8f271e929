"""A trainee's guess as a small file, and a folder of them as the class's commitment.

A guess holds the chapter, its unit and the number. It holds no name: a guess is never marked.
"""

from __future__ import annotations

import json
import re
import secrets
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from gaslab.learn.class_files import SkippedFile, read_each
from gaslab.refit.folder import FileFault, parse_json

KIND, SCHEMA = "gaslab guess", 1
_ID = re.compile(r"[0-9a-f]{16}\Z")
_NUMBER = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,12})?\Z")


@dataclass(frozen=True)
class Guess:
    """One locked guess. `id` tells two copies of one file from two people with one guess."""

    id: str
    chapter: str
    unit: str
    value: Decimal


def guess_text(chapter: str, unit: str, value: Decimal) -> str:
    """Return a guess as the text of a file to hand in."""
    number = f"{value:f}"
    if not _NUMBER.match(number):
        raise FileFault(f"The guess {number[:30]} has too many figures to hand in")
    data = {
        "kind": KIND,
        "schema": SCHEMA,
        "id": secrets.token_hex(8),
        "chapter": chapter,
        "unit": unit,
        "guess": number,
    }
    return json.dumps(data) + "\n"


def read_guess(text: str, name: str) -> Guess:
    """Return the guess in a file's text, or raise FileFault.

    >>> read_guess(guess_text("04", "mbar", Decimal("0.4")), "one.json").value
    Decimal('0.4')
    """
    raw = parse_json(text, name)
    if raw.get("kind") != KIND or raw.get("schema") != SCHEMA:
        raise FileFault("it is not a guess that this course wrote")
    texts = [raw.get(key) for key in ("id", "chapter", "unit", "guess")]
    if set(raw) != {"kind", "schema", "id", "chapter", "unit", "guess"} or not all(
        isinstance(t, str) for t in texts
    ):
        raise FileFault("it has a field that is missing, unknown or of the wrong kind")
    if not _ID.match(raw["id"]) or not _NUMBER.match(raw["guess"]):
        raise FileFault("its guess cannot be read as a number")
    return Guess(raw["id"], raw["chapter"], raw["unit"], Decimal(raw["guess"]))


def read_folder(folder: Path, chapter: str, unit: str) -> tuple[list[Guess], list[SkippedFile]]:
    """Return the guesses for one chapter in a folder, each once, and the files that were skipped."""

    def read(text: str, name: str) -> Guess:
        guess = read_guess(text, name)
        if (guess.chapter, guess.unit) != (chapter, unit):
            raise FileFault(f"it is a guess for chapter {guess.chapter[:20]}, not for chapter {chapter}")
        return guess

    found, refused = read_each(folder, read)
    once: dict[str, Guess] = {}
    for name, guess in found:
        if guess.id in once:
            refused.append(SkippedFile(name, "it is a copy of a guess that was counted already"))
        once.setdefault(guess.id, guess)
    return list(once.values()), refused
