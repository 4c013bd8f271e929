"""What every test has: an empty data folder of its own, so no test meets a person's own job, limits or progress."""

import os

import pytest

LONG = os.environ.get("GASLAB_LONG") == "1"


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory, monkeypatch):
    """Point gaslab at an empty folder and return it."""
    folder = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("GASLAB_HOME", str(folder))
    return folder


def pytest_collection_modifyitems(items):
    if not LONG:
        for item in items:
            if item.get_closest_marker("long"):
                item.add_marker(pytest.mark.skip(reason="long run only: python3 gaslab/course.py long"))
