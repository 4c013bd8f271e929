"""A look chosen on one page is there on the next; a damaged note of it stops nobody."""

import pytest

from gaslab.show import kept_look, palette
from gaslab.show.panels.common import LookPanel


@pytest.fixture(autouse=True)
def usual_look():
    yield
    palette.use("cream")


def test_a_chosen_look_is_taken_by_the_next_page():
    for key in ("large", "stage", "cream"):
        LookPanel().controls["look"].value = key
        palette.use("white")  # another kernel starts in a look of its own
        assert kept_look.take().key == key


@pytest.mark.parametrize(
    "text", ["", "{", '{"look": "stripes"}', '{"look": ["cream"]}', "[]", '{"look": null}']
)
def test_a_damaged_note_leaves_the_usual_look(own_home, text):
    (own_home / kept_look.NAME).write_text(text, encoding="utf-8")
    assert kept_look.take().key == "cream"


def test_a_folder_that_cannot_be_written_is_told(own_home, monkeypatch):
    (own_home / "a-file").write_text("", encoding="utf-8")
    monkeypatch.setenv("GASLAB_HOME", str(own_home / "a-file"))
    panel = LookPanel()
    panel.controls["look"].value = "night"
    assert "could not be kept" in panel.message.sentence
    assert palette.current().key == "night"
