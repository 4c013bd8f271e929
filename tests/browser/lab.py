"""A JupyterLab of its own for the browser tests: free local port, token, copied notebooks, empty folders."""

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
PICTURES = ROOT / ".test-output" / "pictures"
START_WAIT = 60.0  # s
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
        self.port = free_port()
        self.log = (folder / "lab.log").open("w", encoding="utf-8")
        self.process = self._start()

    def _start(self) -> subprocess.Popen:
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
        process = subprocess.Popen(
            command, env=place, stdout=self.log, stderr=subprocess.STDOUT, cwd=self.notebooks
        )
        waited = time.monotonic()
        while time.monotonic() - waited < START_WAIT:
            if process.poll() is not None:
                break
            try:
                self.ask("GET", "/api/status", process=process)
                return process
            except (urllib.error.URLError, ConnectionError):
                time.sleep(0.2)
        process.terminate()
        raise RuntimeError(f"JupyterLab did not start:\n{(self.folder / 'lab.log').read_text()[-2000:]}")

    def url(self, name: str) -> str:
        return f"http://127.0.0.1:{self.port}/lab/tree/{name}?token={self.token}&reset"

    def ask(self, method: str, path: str, process: subprocess.Popen | None = None) -> object:
        """Ask the server's own interface; return what its JSON says."""
        request = urllib.request.Request(
            f"http://127.0.0.1:{self.port}{path}",
            method=method,
            headers={"Authorization": f"token {self.token}"},
        )
        with urllib.request.urlopen(request, timeout=10) as answer:
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
    """Return the browser on this machine, or say how to get one. GASLAB_CHROMIUM wins."""
    named = os.environ.get("GASLAB_CHROMIUM")
    names = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
    places = [shutil.which(name) for name in names] + [
        rf"{os.environ.get(root, '')}\{rest}"
        for root in ("ProgramFiles", "ProgramFiles(x86)")
        for rest in (r"Google\Chrome\Application\chrome.exe", r"Microsoft\Edge\Application\msedge.exe")
    ]
    for place in [named, *places]:
        if place and Path(place).exists():
            return place
    raise RuntimeError(
        "The browser tests need Chromium. On Debian or Ubuntu: sudo apt install chromium. "
        "Elsewhere set GASLAB_CHROMIUM to the browser's program file."
    )


BROWSER_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
