"""The assessor's pages and charts in a real browser, with the hostile corpus in every text: nothing runs."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sheet import ACT_WAIT
from sitting import built

from gaslab.assess import frozen, guide, pack, pictures
from gaslab.assess.results import SlipCount
from gaslab.show.drawings import cohort

from hostile import HOSTILE


def hostile_pages() -> dict[str, bytes]:
    """Every page of the desk with hostile text wherever text can stand."""
    paper = built(1, 1)
    key, item = guide.key_of(paper), paper.forms[0].items[0]
    pages = {}
    for kind, raw in HOSTILE.items():
        text = raw.encode("utf-8", "replace").decode()
        slip = frozen.Slip("a-slip", 1.0, text, 1.0, 1.0)
        step = replace(item.steps[0], ask=text, cue=text, worked=text, slips=(slip,))
        bad = frozen.checked(replace(item, title=text, stem=text, source=text, version=text, steps=(step,)))
        reading = {"instrument": text, "shows": [{"label": text, "value": text, "unit": "mbar"}]}
        pages[f"paper {kind}"] = pack.paper_html(
            text, text, text, text, (bad,), readings={bad.identifier: reading}
        )
        plan = replace(key.plan, title=text)
        pages[f"guide {kind}"] = guide.guide_html(replace(key, plan=plan, forms={text: (bad,)}))
        heat = pictures.slip_heat([SlipCount(text, text, text, 1, 2)])
        pages[f"chart {kind}"] = f"<body>{cohort.heat_chart(heat)}</body>".encode()
    return pages


@pytest.mark.filterwarnings("ignore:Glyph")
def test_hostile_text_runs_nowhere(browser):
    context = browser.new_context()
    page = context.new_page()
    asked, opened, errors = [], [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("dialog", lambda dialog: (opened.append(dialog.message), dialog.dismiss()))
    page.on("pageerror", lambda error: errors.append(str(error)))
    for name, data in hostile_pages().items():
        page.set_content(data.decode("utf-8"))
        for link in page.query_selector_all("a, button, input"):
            pytest.fail(f"{name}: {link.inner_text()!r} can be pressed")
        page.mouse.move(200, 200)
        assert page.evaluate("window.hit") is None, name
        assert page.evaluate("document.querySelectorAll('script, img, iframe, object, embed').length") == 0, (
            name
        )
    assert not asked and not opened and not errors
    context.close()


def test_the_check_itself_would_see_a_script_run(browser):
    """The same page without the escape and without its policy: the corpus does run, so the test above can fail."""
    context = browser.new_context()
    page = context.new_page()
    page.set_content(f"<body>{HOSTILE['image']}</body>")
    page.wait_for_function("window.hit === 1", timeout=ACT_WAIT)
    context.close()


def test_a_paper_prints_to_pages_with_no_text_cut_off(browser, tmp_path):
    paper = built(6, 1)
    form = paper.forms[0]
    data = pack.paper_html(
        paper.number, form.name, paper.plan.title, paper.plan.date, form.items, readings=form.readings
    )
    context = browser.new_context(viewport={"width": 768, "height": 1024})
    page = context.new_page()
    page.set_content(data.decode("utf-8"))
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.pdf(path=str(tmp_path / "paper.pdf"), format="A4")
    assert (tmp_path / "paper.pdf").read_bytes().startswith(b"%PDF-")
    assert page.get_by_text("Candidate number").count() == 1
    context.close()
