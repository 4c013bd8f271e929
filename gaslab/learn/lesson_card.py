"""A lesson card for each page: aim, minutes, the likely slip, the question to ask, and the slips its sums catch."""

from __future__ import annotations

from dataclasses import dataclass

from gaslab.escape import html_text
from gaslab.learn import chapters, items
from gaslab.learn.reference import page


@dataclass(frozen=True)
class SumOnCard:
    """One sum of a lesson: its title and, for its last step, what to say to the first slip that its author lists."""

    family: str
    title: str
    slip: str


@dataclass(frozen=True)
class LessonCard:
    """All that an instructor needs on one card."""

    number: str
    title: str
    aim: str
    minutes: int
    likely_slip: str
    ask: str
    caution: str
    sums: tuple[SumOnCard, ...]


def card(number: str) -> LessonCard:
    """Return the card of a chapter, from its words and the data of its sums."""
    words = chapters.words(number)
    sums = tuple(SumOnCard(f, items.family(f).title, _listed_slip(f)) for f in words.families)
    return LessonCard(
        number, words.title, words.aim, words.minutes, words.likely_slip, words.ask, words.caution, sums
    )


def _listed_slip(family: str) -> str:
    """Return the sentence of the first slip of the last step that has one."""
    for step in reversed(items.family(family).steps):
        if step.slips:
            return step.slips[0].says
    return ""


def card_lines(one: LessonCard) -> list[tuple[str, str]]:
    """Return (name, words) of each line of a card; screen and print show the same."""
    lines = [
        ("Aim", one.aim), ("Minutes", str(one.minutes)), ("Likely slip", one.likely_slip),
        ("Ask the class", one.ask), ("Take care", one.caution),
    ]  # fmt: skip
    return lines + [
        (s.title, f"Say to a slip: {s.slip}" if s.slip else "No slip is listed.") for s in one.sums
    ]


def card_html(one: LessonCard) -> str:
    """Return a card as HTML for a page."""
    entries = "".join(
        f"<dt>{html_text(name)}</dt><dd>{html_text(words)}</dd>" for name, words in card_lines(one)
    )
    return f"<h2>{html_text(one.number)} {html_text(one.title)}</h2><dl>{entries}</dl>"


def cards_page() -> str:
    """Return the cards of all chapters as one page to print."""
    return page("Lesson cards", "".join(card_html(card(number)) for number in chapters.numbers()))
