"""What a trainee holds: the paper as JSON for the notebook, and as a page to print.

Stems and instrument readings only: no band, no slip, no seed, no hash. Counts that belong
to the paper (marks, decimal places) are written as words, so that no number of ours can stand where an answer might.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from gaslab import units
from gaslab.assess import chain, records
from gaslab.assess.frozen import Item
from gaslab.escape import html_text
from gaslab.learn.marking import Precise
from gaslab.learn.variant import NO, YES

KIND = "gaslab paper"
JSON_NAME, HTML_NAME = "paper.json", "paper.html"
NO_UNIT = "no unit"
_WORDS = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
    "twenty",
]


class PackError(ValueError):
    """A paper file that cannot be used, told in one sentence."""


def in_words(count: int) -> str:
    """Return a small whole number as a word.

    >>> in_words(2), in_words(21)
    ('two', 'more than twenty')
    """
    return _WORDS[count] if 0 <= count < len(_WORDS) else "more than twenty"


def unit_name(unit: str) -> str:
    """Return the unit as the paper offers it; a plain number is called "no unit"."""
    return NO_UNIT if unit == "1" else unit


def unit_key(name: str) -> str:
    """Return the listed unit behind a name on the paper."""
    return "1" if name == NO_UNIT else name


def precision_words(step: Precise) -> str:
    """Return how precisely a step's answer is asked for, in words."""
    if step.places == 0:
        return "Give a whole number."
    if step.places is not None:
        return f"Give {in_words(step.places)} decimal place{'' if step.places == 1 else 's'}."
    if step.figures is not None:
        return f"Give {in_words(step.figures)} figures."
    return ""


def marks_words(marks: int) -> str:
    """Return a number of marks in words, as a paper prints it."""
    return f"{in_words(marks)} mark{'' if marks == 1 else 's'}"


def item_data(item: Item, reading: Mapping | None = None) -> dict:
    """Return one question as the trainee's file holds it: no parameter is needed to sit a paper."""
    steps = [
        {
            "step": step.id, "ask": step.ask, "units": [unit_name(unit) for unit in step.units_offered],
            "precision": precision_words(step), "marks": marks_words(step.marks),
        }
        for step in item.steps
    ]  # fmt: skip
    data = {"item": item.identifier, "title": item.title, "stem": item.stem, "steps": steps}
    if item.decisions:
        data["decisions"] = [
            {"decision": each.id, "ask": each.limit.ask, "marks": marks_words(each.marks)}
            for each in item.decisions
        ]
    return data if reading is None else {**data, "reading": dict(reading)}


def paper_json(paper: str, form: str, title: str, date: str, questions: list[dict]) -> bytes:
    """Return the trainee's file for the notebook, in one fixed form."""
    return chain.json_bytes(
        {"kind": KIND, "paper": paper, "form": form, "title": title, "date": date, "items": questions}
    )


def digest(data: bytes) -> str:
    """Return the SHA-256 of a paper file; the key and every attempt hold the same one."""
    return hashlib.sha256(data).hexdigest()


# No bare number stands in the style: the search for answers excuses nothing, not even a font size.
STYLE = """
body{font-family:sans-serif;font-size:large;line-height:normal;color:black;background:white}
section{page-break-inside:avoid;border-top:thin solid black}
table{border-collapse:collapse}
td,th{border:thin solid black;text-align:left;vertical-align:top;font-weight:normal}
.box{display:inline-block;border:thin solid black;white-space:pre}.stem{white-space:pre-line}
"""
BOX, TICK = "\u00a0" * 24, "\u00a0" * 4


def page(title: str, body: str) -> bytes:
    """Return a whole HTML page that needs nothing from outside and runs nothing."""
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    return (
        f'<!DOCTYPE html>\n<html lang="en-GB"><head><meta charset="utf8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        f"<title>{html_text(title)}</title><style>{STYLE}</style></head>\n<body>\n{body}</body></html>\n"
    ).encode()


def question_html(item: Item, reading: Mapping | None = None) -> str:
    """Return one question as printed; what an instrument shows is printed beside its label."""
    lines = [f"<section><h2>{html_text(item.identifier.upper())} · {html_text(item.title)}</h2>"]
    lines.append(f'<p class="stem">{html_text(item.stem)}</p>')
    for show in reading["shows"] if reading else ():
        unit = units.printed(show["unit"])
        lines.append(
            f"<p>{html_text(show['label'])}: <b>{html_text(show['value'])} {html_text(unit)}</b></p>"
        )
    for step in item.steps:
        offered = ", ".join(units.printed(unit) or NO_UNIT for unit in step.units_offered)
        lines.append(
            f"<p>{html_text(step.ask)} {html_text(precision_words(step))} ({marks_words(step.marks)})</p>"
            f'<p>Answer <span class="box">{BOX}</span> Unit <span class="box">{BOX}</span> '
            f"Choose from: {html_text(offered)}</p>"
        )
    for decision in item.decisions:
        lines.append(
            f"<p>{html_text(decision.limit.ask)} ({marks_words(decision.marks)})</p>"
            f'<p>Tick one. {YES} <span class="box">{TICK}</span> {NO} <span class="box">{TICK}</span></p>'
        )
    return "\n".join((*lines, "</section>\n"))


def paper_html(
    paper: str,
    form: str,
    title: str,
    date: str,
    items: tuple[Item, ...],
    *,
    readings: Mapping[str, Mapping | None] | None = None,
) -> bytes:
    """Return the printable paper."""
    readings = readings or {}
    head = (
        f"<h1>{html_text(title)}</h1>\n"
        f"<p>Paper {html_text(paper)}, {html_text(form)}. Date: {html_text(date)}</p>\n"
        f'<p>Candidate number <span class="box">{BOX}</span> Do not write your name.</p>\n'
        "<p>Show how you worked. Write the number and its unit.</p>\n"
    )
    foot = (
        f'<section><p>Receipt code at hand-in <span class="box">{BOX}{BOX}</span> '
        f'Initials of the person in charge <span class="box">{BOX}</span></p></section>\n'
    )
    body = "".join(question_html(item, readings.get(item.identifier)) for item in items)
    return page(title, head + body + foot)


_TOP = {"kind", "paper", "form", "title", "date", "items"}
_ITEM = {"item", "title", "stem", "steps"}
_STEP = {"step", "ask", "units", "precision", "marks"}
_DECISION = {"decision", "ask", "marks"}


def read_paper(data: bytes) -> dict:
    """Return the paper in a trainee's file, or raise PackError."""
    try:
        paper = chain.strict_json(data, "the paper file")
        if not isinstance(paper, dict) or paper.get("kind") != KIND or set(paper) != _TOP:
            raise PackError("This is not a paper that gaslab made. Ask for the file again.")
        if not records.PAPER.match(paper["paper"]) or not records.step_key(paper["form"]):
            raise PackError("The paper's number or form cannot be read. Ask for the file again.")
        for item in paper["items"]:
            if not _ITEM <= set(item) <= _ITEM | {"reading", "decisions"} or not records.step_key(
                item["item"]
            ):
                raise PackError("A question of the paper has a field that is unknown or missing.")
            if any(set(step) != _STEP or not records.step_key(step["step"]) for step in item["steps"]):
                raise PackError("A step of the paper has a field that is unknown or missing.")
            asked = item.get("decisions", ())
            if any(set(each) != _DECISION or not records.step_key(each["decision"]) for each in asked):
                raise PackError("A decision of the paper has a field that is unknown or missing.")
        return paper
    except chain.ChainError as error:
        raise PackError(f"{error}. Ask for the file again.") from None
    except (TypeError, AttributeError):
        raise PackError("The paper file is not laid out as a paper. Ask for the file again.") from None
