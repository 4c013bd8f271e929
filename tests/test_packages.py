"""What the screen shows while packages are fetched: names, amounts, how far; no warnings; and what a stick lacks.

The lines stand here as the package installer pip prints them, in its older and in its newer form.
"""

import json
import sys

import pytest

from gaslab.commands import packages, system_packages
from gaslab.commands.messages import Progress, Stop
from gaslab.commands.packages import Fetching

OLDER = """\
WARNING: Location 'file:///a/place/' is ignored: it is neither a file nor a directory.
Collecting jupyterlab==4.6.6 (from -r requirements.txt (line 5))
  Downloading jupyterlab-4.6.6-py3-none-any.whl (17.3 MB)
     17.3/17.3 MB 3.7 MB/s eta 0:00:00
Collecting numpy==2.4.6 (from -r requirements.txt (line 11))
  Using cached numpy-2.4.6-cp311-cp311-manylinux_2_28_x86_64.whl (16.9 MB)
Requirement already satisfied: pip in ./lib (1.0)
Collecting nbval==0.11.0 (from -r requirements.txt (line 12))
  Downloading nbval-0.11.0-py2.py3-none-any.whl (24 kB)
Installing collected packages: numpy, nbval, jupyterlab
Successfully installed jupyterlab-4.6.6 nbval-0.11.0 numpy-2.4.6
"""
NEWER = """\
Collecting jupyterlab==4.6.6 (from -r requirements.txt (line 5))
  Downloading jupyterlab-4.6.6-py3-none-any.whl.metadata (16 kB)
Collecting numpy==2.4.6 (from -r requirements.txt (line 11))
  Downloading numpy-2.4.6-cp313-cp313-manylinux_2_28_x86_64.whl.metadata (62 kB)
Downloading jupyterlab-4.6.6-py3-none-any.whl (17.3 MB)
Progress 4000000 of 17300000
Progress 17300000 of 17300000
Downloading numpy-2.4.6-cp313-cp313-manylinux_2_28_x86_64.whl (16.9 MB)
Progress 8000000 of 16900000
"""


def shown(lines: str, about=None) -> list[str]:
    fetching = Fetching(about)
    return [told for line in lines.splitlines() if (told := fetching.hear(line))]


def test_the_older_form():
    assert shown(OLDER) == [
        "working out what is needed: 1 so far",
        "1 package, 17 MB: jupyterlab",
        "2 packages, 34 MB: numpy",
        "3 packages, 34 MB: nbval",
        "putting 3 packages in place; this takes a minute",
    ]


def test_the_newer_form_shows_how_far_a_large_file_is():
    assert shown(NEWER, (2, 34.2e6)) == [
        "working out what is needed: 1 so far",
        "working out what is needed: 2 so far",
        "1 of about 2 packages, 17 MB of about 34 MB: jupyterlab",
        "1 of about 2 packages, 4.0 MB of about 34 MB: jupyterlab",
        "1 of about 2 packages, 17 MB of about 34 MB: jupyterlab",
        "2 of about 2 packages, 34 MB of about 34 MB: numpy",
        "2 of about 2 packages, 25 MB of about 34 MB: numpy",
    ]


def test_more_than_was_expected_is_no_more_than_all():
    assert shown(OLDER, (2, 20e6))[-2] == "3 of about 3 packages, 34 MB of about 34 MB: nbval"


def test_a_package_from_a_folder_counts_with_its_size(tmp_path):
    wheel = tmp_path / "pint-0.25.3-py3-none-any.whl"
    wheel.write_bytes(b"x" * 2_000_000)
    assert shown(f"Processing {wheel}") == ["1 package, 2.0 MB: pint"]
    assert shown(f"Processing {tmp_path}") == [], "the course's own folder is no package"


class Pip:
    """Stands for the environment's Python: it prints what pip would print, and ends as a test wants."""

    def __init__(self, folder):
        self.path, self.folder = folder / "python", folder

    def says(self, text: str, code: int = 0):
        (self.folder / "says.txt").write_text(text)
        self.path.write_text(f"#!{sys.executable}\nprint(open({str(self.folder / 'says.txt')!r}).read())\n"
                             f"raise SystemExit({code})\n")  # fmt: skip
        self.path.chmod(0o755)


@pytest.fixture
def pip(tmp_path, monkeypatch):
    monkeypatch.setattr(packages, "WHEELS", tmp_path / "gaslab-wheels")
    return Pip(tmp_path)


def install(pip, wanted=packages.COURSE, new=True):
    packages.install(pip.path, wanted, pip.folder / "log" / "installer.log", new)


def test_the_warnings_go_to_a_file_and_not_to_the_screen(pip, capsys):
    pip.says(OLDER + "WARNING: Running pip as root\n" * 200)
    install(pip)
    told = capsys.readouterr()
    assert "WARNING" not in told.out + told.err
    assert len(told.out.splitlines()) < 8
    assert "about 113, 110 MB" in told.out
    assert "3 packages, 34 MB: in place." in told.out
    assert (pip.folder / "log" / "installer.log").read_text().count("WARNING") == 201


def test_an_update_promises_no_amount(pip, capsys):
    pip.says("Requirement already satisfied: numpy\n")
    install(pip, new=False)
    told = capsys.readouterr().out
    assert "about" not in told and "all packages are in place." in told


def test_a_failure_shows_the_errors_and_where_the_rest_is(pip):
    pip.says(
        "WARNING: noise\nERROR: Could not find a version\nERROR: No matching distribution found for x", 1
    )
    with pytest.raises(Stop) as stopped:
        install(pip)
    told = str(stopped.value)
    assert "ERROR: Could not find a version" in told and "WARNING" not in told
    assert "Check the internet connection" in told and "installer.log" in told


@pytest.fixture
def stick(pip):
    packages.WHEELS.mkdir()
    return packages.WHEELS


def here():
    return " ".join(packages.this_machine())


def test_every_wheel_that_is_missing_from_a_stick_is_named_before_anything_is_installed(pip, stick):
    names = ["numpy-2.4.6-cp311.whl", "pint-0.25.3.whl", "zipp-1.0.whl"]
    (stick / names[1]).write_text("")
    (stick / packages.CONTENTS).write_text(json.dumps({here(): names}))
    with pytest.raises(Stop) as stopped:
        install(pip)
    told = str(stopped.value)
    assert names[0] in told and names[2] in told and names[1] not in told
    assert not pip.path.exists(), "the installer was never asked"


def test_a_stick_for_other_machines_says_what_it_carries(pip, stick):
    (stick / packages.CONTENTS).write_text(json.dumps({"windows 3.2": [], "linux 3.3": []}))
    with pytest.raises(Stop) as stopped:
        install(pip)
    assert "carries nothing for" in str(stopped.value) and "windows 3.2, linux 3.3" in str(stopped.value)


def test_a_stick_without_a_list_names_what_the_installer_missed(pip, stick):
    pip.says("ERROR: No matching distribution found for contourpy>=1.0.1 (from matplotlib)\n", 1)
    with pytest.raises(
        Stop, match=r"no package that fits this machine for: contourpy>=1.0.1 \(needed by matplotlib\)"
    ):
        install(pip)


def test_a_whole_stick_installs(pip, stick, capsys):
    (stick / "pint-0.25.3.whl").write_text("")
    (stick / packages.CONTENTS).write_text(json.dumps({here(): ["pint-0.25.3.whl"]}))
    pip.says("Successfully installed")
    install(pip)
    assert "from the stick" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("system", "machine", "wanted"),
    [("linux", "x86_64", "linux"), ("win32", "AMD64", "windows"), ("darwin", "arm64", "macos"),
     ("darwin", "x86_64", "macos-intel")],
)  # fmt: skip
def test_a_machine_is_named_as_the_stick_names_it(system, machine, wanted, monkeypatch):
    monkeypatch.setattr(packages.sys, "platform", system)
    monkeypatch.setattr(packages.platform, "machine", lambda: machine)
    assert packages.this_machine()[0] == wanted


def test_a_file_gets_few_lines_of_progress(capsys):
    progress = Progress(every=1000.0)
    progress.last = float("-inf")
    for n in range(500):
        progress.show(f"{n} packages")
    progress.finish("500 packages")
    assert capsys.readouterr().out.splitlines() == ["  0 packages", "  500 packages"]


def test_a_terminal_gets_one_line_that_is_written_over(capsys):
    progress = Progress()
    progress.terminal = True
    progress.show("a long line that says how far it is")
    progress.show("shorter")
    progress.finish("done")
    told = capsys.readouterr().out
    assert told.count("\n") == 1
    assert {len(part) for part in told.rstrip("\n").split("\r")[1:]} == {78}, "the old words are written over"


APT = """\
Reading package lists...
The following NEW packages will be installed:
  chromium fonts-dejavu-core
0 upgraded, 2 newly installed, 0 to remove and 0 not upgraded.
Need to get 75.6 MB of archives.
After this operation, 300 MB of additional disk space will be used.
Get:1 http://mirror/debian bookworm/main amd64 fonts-dejavu-core all 2.37-6 [1,068 kB]
Get:2 http://mirror/debian bookworm/main amd64 chromium amd64 130.0 [74.5 MB]
Fetched 75.6 MB in 4s (18.9 MB/s)
Unpacking chromium (130.0) ...
Setting up fonts-dejavu-core (2.37-6) ...
Setting up chromium (130.0) ...
"""


def test_the_systems_package_tool_shows_how_far_it_is():
    installing = system_packages.Installing()
    assert [told for line in APT.splitlines() if (told := installing.hear(line))] == [
        "fetched 1.1 MB of 76 MB in 2 packages",
        "fetched 76 MB of 76 MB in 2 packages",
        "set up 1 of 2 packages",
        "set up 2 of 2 packages",
    ]


def test_packages_that_are_partly_there_count_with_what_is_to_come():
    installing = system_packages.Installing()
    installing.hear("Need to get 828 kB/205 MB of archives.")
    assert installing.size == 828e3


def test_an_update_of_the_lists_promises_no_amount():
    installing = system_packages.Installing()
    assert installing.hear("Get:1 http://mirror/debian bookworm InRelease [151 kB]") == ""
