"""What every test has: an empty data folder of its own, so no test meets a person's own job, limits or progress."""

import pytest


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory, monkeypatch):
    """Point gaslab at an empty folder and return it."""
    folder = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("GASLAB_HOME", str(folder))
    return folder
