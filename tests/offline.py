"""Two proofs for the long run: the offline stick installs with the index turned off, and binder/ builds.

.venv/bin/python tests/offline.py
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# An address where nobody answers: a command that asks the internet all the same fails at once.
NOWHERE = "http://127.0.0.1:9"
SEALED = {"HTTP_PROXY": NOWHERE, "HTTPS_PROXY": NOWHERE, "PIP_INDEX_URL": NOWHERE, "PIP_EXTRA_INDEX_URL": "",
          "PIP_FIND_LINKS": "", "PIP_CONFIG_FILE": os.devnull, "PIP_RETRIES": "0"}  # fmt: skip
LOOK = """
import gaslab, jupyterlab, ipywidgets
from gaslab import tables
print(gaslab.__file__, len(tables.facts("pipes")))
"""


def run(command: list, folder: Path, **extra: str) -> str:
    """Run a command and return what it prints; a failure ends the proof with the command's own words."""
    place = {**os.environ, **extra}
    place.pop("PYTHONPATH", None)
    done = subprocess.run(
        [str(part) for part in command], cwd=folder, env=place, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        raise SystemExit(
            f"{' '.join(map(str, command))}\nended with {done.returncode}\n{done.stdout}{done.stderr}"
        )
    return done.stdout


def python_in(venv: Path) -> Path:
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def stick(folder: Path) -> None:
    """Make a stick for this machine's system and Python, and open the course's environment from it, sealed off."""
    here = f"{sys.version_info.major}.{sys.version_info.minor}"
    system = "windows" if os.name == "nt" else "linux"
    run([sys.executable, "gaslab/stick.py", folder / "stick", "--system", system, "--python", here], ROOT)
    venv = folder / "stick-venv"
    prepare = "import sys; sys.path.insert(0, 'gaslab'); import course; course.prepare()"
    sealed = {**SEALED, "GASLAB_VENV": str(venv)}
    run([sys.executable, "-c", prepare], folder / "stick" / "course", **sealed)
    seen = run([python_in(venv), "-I", "-c", LOOK], folder, **SEALED).split()
    assert Path(seen[0]) == folder / "stick" / "course" / "gaslab" / "__init__.py", seen
    print(f"stick: the course's environment was made with the index turned off; {seen[1]} pipe facts read")
    wheel_only(folder, venv)


def wheel_only(folder: Path, venv: Path) -> None:
    """The wheel carries data/: with the editable course taken away, the installed package still finds its tables."""
    pip = [python_in(venv), "-m", "pip", "--disable-pip-version-check", "--quiet"]
    run([*pip, "uninstall", "--yes", "gaslab"], folder)
    wheels = folder / "stick" / "gaslab-wheels"
    run([*pip, "install", "--no-index", "--find-links", wheels, "--no-deps", "gaslab"], folder, **SEALED)
    seen = run([python_in(venv), "-I", "-c", LOOK], folder).split()
    assert "site-packages" in seen[0], seen
    print(f"wheel: the installed package carries its own data; {seen[1]} pipe facts read")


def binder(folder: Path) -> None:
    """Build what the binder service builds: pip from the top of a fresh copy, with binder/requirements.txt."""
    sys.path.insert(0, str(ROOT / "gaslab"))
    from stick import copy_course

    copy_course(folder / "checkout")
    venv = folder / "binder-venv"
    run([sys.executable, "-m", "venv", venv], folder)
    pip = [python_in(venv), "-m", "pip", "--disable-pip-version-check", "--quiet"]
    run([*pip, "install", "-r", "binder/requirements.txt"], folder / "checkout")
    seen = run([python_in(venv), "-I", "-c", LOOK], folder / "checkout" / "notebooks").split()
    assert Path(seen[0]) == folder / "checkout" / "gaslab" / "__init__.py", seen
    version = run([python_in(venv), "-m", "jupyterlab", "--version"], folder).strip()
    print(f"binder: built from its own list; JupyterLab {version}, {seen[1]} pipe facts read from notebooks/")


def main() -> int:
    folder = Path(tempfile.mkdtemp(prefix="gaslab-offline-")).resolve()
    try:
        stick(folder)
        binder(folder)
    finally:
        shutil.rmtree(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
