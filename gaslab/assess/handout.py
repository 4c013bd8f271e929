"""A practice handout and its answer sheet from one job number: the same number gives the same two pages.

Anyone with the course can make them again from the number, so a handout is for practice and never for a mark.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from gaslab import units
from gaslab.assess import guide, leaks, pack, papers
from gaslab.assess.frozen import Item, Step
from gaslab.assess.papers import Plan
from gaslab.assess.variants import GivesAway, PaperError, Question
from gaslab.escape import html_text
from gaslab.learn import chapters

# A handout carries no date: its numbers hang on the job number alone. A plan wants one, so it gets this.
NO_DATE = "2000-01-01"
LEAST, MOST = 1, 9999


@dataclass(frozen=True)
class Handout:
    """The questions of one handout, and the families that cannot stand on paper with the reason."""

    chapter: str
    number: int
    items: tuple[Item, ...]
    readings: Mapping[str, Mapping | None] = field(hash=False)
    left_out: tuple[tuple[str, str], ...]


def make(chapter: str, number: int, families: Iterable[str] | None = None) -> Handout:
    """Return the handout of a chapter for a job number; a question that would give an answer away is left out."""
    if type(number) is not int or not LEAST <= number <= MOST:
        raise PaperError(f"The job number must be a whole number from {LEAST} to {MOST}.")
    words = chapters.words(chapter)
    secret = hashlib.sha256(f"practice handout {chapter} {number}".encode()).digest()
    kept: list[Question] = []
    form, left_out = None, []
    for family in words.families if families is None else families:
        asked = (*kept, Question(family))
        try:
            # The title stands on the page, so its number is kept apart from every answer too.
            form = next(papers.each_form(Plan(_title(words.title, number), NO_DATE, asked, 1), secret))
            kept.append(Question(family))
        except (GivesAway, PaperError) as reason:
            left_out.append((family, str(reason)))
    if form is None:
        raise PaperError(f"Chapter {chapter} has no sums that can stand on paper.")
    return Handout(chapter, number, form.items, form.readings, tuple(left_out))


def _title(title: str, number: int) -> str:
    return f"{title}: practice sheet {number}"


def handout_html(sheet: Handout) -> bytes:
    """Return the page for trainees. It is searched for every answer before it is given out."""
    title = _title(chapters.words(sheet.chapter).title, sheet.number)
    body = f"<h1>{html_text(title)}</h1>\n<p>Show how you worked. Write the number and its unit.</p>\n"
    body += "".join(pack.question_html(item, sheet.readings.get(item.identifier)) for item in sheet.items)
    made = pack.page(title, body)
    found = leaks.search({"handout.html": made}, sheet.items, _never_printed(sheet))
    if found:
        raise PaperError(f"This handout would give an answer away. Take another job number. {found[0]}")
    return made


def _never_printed(sheet: Handout) -> bytes:
    """Return what stands in for a secret in the search: a handout's number is no secret."""
    return hashlib.sha256(f"nothing prints this {sheet.chapter} {sheet.number}".encode()).digest()


def answers_html(sheet: Handout) -> bytes:
    """Return the answer sheet: each answer, how it is worked, and what to say to each slip."""
    title = f"Answers. {_title(chapters.words(sheet.chapter).title, sheet.number)}"
    body = f"<h1>{html_text(title)}</h1>\n<p>Keep this from trainees until they have worked the sheet.</p>\n"
    body += "".join(_item(item) for item in sheet.items)
    return pack.page(title, body)


def _item(item: Item) -> str:
    steps = "".join(_step(step) for step in item.steps)
    return f"<section><h2>{html_text(item.identifier.upper())} · {html_text(item.title)}</h2>\n{steps}</section>\n"


def _step(step: Step) -> str:
    unit = units.printed(step.unit) or pack.NO_UNIT
    band = f"{guide.number_text(step.lo)} to {guide.number_text(step.hi)}"
    slips = "".join(f"<li>{guide.number_text(s.value)}: {html_text(s.says)}</li>" for s in step.slips)
    return (
        f"<p>{html_text(step.ask)}<br>Answer <b>{guide.number_text(step.value)} {html_text(unit)}</b>, "
        f"right from {band}.<br>{html_text(step.worked)}</p><ul>{slips}</ul>\n"
    )
