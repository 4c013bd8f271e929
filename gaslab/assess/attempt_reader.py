"""The strict reader of attempts: a file is parsed, never executed, or refused with a sentence.

A batch goes on after a refusal: every file gives either an attempt or its reason.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from gaslab.assess import chain
from gaslab.assess.records import ENDING, LARGEST_FILE, AttemptError, checked_events


@dataclass(frozen=True)
class HandedIn:
    """An attempt as it came back: whole, in order, handed in, of one paper."""

    file: str
    candidate: str
    paper: str
    digest: str
    form: str
    package: str
    receipt: str
    last_link: bytes
    seconds: float
    answers: dict[tuple[str, str], dict] = field(hash=False)  # (item, step) -> the last answer event
    changes: int = 0  # answers that were given again


@dataclass(frozen=True)
class RefusedAttempt:
    """A file that cannot be marked, and why."""

    file: str
    reason: str


def file_bytes(path: Path) -> bytes:
    """Return the bytes of an ordinary file of an attempt's size, or raise AttemptError."""
    name = shown_name(path)
    if path.suffix.lower() == ".ipynb":
        raise AttemptError(
            f"{name} is a notebook. Notebooks are never opened or run: ask for the attempt file."
        )
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except OSError as error:
        raise AttemptError(f"{name} cannot be opened ({error.strerror}).") from None
    with os.fdopen(handle, "rb") as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise AttemptError(f"{name} is not an ordinary file.")
        data = file.read(LARGEST_FILE + 1)
    if len(data) > LARGEST_FILE:
        raise AttemptError(f"{name} is larger than 1 MB. An attempt is far smaller.")
    if b'"nbformat"' in data:
        raise AttemptError(f"{name} is a notebook under another name. Ask for the attempt file.")
    return data


def shown_name(path: Path) -> str:
    """Return a file's name as a sentence may show it: printable, one line, at most 80 characters."""
    text = "".join(mark if mark.isprintable() else "?" for mark in Path(path).name)
    return text if len(text) <= 80 else text[:77] + "..."


def read(path: Path, paper: str | None = None, digests: dict[str, str] | None = None) -> HandedIn:
    """Return the attempt in a file, or raise AttemptError.

    `paper` and `digests` (form -> digest of the paper file) come from the key; an
    attempt at another paper, or at a changed copy of it, is refused.
    """
    path = Path(path)
    name = shown_name(path)
    data = file_bytes(path)
    if not path.name.endswith(ENDING):
        raise AttemptError(f"{name} is not an attempt: the name of an attempt ends in {ENDING}.")
    events, last_link = checked_events(data, name)
    start = events[0]
    if paper is not None and start["paper"] != paper:
        raise AttemptError(f"{name} belongs to paper {start['paper']}, not to {paper}.")
    if digests is not None and digests.get(start["form"]) != start["digest"]:
        raise AttemptError(f"{name} was sat on a paper file that differs from the one handed out.")
    if events[-1]["action"] != "hand-in":
        raise AttemptError(f"{name} ends without a hand-in. It may be cut short: resume it and hand it in.")
    answers = {(e["item"], e["step"]): e for e in events if e["action"] == "answer"}
    given = sum(1 for e in events if e["action"] == "answer")
    return HandedIn(
        name, start["candidate"], start["paper"], start["digest"], start["form"], start["package"],
        chain.receipt(last_link), last_link, float(events[-1]["seconds"]), answers, given - len(answers),
    )  # fmt: skip


def read_folder(
    folder: Path, paper: str | None = None, digests: dict[str, str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Iterator[HandedIn | RefusedAttempt]:  # fmt: skip
    """Yield an attempt or a refusal for every file in a folder, by name, one at a time.

    A candidate with two files gets the first marked and the second refused, so
    that a person decides which one counts. `progress` is told (done, of how many).
    """
    names = sorted(entry.name for entry in os.scandir(folder) if not entry.is_dir(follow_symlinks=False))
    seen: dict[str, str] = {}
    for done, name in enumerate(names, start=1):
        yield _one_file(Path(folder) / name, paper, digests, seen)
        if progress is not None:
            progress(done, len(names))


def _one_file(
    path: Path, paper: str | None, digests: dict | None, seen: dict[str, str]
) -> HandedIn | RefusedAttempt:
    try:
        attempt = read(path, paper, digests)
    except AttemptError as error:
        return RefusedAttempt(shown_name(path), str(error))
    first = seen.setdefault(attempt.candidate, attempt.file)
    if first != attempt.file:
        reason = (
            f"{attempt.file}: candidate {attempt.candidate} handed in {first} too. Decide which one counts."
        )
        return RefusedAttempt(attempt.file, reason)
    return attempt
