"""An offline stick: the course and every package it needs, for a classroom with no internet.

    python3 gaslab/course.py stick FOLDER [--python 3.11 3.12 3.13] [--system linux windows]

Wheels are fetched for each system and each Python that may be met in the classroom. pip reads a package's
conditions (such as "only on Windows") for the machine it runs on, not for the machine asked for; so this file
walks through the wheels itself, system by system, and fetches what is still missing.
Windows wheels are resolved here and not run.
"""

import argparse
import email
import shutil
import subprocess
import sys
import tomllib
import zipfile
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from packaging.requirements import Requirement
from packaging.tags import Tag, compatible_tags, cpython_tags
from packaging.utils import canonicalize_name, parse_wheel_filename

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("README.md", "DEVELOPERS.md", "requirements.txt", "notebooks", "gaslab", "tests", "data", "binder",
          ".ci", ".gitignore", ".mypy.ini", ".pytest.ini", ".ruff.toml")  # fmt: skip
NOT_COPIED = shutil.ignore_patterns("__pycache__", "*.egg-info", "build", ".ipynb_checkpoints")
PYTHONS = ("3.11", "3.12", "3.13")
MANYLINUX = [
    *(f"manylinux_2_{minor}_x86_64" for minor in range(28, 4, -1)),
    "manylinux2014_x86_64",
    "manylinux1_x86_64",
]
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
}  # fmt: skip
GUIDE = """The course on a stick: no internet needed
=========================================

1. The machine needs Python {pythons} (64 bit). Put it on first; it is not on this stick.
2. Copy this whole folder to the machine. Do not run it from the stick: it would be slow.
3. Open a terminal in the copied folder and type:

   Linux     python3 course/gaslab/course.py open
   Windows   py course\\gaslab\\course.py open

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
    """Run pip, or raise StickError."""
    command = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet", *arguments]
    if subprocess.run(command, check=False, cwd=ROOT).returncode != 0:
        raise StickError(
            "The packages could not be fetched. A stick is made on a machine with internet; try again."
        )


@cache
def needs_of(wheel: Path) -> tuple[Requirement, ...]:
    """Return what a wheel says it needs."""
    with zipfile.ZipFile(wheel) as archive:
        name = next(n for n in archive.namelist() if n.endswith(".dist-info/METADATA"))
        metadata = email.message_from_bytes(archive.read(name))
    return tuple(Requirement(line) for line in metadata.get_all("Requires-Dist", []))


def missing(wheels: Path, target: Target, roots: list[str]) -> list[Requirement]:
    """Return the requirements that no wheel in the folder meets on this target."""
    by_name: dict[str, list[Path]] = {}
    for wheel in wheels.glob("*.whl"):
        if target.takes(wheel):
            by_name.setdefault(parse_wheel_filename(wheel.name)[0], []).append(wheel)
    lacking, seen = {}, set()
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
            lacking[str(wanted)] = wanted
        for wheel in fitting:
            for extra in ("", *sorted(wanted.extras)):
                if (wheel, extra) not in seen:
                    seen.add((wheel, extra))
                    queue += [
                        need
                        for need in needs_of(wheel)
                        if need.marker is None or need.marker.evaluate(target.markers(extra))
                    ]
    return list(lacking.values())


def fetch(wheels: Path, target: Target) -> None:
    """Fetch every wheel a target needs, and check that nothing is missing."""
    pip("download", "--dest", str(wheels), *target.pip(), *listed())
    for _ in range(10):
        lacking = missing(wheels, target, listed())
        if not lacking:
            return
        bare = [f"{need.name}{need.specifier}" for need in lacking]
        pip("download", "--dest", str(wheels), "--no-deps", *target.pip(), *bare)
    raise StickError(f"{target.system}, Python {target.python}: still missing {', '.join(map(str, lacking))}")


def copy_course(folder: Path) -> None:
    """Copy what a course needs to run, and nothing that was made here."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=NOT_COPIED)
        elif source.exists():
            folder.mkdir(parents=True, exist_ok=True)
            shutil.copy(source, folder / name)


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
    for system in systems:
        for python in pythons:
            print(f"Fetching packages for {system}, Python {python} …", flush=True)
            fetch(wheels, Target.of(system, python))
    pip("wheel", "--no-deps", "--wheel-dir", str(wheels), "./gaslab")
    copy_course(folder / "course")
    words = (
        "Windows wheels were resolved, not run: try one machine before the lesson."
        if "windows" in systems
        else ""
    )
    guide = GUIDE.format(pythons=" or ".join(pythons), systems=words)
    (folder / "READ-ME-FIRST.txt").write_text(guide, encoding="utf-8")
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    print(f"The stick is in {folder}: {size / 1e6:.0f} MB. {words}")


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
