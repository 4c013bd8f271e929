"""A JupyterLab of its own for the browser tests: free local port, token, copied notebooks, empty folders."""

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from gaslab.commands import browser
from gaslab.commands.draw_page import FLAGS as BROWSER_FLAGS  # noqa: F401 (for those who start the browser)
from gaslab.commands.system_packages import UNASKED

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
PICTURES = ROOT / ".test-output" / "pictures"
LONG = os.environ.get("GASLAB_LONG") == "1"
TAKE_PICTURES = LONG or os.environ.get("GASLAB_PICTURES") == "1"
START_WAIT = 180.0  # s; a safety net for a busy machine, not a measure
STATUS_WAIT, ANSWER_WAIT = 5.0, 60.0  # s, for one answer of the server: while it starts, and later
PORTS = 10  # tries: two labs that start at once may be told of the same free port
TAKEN = "is not available"  # what JupyterLab logs of a port that another program holds
# What a first visit would ask about; a trainee's own machine asks once, the test's never.
QUIET = {
    "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
    "docmanager-extension/plugin": {"autosave": False},
}


class Lab:
    """A running JupyterLab over a copy of some notebooks, so that no test changes the course's own files."""

    def __init__(self, folder: Path, notebooks: list[Path]):
        self.folder, self.home = folder, folder / "home"
        self.notebooks = folder / "notebooks"
        for place in (self.notebooks, self.home):
            place.mkdir(parents=True)
        for path in notebooks:
            shutil.copy(path, self.notebooks / path.name)
        for name, setting in QUIET.items():
            file = folder / "settings" / "@jupyterlab" / f"{name}.jupyterlab-settings"
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(json.dumps(setting), encoding="utf-8")
        self.token = secrets.token_hex(16)
        self.log = (folder / "lab.log").open("w", encoding="utf-8")
        self.process = self._start()

    def _start(self) -> subprocess.Popen:
        """Start on a free port; take another one when somebody was quicker."""
        for _ in range(PORTS):
            self.port = free_port()
            before = len(self._logged())
            process = self._launch()
            if self._answers(process):
                return process
            process.terminate()
            process.wait()
            if TAKEN not in self._logged()[before:]:
                break
        raise RuntimeError(f"JupyterLab did not start:\n{self._logged()[-2000:]}")

    def _logged(self) -> str:
        return (self.folder / "lab.log").read_text(encoding="utf-8")

    def _launch(self) -> subprocess.Popen:
        place = {
            **os.environ,
            "GASLAB_HOME": str(self.home),
            "JUPYTER_CONFIG_DIR": str(self.folder / "config"),
            "JUPYTER_RUNTIME_DIR": str(self.folder / "runtime"),
            "JUPYTERLAB_SETTINGS_DIR": str(self.folder / "settings"),
            "JUPYTERLAB_WORKSPACES_DIR": str(self.folder / "workspaces"),
            "IPYTHONDIR": str(self.folder / "ipython"),
            "JUPYTER_PREFER_ENV_PATH": "1",
            "JUPYTER_PLATFORM_DIRS": "1",
            "PYTHONPATH": "",
        }
        command = [
            sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--expose-app-in-browser",
            "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={self.port}", "--ServerApp.port_retries=0",
            f"--IdentityProvider.token={self.token}", f"--ServerApp.root_dir={self.notebooks}",
        ]  # fmt: skip
        return subprocess.Popen(
            command, env=place, stdout=self.log, stderr=subprocess.STDOUT, cwd=self.notebooks
        )

    def _answers(self, process: subprocess.Popen) -> bool:
        """Wait until the server answers; return False when it ended or did not get ready."""
        begun = time.monotonic()
        while process.poll() is None and time.monotonic() - begun < START_WAIT:
            try:
                self.ask("GET", "/api/status", wait=STATUS_WAIT)
                return True
            except OSError:  # nobody there yet, or another program that turns us away
                time.sleep(0.2)
        return False

    def url(self, name: str) -> str:
        return f"http://127.0.0.1:{self.port}/lab/tree/{name}?token={self.token}&reset"

    def ask(self, method: str, path: str, wait: float = ANSWER_WAIT) -> object:
        """Ask the server's own interface; return what its JSON says."""
        request = urllib.request.Request(
            f"http://127.0.0.1:{self.port}{path}",
            method=method,
            headers={"Authorization": f"token {self.token}"},
        )
        with urllib.request.urlopen(request, timeout=wait) as answer:
            text = answer.read()
        return json.loads(text) if text else None

    def end_kernels(self) -> None:
        """End every kernel, so that the next notebook has the machine to itself."""
        for session in self.ask("GET", "/api/sessions"):
            self.ask("DELETE", f"/api/sessions/{session['id']}")

    def empty_home(self) -> None:
        """Empty the user's folder: no job, no progress, no entered limits."""
        shutil.rmtree(self.home)
        self.home.mkdir()

    def stop(self) -> None:
        self.end_kernels()
        self.process.terminate()
        try:
            self.process.wait(timeout=15)
        except subprocess.TimeoutExpired:
            self.process.kill()
        self.log.close()


def free_port() -> int:
    """Return a port that nobody listens on at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def browser_path() -> str:
    """Return the browser for the tests: the one that was found before, else one of this machine."""
    found = os.environ.get(browser.NAMED) or browser.Search(Path(sys.executable), UNASKED).installed()
    if not found:
        raise RuntimeError(browser.advice())
    return found
