"""A machine made of small shell scripts, to try the commands on: a search path, a package tool, an environment.

Each script notes that it was called. Nothing outside the folder is looked at or changed.
"""

import os
from pathlib import Path

NAMES = ("GASLAB_CHROMIUM", "ProgramFiles", "ProgramFiles(x86)", "LOCALAPPDATA")
# Draws for a browser whose file says so. The driver's download and its libraries do what the test sets.
PYTHON = """#!/bin/sh
echo "python $*" >> "{calls}"
case "$*" in
  *"playwright install-deps"*) echo "Error: no libraries"; exit 1 ;;
  *"playwright install"*) {download} ;;
  *draw_page.py*) for last; do :; done
    if grep -q draws "$last"; then echo drawn; exit 0; fi
    echo "no picture: nothing came"; exit 1 ;;
esac
"""
PACKAGE_TOOL = """#!/bin/sh
echo "apt-get $*" >> "{calls}"
case "$*" in *install*) {does} ;; esac
"""


class FakeMachine:
    """A folder that stands for a machine. `calls` are the programs that were started in it, in order."""

    def __init__(self, folder: Path, monkeypatch, system="debian", root=True):
        self.folder, self.bin = folder, folder / "bin"
        self.bin.mkdir()
        self.notes = folder / "calls.txt"
        self.python = self.script(
            "python", PYTHON.format(calls=self.notes, download="echo 'Error: no network'; exit 1")
        )
        for tool in ("sh", "env", "grep", "cp", "chmod", "mkdir", "sleep"):
            (self.bin / tool).symlink_to(
                next(p for p in (Path("/bin") / tool, Path("/usr/bin") / tool) if p.exists())
            )
        release = folder / "os-release"
        release.write_text(f'PRETTY_NAME="A system"\nID={system}\n')
        for name in NAMES:
            monkeypatch.delenv(name, raising=False)
        monkeypatch.setenv("PATH", str(self.bin))
        monkeypatch.setenv("HOME", str(folder / "home"))
        monkeypatch.setenv("GASLAB_VENV", str(folder / "venv"))
        monkeypatch.setattr("gaslab.commands.system_packages.RELEASE", release)
        monkeypatch.setattr(os, "geteuid", lambda: 0 if root else 1000)
        monkeypatch.setattr("gaslab.commands.browser.MAC", ())

    def script(self, name: str, text: str) -> Path:
        """Put a program on the search path."""
        path = self.bin / name
        path.write_text(text)
        path.chmod(0o755)
        return path

    def browser(self, name: str, what: str = "draws") -> Path:
        """Put a browser on the search path that draws, or does something else."""
        return self.script(name, f"#!/bin/sh\n# {what}\n")

    def package_tool(self, does: str) -> None:
        """Put a package tool on the search path, and what it does when it is to install something."""
        self.script("apt-get", PACKAGE_TOOL.format(calls=self.notes, does=does))

    def download(self, does: str) -> None:
        """Let the browser driver's own download do something else than fail."""
        self.script("python", PYTHON.format(calls=self.notes, download=does))

    @property
    def calls(self) -> list[str]:
        return self.notes.read_text().splitlines() if self.notes.exists() else []

    def called(self, *words: str) -> list[str]:
        """Return the calls that hold all of these words."""
        return [call for call in self.calls if all(word in call for word in words)]
