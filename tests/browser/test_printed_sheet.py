"""The job sheet as a printer sees it: one or two A4 sides, the notice on each of them."""

import re

import pytest

from gaslab.refit import checks, context, criteria, jobsheet
from gaslab.refit.job import Job

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 120"><path d="M5 5 L190 110"/></svg>'
ELSEWHERE = {"gauge": "electronic-1", "pipe": "copper-15", "way": "vertical", "wood": "softwood"}


@pytest.fixture
def whole_job(tmp_path):
    """A job with every check answered, every distance judged and a reading of each main kind."""
    job = Job.load(tmp_path)
    known = context.criteria_context(job.site)
    for key, value in context.measured(job.site).items():
        job.finding(criteria.judge(key, value, context=known, entries=()), "07")
    for key, reading, unit in (
        ("meter-working", 18.2, "mbar"),
        ("pipe-drop", 0.71, "mbar"),
        ("permitted-drop", 0.3, "mbar"),
    ):
        job.record("09", key, reading, unit, 0.1)
        job.finding(criteria.judge(key, reading * 100.0, entries=()), "09")
    for one in checks.checks():
        checks.answer(job, one.key, 0.0 if one.unit == "1" else 1.0, more=ELSEWHERE)
    job.advise("CO alarm", "fit one that meets the standard", "the tenant", "2026-11-25")
    return job


def test_a_whole_job_prints_on_two_sides_with_the_notice_on_each(whole_job, browser):
    text = jobsheet.to_html(jobsheet.sheet(whole_job), {"Pipe run": SVG, "Pressure trace": SVG})
    leaf = browser.new_page()
    leaf.set_content(text)
    pdf = leaf.pdf(prefer_css_page_size=True)
    leaf.emulate_media(media="print")
    # A table's head and foot groups are what a printer repeats on every side.
    repeated = leaf.evaluate(
        "['thead', 'tfoot'].map(n => { const e = document.querySelector(n);"
        " return [getComputedStyle(e).display, e.innerText] })"
    )
    unseen = leaf.evaluate(
        "[...document.querySelectorAll('.open p')].filter(e => !e.getClientRects().length).length"
    )
    leaf.close()
    assert 1 <= len(re.findall(rb"/Type\s*/Page[^s]", pdf)) <= 2
    assert [display for display, _ in repeated] == ["table-header-group", "table-footer-group"]
    assert all("TRAINING: SIMULATED READINGS, NOT A GAS SAFETY RECORD" in words for _, words in repeated)
    assert unseen == 0
