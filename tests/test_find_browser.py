"""The test command finds a browser or gets one, way by way, and says once what to type when no way works.

The machine is a fake one, so that there is no browser on it and its package tool changes nothing.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from fake_machine import FakeMachine
from PIL import Image, ImageDraw

from gaslab.commands import browser, draw_page, run_tests, system_packages
from gaslab.commands.run_tests import Part
from gaslab.commands.system_packages import Permission

ROOT = Path(__file__).resolve().parent.parent
USUAL, ASKED = Permission(), Permission(asked=True)

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the fake machine is made of shell scripts")


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """A Debian machine with root, no browser and no package tool."""
    return FakeMachine(tmp_path, monkeypatch)


@pytest.fixture
def users_machine(tmp_path, monkeypatch):
    """The same for an ordinary user."""
    return FakeMachine(tmp_path, monkeypatch, root=False)


def find(machine, permission=USUAL):
    return browser.find(machine.python, permission)


def test_a_browser_named_by_hand_wins(machine, monkeypatch):
    machine.browser("chromium")
    named = machine.browser("my-browser")
    monkeypatch.setenv("GASLAB_CHROMIUM", str(named))
    assert find(machine) == str(named)


def test_a_browser_named_by_hand_that_draws_nothing_is_told_and_an_installed_one_is_taken(
    machine, monkeypatch, capsys
):
    installed = machine.browser("chromium")
    monkeypatch.setenv("GASLAB_CHROMIUM", str(machine.browser("my-browser", "does nothing")))
    assert find(machine) == str(installed)
    assert "my-browser is no use: no picture: nothing came" in capsys.readouterr().out


def test_a_named_browser_that_is_not_there_is_told(machine, monkeypatch, capsys):
    machine.browser("chromium")
    monkeypatch.setenv("GASLAB_CHROMIUM", "/no/such/browser")
    assert find(machine).endswith("/chromium")
    assert "/no/such/browser is no use" in capsys.readouterr().out


def test_an_installed_browser_is_taken_and_nothing_is_fetched(machine):
    machine.package_tool("exit 1")
    machine.browser("chromium", "a wrapper that starts nothing")
    chrome = machine.browser("google-chrome")
    assert find(machine) == str(chrome)
    assert machine.called("playwright") == machine.called("apt-get") == []


def test_the_drivers_own_download_is_tried_first(machine):
    machine.package_tool("exit 1")
    there = '"$PLAYWRIGHT_BROWSERS_PATH/build-1/headless_shell"'
    machine.download(
        f'mkdir -p "$PLAYWRIGHT_BROWSERS_PATH/build-1"; echo "# draws" > {there}; chmod +x {there}'
    )
    found = find(machine)
    assert found == str(machine.folder / "venv" / "browsers" / "build-1" / "headless_shell")
    assert machine.called("apt-get") == []
    assert find(machine) == found
    assert len(machine.called("playwright install")) == 1, (
        "a browser that was fetched serves the next run too"
    )


def test_then_the_systems_package_as_root_at_once(machine, capsys):
    machine.package_tool(f'echo "# draws" > {machine.bin}/chromium; chmod +x {machine.bin}/chromium')
    assert find(machine) == str(machine.bin / "chromium")
    steps = [call for call in machine.calls if "install" in call or "apt-get" in call]
    assert ["playwright" in steps[0], steps[1], "chromium" in steps[2]] == [True, "apt-get update", True]
    assert "fonts-dejavu-core" in steps[2], "a browser with no letters draws no page"
    told = capsys.readouterr().out
    assert "download: failed: Error: no network" in told
    assert "Installing chromium" in told


def test_a_browser_that_lacked_a_library_is_tried_again_after_the_package(machine):
    chromium = machine.browser("chromium", "lacks a library")
    machine.package_tool(f'echo "# draws" > {chromium}')
    assert find(machine) == str(chromium)


def test_an_ordinary_user_is_asked_for_the_word_first(users_machine, capsys):
    users_machine.package_tool("exit 1")
    assert find(users_machine) == ""
    assert users_machine.called("apt-get") == [], "nothing on the system is touched unasked"
    told = capsys.readouterr().out
    assert "failed: needs --system, or root" in told
    assert "sudo apt install chromium" in told


def test_an_ordinary_user_who_gave_the_word_goes_through_sudo(users_machine):
    machine = users_machine
    machine.script("sudo", f'#!/bin/sh\necho "sudo $*" >> {machine.notes}\nexec "$@"\n')
    machine.package_tool(f'echo "# draws" > {machine.bin}/chromium; chmod +x {machine.bin}/chromium')
    assert find(machine, ASKED) == str(machine.bin / "chromium")
    assert machine.called("sudo", "apt-get update") and machine.called("sudo", "apt-get install", "chromium")


def test_no_sudo_is_told(users_machine, capsys):
    users_machine.package_tool("exit 1")
    assert find(users_machine, ASKED) == ""
    assert "there is no sudo here" in capsys.readouterr().out


def test_ubuntu_gets_the_libraries_and_the_download_once_more(tmp_path, monkeypatch):
    machine = FakeMachine(tmp_path, monkeypatch, system="ubuntu")
    machine.package_tool(
        f'echo "# a wrapper" > {machine.bin}/chromium-browser; chmod +x {machine.bin}/chromium-browser'
    )
    assert find(machine) == ""
    assert len(machine.called("playwright install --only-shell")) == 2
    assert machine.called("playwright install-deps")


def test_another_system_has_no_package_tool_to_call(tmp_path, monkeypatch, capsys):
    machine = FakeMachine(tmp_path, monkeypatch, system="fedora")
    assert find(machine) == ""
    told = capsys.readouterr().out
    assert "apt" not in told and "set GASLAB_CHROMIUM" in told


def test_a_way_that_hangs_is_ended(machine, monkeypatch, capsys):
    monkeypatch.setattr(browser, "DOWNLOAD_LIMIT", 0.3)
    machine.download("sleep 600")
    assert find(machine) == ""
    assert "download: failed: not done after 0 s" in capsys.readouterr().out


def test_a_package_tool_that_fails_is_told_in_its_own_words(machine, capsys):
    machine.package_tool('echo "E: Unable to locate package chromium"; exit 100')
    assert find(machine) == ""
    assert "failed: E: Unable to locate package chromium" in capsys.readouterr().out


def test_with_no_browser_it_is_said_once_and_the_other_parts_run(machine, monkeypatch, capsys, tmp_path):
    """On this machine every browser test failed by itself before: now one sentence, one failure, one last line."""
    monkeypatch.setattr(run_tests, "OUTPUT", tmp_path / "output")
    good = (sys.executable, "-c", "print('the other part ran')")
    parts = [
        Part("modules", good, report=False),
        Part("browser", good),
        Part("notebooks", good, report=False),
    ]
    monkeypatch.setattr(run_tests, "parts", lambda python: parts)
    assert run_tests.everyday(machine.python, [], USUAL) == 1
    told = capsys.readouterr().out
    assert told.count("need a browser that draws pages, and none was found") == 1
    assert "== modules ==" in told and "== notebooks ==" in told and "== browser ==" not in told
    assert told.splitlines()[-2:] == ["2 passed, 1 failed, 0 skipped", run_tests.NO_BROWSER]


def test_a_run_without_the_browser_part_looks_for_none(machine, monkeypatch, tmp_path):
    monkeypatch.setattr(run_tests, "OUTPUT", tmp_path / "output")
    good = Part("modules", (sys.executable, "-c", ""), report=False)
    monkeypatch.setattr(run_tests, "parts", lambda python: [good, Part("browser", ())])
    assert run_tests.everyday(machine.python, ["modules"], USUAL) == 0
    assert machine.calls == []


def test_pytest_called_by_hand_says_it_once_too(machine):
    """A developer calls pytest: with no browser there is one sentence and not one error for each test."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "tests/browser", "-p", "no:cacheprovider"],
        cwd=ROOT, capture_output=True, text=True, check=False,
        env={"PATH": str(machine.bin), "HOME": str(machine.folder)},
    )  # fmt: skip
    told = done.stdout + done.stderr
    assert done.returncode != 0
    assert told.count("The browser tests need a browser that draws pages") == 1, told
    assert " error" not in told


@pytest.mark.parametrize(
    ("release", "wanted"),
    [
        ("ID=debian\n", "debian"),
        ("ID=ubuntu\nID_LIKE=debian\n", "ubuntu"),
        ('ID=linuxmint\nID_LIKE="ubuntu debian"\n', "ubuntu"),
        ("ID=fedora\n", ""),
        ("not a line of that kind", ""),
    ],
)
def test_the_distribution_is_read_from_its_own_file(machine, release, wanted):
    machine.package_tool("exit 0")
    system_packages.RELEASE.write_text(release)
    assert system_packages.distribution() == wanted


def drawn(*, square=True, letters=True):
    picture = Image.new("RGB", (400, 200), "white")
    pen = ImageDraw.Draw(picture)
    if square:
        pen.rectangle((0, 0, 199, 99), fill=(0, 0, 255))
    if letters:
        pen.text((10, 120), "Gas 21 mbar", fill="black")
    return picture


def test_a_page_counts_only_with_its_square_and_its_letters():
    assert draw_page.seen(drawn(), 833.0) == draw_page.DRAWN
    assert draw_page.seen(drawn(square=False), 833.0) == draw_page.NO_PICTURE
    assert draw_page.seen(drawn(letters=False), 833.0) == draw_page.NO_LETTERS
    assert draw_page.seen(Image.new("RGB", (400, 200), (0, 0, 255)), 833.0) == draw_page.NO_PICTURE
    assert draw_page.seen(drawn(), 974.0) == draw_page.OTHER_LETTERS  # DejaVu Sans, as its tables say
