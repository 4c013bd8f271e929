"""Installing packages into the course's environment: what is fetched, how much and how far it is.

The package installer, pip, writes pages of notes and warnings. Those go to a file; the screen gets one line of
progress, and the errors when something went wrong.
"""

import json
import platform
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path

from gaslab.commands.child import ROOT, watch
from gaslab.commands.messages import Progress, Stop, counted, megabytes, say, size_of

REQUIREMENTS = ROOT / "requirements.txt"
# A stick carries its packages beside the course; with them no internet is needed.
WHEELS = ROOT.parent / "gaslab-wheels"
CONTENTS = "contents.json"
COURSE = ("-r", str(REQUIREMENTS))
TESTS = (*COURSE, "-e", "./gaslab[test]")
LIMIT = 3600.0  # s, for a slow line
# What is fetched for a new environment on Linux with Python 3.11, packed. It is about the same elsewhere;
# the long run compares it with what the stick fetches.
ABOUT = {COURSE: (113, 110e6), TESTS: (153, 290e6)}

_FILE = re.compile(r"^\s*(Downloading|Using cached|Processing) (\S+)(?: \(([\d.]+) (bytes|kB|MB|GB)\))?")
_RAW = re.compile(r"^Progress (\d+) of (\d+)$")
_NO_MATCH = re.compile(r"No matching distribution found for (\S+)(?: \(from (.+?)\))?$")


@dataclass
class Fetching:
    """How far the installer is, from the lines that it prints. `about` is (packages, bytes) or nothing."""

    about: tuple[int, float] | None
    wanted: set[str] = field(default_factory=set)
    files: dict[str, float] = field(default_factory=dict)
    part: float = 0.0  # bytes of the file that is on its way

    def hear(self, line: str) -> str:
        """Take in one line; return what to show, or nothing when the line says nothing new."""
        if line.startswith("Collecting "):
            self.wanted.add(line.split()[1])
            return "" if self.files else f"working out what is needed: {len(self.wanted)} so far"
        if raw := _RAW.match(line):
            self.part = float(raw[1])
            return self.state(next(reversed(self.files), ""))
        if line.startswith("Installing collected packages:"):
            return f"putting {counted(line.count(',') + 1)} in place; this takes a minute"
        found = _FILE.match(line)
        if not found or found[2].endswith(".metadata"):
            return ""
        name, self.part = Path(found[2]).name, 0.0
        if not name.endswith((".whl", ".tar.gz", ".zip")):
            return ""
        self.files[name] = size_of(found[3], found[4]) if found[3] else size_on_disk(Path(found[2]))
        return self.state(name)

    def state(self, name: str) -> str:
        """Return how much has been fetched, and the file that is on its way with its size."""
        # The file on its way counts as far as it has come, if the installer says so, else as a whole.
        so_far = sum(self.files.values()) - (self.files.get(name, 0.0) - self.part if self.part else 0.0)
        package = name.split("-", maxsplit=1)[0]
        if self.about is None:
            return f"{counted(len(self.files))}, {megabytes(so_far)}: {package}"
        packages, size = self.about
        return (
            f"{len(self.files)} of about {max(packages, len(self.files))} packages, "
            f"{megabytes(so_far)} of about {megabytes(max(size, so_far))}: {package}"
        )


def size_on_disk(path: Path) -> float:
    """Return a file's size [bytes]; a file that pip names but that is not there counts as nothing."""
    return float(path.stat().st_size) if path.is_file() else 0.0


def install(python: Path, wanted: tuple[str, ...], log: Path, new: bool) -> None:
    """Install packages into the environment, from the stick's wheels when they are there.

    `log` is the file for all that the installer says; `new` tells that the environment was empty before.
    """
    command = [python, "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--no-color",
               "--progress-bar", "raw" if knows_raw(python) else "off", *wanted]  # fmt: skip
    about = ABOUT.get(wanted) if new else None
    if WHEELS.is_dir():
        check_stick()
        command += ["--no-index", "--find-links", WHEELS]
        say("Installing packages from the stick …")
    elif about:
        say(f"Fetching packages: about {about[0]}, {megabytes(about[1])}. This is needed once …")
    else:
        say("Bringing the packages up to date …")
    fetching, progress = Fetching(about), Progress()
    ended = watch(command, LIMIT, lambda line: progress.show(fetching.hear(line)))
    log.parent.mkdir(parents=True, exist_ok=True)
    log.write_text("\n".join(ended.lines) + "\n", encoding="utf-8")
    if ended.reason:
        progress.finish("stopped")
        raise Stop(failure(ended.lines, ended.reason, log))
    progress.finish(
        f"{counted(len(fetching.files))}, {megabytes(sum(fetching.files.values()))}: in place."
        if fetching.files
        else "all packages are in place."
    )


def knows_raw(python: Path) -> bool:
    """Return True when the environment's installer can tell how far a single file is (pip 24.1 and newer)."""
    ended = watch([python, "-m", "pip", "--version"], 60.0)
    found = re.match(r"pip (\d+)\.(\d+)", ended.lines[0] if ended.lines else "")
    return found is not None and (int(found[1]), int(found[2])) >= (24, 1)


def failure(lines: list[str], reason: str, log: Path) -> str:
    """Return what went wrong, and what a person can do about it."""
    lacking = [found for line in lines if (found := _NO_MATCH.search(line))]
    if WHEELS.is_dir() and lacking:
        named = "; ".join(f"{one[1]}" + (f" (needed by {one[2]})" if one[2] else "") for one in lacking)
        return f"The stick has no package that fits this machine for: {named}.\n{stick_advice()}"
    told = "\n".join(errors_in(lines)) or reason
    return (
        f"The packages could not be installed. What was installed so far is kept.\n{told}\n"
        "Check the internet connection and run the same command again.\n"
        "For a place with no internet, make an offline stick elsewhere: see README.md.\n"
        f"All that the installer said is in {log}."
    )


def errors_in(lines: list[str]) -> list[str]:
    """Return the first errors among the lines that the installer printed."""
    return [line for line in lines if line.startswith("ERROR:")][:3]


def this_machine() -> tuple[str, str]:
    """Return the system and the Python of this machine, as a stick names them."""
    mac = "macos" if platform.machine() == "arm64" else "macos-intel"
    system = {"win32": "windows", "darwin": mac}.get(sys.platform, "linux")
    return system, f"{sys.version_info[0]}.{sys.version_info[1]}"


def check_stick() -> None:
    """Stop when the stick has nothing for this machine, or when one of its packages is missing, and name them."""
    try:
        carried = json.loads((WHEELS / CONTENTS).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return  # a stick of an older version has no list; pip then names what it lacks
    system, python = this_machine()
    files = carried.get(f"{system} {python}")
    if files is None:
        raise Stop(
            f"The stick carries nothing for {system} with Python {python}. It carries: {', '.join(carried)}.\n"
            f"{stick_advice()}"
        )
    lacking = [name for name in files if not (WHEELS / name).is_file()]
    if lacking:
        raise Stop(
            f"These packages are missing from {WHEELS}:\n  " + "\n  ".join(lacking) + f"\n{stick_advice()}"
        )


def stick_advice() -> str:
    """Return what to do about a stick that does not serve."""
    return (
        "Copy the stick again, or make it anew on a machine with internet:\n"
        "  python3 gaslab/course.py stick FOLDER\n"
        "A machine with internet needs no stick: move the folder gaslab-wheels away and run the command again."
    )
