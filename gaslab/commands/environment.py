"""The course's own environment: a folder with a Python and the packages. Nothing is done when nothing changed."""

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from gaslab.commands import packages, system_packages
from gaslab.commands.child import ROOT
from gaslab.commands.messages import Stop, say
from gaslab.commands.system_packages import UNASKED, Permission

OLDEST = (3, 11)  # as in course.py, which an older Python must be able to read
NOTE = "installed.json"


def folder() -> Path:
    """Return the folder of the course's own environment. GASLAB_VENV wins."""
    return Path(os.environ.get("GASLAB_VENV") or ROOT / ".venv")


def python_in(place: Path) -> Path:
    """Return the Python inside an environment."""
    return place / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def digest(name: str) -> str:
    """Return a digest of what an environment is made from: it changes when the packages must change."""
    mixed = hashlib.sha256()
    for path in (packages.REQUIREMENTS, ROOT / "gaslab" / "pyproject.toml", ROOT / "gaslab" / "setup.py"):
        mixed.update(path.read_bytes())
    for part in (str(ROOT), name):
        mixed.update(part.encode())
    return mixed.hexdigest()


def read_note(place: Path) -> dict:
    """Return what was installed into the environment: nothing when the note is missing or damaged."""
    try:
        note = json.loads((place / NOTE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return note if isinstance(note, dict) else {}


def works(python: Path) -> bool:
    """Return True when the environment's Python starts, is new enough and has pip."""
    test = (
        "import sys, importlib.util as u; "
        f"sys.exit(sys.version_info < {OLDEST!r} or u.find_spec('pip') is None)"
    )
    try:
        done = subprocess.run([str(python), "-I", "-c", test], stderr=subprocess.DEVNULL, check=False)
    except OSError:
        return False
    return done.returncode == 0


def make(place: Path, permission: Permission) -> None:
    """Make the environment, in place of a half-made one."""
    if place.exists():
        if not (place / "pyvenv.cfg").exists() and any(place.iterdir()):
            raise Stop(
                f"The folder {place} is in the way: it is no Python environment. Move it and try again."
            )
        say("The environment was only half made, or its Python has gone. It is made anew.")
        shutil.rmtree(place)
    say(f"Making the environment in {place} …")
    if made(place):
        return
    if not lacks_venv():
        raise Stop(
            "The environment could not be made.\n"
            f"Check that the disk is not full and that you may write to {place.parent}."
        )
    module = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
    if not system_packages.distribution():
        raise Stop(
            "The environment could not be made: this Python comes without the module ensurepip.\n"
            "Install a Python that has it, for example from python.org, and run the same command with it."
        )
    reason = system_packages.install((module,), permission)
    if reason or not made(place):
        raise Stop(
            f"The environment could not be made: this Python comes without its venv module, and {module} "
            f"was not installed ({reason or 'it did not help'}).\nType\n"
            f"  {system_packages.command_for((module,))}\n"
            "or run the same command again with --system at its end, which does that for you."
        )


def lacks_venv() -> bool:
    """Return True on a Python whose venv module was left out, as Debian and Ubuntu do."""
    return any(importlib.util.find_spec(name) is None for name in ("venv", "ensurepip"))


def made(place: Path) -> bool:
    """Make the environment once; clear away what is half made."""
    done = subprocess.run(
        [sys.executable, "-m", "venv", str(place)], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        shutil.rmtree(place, ignore_errors=True)
    return done.returncode == 0


def prepare(tests: bool = False, permission: Permission = UNASKED) -> Path:
    """Return the Python of an environment that has all it needs."""
    place = folder()
    python = python_in(place)
    if not works(python):
        make(place, permission)
    note = read_note(place)
    # What the tests need includes what the course needs.
    names, wanted = (("course", "test"), packages.TESTS) if tests else (("course",), packages.COURSE)
    if any(note.get(name) != digest(name) for name in names):
        packages.install(python, wanted, place / "installer.log", new=not note)
        note.update({name: digest(name) for name in names})
        (place / NOTE).write_text(json.dumps(note), encoding="utf-8")
    return python
