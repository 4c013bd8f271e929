"""The chain that makes an attempt tamper-evident: links, receipt code and seal.

    link_0 = SHA-256(tag + 32 zero bytes + canonical(event_0))
    link_i = SHA-256(tag + link_(i-1) + canonical(event_i))

The chain alone proves little, because whoever holds the file can build it again.
The receipt code (80 bits of the last link, written down at hand-in) ties the file to
that moment, and the assessor's seal (HMAC-SHA-256) ties it to the assessor's secret.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
from collections.abc import Mapping
from typing import Any

TAG = b"gaslab attempt 1\n"
SEAL_TAG = b"gaslab seal 1\n"
FIRST = bytes(32)
DEPTH = 8
_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # Crockford base 32: no I, L, O or U
_MISREAD = str.maketrans({"I": "1", "L": "1", "O": "0"})


class ChainError(ValueError):
    """A record that is not what was written, told in one sentence."""


def canonical(event: Mapping) -> bytes:
    """Return the one byte form of an event: sorted keys, no spaces, ASCII, no NaN.

    >>> canonical({"b": 1, "a": "é"})
    b'{"a":"\\\\u00e9","b":1}'
    """
    return json.dumps(
        event, sort_keys=True, separators=(",", ":"), allow_nan=False, ensure_ascii=True
    ).encode("ascii")


def json_bytes(value: object) -> bytes:
    """Return JSON in one fixed form, so that the same content is the same bytes."""
    return (
        json.dumps(value, sort_keys=True, indent=1, allow_nan=False, ensure_ascii=True).encode("ascii")
        + b"\n"
    )


def link(previous: bytes, event_bytes: bytes) -> bytes:
    """Return the link (32 bytes) of an event in its canonical form after `previous`."""
    return hashlib.sha256(TAG + previous + event_bytes).digest()


def crockford(data: bytes) -> str:
    """Return bytes as Crockford base 32; the length must be a multiple of 5 bytes.

    >>> crockford(bytes([0, 68, 50, 20, 199]))
    '01234567'
    """
    bits = int.from_bytes(data, "big")
    count = len(data) * 8 // 5
    return "".join(_ALPHABET[(bits >> (5 * place)) & 31] for place in range(count - 1, -1, -1))


def grouped(text: str) -> str:
    """Return a code in groups of four, easy to read out loud."""
    return "-".join(text[at : at + 4] for at in range(0, len(text), 4))


def receipt(last_link: bytes) -> str:
    """Return the receipt code: the first 80 bits of the last link, sixteen characters in four groups."""
    return grouped(crockford(last_link[:10]))


def same_receipt(written: str, code: str) -> bool:
    """Return True when a code copied by hand is this code; case, spaces, hyphens, I/L/O do not matter.

    >>> same_receipt("oz7r 009x-onr5 ejxr", "0Z7R-009X-0NR5-EJXR")
    True
    """
    plain = [re.sub(r"[\s-]", "", text.upper()).translate(_MISREAD) for text in (written, code)]
    return hmac.compare_digest(plain[0].encode("utf-8", "replace"), plain[1].encode("ascii"))


def seal(secret: bytes, paper: str, candidate: str, last_link: bytes) -> str:
    """Return the assessor's seal over one attempt as hexadecimal text."""
    if len(secret) < 16:
        raise ChainError("the assessor's secret is too short; make a new one with papers.new_secret()")
    message = SEAL_TAG + canonical({"paper": paper, "candidate": candidate, "link": last_link.hex()})
    return hmac.new(secret, message, hashlib.sha256).hexdigest()


def seal_holds(seal_text: str, secret: bytes, paper: str, candidate: str, last_link: bytes) -> bool:
    """Return True when the seal was made with this secret over this very attempt."""
    return hmac.compare_digest(
        seal(secret, paper, candidate, last_link).encode(), seal_text.encode("utf-8", "replace")
    )


def _pairs(pairs: list[tuple[str, object]]) -> dict:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ChainError("the same name stands twice in one record")
    return found


def _constant(text: str):
    raise ChainError(f"{text} is not a number")


def _float(text: str) -> float:
    value = float(text)  # JSON's own number grammar was checked by the decoder already
    if value in (float("inf"), float("-inf")):
        raise ChainError(f"the number {text[:20]} is too large")
    return value


_STRINGS = re.compile(rb'"(?:[^"\\]|\\.)*"')
_DECODER = json.JSONDecoder(object_pairs_hook=_pairs, parse_constant=_constant, parse_float=_float)


def _depth(data: bytes) -> int:
    deepest = level = 0
    for mark in _STRINGS.sub(b"", data):
        if mark in b"[{":
            level += 1
            deepest = max(deepest, level)
        elif mark in b"]}":
            level -= 1
    return deepest


def strict_json(data: bytes, what: str = "the file") -> Any:
    """Return the value of JSON text, or raise ChainError.

    Refuses what json.loads lets pass: a name that stands twice, NaN and infinity,
    nesting deeper than eight levels, bytes that are not UTF-8.
    """
    if data.count(b"{") + data.count(b"[") > DEPTH and _depth(data) > DEPTH:
        raise ChainError(f"{what} is nested deeper than {DEPTH} levels")
    try:
        return _DECODER.decode(data.decode("utf-8"))
    except ChainError as error:
        raise ChainError(f"{what} is not readable: {error}") from None
    except UnicodeDecodeError:
        raise ChainError(f"{what} is not UTF-8 text") from None
    except ValueError as error:  # JSONDecodeError, and an integer with thousands of digits
        raise ChainError(f"{what} is not readable as JSON: {error}") from None
