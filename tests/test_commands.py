"""The command file: it runs on a bare machine, installs only when it must, and says what a person can put right."""

import ast
import json
import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from gaslab import course
from gaslab.commands import command_line, environment, packages, system_packages
from gaslab.commands.child import watch
from gaslab.commands.messages import Stop
from gaslab.commands.system_packages import Permission

PACKAGE = Path(course.__file__).resolve().parent


def main(*arguments):
    return command_line.main(list(arguments), "what there is")


@pytest.mark.skipif(shutil.which("python3") is None, reason="no system Python under the name python3 here")
def test_the_command_file_needs_nothing_installed():
    done = subprocess.run(
        ["python3", "-I", "-S", str(PACKAGE / "course.py")],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 2
    assert "course.py open" in done.stdout


@pytest.mark.parametrize("path", sorted((PACKAGE / "commands").glob("*.py")), ids=lambda path: path.name)
def test_a_command_imports_what_comes_with_python_and_its_neighbours_only(path):
    if path.name in ("stick.py", "draw_page.py"):  # these two run inside the environment
        return
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        named = [node.module] if isinstance(node, ast.ImportFrom) else []
        named += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        for name in named:
            top = name.split(".")[0]
            assert top in sys.stdlib_module_names or name.startswith("gaslab.commands"), name


def test_an_old_python_can_read_as_far_as_the_sentence():
    source = (PACKAGE / "course.py").read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 7))  # the oldest that every Python of the course can check
    assert not [
        node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.JoinedStr | ast.NamedExpr)
    ]


def test_the_oldest_python_is_the_same_everywhere():
    project = tomllib.loads((PACKAGE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert course.OLDEST == environment.OLDEST
    assert project["requires-python"] == ">={}.{}".format(*course.OLDEST)


def test_an_old_python_is_told(monkeypatch, capsys):
    monkeypatch.setattr(course.sys, "version_info", (3, 9, 1))
    assert course.main(["open"]) == 1
    assert "needs Python 3.11 or newer. This is Python 3.9" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [["opne"], ["long", "--sideways"], ["open", "more"]])
def test_a_word_that_is_no_command_is_told(arguments, capsys):
    with pytest.raises(SystemExit, match="2"):
        main(*arguments)
    assert "course.py" in capsys.readouterr().err


def test_a_changed_list_of_packages_changes_the_digest(monkeypatch, tmp_path):
    before = environment.digest("course")
    changed = tmp_path / "requirements.txt"
    changed.write_text(packages.REQUIREMENTS.read_text() + "\n# one more\n")
    monkeypatch.setattr(packages, "REQUIREMENTS", changed)
    assert environment.digest("course") != before


class Installer:
    """Stands for the package installer: it notes what was asked for, and fails while `fails` is True."""

    def __init__(self):
        self.asked, self.fails = [], False

    def __call__(self, python, wanted, log, new):
        self.asked.append((wanted, new))
        if self.fails:
            raise Stop("Check the internet connection")


@pytest.fixture
def place(monkeypatch, tmp_path):
    """An environment whose Python works, in an empty folder."""
    folder = tmp_path / "venv"
    folder.mkdir()
    monkeypatch.setenv("GASLAB_VENV", str(folder))
    monkeypatch.setattr(environment, "works", lambda python: True)
    return folder


@pytest.fixture
def installer(monkeypatch):
    standing_in = Installer()
    monkeypatch.setattr(packages, "install", standing_in)
    return standing_in


def test_packages_are_installed_once_and_again_only_when_they_changed(place, installer, monkeypatch):
    environment.prepare()
    environment.prepare()
    assert installer.asked == [(packages.COURSE, True)]
    monkeypatch.setattr(environment, "digest", lambda name: "another")
    environment.prepare()
    assert installer.asked[1:] == [(packages.COURSE, False)]
    environment.prepare(tests=True)
    environment.prepare()
    assert installer.asked[2:] == [(packages.TESTS, False)], (
        "what the tests need includes what the course needs"
    )


def test_packages_that_could_not_be_installed_are_tried_again_next_time(place, installer, capsys):
    installer.fails = True
    assert main("open") == 1
    assert "Check the internet connection" in capsys.readouterr().err
    assert main("test") == 1
    assert not (place / environment.NOTE).exists()
    assert len(installer.asked) == 2


def test_a_half_made_environment_is_made_anew(place, installer, monkeypatch, capsys):
    (place / "pyvenv.cfg").write_text("home = nowhere\n")
    (place / environment.NOTE).write_text(json.dumps({"course": environment.digest("course")}))
    monkeypatch.setattr(environment, "works", lambda python: False)

    def make(folder):
        assert not folder.exists(), "what was half made must be gone"
        folder.mkdir()
        return True

    monkeypatch.setattr(environment, "made", make)
    environment.prepare()
    assert "made anew" in capsys.readouterr().out
    assert installer.asked == [(packages.COURSE, True)], "an old note must not stop the packages"


def test_a_folder_that_is_no_environment_is_left_alone(place, monkeypatch, capsys):
    (place / "my-notes.txt").write_text("keep me")
    monkeypatch.setattr(environment, "works", lambda python: False)
    assert main("open") == 1
    assert (place / "my-notes.txt").read_text() == "keep me"
    assert "Move it" in capsys.readouterr().err


class Debian:
    """A Debian machine on which the venv module is missing until its package is installed."""

    def __init__(self, monkeypatch, permission):
        self.installed = []
        monkeypatch.setattr(environment, "works", lambda python: False)
        monkeypatch.setattr(environment, "lacks_venv", lambda: True)
        monkeypatch.setattr(environment, "made", self.made)
        monkeypatch.setattr(system_packages, "distribution", lambda: "debian")
        monkeypatch.setattr(system_packages, "call", self.call)
        monkeypatch.setattr(Permission, "root", permission == "root")

    def made(self, folder):
        if self.installed:
            folder.mkdir()
        return bool(self.installed)

    def call(self, command, asks):
        self.installed += [command] if "install" in command else []
        return ""


@pytest.mark.parametrize(("who", "words"), [("root", ["open"]), ("user", ["open", "--system"])])
def test_a_missing_venv_module_is_installed_by_root_or_after_the_word(
    who, words, place, installer, monkeypatch
):
    debian = Debian(monkeypatch, who)
    monkeypatch.setattr(shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(command_line, "run", lambda command: 0)
    shutil.rmtree(place)
    assert main(*words) == 0
    assert debian.installed[0][-1] == f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
    assert ("sudo" in debian.installed[0]) == (who == "user")


def test_an_ordinary_user_is_told_what_to_type_for_the_venv_module(place, monkeypatch, capsys):
    debian = Debian(monkeypatch, "user")
    shutil.rmtree(place)
    assert main("open") == 1
    told = capsys.readouterr().err
    assert debian.installed == []
    assert "sudo apt install python3" in told and "--system" in told


def test_a_python_with_its_venv_module_that_makes_none_points_to_the_disk(place, monkeypatch, capsys):
    monkeypatch.setattr(environment, "works", lambda python: False)
    monkeypatch.setattr(environment, "made", lambda folder: False)
    monkeypatch.setattr(environment, "lacks_venv", lambda: False)
    shutil.rmtree(place)
    assert main("open") == 1
    assert "disk is not full" in capsys.readouterr().err


def test_a_program_that_hangs_is_ended_with_what_it_started():
    script = "import subprocess, sys; subprocess.run([sys.executable, '-c', 'import time; time.sleep(600)'])"
    ended = watch([sys.executable, "-c", script], 0.5)
    assert ended.reason.startswith("not done after")


def test_a_program_that_is_not_there_is_told():
    assert "could not be started" in watch(["/no/such/program"], 5.0).reason


def test_every_line_is_heard_also_those_that_are_written_over():
    heard = []
    script = "print('one'); print('10 %\\r20 %'); import sys; print('three', file=sys.stderr); sys.exit(3)"
    ended = watch([sys.executable, "-u", "-c", script], 300.0, heard.append)
    assert heard == ended.lines == ["one", "10 %", "20 %", "three"]
    assert ended.reason == "it ended with 3"


def test_a_second_start_reads_no_package_and_starts_one_program(place, installer, monkeypatch):
    """What a second start does before the server: a digest, a note, and one call of the environment's Python."""
    environment.prepare()
    installer.asked.clear()
    monkeypatch.undo()
    monkeypatch.setenv("GASLAB_VENV", str(place))
    started = []

    def start(command, **_):
        started.append(command)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(environment.subprocess, "run", start)
    monkeypatch.setattr(packages, "install", installer)
    environment.prepare()
    assert installer.asked == []
    assert len(started) == 1 and os.fspath(started[0][0]).startswith(str(place))
