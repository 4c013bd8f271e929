"""A folder of files that trainees handed in. Each is read strictly; one that cannot be used is named and skipped.

A trainee's file is data from outside. Nothing in it is run, and only what this course wrote is taken.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from gaslab.escape import clean
from gaslab.refit.folder import LARGEST_COPY, FileFault

T = TypeVar("T")
MOST_FILES = 500


@dataclass(frozen=True)
class SkippedFile:
    """A file that does not count by itself: what was done with it, and why."""

    file: str
    why: str
    done: str = "was skipped"

    def __str__(self) -> str:
        return f"{self.file} {self.done}: {self.why}."


def read_each(folder: Path, read: Callable[[str, str], T]) -> tuple[list[tuple[str, T]], list[SkippedFile]]:
    """Return (file name, what `read(text, file name)` gave) of each file, and the files that were skipped.

    Raises FileFault when the folder itself cannot be read or holds more than MOST_FILES files.
    """
    found: list[tuple[str, T]] = []
    refused: list[SkippedFile] = []
    for path in _files(Path(folder)):
        name = clean(path.name)
        try:
            found.append((name, read(_text(path), name)))
        except FileFault as fault:
            refused.append(SkippedFile(name, str(fault)))
        except OSError:
            refused.append(SkippedFile(name, "it cannot be opened"))
    return found, refused


def _files(folder: Path) -> list[Path]:
    try:
        paths = sorted(p for p in folder.iterdir() if p.is_file() and not p.name.startswith("."))
    except OSError:
        raise FileFault(f"There is no folder {clean(str(folder))} that can be read") from None
    if len(paths) > MOST_FILES:
        raise FileFault(f"The folder holds {len(paths)} files; {MOST_FILES} is the most at one time")
    return paths


def _text(path: Path) -> str:
    if path.suffix.lower() != ".json":
        raise FileFault("its name does not end in .json")
    if path.stat().st_size > LARGEST_COPY:
        raise FileFault(f"it is larger than {LARGEST_COPY // 1_000_000} MB")
    try:
        return path.read_bytes().decode("utf-8")
    except UnicodeDecodeError:
        raise FileFault("it is not UTF-8 text") from None
