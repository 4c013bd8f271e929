"""The files of the course: what is copied to a stick, and a digest that changes when one of them changes."""

import hashlib
import shutil
from pathlib import Path

from gaslab.commands.child import ROOT

COPIED = ("README.md", "DEVELOPERS.md", "requirements.txt", "notebooks", "gaslab", "tests", "data", "binder",
          ".ci", ".gitignore", ".mypy.ini", ".pytest.ini", ".ruff.toml")  # fmt: skip
LEFT_OUT = ("__pycache__", "*.egg-info", "build", ".ipynb_checkpoints", ".hypothesis", ".*_cache")
OUTPUT = ROOT / ".test-output"


def files() -> list[Path]:
    """Return every file of the course, in order, without what running it leaves behind."""
    found = []
    for path in (ROOT / name for name in COPIED):
        inside = sorted(path.rglob("*")) if path.is_dir() else [path]
        found += [one for one in inside if one.is_file() and not left_out(one)]
    return found


def left_out(path: Path) -> bool:
    """Return True for a file in a folder that is made by running the course."""
    parts = path.relative_to(ROOT).parts
    return any(Path(part).match(pattern) for part in parts[:-1] for pattern in LEFT_OUT)


def digest() -> str:
    """Return a digest of every file of the course, with its name."""
    mixed = hashlib.sha256()
    for path in files():
        mixed.update(path.relative_to(ROOT).as_posix().encode() + b"\0")
        mixed.update(hashlib.sha256(path.read_bytes()).digest())
    return mixed.hexdigest()


def copy(folder: Path) -> None:
    """Copy what a course needs to run, and nothing that was made here."""
    for path in files():
        place = folder / path.relative_to(ROOT)
        place.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, place)
