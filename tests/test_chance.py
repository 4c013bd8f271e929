"""The stream of chance: its published construction, fairness and repeatability."""

import hashlib
from collections import Counter

import pytest

from gaslab.learn.chance import Chance


def test_chance_is_the_published_construction():
    """HMAC (RFC 2104) worked out from its two plain SHA-256 hashes, for counter 0."""
    key = b"\x0b" * 20
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in key.ljust(64, b"\0")) + bytes(8)).digest()
    block = hashlib.sha256(bytes(b ^ 0x5C for b in key.ljust(64, b"\0")) + inner).digest()
    stream = Chance(key)
    assert [stream.below(1 << 64) for _ in range(4)] == [
        int.from_bytes(block[i : i + 8], "big") for i in (0, 8, 16, 24)
    ]


def test_chance_is_fair_and_repeatable():
    stream, counts = Chance(b"fair"), Counter()
    for _ in range(60_000):
        counts[stream.below(6)] += 1
    # Chi-squared with 5 degrees of freedom is below 20.5 in 999 of 1000 fair cases (standard table).
    assert sum((n - 10_000) ** 2 / 10_000 for n in counts.values()) < 20.5
    assert [Chance(b"a").below(1000) for _ in range(3)] == [Chance(b"a").below(1000)] * 3
    assert Chance(b"a").child("x").below(1 << 60) != Chance(b"a").child("y").below(1 << 60)
    for bad in (0, -1, (1 << 64) + 1):
        with pytest.raises(ValueError):
            stream.below(bad)
    with pytest.raises(ValueError):
        Chance(b"")


def test_rejection_sampling_rejects():
    """Of words up to 2**64, those from 2**64 - 2**64 % n on must be drawn again; n = 2**63 + 1 rejects nearly half."""
    stream = Chance(b"r")
    draws = [stream.below((1 << 63) + 1) for _ in range(400)]
    assert max(draws) <= 1 << 63 and stream._block > 400 / 4 * 1.6
