"""What every test has: an empty data folder of its own, so no test meets a person's own job, limits or progress."""

import weakref

import pytest

from gaslab.show.panels import base


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory, monkeypatch):
    """Point gaslab at an empty folder and return it."""
    folder = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("GASLAB_HOME", str(folder))
    return folder


@pytest.fixture(autouse=True)
def own_page(monkeypatch):
    """Give each test a page of its own: panels of other tests are not open on it, and take no new look."""
    monkeypatch.setattr(base, "_alive", weakref.WeakSet())
