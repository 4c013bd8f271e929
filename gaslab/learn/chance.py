"""Chance that gives the same numbers on every machine, for ever: a counter and HMAC-SHA-256.

The streams of `random` and of NumPy may change between versions, and then a paper
could not be made again. This stream is fixed by its seed and by two published standards.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")
WORD = 8  # bytes for one draw
SPAN = 1 << (8 * WORD)


class Chance:
    """A stream of fair draws. Block number i of the stream is HMAC-SHA-256(seed, i as 8 bytes)."""

    def __init__(self, seed: bytes):
        if not isinstance(seed, bytes) or not seed:
            raise ValueError("Chance needs a seed of at least one byte.")
        self._seed = seed
        self._block = 0
        self._words: list[int] = []

    @classmethod
    def fresh(cls) -> Chance:
        """Return a stream that nobody can foretell, for practice."""
        return cls(secrets.token_bytes(32))

    def child(self, label: str) -> Chance:
        """Return another stream, fixed by this seed and a label, whatever was drawn before."""
        return Chance(hmac.digest(self._seed, b"child\x1f" + label.encode("utf-8"), "sha256"))

    def _word(self) -> int:
        if not self._words:
            block = hmac.digest(self._seed, self._block.to_bytes(8, "big"), hashlib.sha256)
            self._block += 1
            # Taken from the end, so the list is kept back to front.
            self._words = [
                int.from_bytes(block[i : i + WORD], "big") for i in range(len(block) - WORD, -1, -WORD)
            ]
        return self._words.pop()

    def below(self, count: int) -> int:
        """Return a whole number from 0 to count - 1, each as likely as any other."""
        if not 1 <= count <= SPAN:
            raise ValueError(f"Chance.below needs a count from 1 to {SPAN}; got {count}.")
        fair = SPAN - SPAN % count  # words at or above this would favour small numbers
        while (word := self._word()) >= fair:
            pass
        return word % count

    def pick(self, choices: Sequence[T]) -> T:
        """Return one of the choices."""
        return choices[self.below(len(choices))]
