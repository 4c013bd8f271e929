"""The house itself: what stands at the top, how long a module is, how light the door opens, where it can be used."""

import importlib
import inspect
import pkgutil
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from gaslab import guard, physics
from gaslab.commands import course_files

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "gaslab"
VISIBLE = {"README.md", "DEVELOPERS.md", "requirements.txt", "notebooks", "gaslab", "tests", "data", "binder"}
TEXT = {".py", ".md", ".toml", ".csv", ".json", ".txt", ".ipynb", ".ini", ".rng", ".xml", ""}
HAS_GIT = shutil.which("git") is not None and (ROOT / ".git").exists()
LONGEST = 300  # lines
FIRST_COMMANDS = ("python3 gaslab/course.py open", "python3 gaslab/course.py test")


def kept_files() -> list[Path]:
    """Return every file of the project that git keeps or would keep; without git, those that a copy would have."""
    if not HAS_GIT:
        return course_files.files()
    git = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listed = subprocess.run(git, cwd=ROOT, capture_output=True, check=True).stdout.decode()
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def python_files() -> list[Path]:
    return [path for path in kept_files() if path.suffix == ".py"]


def python(code: str, folder: Path = ROOT, isolated: bool = True) -> subprocess.CompletedProcess:
    """Run code in a fresh Python whose working folder is `folder`."""
    command = [sys.executable, *(["-I"] if isolated else []), "-c", code]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=300)


def test_only_the_agreed_names_stand_at_the_top():
    top = {path.relative_to(ROOT).parts[0] for path in kept_files()}
    if not HAS_GIT:
        top |= {path.name for path in ROOT.iterdir()}
    assert {name for name in top if not name.startswith(".")} == VISIBLE


@pytest.mark.parametrize("path", python_files(), ids=lambda p: p.relative_to(ROOT).as_posix())
def test_a_module_is_short_enough_to_read(path):
    lines = path.read_text(encoding="utf-8").count("\n")
    allowed = LONGEST if PACKAGE in path.parents else 500  # a test module may hold long tables of cases
    assert lines <= allowed, f"{lines} lines"


def test_no_file_names_a_machine_or_a_registry():
    """A path or host of somebody's machine is of no use to anybody else."""
    # Put together here, so that this file does not find itself.
    machine = re.compile(
        "|".join(
            (
                "/ho" + "me/[a-z]",
                "/ro" + "ot/",
                "/wo" + "rk/",
                "/tm" + "p/",
                "C:\\\\" + "Users",
                "py" + "pi\\.",
                "\\.pyen" + "v",
            )
        )
    )
    found = []
    for path in kept_files():
        if path.suffix in TEXT and path != Path(__file__):
            for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1):
                if machine.search(line):
                    found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:100]}")
    assert found == []


@pytest.mark.parametrize("place", ["root", "notebooks", "elsewhere"])
def test_the_package_is_imported_from_anywhere(place, tmp_path):
    """-I keeps the working folder off the path, so this is the installed package and no lucky neighbour."""
    folder = {"root": ROOT, "notebooks": ROOT / "notebooks", "elsewhere": tmp_path}[place]
    done = python(
        "import gaslab; from gaslab import tables; print(gaslab.__file__, len(tables.sources()))", folder
    )
    assert done.returncode == 0, f"{done.stderr}\n(is gaslab installed? run: python3 gaslab/course.py test)"
    file, sources = done.stdout.split()
    assert Path(file).resolve() == PACKAGE / "__init__.py"
    assert int(sources) > 10


def test_the_door_opens_light():
    """Matplotlib, pandas and pint cost most of a second; they wait until they are used."""
    heavy = "{'matplotlib', 'pandas', 'pint', 'scipy', 'ipywidgets'} & set(sys.modules)"
    done = python(f"import sys, gaslab; print(sorted({heavy}))")
    assert done.stdout.strip() == "[]", done.stdout + done.stderr


def test_a_page_opens_without_the_heavy_libraries():
    """What a notebook imports first brings ipywidgets, and neither Matplotlib, pandas nor pint."""
    done = python(
        "import sys, gaslab.show.chapter; print(sorted({'matplotlib', 'pandas', 'pint'} & set(sys.modules)))"
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"


NO_NETWORK = """
import socket, pkgutil, importlib, sys
def refuse(*given, **named):
    raise SystemExit("a socket was opened")
socket.socket = socket.create_connection = socket.getaddrinfo = refuse
import gaslab
skipped = {"gaslab.setup", "gaslab.commands.draw_page"}  # builds a wheel; drives a browser
for found in pkgutil.walk_packages(gaslab.__path__, "gaslab."):
    if found.name not in skipped:
        importlib.import_module(found.name)
print(len([name for name in sys.modules if name.startswith("gaslab.")]))
"""


def test_no_module_opens_a_socket_when_imported():
    # ipywidgets makes a comm on import in a kernel only; here it must stay silent as well.
    done = python("import ipywidgets\n" + NO_NETWORK)
    assert done.returncode == 0, done.stdout + done.stderr
    assert int(done.stdout.split()[-1]) > 20


def calculations() -> dict:
    """Return every guarded calculation once its module is there."""
    for found in pkgutil.iter_modules(physics.__path__, "gaslab.physics."):
        importlib.import_module(found.name)
    return guard.CALCULATIONS


@pytest.mark.parametrize("name", sorted(calculations()))
def test_every_calculation_says_what_it_does(name):
    """A docstring with the units of what has units, and every argument declared with unit, range and meaning."""
    calculation = calculations()[name]
    words = inspect.getdoc(calculation) or ""
    assert words.split("\n")[0].endswith((".", ":")), "the first line is a sentence"
    if {spec.unit for spec in calculation.specs.values()} - {"1"}:
        assert "[" in words, "no unit in [brackets]"
    assert all(spec.meaning for spec in calculation.specs.values())


def test_the_first_screen_of_the_readme_has_what_matters():
    first = "\n".join((ROOT / "README.md").read_text(encoding="utf-8").splitlines()[:40])
    assert "0800 111 999" in first, "the emergency number"
    for command in FIRST_COMMANDS:
        assert command in first
        assert command.replace("python3 gaslab/", "py gaslab\\") in first
    assert "training" in first.lower()


def test_the_checking_run_swallows_nothing():
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "set -euo pipefail" in script
    assert "|| true" not in script and "set +e" not in script
    assert FIRST_COMMANDS[1] in script
    called = [line for line in script.splitlines() if line and not line.startswith("#")]
    assert not [line for line in called if "apt" in line or "install" in line], (
        "each command does its own set-up"
    )


def test_every_package_is_pinned_and_named():
    lines = (ROOT / "requirements.txt").read_text(encoding="utf-8").splitlines()
    wanted = [line for line in lines if line and not line.startswith("#")]
    assert wanted[-1] == "-e ./gaslab"
    assert all(re.fullmatch(r"[a-z]+==\d+(\.\d+)+", line) for line in wanted[:-1]), wanted
    allowed = {
        "jupyterlab",
        "ipywidgets",
        "ipykernel",
        "pint",
        "matplotlib",
        "pandas",
        "numpy",
        "nbval",
        "pytest",
    }
    assert {line.split("==")[0] for line in wanted[:-1]} == allowed
    project = tomllib.loads((PACKAGE / "pyproject.toml").read_text(encoding="utf-8"))
    extra = project["project"]["optional-dependencies"]["test"]
    assert all(re.fullmatch(r"[A-Za-z0-9-]+==\d+(\.\d+)+", line) for line in extra)


def test_every_package_of_the_house_is_installed():
    """A new folder of modules must be listed, or an installed course would lack it."""
    project = tomllib.loads((PACKAGE / "pyproject.toml").read_text(encoding="utf-8"))
    folders = {path.parent for path in PACKAGE.rglob("__init__.py") if "build" not in path.parts}
    names = {".".join(["gaslab", *folder.relative_to(PACKAGE).parts]) for folder in folders}
    assert names == set(project["tool"]["setuptools"]["packages"])
    carried = {
        pattern
        for patterns in project["tool"]["setuptools"].get("package-data", {}).values()
        for pattern in patterns
    }
    others = {
        f"*{p.suffix}"
        for f in folders
        if f != PACKAGE
        for p in f.iterdir()
        if p.is_file() and p.suffix != ".py"
    }
    assert others <= carried
