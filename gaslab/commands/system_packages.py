"""Packages of the distribution, on Debian and Ubuntu: the venv module, a browser, fonts.

As root they are installed at once. An ordinary user's machine is changed only after --system was written, and
then through sudo.
"""

import os
import re
import shutil
from dataclasses import dataclass
from pathlib import Path

from gaslab.commands.child import watch
from gaslab.commands.messages import Progress, counted, megabytes, say, size_of

RELEASE = Path("/etc/os-release")
QUIET = {"DEBIAN_FRONTEND": "noninteractive", "LC_ALL": "C"}
LIMIT = 900.0  # s, for one call of the package tool on a slow line


@dataclass(frozen=True)
class Permission:
    """Whether packages of the distribution may be installed: `asked` is True after --system."""

    asked: bool = False

    @property
    def root(self) -> bool:
        return hasattr(os, "geteuid") and os.geteuid() == 0

    @property
    def given(self) -> bool:
        return self.root or self.asked


UNASKED = Permission()


def distribution() -> str:
    """Return "debian", "ubuntu" or "" when the machine has no package tool of that family."""
    if shutil.which("apt-get") is None:
        return ""
    try:
        lines = RELEASE.read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    told = dict(line.split("=", 1) for line in lines if "=" in line)
    names = [told.get("ID", ""), *told.get("ID_LIKE", "").strip("\"'").split()]
    return next((name for name in (one.strip("\"'") for one in names) if name in ("debian", "ubuntu")), "")


def command_for(packages: tuple[str, ...]) -> str:
    """Return what a person types to install packages."""
    return f"sudo apt install {' '.join(packages)}"


def install(packages: tuple[str, ...], permission: Permission) -> str:
    """Install packages of the distribution; return nothing when all went well, else the reason."""
    if not permission.given:
        return "needs --system, or root"
    # sudo gives the program a clean environment, so the settings go through env.
    prefix = [] if permission.root else ["sudo", "env", *(f"{name}={value}" for name, value in QUIET.items())]
    if prefix and shutil.which("sudo") is None:
        return "needs root, and there is no sudo here"
    say(f"Installing {', '.join(packages)} with the system's package tool …")
    for step in (["update"], ["install", "-y", "--no-install-recommends", *packages]):
        reason = call([*prefix, "apt-get", *step], asks=bool(prefix))
        if reason:
            return reason
    return ""


@dataclass
class Installing:
    """How far the package tool is, from the lines that it prints."""

    packages: int = 0
    size: float = 0.0  # bytes
    fetched: float = 0.0  # bytes
    set_up: int = 0

    def hear(self, line: str) -> str:
        """Take in one line; return what to show, or nothing when the line says nothing new."""
        if found := re.search(r"(\d+) newly installed", line):
            self.packages = int(found[1])
        elif found := re.match(r"Need to get ([\d.,]+) ([kMG]?B)", line):
            self.size = size_of(found[1], found[2])
        elif (found := re.match(r"Get:\d+ .*\[([\d.,]+) ([kM]?B)\]$", line)) and self.size:
            self.fetched += size_of(found[1], found[2])
            return f"fetched {megabytes(self.fetched)} of {megabytes(self.size)} in {counted(self.packages)}"
        elif line.startswith("Setting up "):
            self.set_up += 1
            return f"set up {self.set_up} of {counted(self.packages)}"
        return ""


def call(command: list[str], asks: bool) -> str:
    """Call the package tool once; return nothing when it went well, else the reason."""
    installing, progress = Installing(), Progress()
    ended = watch(command, LIMIT, lambda line: progress.show(installing.hear(line)), QUIET, asks)
    if ended.reason:
        errors = [line for line in ended.lines if line.startswith(("E:", "sudo:"))]
        return errors[0] if errors else ended.reason
    if "install" in command:
        size = f", {megabytes(installing.size)}" if installing.fetched else ""
        progress.finish(f"{counted(installing.packages)}{size}: in place.")
    return ""
