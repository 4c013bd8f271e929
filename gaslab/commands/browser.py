"""A browser for the tests: one named by hand, one that is installed, or one that is fetched.

A browser counts as found when it has drawn a page with letters on it. The ways to get one are tried in order,
each within a time limit, and each is told on the screen.
"""

import os
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from gaslab.commands import environment, system_packages
from gaslab.commands.child import ROOT, Ended, watch
from gaslab.commands.messages import Progress, say
from gaslab.commands.system_packages import Permission

_TELLING = re.compile(r"^(no picture|no letters|letters of)|shared libraries|^Error:|^E: |No module named")
NAMED = "GASLAB_CHROMIUM"
DRAW_LIMIT = 90.0  # s
DOWNLOAD_LIMIT = 600.0  # s, about 120 MB on a slow line
ON_PATH = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome",
           "microsoft-edge", "msedge")  # fmt: skip
MAC = ("Chromium.app/Contents/MacOS/Chromium", "Google Chrome.app/Contents/MacOS/Google Chrome",
       "Microsoft Edge.app/Contents/MacOS/Microsoft Edge")  # fmt: skip
WINDOWS = (r"Google\Chrome\Application\chrome.exe", r"Microsoft\Edge\Application\msedge.exe",
           r"Chromium\Application\chrome.exe")  # fmt: skip
DOWNLOADED = ("chrome-headless-shell", "chrome-headless-shell.exe", "headless_shell", "headless_shell.exe",
              "chrome", "chrome.exe")  # fmt: skip
# Letters as wide as the pages ask for, signs such as ✓ and ₂, and the one library that the browser driver needs.
BESIDE = ("fontconfig", "fonts-liberation", "fonts-dejavu-core", "libatomic1")
SYSTEM = {"debian": ("chromium", *BESIDE), "ubuntu": ("chromium-browser", *BESIDE)}


@dataclass
class Search:
    """The search for a browser, with the Python of the environment, and the candidates that drew no page."""

    python: Path
    permission: Permission
    turned_away: set[str] = field(default_factory=set)

    @property
    def downloads(self) -> Path:
        """The folder for the browser that the browser driver fetches."""
        return environment.folder() / "browsers"

    def candidates(self) -> Iterator[str]:
        """Return the browsers on this machine, best first: named by hand, installed, downloaded before."""
        yield from filter(None, [os.environ.get(NAMED)])
        yield from filter(None, map(shutil.which, ON_PATH))
        homes = [Path("/Applications"), Path.home() / "Applications"]
        yield from (str(home / rest) for home in homes for rest in MAC)
        roots = [os.environ.get(name) for name in ("ProgramFiles", "ProgramFiles(x86)", "LOCALAPPDATA")]
        yield from (rf"{root}\{rest}" for root in roots if root for rest in WINDOWS)
        if self.downloads.is_dir():
            yield from (str(path) for path in sorted(self.downloads.rglob("*")) if path.name in DOWNLOADED)

    def installed(self) -> str:
        """Return the first browser on this machine that draws a page, or nothing."""
        named = os.environ.get(NAMED)
        for path in dict.fromkeys(self.candidates()):
            if path in self.turned_away or not (path == named or Path(path).is_file()):
                continue
            reason = self.fault_of(path)
            if not reason:
                return path
            self.turned_away.add(path)
            say(f"  {path} is no use: {reason}")
        return ""

    def fault_of(self, path: str) -> str:
        """Return why a browser drew no page; nothing when it drew one."""
        drawing = ROOT / "gaslab" / "commands" / "draw_page.py"
        return reason_of(watch([self.python, "-I", drawing, path], DRAW_LIMIT))

    def ways(self) -> Iterator[tuple[str, str]]:
        """Try the ways to get a browser, one at a time. Each gives what was tried and why it failed, if it did."""
        yield "the browser driver's own download", self.download()
        system = system_packages.distribution()
        if not system:
            return
        reason = system_packages.install(SYSTEM[system], self.permission)
        self.turned_away.clear()  # what was turned away for want of a library or of letters may draw now
        yield f"the system's packages {', '.join(SYSTEM[system])}", reason
        if not reason:
            # On Ubuntu the browser's package may be a wrapper that draws nothing in a container.
            yield "the libraries that a downloaded browser needs", self.libraries()
            self.turned_away.clear()
            yield "the browser driver's own download, once more", self.download()

    def download(self) -> str:
        """Let the browser driver fetch its browser into the environment; return why it failed, if it did."""
        say("Fetching a browser for the tests into the environment: about 120 MB …")
        progress = Progress()

        def hear(line: str) -> None:
            if found := re.search(r"(\d+)% of ([\d.]+ \wi?B)", line):
                progress.show(f"browser: {found[1]} % of {found[2]}")

        command = [self.python, "-m", "playwright", "install", "--only-shell", "chromium"]
        place = {"PLAYWRIGHT_BROWSERS_PATH": str(self.downloads)}
        return reason_of(watch(command, DOWNLOAD_LIMIT, hear, place))

    def libraries(self) -> str:
        """Let the browser driver install the libraries that its browser needs; return why it failed, if it did."""
        command = [self.python, "-m", "playwright", "install-deps", "chromium"]
        return reason_of(watch(command, DOWNLOAD_LIMIT, asks=not self.permission.root))


def reason_of(ended: Ended) -> str:
    """Return why a program failed, in its own words where it has some; nothing when it went well."""
    if not ended.reason:
        return ""
    telling = [line.strip() for line in ended.lines if _TELLING.search(line)]
    return re.sub(r"^\S*/", "", (telling or [ended.reason])[0])[:200]


def find(python: Path, permission: Permission) -> str:
    """Return a browser that draws pages, fetching one if need be; nothing when no way worked.

    What a person can type is then said once.
    """
    search = Search(python, permission)
    if path := search.installed():
        say(f"The tests use the browser {path}.")
        return path
    say("No browser on this machine serves the tests.")
    for way, reason in search.ways():
        say(f"  {way}: {'failed: ' + reason if reason else 'done.'}")
        if path := search.installed():
            say(f"The tests use the browser {path}.")
            return path
    say(advice())
    return ""


def advice() -> str:
    """Return what a person can type when no browser was found."""
    system = system_packages.distribution()
    ways = [f"install Chromium, Chrome or Edge, or set {NAMED} to the browser's program file"]
    if system:
        ways = [
            f"type: {system_packages.command_for(SYSTEM[system])}",
            "run the same command with --system at its end, which does that for you",
            *ways,
        ]
    return "\n  - ".join(
        ["The browser tests need a browser that draws pages, and none was found or could be fetched. "
         "Do one of these:", *ways]
    )  # fmt: skip
