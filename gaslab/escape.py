"""The one place where text from outside is made safe for HTML, XML, CSV and file names.

Nothing else in gaslab escapes. What cannot be shown is replaced by a visible mark,
so that a reader sees that something stood there.
"""

from __future__ import annotations

import html
import re

# Characters that XML 1.0 cannot hold, and lone halves of surrogate pairs.
_ILLEGAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
# Marks that change the direction of text, or that show nothing at all.
_UNSEEN = re.compile("[\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
_FORMULA_STARTS = "=+-@\t\r\n\0＝＋－＠"
_RESERVED = {"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))}


def clean(text: str) -> str:
    """Return text with every control, direction and unseen mark replaced by a visible one.

    >>> clean("21\\x0b.5")
    '21\\ufffd.5'
    """
    return _UNSEEN.sub("\ufffd", _ILLEGAL.sub("\ufffd", str(text)))


def html_text(text: object) -> str:
    """Return text that is safe inside an HTML or SVG element or a quoted attribute.

    >>> html_text('<b title="x">')
    '&lt;b title=&quot;x&quot;&gt;'
    """
    return html.escape(clean(str(text)), quote=True)


def csv_text(text: object) -> str:
    """Return text that a spreadsheet shows and never runs: a leading formula mark gets an apostrophe.

    Only for columns of text. A column of numbers is written from numbers.

    >>> csv_text("=1+1"), csv_text("21.5")
    ("'=1+1", '21.5')
    """
    plain = clean(str(text))
    first = plain.lstrip(" ")[:1]
    return "'" + plain if first and (first in _FORMULA_STARTS or plain[0] == "'") else plain


def file_name(text: object, ending: str = "") -> str:
    """Return a file name made only of letters, figures, hyphens and underscores, at most 80 long.

    >>> file_name("../../etc/passwd", ".csv")
    'etc-passwd.csv'
    """
    plain = re.sub(r"[^A-Za-z0-9_-]+", "-", str(text)).strip("-")[:80] or "file"
    if plain.lower() in _RESERVED:
        plain = f"file-{plain}"
    return plain + ending
