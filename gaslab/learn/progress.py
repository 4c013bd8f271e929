"""A trainee's progress: one JSON file of attempts in the user's own folder.

The file is a list that only grows, and each attempt has a name of its own. So two
notebooks, or two exports, are joined by taking every attempt once; none can push another
out. Boxes, what is due and the profile are worked out from the list (`boxes`).
"""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Callable, Iterable
from dataclasses import astuple, fields
from datetime import date, datetime
from pathlib import Path

from gaslab.learn import boxes
from gaslab.learn.boxes import Attempt
from gaslab.learn.family import KINDS
from gaslab.refit.folder import (
    FileFault,
    locked,
    read_json,
    set_aside,
    user_data_folder,
    write_whole,
)

FILE, BACKUP = "progress.json", "progress.backup.json"
KIND, SCHEMA = "gaslab progress", 1
MOST = 25_000  # attempts; the file then holds about 3 MB
_KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,99}\Z")
MOST_A_SECOND = 255  # nobody answers faster
_ID = re.compile(r"[0-9a-f]{16}\Z")
_WHEN = re.compile(r"2[0-9]{3}-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-5][0-9]\Z")


class Progress:
    """What one trainee has done so far. `notices` holds sentences that a page should show."""

    def __init__(self, path: Path, attempts: dict[str, Attempt], notices: list[str], can_write: bool = True):
        self.path, self._attempts, self.notices = path, attempts, notices
        self.session_only = not can_write

    @classmethod
    def load(cls, folder: Path | None = None) -> Progress:
        """Return the progress in a folder; the user's own folder when none is given. Never raises for a bad file."""
        path = Path(folder or user_data_folder()) / FILE
        notices: list[str] = []
        try:
            with locked(path):
                attempts = _read_or_mend(path, notices)
        except FileFault as fault:  # another notebook holds the lock
            notices.append(f"{fault}. Until then, progress counts for this session only.")
            return cls(path, {}, notices, can_write=False)
        except OSError:
            attempts = _read_without_lock(path, notices)
            notices.append(_session_words(path))
            return cls(path, attempts, notices, can_write=False)
        return cls(path, attempts, notices)

    @property
    def attempts(self) -> tuple[Attempt, ...]:
        return tuple(sorted(self._attempts.values(), key=lambda a: (a.when, a.id)))

    def record(
        self, family: str, step: str, kind: str, outcome: str, slip: str = "", *, first: bool, last_step: bool,
        now: Callable[[], datetime] = datetime.now,
    ) -> Attempt:  # fmt: skip
        """Keep one answer, in memory and on disk at once, and return it."""
        when = now().replace(microsecond=0).isoformat()
        attempt = _checked(
            [self._new_id(when), when, family, step, kind, outcome, slip or "", first, last_step],
            "The attempt",
        )
        self._attempts[attempt.id] = attempt
        self.save()
        return attempt

    def _new_id(self, when: str) -> str:
        """Return a new name. Answers of one second sort by it, in the order in which they were given."""
        place = sum(1 for attempt in self._attempts.values() if attempt.when == when)
        return f"{min(place, MOST_A_SECOND):02x}{secrets.token_hex(7)}"

    def save(self) -> None:
        """Join this session's attempts with those on disk. A disk that cannot be written gives a notice."""
        try:
            with locked(self.path):
                self._attempts |= _read_or_mend(self.path, self.notices)
                if len(self._attempts) > MOST:
                    raise FileFault(
                        f"progress holds more than {MOST} answers; export it and begin a new file"
                    )
                write_whole(self.path, _text(self._attempts.values()), self.path.with_name(BACKUP))
        except FileFault as fault:
            self._session_only(f"{fault}.")
        except OSError:
            self._session_only(_session_words(self.path))
        else:
            self.session_only = False

    def _session_only(self, words: str) -> None:
        self.session_only = True
        if words not in self.notices:
            self.notices.append(words)

    def export_text(self) -> str:
        """Return the whole progress as a text to keep elsewhere."""
        return _text(self._attempts.values())

    def join(self, attempts: Iterable[Attempt]) -> int:
        """Join attempts with these, save, and return how many were new."""
        new = {attempt.id: attempt for attempt in attempts}
        fresh = set(new) - set(self._attempts)
        self._attempts = new | self._attempts
        self.save()
        return len(fresh)

    def states(self) -> dict[str, boxes.FamilyState]:
        return boxes.states(self._attempts.values())

    def due(self, today: date | None = None) -> tuple[str, ...]:
        """Return the families that are due, the longest overdue first."""
        return boxes.due(self.states(), today or date.today())

    def profile(self) -> dict[str, tuple[int, int]]:
        """Return kind -> (right, answered) over recent first tries: set-up, sum, reading."""
        return boxes.profile(self._attempts.values())

    def decisions(self) -> boxes.Decisions:
        """Return how the last decisions on a limit went."""
        return boxes.decisions(self._attempts.values())


def attempts_in(raw: dict, name: str) -> tuple[Attempt, ...]:
    """Return the attempts in a progress file's named values. Raises FileFault, which calls it by `name`."""
    return tuple(_attempts(raw, name).values())


def _session_words(path: Path) -> str:
    return f"{path.name} cannot be written here. Progress counts for this session only: export it before you leave."


def _text(attempts: Iterable[Attempt]) -> str:
    rows = [list(astuple(a)) for a in sorted(attempts, key=lambda a: (a.when, a.id))]
    lines = ",\n".join(json.dumps(row, ensure_ascii=True, separators=(",", ":")) for row in rows)
    columns = json.dumps([field.name for field in fields(Attempt)])
    return f'{{"kind":"{KIND}","schema":{SCHEMA},"columns":{columns},"attempts":[\n{lines}\n]}}\n'


def _checked(row: object, where: str) -> Attempt:
    """Return one attempt from a row of values, or raise FileFault."""
    if not isinstance(row, list) or len(row) != len(fields(Attempt)):
        raise FileFault(f"{where} does not have {len(fields(Attempt))} values")
    name, when, family, step, kind, outcome, slip, first, last_step = row
    texts = (name, when, family, step, kind, outcome, slip)
    if not all(isinstance(value, str) for value in texts) or not all(
        type(v) is bool for v in (first, last_step)
    ):
        raise FileFault(f"{where} has a value of the wrong kind")
    known = (
        _ID.match(name) and _WHEN.match(when) and _KEY.match(family) and _KEY.match(step) and kind in KINDS
    )
    if not known or len(outcome) > 40 or (slip and not _KEY.match(slip)):
        raise FileFault(f"{where} has a value that cannot be used")
    try:
        datetime.fromisoformat(when)
    except ValueError:
        raise FileFault(f"{where} has a time that cannot be") from None
    return Attempt(*row)


def _attempts(raw: dict, name: str) -> dict[str, Attempt]:
    if raw.get("kind") != KIND or raw.get("schema") != SCHEMA:
        raise FileFault(f"{name} is not a progress file that this course can read")
    rows = raw.get("attempts")
    if not isinstance(rows, list) or set(raw) != {"kind", "schema", "columns", "attempts"}:
        raise FileFault(f"{name} does not hold a list of attempts")
    found = (_checked(row, f"{name}, attempt {place}") for place, row in enumerate(rows, start=1))
    return {attempt.id: attempt for attempt in found}


def _read_or_mend(path: Path, notices: list[str]) -> dict[str, Attempt]:
    """Return the attempts on disk. A damaged file is set aside and the backup is used; both are said.

    Call it under the lock: then a half-written file beside it belongs to a notebook that died.
    """
    for name in (FILE, BACKUP):
        for half in path.parent.glob(f".{name}.*.part"):
            half.unlink(missing_ok=True)
    try:
        return _attempts(read_json(path), path.name)
    except FileNotFoundError:
        attempts = _from_backup(path)
        if attempts:
            notices.append(f"Your progress file was gone. {_count(attempts)} brought back from the backup.")
        return attempts
    except FileFault as fault:
        place = set_aside(path)
        attempts = _from_backup(path)
        kept = f"{_count(attempts)} found in the backup" if attempts else "the backup gave none"
        notices.append(f"Your progress file was damaged ({fault}). It was kept as {place.name}; {kept}.")
        return attempts


def _count(attempts: dict[str, Attempt]) -> str:
    return "1 answer was" if len(attempts) == 1 else f"{len(attempts)} answers were"


def _from_backup(path: Path) -> dict[str, Attempt]:
    """Return the attempts of the backup. A backup that cannot be read either gives none and is set aside."""
    backup = path.with_name(BACKUP)
    try:
        return _attempts(read_json(backup), backup.name)
    except FileNotFoundError:
        return {}
    except FileFault:
        set_aside(backup)
        return {}


def _read_without_lock(path: Path, notices: list[str]) -> dict[str, Attempt]:
    """Return the attempts from a folder that cannot be written, as far as they can be read."""
    try:
        return _attempts(read_json(path), path.name)
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (FileFault, OSError) as fault:
        notices.append(f"Your progress could not be read ({fault}).")
        return {}
