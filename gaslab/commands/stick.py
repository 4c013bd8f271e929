"""An offline stick: the course and every package it needs, for a classroom with no internet.

    python3 gaslab/course.py stick FOLDER [--python 3.11 3.12 3.13 3.14] [--system linux windows macos macos-intel]

Wheels are fetched for each system and each Python that may be met in the classroom. pip reads a package's
conditions (such as "only on Windows") for the machine it runs on, not for the machine asked for; so this file
walks through the wheels itself, system by system, and fetches what is still missing. What each kind of machine
needs is listed on the stick, so that a package that goes missing can be named.
Wheels for another system than this one are resolved here and not run.
"""

import argparse
import email
import json
import sys
import tempfile
import tomllib
import zipfile
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from packaging.requirements import Requirement
from packaging.tags import Tag, compatible_tags, cpython_tags, mac_platforms
from packaging.utils import canonicalize_name, parse_wheel_filename

from gaslab.commands import course_files
from gaslab.commands.child import ROOT, watch
from gaslab.commands.packages import CONTENTS, LIMIT, errors_in, this_machine

PYTHONS = ("3.11", "3.12", "3.13", "3.14")
MANYLINUX = [
    *(f"manylinux_2_{minor}_x86_64" for minor in range(28, 4, -1)),
    "manylinux2014_x86_64",
    "manylinux1_x86_64",
]
MACOS = (12, 0)  # the oldest release that the packages are chosen for
SYSTEMS: dict[str, dict] = {
    "linux": {
        "platforms": MANYLINUX,
        "markers": {"os_name": "posix", "sys_platform": "linux", "platform_system": "Linux",
                    "platform_machine": "x86_64"},
    },
    "windows": {
        "platforms": ["win_amd64"],
        "markers": {"os_name": "nt", "sys_platform": "win32", "platform_system": "Windows",
                    "platform_machine": "AMD64"},
    },
    "macos": {
        "platforms": list(mac_platforms(MACOS, "arm64")),
        "markers": {"os_name": "posix", "sys_platform": "darwin", "platform_system": "Darwin",
                    "platform_machine": "arm64"},
    },
    "macos-intel": {
        "platforms": list(mac_platforms(MACOS, "x86_64")),
        "markers": {"os_name": "posix", "sys_platform": "darwin", "platform_system": "Darwin",
                    "platform_machine": "x86_64"},
    },
}  # fmt: skip
GUIDE = """The course on a stick: no internet needed
=========================================

1. The machine needs Python {pythons} (64 bit). Put it on first; it is not on this stick.
2. Copy this whole folder to the machine. Do not run it from the stick: it would be slow.
3. Open a terminal in the copied folder and type:

   Linux, macOS   python3 course/gaslab/course.py open
   Windows        py course\\gaslab\\course.py open

The packages come from the folder gaslab-wheels. {systems}
Training only. If you smell gas, ring 0800 111 999 (Great Britain).
"""


class StickError(RuntimeError):
    """Something that stops a stick from being made, in plain sentences."""


@dataclass(frozen=True)
class Target:
    """One kind of classroom machine: its system and its Python."""

    system: str
    python: str
    tags: frozenset[Tag] = field(compare=False)

    @classmethod
    def of(cls, system: str, python: str) -> "Target":
        version = tuple(map(int, python.split(".")))
        platforms = SYSTEMS[system]["platforms"]
        interpreter = f"cp{version[0]}{version[1]}"
        tags = [
            *cpython_tags(version, platforms=platforms),
            *compatible_tags(version, interpreter, platforms),
        ]
        return cls(system, python, frozenset(tags))

    def markers(self, extra: str) -> dict[str, str]:
        """Return what a package's conditions are read against on this machine."""
        return {
            **SYSTEMS[self.system]["markers"], "implementation_name": "cpython", "extra": extra,
            "platform_python_implementation": "CPython", "python_version": self.python,
            "python_full_version": f"{self.python}.0", "implementation_version": f"{self.python}.0",
            "platform_release": "", "platform_version": "",
        }  # fmt: skip

    def takes(self, wheel: Path) -> bool:
        return bool(parse_wheel_filename(wheel.name)[3] & self.tags)

    def pip(self) -> list[str]:
        named = [part for platform in SYSTEMS[self.system]["platforms"] for part in ("--platform", platform)]
        return [*named, "--python-version", self.python, "--implementation", "cp", "--only-binary", ":all:"]


def listed() -> list[str]:
    """Return the course's requirements without the course itself, and what builds it."""
    lines = (ROOT / "requirements.txt").read_text(encoding="utf-8").splitlines()
    project = tomllib.loads((ROOT / "gaslab" / "pyproject.toml").read_text(encoding="utf-8"))
    # A virtual environment is made with the pip inside Python, so pip itself need not travel.
    return [line for line in lines if line and not line.startswith(("#", "-e"))] + project["build-system"][
        "requires"
    ]


def pip(*arguments: str) -> None:
    """Run pip, its notes kept off the screen; raise StickError with its own errors when it fails."""
    command = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--no-input", *arguments]
    ended = watch(command, LIMIT)
    if ended.reason:
        raise StickError(
            "The packages could not be fetched. A stick is made on a machine with internet; try again.\n"
            + "\n".join(errors_in(ended.lines) or [ended.reason])
        )


@cache
def needs_of(wheel: Path) -> tuple[Requirement, ...]:
    """Return what a wheel says it needs."""
    with zipfile.ZipFile(wheel) as archive:
        name = next(n for n in archive.namelist() if n.endswith(".dist-info/METADATA"))
        metadata = email.message_from_bytes(archive.read(name))
    return tuple(Requirement(line) for line in metadata.get_all("Requires-Dist", []))


@dataclass
class Resolved:
    """What a target needs: the wheels in the folder that meet it, and the requirements that none meets."""

    wheels: set[Path] = field(default_factory=set)
    lacking: dict[str, Requirement] = field(default_factory=dict)


def resolve(wheels: Path, target: Target, roots: list[str]) -> Resolved:
    """Follow the requirements of a target through the wheels in a folder."""
    by_name: dict[str, list[Path]] = {}
    for wheel in wheels.glob("*.whl"):
        if target.takes(wheel):
            by_name.setdefault(parse_wheel_filename(wheel.name)[0], []).append(wheel)
    found, seen = Resolved(), set()
    queue = [Requirement(root) for root in roots]
    while queue:
        wanted = queue.pop()
        name = canonicalize_name(wanted.name)
        fitting = [
            wheel
            for wheel in by_name.get(name, [])
            if wanted.specifier.contains(parse_wheel_filename(wheel.name)[1], prereleases=True)
        ]
        if not fitting:
            found.lacking[str(wanted)] = wanted
        for wheel in fitting:
            found.wheels.add(wheel)
            for extra in ("", *sorted(wanted.extras)):
                if (wheel, extra) not in seen:
                    seen.add((wheel, extra))
                    queue += needs_on(target, wheel, extra)
    return found


def needs_on(target: Target, wheel: Path, extra: str) -> list[Requirement]:
    """Return what a wheel needs on a target."""
    markers = target.markers(extra)
    return [need for need in needs_of(wheel) if need.marker is None or need.marker.evaluate(markers)]


def fetch(wheels: Path, target: Target) -> Resolved:
    """Fetch every wheel a target needs, and check that nothing is missing."""
    pip("download", "--dest", str(wheels), *target.pip(), *listed())
    for _ in range(10):
        found = resolve(wheels, target, listed())
        if not found.lacking:
            return found
        bare = [f"{need.name}{need.specifier}" for need in found.lacking.values()]
        pip("download", "--dest", str(wheels), "--no-deps", *target.pip(), *bare)
    raise StickError(f"{target.system}, Python {target.python}: still missing {', '.join(found.lacking)}")


def make(folder: Path, systems: list[str], pythons: list[str]) -> None:
    """Fill a new folder: course, wheels and a guide of one page."""
    if folder.exists() and any(folder.iterdir()):
        raise StickError(
            f"{folder} is not empty. Give the name of a new folder, so that nothing is overwritten."
        )
    if ROOT in folder.resolve().parents:
        raise StickError("Put the stick outside the course's own folder.")
    wheels = folder / "gaslab-wheels"
    wheels.mkdir(parents=True)
    contents = fetch_all(wheels, systems, pythons)
    with tempfile.TemporaryDirectory() as copy:  # building a wheel leaves files behind
        course_files.copy(Path(copy))
        pip("wheel", "--no-deps", "--wheel-dir", str(wheels), f"{copy}/gaslab")
    (wheels / CONTENTS).write_text(json.dumps(contents, indent=1), encoding="utf-8")
    course_files.copy(folder / "course")
    others = [system for system in systems if system != this_machine()[0]]
    words = (
        f"Packages for {', '.join(others)} were resolved, not run: try one machine before the lesson."
        if others
        else ""
    )
    guide = GUIDE.format(pythons=" or ".join(pythons), systems=words)
    (folder / "READ-ME-FIRST.txt").write_text(guide, encoding="utf-8")
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    print(f"The stick is in {folder}: {size / 1e6:.0f} MB. {words}")


def fetch_all(wheels: Path, systems: list[str], pythons: list[str]) -> dict[str, list[str]]:
    """Fetch what each kind of machine needs; return the names of its wheels by system and Python."""
    contents = {}
    for system in systems:
        for python in pythons:
            print(f"Fetching packages for {system}, Python {python} …", end=" ", flush=True)
            found = fetch(wheels, Target.of(system, python))
            size = sum(wheel.stat().st_size for wheel in found.wheels)
            print(f"{len(found.wheels)} packages, {size / 1e6:.0f} MB", flush=True)
            contents[f"{system} {python}"] = sorted(wheel.name for wheel in found.wheels)
    return contents


def main() -> int:
    """Make the stick that the command line asks for; return 0 when it is whole."""
    parser = argparse.ArgumentParser(
        prog="course.py stick", description="Make an offline copy of the course."
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--python", nargs="+", default=list(PYTHONS), metavar="3.N")
    parser.add_argument("--system", nargs="+", default=list(SYSTEMS), choices=SYSTEMS)
    asked = parser.parse_args()
    try:
        make(asked.folder.resolve(), asked.system, asked.python)
    except StickError as error:
        print(f"\n{error}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
