"""The test run adds its parts up, names the slowest tests, and the long run goes on where it was broken off."""

import json
import sys

import pytest

from gaslab.commands import course_files, long_run, run_tests
from gaslab.commands.messages import Stop
from gaslab.commands.run_tests import Part, Result
from gaslab.commands.system_packages import Permission

USUAL = Permission()
REPORT = """<testsuites><testsuite tests="5" failures="1" errors="1" skipped="1">
<testcase classname="tests.test_gas" name="test_slow" time="7.25"/>
<testcase classname="tests.test_gas" name="test_quick" time="0.01"/></testsuite></testsuites>"""


@pytest.fixture(autouse=True)
def own_output(tmp_path, monkeypatch):
    """Keep reports and notes of these tests out of the course's own folder."""
    monkeypatch.setattr(run_tests, "OUTPUT", tmp_path / "output")
    monkeypatch.setattr(long_run, "OUTPUT", tmp_path / "output")
    monkeypatch.setattr(long_run, "STATE", tmp_path / "output" / "long-run.json")
    monkeypatch.setattr(long_run, "TURNED_AWAY", tmp_path / "output" / "turned-away.txt")
    return tmp_path


def test_a_report_is_counted(tmp_path):
    file = tmp_path / "report.xml"
    file.write_text(REPORT)
    found = run_tests.read_report(file, "modules")
    assert (found.passed, found.failed, found.skipped) == (2, 2, 1)
    assert found.slowest[0] == (7.25, "test_gas: test_slow")


def test_a_part_that_was_killed_counts_as_failed():
    killed = Part("modules", (sys.executable, "-c", "import os; os.kill(os.getpid(), 9)"))
    found = run_tests.run_part(killed, {})
    assert (found.passed, found.failed) == (0, 1)


def test_a_part_that_ends_badly_with_every_test_passed_counts_as_failed(tmp_path):
    script = (
        f"import sys; open(sys.argv[2], 'w').write('''{REPORT}'''.replace('\"1\"', '\"0\"')); sys.exit(3)"
    )
    found = run_tests.run_part(Part("modules", (sys.executable, "-c", script)), {})
    assert (found.passed, found.failed) == (5, 1)


def test_the_user_of_a_part_has_an_empty_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    script = (
        "import os, sys; home = os.environ['GASLAB_HOME']; "
        f"sys.exit(home == {str(tmp_path)!r} or bool(os.listdir(home)))"
    )
    assert run_tests.run_part(Part("x", (sys.executable, "-c", script), report=False), {}).failed == 0


def test_the_end_of_a_run():
    results = [
        Result("modules", 90, 0, 1, 130.2, [(3.0, f"slow {n}") for n in range(10)]),
        Result("browser", 9, 1, 0, 300.0, [(8.0, "slowest")]),
    ]
    lines = run_tests.summary(results).splitlines()
    assert lines[-1] == "99 passed, 1 failed, 1 skipped"
    assert sum(" s  " in line and "slow" in line for line in lines) == 10
    assert "8.0 s  browser  slowest" in lines[2]
    assert any("modules" in line and "2 min 10 s" in line for line in lines)
    assert any("in all" in line and "7 min 10 s" in line for line in lines)


def test_a_part_that_does_not_exist_is_told():
    with pytest.raises(Stop, match=r"There is no part moduls\. The parts are: modules, notebooks, browser"):
        run_tests.chosen(run_tests.parts("python"), ["moduls"])


class LongRun:
    """A long run of three parts; each notes that it ran, and the second fails while `broken` exists."""

    def __init__(self, folder, monkeypatch):
        self.notes, self.broken = folder / "notes.txt", folder / "broken"
        monkeypatch.setattr(long_run, "long_parts", lambda python: [self.part(name) for name in "abc"])
        monkeypatch.setattr(course_files, "digest", lambda: self.digest)
        self.digest = "one"

    def part(self, name):
        script = (
            f"import os, sys; open({str(self.notes)!r}, 'a').write({name!r}); "
            f"sys.exit({name!r} == 'b' and os.path.exists({str(self.broken)!r}))"
        )
        return Part(name, (sys.executable, "-c", script), report=False)

    def run(self, *names, afresh=False):
        """Run it; return the exit code and which parts ran."""
        before = len(self.notes.read_text()) if self.notes.exists() else 0
        code = long_run.whole("python", list(names), USUAL, afresh)
        return code, self.notes.read_text()[before:] if self.notes.exists() else ""


@pytest.fixture
def long(tmp_path, monkeypatch):
    return LongRun(tmp_path, monkeypatch)


def test_a_long_run_goes_on_with_what_has_not_passed(long, capsys):
    long.broken.touch()
    assert long.run() == (1, "abc")
    assert "2 passed, 1 failed, 0 skipped" in capsys.readouterr().out
    long.broken.unlink()
    assert long.run() == (0, "b"), "only what failed runs again"
    told = capsys.readouterr().out
    assert "a has passed on these files already" in told
    assert told.splitlines()[-1] == "3 passed, 0 failed, 0 skipped", "the sum is that of the whole run"
    assert long.run() == (0, "")


def test_a_long_run_can_be_taken_part_by_part(long):
    assert long.run("c") == (0, "c")
    assert long.run("a", "b") == (0, "ab")
    assert long.run() == (0, "")
    assert long.run(afresh=True) == (0, "abc")


def test_a_changed_file_starts_the_long_run_anew(long):
    assert long.run("a") == (0, "a")
    long.digest = "two"
    assert long.run() == (0, "abc")


@pytest.mark.parametrize(
    "damage",
    ["", "[]", "{}", '{"digest": "one", "passed": {"a": {"age": 3}}}', '{"digest": "one", "passed": []}'],
)
def test_a_damaged_note_starts_it_anew(long, damage):
    long_run.STATE.parent.mkdir(exist_ok=True)
    long_run.STATE.write_text(damage)
    assert long.run() == (0, "abc")


def test_the_note_is_plain_data(long):
    long.run()
    assert set(json.loads(long_run.STATE.read_text())["passed"]) == {"a", "b", "c"}


def test_the_digest_covers_every_file_of_the_course_and_nothing_made_by_running_it():
    names = {path.relative_to(course_files.ROOT).as_posix() for path in course_files.files()}
    assert {
        "README.md",
        "gaslab/course.py",
        "data/pipes.csv",
        ".ci/run",
        "notebooks/00-start-here.ipynb",
    } <= names
    assert not [name for name in names if "__pycache__" in name or ".egg-info" in name]
