"""A browser counts as found when it has drawn a page: tried with the real browser of these tests."""

import os
import sys
from pathlib import Path

import pytest
from fake_machine import FakeMachine
from lab import browser_path

from gaslab.commands import browser
from gaslab.commands.system_packages import UNASKED


def test_the_browser_of_these_tests_draws_a_page():
    assert browser.Search(Path(sys.executable), UNASKED).fault_of(browser_path()) == ""


@pytest.mark.parametrize("program", [sys.executable, os.fspath(Path(__file__))])
def test_a_program_that_draws_nothing_is_no_browser(program):
    assert "no picture" in browser.Search(Path(sys.executable), UNASKED).fault_of(program)


@pytest.mark.skipif(os.name == "nt", reason="the fake machine is made of shell scripts")
def test_a_browser_that_the_package_tool_brings_is_found(tmp_path, monkeypatch):
    """With the browser hidden and a package tool that brings it back: nothing, then the package, then a page."""
    real, path = browser_path(), os.environ["PATH"]
    machine = FakeMachine(tmp_path, monkeypatch)
    no_download = '#!/bin/sh\ncase "$*" in *"playwright install"*) echo "Error: no network"; exit 1 ;; esac\n'
    machine.script("python", f'{no_download}exec "{sys.executable}" "$@"\n')
    brought = machine.bin / "chromium"
    waiting = machine.script("waiting", f'#!/bin/sh\nPATH="{path}" exec "{real}" "$@"\n')
    machine.package_tool(f'cp "{waiting}" "{brought}"')
    assert browser.Search(machine.python, UNASKED).installed() == ""
    assert browser.find(machine.python, UNASKED) == str(brought)
