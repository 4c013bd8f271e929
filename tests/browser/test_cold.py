"""A page as it is downloaded, before anything is run or trusted: a lesson to read, and no object text.

The same page turned into plain HTML, for someone who has only a browser.
"""

import json
import re

import nbconvert
import pytest
from lab import NOTEBOOKS
from sheet import SCREEN
from tab import on_page, path_of

# What a reader without a kernel must never meet: a Python object, a widget's name, a widget that failed to load.
OBJECT_TEXT = re.compile(
    r"\b[A-Z][A-Za-z]+\((?:[a-z_]+=|\))|<[a-z_.]+ object at|object at 0x|Error displaying|Loading widget"
    r"|widget-view|application/vnd|Traceback|ipywidgets",
)
COLD = ("00", "04", "15")


def sentences(path) -> list[str]:
    """Return the sentence that each panel left in the shipped page in its own place."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    data = [output["data"] for cell in cells if cell["cell_type"] == "code" for output in cell["outputs"]]
    return ["".join(one["text/plain"]).splitlines()[0].strip() for one in data]


def test_the_pattern_knows_object_text():
    for bad in ("FloatSlider(value=3.0)", "VBox(children=(…", "HTML()", "<gaslab.show.Panel object at 0x7f>"):
        assert OBJECT_TEXT.search(bad), bad
    for good in ("Press ▶▶ (once).", "The drop (0.6 mbar) is small.", "CO(s) is not CO₂."):
        assert not OBJECT_TEXT.search(good), good


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_a_shipped_page_carries_text_and_no_widget(path):
    text = path.read_text(encoding="utf-8")
    assert "application/vnd.jupyter.widget" not in text and '"widgets"' not in text
    told = sentences(path)
    assert told, "no panel left a sentence"
    for sentence in told:
        assert re.search(r"[.?!]$|:|[a-z]$", sentence) and len(sentence.split()) >= 2
        assert not OBJECT_TEXT.search(sentence), sentence


def seen_words(page) -> str:
    return " ".join(page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Notebook").inner_text().split())


@pytest.mark.parametrize("number", [on_page(number) for number in COLD])
def test_an_untrusted_page_reads_as_a_lesson(tab, number):
    sheet = tab.cold(number)
    sheet.spread()
    words = seen_words(sheet.page)
    assert "at the top of this page" in words, "the lesson's own text is missing"
    for sentence in sentences(path_of(number)):
        assert " ".join(sentence.split()) in words
    assert not OBJECT_TEXT.search(words), OBJECT_TEXT.search(words).group()
    assert sheet.console == []


@pytest.mark.parametrize("path", [path_of(number) for number in COLD], ids=lambda p: p.stem)
def test_as_plain_html_it_reads_the_same(browser, tmp_path, path):
    text, _ = nbconvert.HTMLExporter().from_filename(str(path))
    file = tmp_path / "page.html"
    file.write_text(text, encoding="utf-8")
    context = browser.new_context(viewport=SCREEN)
    context.route(re.compile("^https?:"), lambda route: route.abort())  # at home there may be no network
    page = context.new_page()
    page.goto(file.as_uri())
    words = " ".join(page.inner_text("body").split())
    context.close()
    for sentence in sentences(path):
        assert " ".join(sentence.split()) in words
    assert not OBJECT_TEXT.search(words), OBJECT_TEXT.search(words).group()
