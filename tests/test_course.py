"""The command file: it runs on a bare machine, installs only when it must, and says what a person can mend."""

import ast
import json
import shutil
import subprocess
from pathlib import Path

import pytest

from gaslab import course

PACKAGE = Path(course.__file__).resolve().parent


@pytest.mark.skipif(shutil.which("python3") is None, reason="no system Python under the name python3 here")
def test_the_command_file_needs_nothing_installed():
    done = subprocess.run(
        ["python3", "-I", "-S", str(PACKAGE / "course.py")],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2
    assert "course.py open" in done.stdout


def test_an_old_python_can_read_as_far_as_the_sentence():
    source = (PACKAGE / "course.py").read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 6))


def test_an_old_python_is_told(monkeypatch, capsys):
    monkeypatch.setattr(course.sys, "version_info", (3, 9, 1))
    assert course.main(["open"]) == 1
    assert "needs Python 3.11 or newer. This is Python 3.9" in capsys.readouterr().err


def test_a_changed_list_of_packages_changes_the_digest(monkeypatch, tmp_path):
    before = course.digest("course")
    changed = tmp_path / "requirements.txt"
    changed.write_text(course.REQUIREMENTS.read_text() + "\n# one more\n")
    monkeypatch.setattr(course, "REQUIREMENTS", changed)
    assert course.digest("course") != before


class Machine:
    """Stands for the machine: it notes each command and answers as a test wants."""

    def __init__(self, answers):
        self.answers, self.commands = answers, []

    def __call__(self, command, **_):
        self.commands.append([str(part) for part in command])
        code = next((code for words, code in self.answers.items() if words in self.commands[-1]), 0)
        return subprocess.CompletedProcess(command, code)


@pytest.fixture
def course_in(monkeypatch, tmp_path):
    """Return course.py with its environment in an empty folder and a machine that only takes notes."""

    def use(**answers):
        machine = Machine({words.replace("_", "-"): code for words, code in answers.items()})
        monkeypatch.setattr(course.subprocess, "run", machine)
        monkeypatch.setenv("GASLAB_VENV", str(tmp_path / "venv"))
        return course, machine, tmp_path / "venv"

    return use


def test_packages_are_installed_once_and_again_only_when_they_changed(course_in, monkeypatch):
    course, machine, folder = course_in()
    folder.mkdir()
    course.prepare()
    course.prepare()
    assert sum("install" in command for command in machine.commands) == 1
    monkeypatch.setattr(course, "digest", lambda name: "another")
    course.prepare()
    assert sum("install" in command for command in machine.commands) == 2
    course.prepare(tests=True)
    assert any("./gaslab[test]" in command for command in machine.commands)


def test_no_internet_is_told_and_tried_again_next_time(course_in, capsys):
    course, machine, folder = course_in(install=1)
    folder.mkdir()
    assert course.main(["open"]) == 1
    assert "Check the internet connection" in capsys.readouterr().err
    assert not (folder / "installed.json").exists()
    assert course.main(["open"]) == 1
    assert sum("install" in command for command in machine.commands) == 2


def test_a_half_made_environment_is_made_anew(course_in, monkeypatch, capsys):
    course, machine, folder = course_in()
    (folder / "bin").mkdir(parents=True)
    (folder / "pyvenv.cfg").write_text("home = nowhere\n")
    (folder / "installed.json").write_text(json.dumps({"course": course.digest("course")}))
    monkeypatch.setattr(course, "works", lambda _: False)
    monkeypatch.setattr(course, "make_environment", rebuild := Rebuild(course.make_environment, folder))
    course.prepare()
    assert rebuild.done
    assert "made anew" in capsys.readouterr().out
    assert any("venv" in command for command in machine.commands)
    assert any("install" in command for command in machine.commands), "an old note must not stop the packages"


class Rebuild:
    """Runs the real step; the folder that Python's venv would have made is made here."""

    def __init__(self, step, folder):
        self.step, self.folder, self.done = step, folder, False

    def __call__(self, folder):
        self.step(folder)
        assert not self.folder.exists(), "what was half made must be gone"
        self.folder.mkdir()
        self.done = True


def test_a_folder_that_is_no_environment_is_left_alone(course_in, monkeypatch, capsys):
    course, _, folder = course_in()
    folder.mkdir()
    (folder / "my-notes.txt").write_text("keep me")
    monkeypatch.setattr(course, "works", lambda _: False)
    assert course.main(["open"]) == 1
    assert (folder / "my-notes.txt").read_text() == "keep me"
    assert "Move it" in capsys.readouterr().err


def test_a_part_that_was_killed_counts_as_failed(tmp_path):
    assert course.worst([0, -9, 0]) == 1
    assert course.worst([0, 0]) == 0
    assert course.count(tmp_path / "no-such-report.xml") == (0, 1, 0)
