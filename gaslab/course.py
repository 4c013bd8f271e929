"""The course's own commands. Run with the Python that is on the machine; needs nothing installed.

    python3 gaslab/course.py open        make the environment if need be, and open the course
    python3 gaslab/course.py test        make it if need be, and pass the tests
    python3 gaslab/course.py check       format, lint and types
    python3 gaslab/course.py stamp       run every notebook anew and store its plain-text results
    python3 gaslab/course.py long        the long run: everything that takes too long for every day
    python3 gaslab/course.py bench       speed, side by side, as a table
    python3 gaslab/course.py stick F     a folder F for a classroom with no internet

On Windows write: py gaslab\\course.py open
"""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from xml.etree import ElementTree

# An old Python must get as far as the sentence that says so: this file keeps to what Python 3.6 can read.
OLDEST = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
REQUIREMENTS = ROOT / "requirements.txt"
# A stick carries its packages beside the course; with them no internet is needed.
WHEELS = ROOT.parent / "gaslab-wheels"
OUTPUT = ROOT / ".test-output"


class Stop(Exception):
    """Something a person can mend, told in plain sentences."""


def check_python() -> None:
    """Stop when the Python that runs this file is too old for the course."""
    if sys.version_info < OLDEST:
        raise Stop(
            "This course needs Python {}.{} or newer. This is Python {}.{}.\n"
            "Install a newer one, then run the same command with it.".format(*OLDEST, *sys.version_info[:2])
        )


def environment() -> Path:
    """Return the folder of the course's own environment. GASLAB_VENV wins."""
    return Path(os.environ.get("GASLAB_VENV") or ROOT / ".venv")


def environment_python(folder: Path) -> Path:
    """Return the Python inside an environment."""
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def digest(*parts: str) -> str:
    """Return a digest of what an environment is made from: it changes when the packages must change."""
    mixed = hashlib.sha256()
    for path in (REQUIREMENTS, ROOT / "gaslab" / "pyproject.toml", ROOT / "gaslab" / "setup.py"):
        mixed.update(path.read_bytes())
    for part in (str(ROOT), *parts):
        mixed.update(part.encode())
    return mixed.hexdigest()


def read_stamp(folder: Path) -> dict:
    """Return what was installed into the environment: nothing when the note is missing or damaged."""
    try:
        stamp = json.loads((folder / "installed.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def works(python: Path) -> bool:
    """Return True when the environment's Python starts, is new enough and has pip."""
    test = "import sys, pip; sys.exit(sys.version_info < {!r})".format(OLDEST)
    try:
        return (
            subprocess.run([str(python), "-c", test], stderr=subprocess.DEVNULL, check=False).returncode == 0
        )
    except OSError:
        return False


def make_environment(folder: Path) -> None:
    """Make the environment, in place of a half-made one."""
    if folder.exists():
        if not (folder / "pyvenv.cfg").exists() and any(folder.iterdir()):
            raise Stop(
                "The folder {} is in the way: it is no Python environment. Move it and try again.".format(
                    folder
                )
            )
        print("The environment was only half made, or its Python has gone. It is made anew.")
        shutil.rmtree(str(folder))
    print("Making the environment in {} …".format(folder), flush=True)
    if subprocess.run([sys.executable, "-m", "venv", str(folder)], check=False).returncode != 0:
        shutil.rmtree(str(folder), ignore_errors=True)
        raise Stop(
            "The environment could not be made.\n"
            "On Debian or Ubuntu run: sudo apt install python3-venv\n"
            "Otherwise check that the disk is not full and that you may write to {}.".format(folder.parent)
        )


def install(python: Path, wanted: list) -> None:
    """Install packages into the environment, from the stick's wheels when they are there."""
    command = [str(python), "-m", "pip", "install", "--disable-pip-version-check", "--quiet", *wanted]
    if WHEELS.is_dir():
        command += ["--no-index", "--find-links", str(WHEELS)]
    print("Installing packages. The first time takes a few minutes …", flush=True)
    if subprocess.run(command, cwd=str(ROOT), check=False).returncode != 0:
        raise Stop(
            "The packages could not be installed. What was installed so far is kept.\n"
            "Check the internet connection and run the same command again.\n"
            "For a place with no internet, make an offline stick elsewhere: see README.md."
        )


def prepare(tests: bool = False) -> Path:
    """Return the Python of an environment that has all it needs. Nothing is done when nothing changed."""
    check_python()
    folder = environment()
    python = environment_python(folder)
    if not works(python):
        make_environment(folder)
    stamp = read_stamp(folder)
    steps = [("course", ["-r", str(REQUIREMENTS)])]
    if tests:
        steps.append(("test", ["-r", str(REQUIREMENTS), "-e", "./gaslab[test]"]))
    for name, wanted in steps:
        if stamp.get(name) != digest(name):
            if not (name == "course" and tests):  # the test step installs the course's packages too
                install(python, wanted)
            stamp[name] = digest(name)
    (folder / "installed.json").write_text(json.dumps(stamp), encoding="utf-8")
    return python


def run(command: list, **extra) -> int:
    """Run a command from the top of the course and return its exit code."""
    place = dict(os.environ, **extra)
    return subprocess.run([str(part) for part in command], cwd=str(ROOT), env=place, check=False).returncode


def worst(codes: list) -> int:
    """Return 0 only when every code is 0. A run that was killed has a code below 0: it failed too."""
    return 1 if any(codes) else 0


def open_course(_: list) -> int:
    """Open the course in a browser."""
    python = prepare()
    print("Opening the course in your browser. Leave this window open; press Ctrl+C here to end.")
    command = [python, "-m", "jupyterlab", "notebooks/00-start-here.ipynb"]
    # In a container the only user may be root; JupyterLab then wants to be told that this is meant.
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    return run(command)


def test_calls(python: Path) -> list:
    """Return the parts of the test run: name and command."""
    pytest = [python, "-m", "pytest", "--durations=10"]
    side_by_side = ["-n", "2", "--dist", "loadfile"]
    return [
        ("modules", [*pytest, *side_by_side, "--doctest-modules", "gaslab", "tests", "--ignore=tests/browser"]),
        (
            "notebooks",
            [*pytest, *side_by_side, "-p", "tests.empty_home", "--nbval", "--nbval-current-env",
             "--nbval-cell-timeout=60", "notebooks"],
        ),
        ("browser", [*pytest, "tests/browser"]),
    ]  # fmt: skip


def count(report: Path) -> tuple:
    """Return (passed, failed, skipped) of one part's report; a part that wrote none counts as one failure."""
    if not report.exists():
        return 0, 1, 0
    suites = list(ElementTree.parse(str(report)).getroot().iter("testsuite"))
    total, failed, skipped = (
        sum(int(suite.get(name, "0")) for suite in suites for name in names)
        for names in (("tests",), ("failures", "errors"), ("skipped",))
    )
    return total - failed - skipped, failed, skipped


def test_course(arguments: list) -> int:
    """Run every part, then print one line that adds them up. A part's name as argument runs that part alone."""
    python = prepare(tests=True)
    OUTPUT.mkdir(exist_ok=True)
    parts = [(name, call) for name, call in test_calls(python) if not arguments or name in arguments]
    if not parts:
        raise Stop("The parts of the test run are: {}.".format(", ".join(n for n, _ in test_calls(python))))
    totals, codes = [0, 0, 0], []
    for name, call in parts:
        print("\n== {} ==".format(name), flush=True)
        report = OUTPUT / "{}.xml".format(name)
        if report.exists():
            report.unlink()
        with tempfile.TemporaryDirectory() as home:
            codes.append(run([*call, "--junit-xml", report], GASLAB_HOME=home, JUPYTER_PLATFORM_DIRS="1"))
        totals = [before + now for before, now in zip(totals, count(report))]  # noqa: B905 (Python 3.10)
    # A part can fail with every test passed, for example when a file could not be read at all.
    totals[1] += sum(1 for code in codes if code) if totals[1] == 0 else 0
    print("\nall parts:\n{} passed, {} failed, {} skipped".format(*totals))
    return worst(codes)


def check_course(_: list) -> int:
    """Check layout, lint and types."""
    python = prepare(tests=True)
    calls = [
        [python, "-m", "ruff", "format", "--check", "."],
        [python, "-m", "ruff", "check", "."],
        [python, "-m", "mypy", "-p", "gaslab", "--config-file", ".mypy.ini"],
    ]
    return worst([run(call) for call in calls])


def long_course(_: list) -> int:
    """Run every check there is, slow ones too."""
    python = prepare(tests=True)
    turned_away = OUTPUT / "turned-away.txt"
    if turned_away.exists():
        turned_away.unlink()
    with tempfile.TemporaryDirectory() as home:
        codes = [run(call, GASLAB_LONG="1", GASLAB_HOME=home) for _, call in test_calls(python)]
    if turned_away.exists():
        print("\nDraws that the filters turned away:\n" + turned_away.read_text(encoding="utf-8"))
    codes += [run([python, "tests/" + name]) for name in ("mutation.py", "offline.py", "benchmarks/all.py")]
    return worst(codes)


def stamp_course(arguments: list) -> int:
    """Write fresh outputs into the notebooks."""
    return run([prepare(tests=True), "tests/stamp.py", *arguments])


def bench_course(arguments: list) -> int:
    """Measure the speed, side by side."""
    return run([prepare(tests=True), "tests/benchmarks/all.py", *arguments])


def stick_course(arguments: list) -> int:
    """Make an offline copy of the course."""
    return run([prepare(), "gaslab/stick.py", *arguments])


COMMANDS = {
    "open": open_course,
    "test": test_course,
    "check": check_course,
    "stamp": stamp_course,
    "long": long_course,
    "bench": bench_course,
    "stick": stick_course,
}


def main(arguments: list) -> int:
    """Carry out one command; return 0 when all went well."""
    if not arguments or arguments[0] not in COMMANDS:
        print(__doc__)
        return 0 if arguments and arguments[0] in ("-h", "--help", "help") else 2
    try:
        return COMMANDS[arguments[0]](arguments[1:])
    except Stop as stop:
        print("\n{}".format(stop), file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
