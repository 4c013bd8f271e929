"""The course's commands. Needs only Python 3.11 or newer; makes everything else itself.

    python3 gaslab/course.py open     make the environment if need be, and open the course
    python3 gaslab/course.py test     make it if need be, and pass the tests
    python3 gaslab/course.py long     the long run: every check at its full size
    python3 gaslab/course.py bench    the speed comparisons, as one table
    python3 gaslab/course.py stick F  make an offline copy of the course in folder F
    python3 gaslab/course.py stamp    run the notebooks and keep their plain-text outputs

On Windows write `py gaslab\\course.py open`.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
import venv
from pathlib import Path

TOP = Path(__file__).resolve().parent.parent
ENVIRONMENT = TOP / ".venv"
TRAINEE, TESTER = "trainee", "tester"
WINDOWS_TAGS = ("win_amd64", "cp311", "cp312", "cp313")


class Stop(Exception):
    """A reason to stop, in one sentence for the person at the keyboard."""


def main(arguments: list[str]) -> int:
    commands = {
        "open": open_course,
        "test": run_tests,
        "long": long_run,
        "bench": benchmarks,
        "stick": make_stick,
        "stamp": stamp_notebooks,
    }
    if not arguments or arguments[0] not in commands:
        print(__doc__)
        return 2
    if sys.version_info < (3, 11):
        print(f"This course needs Python 3.11 or newer. This is {sys.version.split()[0]}. Install a newer one first.")
        return 2
    try:
        return commands[arguments[0]](*arguments[1:])
    except Stop as reason:
        print(reason)
        return 1
    except TypeError as error:
        if "positional argument" not in str(error):
            raise
        print(__doc__)
        return 2


def python_of(environment: Path) -> Path:
    """Return the environment's own Python."""
    return environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def run(*command: object, **extra_environment: str) -> int:
    """Run a command from the top of the course and return its exit code."""
    return subprocess.run(
        [str(part) for part in command], cwd=TOP, env={**os.environ, **extra_environment}, check=False
    ).returncode


def wanted(level: str) -> str:
    """Return a digest of all that decides what is installed."""
    digest = hashlib.sha256(level.encode() + sys.version.encode())
    for name in ("requirements.txt", "gaslab/pyproject.toml", "gaslab/setup.py"):
        digest.update((TOP / name).read_bytes())
    return digest.hexdigest()


def environment(level: str) -> Path:
    """Make or mend the environment for a level and return its Python."""
    marks = {name: ENVIRONMENT / f".made-for-{name}" for name in (TRAINEE, TESTER)}
    # What a tester has is enough for a trainee too.
    enough = (TRAINEE, TESTER) if level == TRAINEE else (TESTER,)
    python = python_of(ENVIRONMENT)
    if python.exists() and any(
        marks[name].exists() and marks[name].read_text() == wanted(name) for name in enough
    ):
        return python
    if not python.exists():
        print("Making the environment. This happens once and takes a few minutes.")
        venv.create(ENVIRONMENT, with_pip=True, clear=ENVIRONMENT.exists())
    extra = ["-e", "./gaslab[test]"] if level == TESTER else []
    code = run(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r", "requirements.txt", *extra)
    if code:
        raise Stop(
            "The packages could not be installed. Check that this machine is on the internet, then run the same "
            "command again. With no internet, use an offline stick (see DEVELOPERS.md)."
        )
    marks[level].write_text(wanted(level))
    return python


def open_course() -> int:
    """Open the course in the browser."""
    python = environment(TRAINEE)
    return run(python, "-m", "jupyter", "lab", "notebooks/00-start-here.ipynb")


def run_tests(*extra: str) -> int:
    """Run every test: the checks, then each notebook. Extra words go to the first pytest."""
    return _tests(environment(TESTER), extra, {})


def _tests(python: Path, extra: tuple[str, ...], settings: dict[str, str]) -> int:
    started = time.monotonic()
    with tempfile.TemporaryDirectory() as home:
        settings = {**settings, "GASLAB_HOME": home, "JUPYTER_PLATFORM_DIRS": "1"}
        pytest = (python, "-m", "pytest", "-c", ".pytest.ini")
        codes = {
            "checks": run(*pytest, "-n", "2", "--dist", "loadfile", "--durations", "10", "tests", *extra, **settings),
        }
        if not extra:
            codes["docstrings"] = run(*pytest, "--doctest-modules", "gaslab", "--ignore=gaslab/setup.py",
                                      "--ignore=gaslab/course.py", **settings)  # fmt: skip
            codes["notebooks"] = run(*pytest, "-n", "2", "--nbval", "--nbval-cell-timeout=60", "notebooks", **settings)
    for name, code in codes.items():
        print(f"{name}: {'passed' if code == 0 else f'FAILED (code {code})'}")
    print(f"The whole test command took {time.monotonic() - started:.0f} s.")
    return max(codes.values())


def long_run() -> int:
    """Run every check at the full size that is stated beside it, then the mutation run and the benchmarks."""
    python = environment(TESTER)
    settings = {"GASLAB_LONG": "1"}
    codes = [_tests(python, (), settings)]
    codes.append(run(python, "tests/mutation.py", **settings))
    codes.append(run(python, "tests/offline.py", **settings))
    codes.append(benchmarks())
    return max(codes)


def benchmarks() -> int:
    """Print the speed comparisons."""
    return run(environment(TESTER), "tests/benchmarks/all.py")


def stamp_notebooks() -> int:
    """Run each notebook with an empty data folder and keep only its plain-text outputs."""
    return run(environment(TRAINEE), "tests/stamp.py")


def make_stick(folder: str) -> int:
    """Put the course and every wheel it needs, for this system and for Windows, in a folder."""
    target = Path(folder).resolve()
    if target.exists() and any(target.iterdir()):
        raise Stop(f"{target} is not empty. Give the name of a new folder, so that nothing is overwritten.")
    python = environment(TRAINEE)
    wheels = target / "wheels"
    wheels.mkdir(parents=True)
    needs = [line for line in (TOP / "requirements.txt").read_text().splitlines() if not line.startswith(("#", "-e"))]
    backend = [line.split('"')[1] for line in (TOP / "gaslab/pyproject.toml").read_text().splitlines()
               if line.startswith("requires = [")]  # fmt: skip
    pip = (python, "-m", "pip", "--disable-pip-version-check", "--quiet")
    code = run(*pip, "download", "--only-binary", ":all:", "--dest", wheels, *needs, *backend)
    if not code:
        code = run(*pip, "wheel", "--no-deps", "--wheel-dir", wheels, "./gaslab")
    if code:
        raise Stop("The wheels could not be fetched. A stick is made on a machine with internet.")
    _copy_course(target / "course")
    for minor in WINDOWS_TAGS[1:]:
        code = run(
            *pip, "download", "--only-binary", ":all:", "--platform", WINDOWS_TAGS[0], "--implementation", "cp",
            "--python-version", minor.removeprefix("cp3").join(("3.", "")), "--dest", wheels, *needs, "pywinpty", *backend,
        )  # fmt: skip
        if code:
            raise Stop(f"The Windows wheels for {minor} could not be resolved.")
    print(f"The stick is in {target}. Windows wheels are resolved, not run: try one on a Windows machine first.")
    return 0


def _copy_course(target: Path) -> None:
    """Copy what git tracks: no environment, no progress file, no overlay."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=TOP, capture_output=True, check=True).stdout
    for name in listed.decode().split("\0"):
        if name:
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(TOP / name, target / name)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
