"""The user's own folder: where it is, and how files in it are read and written safely.

A file is written whole under another name and then put in place, so a reader sees
the old file or the new one and never half of one. JSON is read strictly.
"""

from __future__ import annotations

import json
import math
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

LARGEST_FILE = 4_000_000  # bytes; a job with thousands of readings is far smaller
LARGEST_COPY = 2 * LARGEST_FILE + 1_000  # bytes; a copy of a trainee's work holds two such files
DAMAGED = ".damaged-"  # stands in the name of a file that was set aside
LOCK_WAIT = 5.0  # s to wait for another notebook to finish writing


class FileFault(ValueError):
    """A file in the user's folder that cannot be used, told in one sentence."""


def user_data_folder() -> Path:
    """Return the folder for this user's own files. GASLAB_HOME wins; else the system's usual place."""
    chosen = os.environ.get("GASLAB_HOME", "").strip()
    if chosen:
        return Path(chosen).expanduser()
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / "gaslab"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "gaslab"
    return Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share") / "gaslab"


def read_json(path: Path) -> dict:
    """Return the JSON object in a file, or raise FileFault. FileNotFoundError passes through."""
    if path.stat().st_size > LARGEST_FILE:
        raise FileFault(f"{path.name} is larger than {LARGEST_FILE // 1_000_000} MB, so it was not read")
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        raise FileFault(f"{path.name} is not UTF-8 text: {error.reason}") from None
    return parse_json(text, path.name)


def parse_json(text: str, name: str, largest: int = LARGEST_FILE) -> dict:
    """Return the JSON object in a text. A name that stands twice, NaN and a broken text are refused."""
    if len(text) > largest:
        raise FileFault(f"{name} is larger than {largest // 1_000_000} MB, so it was not read")

    def no_constant(word: str):
        raise FileFault(f"{name} holds {word}, which is not a number")

    def finite(word: str) -> float:
        value = float(word)
        if not math.isfinite(value):
            raise FileFault(f"{name} holds {word[:20]}, which is too large for a number")
        return value

    def once(pairs: list) -> dict:
        found: dict = {}
        for key, value in pairs:
            if key in found:
                raise FileFault(f"{name} names {key[:60]!r} twice in one place")
            found[key] = value
        return found

    try:
        raw = json.loads(text, parse_constant=no_constant, parse_float=finite, object_pairs_hook=once)
    except FileFault:
        raise
    except RecursionError:
        raise FileFault(f"{name} is nested too deep") from None
    except ValueError as error:  # broken JSON, or a whole number with thousands of figures
        raise FileFault(f"{name} is not readable as JSON: {error}") from None
    if not isinstance(raw, dict):
        raise FileFault(f"{name} must hold one object in braces")
    return raw


def write_whole(path: Path, text: str, backup: Path | None = None) -> None:
    """Put `text` in place of the file at once, keeping the old file as `backup`. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with open(part, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        if backup is not None and path.exists():
            _copy_whole(path, backup)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet. Raises FileExistsError, or OSError and leaves no half of it behind."""
    try:
        with open(path, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except FileExistsError:
        raise
    except OSError:
        path.unlink(missing_ok=True)  # half a file would stand in the way of the next try
        raise


def _copy_whole(path: Path, backup: Path) -> None:
    part = backup.with_name(f".{backup.name}.{os.getpid()}.part")
    part.write_bytes(path.read_bytes())
    os.replace(part, backup)


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the lock file beside `path`, so that two notebooks do not write at once. Raises OSError.

    The system lets the lock go when its notebook dies, so a lock is never stale.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with open(path.with_name(f"{path.name}.lock"), "ab") as stream:
        started = time.monotonic()
        while not _take(stream):
            if time.monotonic() - started > LOCK_WAIT:
                raise FileFault(f"another notebook is still writing {path.name}; try again in a moment")
            time.sleep(0.02)
        try:
            yield
        finally:
            _let_go(stream)


if sys.platform == "win32":
    import msvcrt

    def _take(stream) -> bool:
        stream.seek(0)
        try:
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _let_go(stream) -> None:
        stream.seek(0)
        msvcrt.locking(stream.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _take(stream) -> bool:
        try:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _let_go(stream) -> None:
        fcntl.flock(stream, fcntl.LOCK_UN)


def set_aside(path: Path) -> Path:
    """Rename a damaged file so that nothing in it is lost, and return its new place."""
    stamp = time.strftime("%Y%m%d-%H%M%S")
    for number in range(1000):
        place = path.with_name(f"{path.stem}{DAMAGED}{stamp}{f'-{number}' if number else ''}{path.suffix}")
        if not place.exists():
            return path.rename(place)
    raise FileFault(f"{path.name} is damaged and could not be set aside")


def set_aside_in_words(path: Path, fault: Exception) -> str:
    """Set a damaged file aside, and return the fault and what was done, in sentences."""
    told = f"{str(fault).rstrip('.')}."
    try:
        place = set_aside(path)
    except (OSError, FileFault):
        return f"{told} It could not be set aside. Move {path.name} away yourself."
    return f"{told} It was set aside as {place.name}. Nothing in it is lost."
