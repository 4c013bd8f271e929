"""Proofs for the long run that need package indexes: the offline stick, every system and Python, and binder/.

.venv/bin/python tests/offline.py stick     a stick installs with the index turned off
.venv/bin/python tests/offline.py systems   the requirements resolve for each Python on each system
.venv/bin/python tests/offline.py binder    binder/ builds
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from packaging.utils import parse_wheel_filename

from gaslab.commands import course_files, packages
from gaslab.commands import stick as sticks
from gaslab.commands.environment import python_in

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


def ended(command: list, folder: Path, **extra: str) -> subprocess.CompletedProcess:
    """Run a command as on a machine without the course's own settings, and return how it ended."""
    place = {**os.environ, **extra}
    place.pop("PYTHONPATH", None)
    return subprocess.run(
        [str(part) for part in command], cwd=folder, env=place, capture_output=True, text=True, check=False
    )


def run(command: list, folder: Path, **extra: str) -> str:
    """Run a command and return what it prints; a failure ends the proof with the command's own words."""
    done = ended(command, folder, **extra)
    if done.returncode != 0:
        raise SystemExit(
            f"{' '.join(map(str, command))}\nended with {done.returncode}\n{done.stdout}{done.stderr}"
        )
    return done.stdout


def stick(folder: Path) -> None:
    """Make a stick for this machine's system and Python, and open the course's environment from it, sealed off."""
    system, here = packages.this_machine()
    make = [sys.executable, "-m", "gaslab.commands.stick", folder / "stick",
            "--system", system, "--python", here]  # fmt: skip
    run(make, ROOT)
    venv = folder / "stick-venv"
    prepare = "from gaslab.commands import environment; environment.prepare()"
    sealed = {**SEALED, "GASLAB_VENV": str(venv)}
    told = run([sys.executable, "-c", prepare], folder / "stick" / "course", **sealed)
    assert "Installing packages from the stick" in told, told
    seen = run([python_in(venv), "-I", "-c", LOOK], folder, **SEALED).split()
    assert Path(seen[0]) == folder / "stick" / "course" / "gaslab" / "__init__.py", seen
    print(f"stick: the course's environment was made with the index turned off; {seen[1]} pipe facts read")
    wheel_only(folder, venv)
    missing_wheel(folder, sealed)


def missing_wheel(folder: Path, sealed: dict) -> None:
    """A package taken off the stick is named, with the list that the stick carries and without it."""
    wheels, course = folder / "stick" / "gaslab-wheels", folder / "stick" / "course"
    gone = next(wheels.glob("contourpy-*.whl"))
    gone.unlink()
    command = [sys.executable, "gaslab/course.py", "open"]
    for what, wanted in (("with its list", gone.name), ("without its list", "contourpy")):
        shutil.rmtree(sealed["GASLAB_VENV"])
        done = ended(command, course, **sealed)
        assert done.returncode == 1 and wanted in done.stderr, done
        print(f"stick {what}: a missing package is named: {done.stderr.strip().splitlines()[0]}")
        (wheels / packages.CONTENTS).unlink(missing_ok=True)


def systems(folder: Path) -> None:
    """Fetch the packages for every system and Python that a stick can serve; each must be whole."""
    contents = sticks.fetch_all(folder, list(sticks.SYSTEMS), list(sticks.PYTHONS))
    about, stated = packages.ABOUT[packages.COURSE]
    for target, names in contents.items():
        projects = {parse_wheel_filename(name)[0] for name in names}
        size = sum((folder / name).stat().st_size for name in names)
        # A folder for many systems may hold two versions of a package; a person fetches one of each.
        assert abs(len(projects) - about) <= 0.15 * about, (target, len(projects), about)
        assert abs(size - stated) <= 0.4 * stated, (target, size, stated)
    print(f"systems: the requirements resolve for {len(contents)} kinds of machine: {', '.join(contents)}")


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
    course_files.copy(folder / "checkout")
    venv = folder / "binder-venv"
    run([sys.executable, "-m", "venv", venv], folder)
    pip = [python_in(venv), "-m", "pip", "--disable-pip-version-check", "--quiet"]
    run([*pip, "install", "-r", "binder/requirements.txt"], folder / "checkout")
    seen = run([python_in(venv), "-I", "-c", LOOK], folder / "checkout" / "notebooks").split()
    assert Path(seen[0]) == folder / "checkout" / "gaslab" / "__init__.py", seen
    version = run([python_in(venv), "-m", "jupyterlab", "--version"], folder).strip()
    print(f"binder: built from its own list; JupyterLab {version}, {seen[1]} pipe facts read from notebooks/")


PROOFS = {"stick": stick, "systems": systems, "binder": binder}


def main(names: list[str]) -> int:
    for name in names or PROOFS:
        folder = Path(tempfile.mkdtemp(prefix="gaslab-offline-")).resolve()
        try:
            PROOFS[name](folder)
        finally:
            shutil.rmtree(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
