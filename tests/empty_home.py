"""A pytest plugin for the notebook run: every notebook's kernel starts with an empty data folder of its own."""

import os
import tempfile

import pytest

_now: dict = {"notebook": None, "folder": None}


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item):
    # The kernel starts in the set-up of a notebook's first cell, and takes this environment with it.
    if item.path != _now["notebook"]:
        _now["folder"] = tempfile.TemporaryDirectory(prefix="gaslab-home-", ignore_cleanup_errors=True)
        _now["notebook"] = item.path
        os.environ["GASLAB_HOME"] = _now["folder"].name
