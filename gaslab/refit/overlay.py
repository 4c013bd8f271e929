"""Limits that an instructor enters from the edition in force, kept in the user's own folder.

The course ships no figure that it could not confirm. The file `limits.json` fills
such a gap: each entry names the limit, its value, edition and clause, who entered
it and when. All of that is printed on the job sheet.
"""

from __future__ import annotations

import json
import re
import sys
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from gaslab import units
from gaslab.refit import conditions
from gaslab.refit.folder import (
    FileFault,
    locked,
    read_json,
    set_aside_in_words,
    user_data_folder,
    write_whole,
)

SCHEMA = "gaslab-limits-1"
FILE = "limits.json"
_WORDS = ("edition", "clause", "entered_by", "entered_on")


class OverlayError(ValueError):
    """An entered limit that cannot be used: which entry, which field, what is needed."""


@dataclass(frozen=True)
class Entry:
    """One limit as entered. `value` is in `unit`; `applies_when` is a condition, empty for always."""

    key: str
    value: float
    unit: str
    edition: str
    clause: str
    entered_by: str
    entered_on: str
    applies_when: str = ""

    def __post_init__(self):
        where = f"{FILE}, limit {str(self.key)[:60]!r}"
        for name in ("key", "unit", *_WORDS):
            text = getattr(self, name)
            if not isinstance(text, str) or not text.strip() or len(text) > 200:
                raise OverlayError(f"{where}: {name} must be filled in, with at most 200 characters")
        if (
            isinstance(self.value, bool)
            or not isinstance(self.value, (int, float))
            or not abs(self.value) <= sys.float_info.max
        ):
            raise OverlayError(f"{where}: value must be a number; read {str(self.value)[:40]!r}")
        if self.unit not in units.TRADE_UNITS:
            raise OverlayError(f"{where}: unit {self.unit[:20]!r} is not on the list of units")
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", self.entered_on):
            raise OverlayError(
                f"{where}: entered_on must be a date such as 2026-11-25; read {self.entered_on[:40]!r}"
            )
        try:
            date.fromisoformat(self.entered_on)
            conditions.parse(self.applies_when)
        except (ValueError, AttributeError) as error:
            raise OverlayError(f"{where}: {error}") from None


def load(folder: Path | None = None) -> tuple[Entry, ...]:
    """Return the entered limits: none when there is no file. Raises OverlayError."""
    path = (folder or user_data_folder()) / FILE
    try:
        raw = read_json(path)
    except FileNotFoundError:
        return ()
    except (FileFault, OSError) as error:
        raise OverlayError(f"the entered limits cannot be used: {error}") from None
    if raw.get("schema") != SCHEMA or not isinstance(raw.get("limits"), list):
        raise OverlayError(f"{FILE}: needs schema {SCHEMA!r} and a list of limits")
    return tuple(_entry(limit, number) for number, limit in enumerate(raw["limits"], 1))


def mend(folder: Path | None = None) -> str:
    """Set a damaged file of limits aside and say so; "" where it can be used. Until then no figure is taken from it."""
    path = (folder or user_data_folder()) / FILE
    try:
        load(folder)
    except OverlayError as fault:
        try:
            path.read_bytes()
        except OSError:
            return f"{fault}."  # not damaged: it cannot be opened, so it stays where it is
        return set_aside_in_words(path, fault)
    return ""


def _entry(limit: object, number: int) -> Entry:
    if not isinstance(limit, dict) or not all(isinstance(name, str) for name in limit):
        raise OverlayError(f"{FILE}, limit {number}: must be named values in braces")
    known = set(Entry.__dataclass_fields__)
    missing, extra = known - {"applies_when"} - set(limit), set(limit) - known
    if missing or extra:
        words = [f"{name} is missing" for name in sorted(missing)] + [
            f"{name[:40]} is not known" for name in sorted(extra)
        ]
        raise OverlayError(f"{FILE}, limit {number}: {'; '.join(words)}")
    return Entry(**limit)


def enter(entry: Entry, folder: Path | None = None) -> None:
    """Add a limit to the file, in place of one with the same key and condition."""
    place = folder or user_data_folder()
    path = place / FILE
    with locked(path):
        kept = [e for e in load(place) if (e.key, e.applies_when) != (entry.key, entry.applies_when)]
        text = json.dumps(
            {"schema": SCHEMA, "limits": [asdict(e) for e in [*kept, entry]]}, indent=1, ensure_ascii=False
        )
        write_whole(path, text + "\n", backup=path.with_suffix(".backup.json"))
