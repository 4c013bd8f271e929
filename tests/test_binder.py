"""The folder for the binder service: what it reads, and that it leads to the same course.

The service's builder (repo2docker, as documented) uses binder/ alone when it is there, ignores configuration at
the top, runs pip from the top with binder/requirements.txt, and takes the Python named in runtime.txt.
"""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
BINDER = ROOT / "binder"
# From memory of the service's documentation: these names at the top of binder/ would change what is built.
OVERRULING = ("Dockerfile", "environment.yml", "install.R", "default.nix", "Pipfile", "setup.py")


def wanted(path: Path, top: Path) -> list[str]:
    """Return the requirement lines of a file with its `-r` files followed, as pip reads them.

    pip takes a `-r` path from the file that names it, and an `-e` path from where pip runs.
    """
    lines = []
    for written in path.read_text(encoding="utf-8").splitlines():
        line = written.split("#", maxsplit=1)[0].strip()
        if line.startswith("-r "):
            lines += wanted((path.parent / line[3:].strip()).resolve(), top)
        elif line:
            lines.append(line)
    return lines


def test_it_installs_what_a_trainee_installs():
    assert wanted(BINDER / "requirements.txt", ROOT) == wanted(ROOT / "requirements.txt", ROOT)


def test_the_package_is_found_from_where_pip_runs():
    paths = [line[3:] for line in wanted(BINDER / "requirements.txt", ROOT) if line.startswith("-e ")]
    assert paths == ["./gaslab"]
    assert (ROOT / paths[0] / "pyproject.toml").is_file()


def test_its_python_is_new_enough():
    named = (BINDER / "runtime.txt").read_text(encoding="utf-8").strip()
    major, minor = map(int, re.fullmatch(r"python-(\d+)\.(\d+)", named).groups())
    least = tomllib.loads((ROOT / "gaslab" / "pyproject.toml").read_text())["project"]["requires-python"]
    assert (major, minor) >= tuple(map(int, least.removeprefix(">=").split(".")))


@pytest.mark.parametrize("name", OVERRULING)
def test_nothing_overrules_the_list(name):
    assert not (BINDER / name).exists()
    assert not (ROOT / ".binder").exists(), "two folders are an error for the service"


def test_scripts_stop_at_the_first_error():
    for name in ("postBuild", "start"):
        if (BINDER / name).exists():
            assert "set -e" in (BINDER / name).read_text(encoding="utf-8")
    assert {path.name for path in BINDER.iterdir()} <= {
        "requirements.txt",
        "runtime.txt",
        "postBuild",
        "apt.txt",
    }
