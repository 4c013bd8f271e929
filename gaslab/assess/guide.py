"""What the assessor keeps: the key and the marking guide with worked solutions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import gaslab
from gaslab import units
from gaslab.assess import chain, frozen, pack
from gaslab.assess.frozen import Decision, Item, Step
from gaslab.assess.papers import Paper, Plan
from gaslab.assess.variants import Question
from gaslab.escape import html_text
from gaslab.learn.variant import NO, YES, Limit

KIND = "gaslab key"


class KeyFileError(ValueError):
    """A key that cannot be used, told in one sentence."""


@dataclass(frozen=True)
class Key:
    """All that marking needs: the frozen items of each form and the digest of each form's file."""

    paper: str
    plan: Plan
    package: str
    digests: Mapping[str, str] = field(hash=False)
    forms: Mapping[str, tuple[Item, ...]] = field(hash=False)


def key_of(paper: Paper) -> Key:
    """Return the key of a paper."""
    digests = {form.name: pack.digest(form.json(paper.number, paper.plan)) for form in paper.forms}
    forms = {form.name: form.items for form in paper.forms}
    return Key(paper.number, paper.plan, f"gaslab {gaslab.__version__}", digests, forms)


def key_json(key: Key) -> bytes:
    """Return the key as a file."""
    forms = {name: [frozen.to_dict(item) for item in items] for name, items in key.forms.items()}
    return chain.json_bytes({
        "kind": KIND, "paper": key.paper, "plan": key.plan.data(), "package": key.package,
        "digests": dict(key.digests), "forms": forms,
    })  # fmt: skip


def read_key(data: bytes) -> Key:
    """Return the key in a file, or raise KeyFileError."""
    try:
        found = chain.strict_json(data, "the key")
        if found["kind"] != KIND:
            raise KeyFileError("This is not a key that gaslab made. Use key.json of the assessor's folder.")
        plan = dict(found["plan"])
        asked = tuple(
            Question(**{**q, "steps": q["steps"] and tuple(q["steps"])}) for q in plan.pop("questions")
        )
        forms = {name: tuple(map(frozen.from_dict, items)) for name, items in found["forms"].items()}
        if set(forms) != set(found["digests"]):
            raise KeyFileError("The key's forms and digests do not agree. Use the key as it was made.")
        return Key(found["paper"], Plan(questions=asked, **plan), found["package"], found["digests"], forms)
    except (chain.ChainError, frozen.FrozenError) as error:
        raise KeyFileError(f"The key cannot be used: {error}") from None
    except (KeyError, TypeError, AttributeError):
        raise KeyFileError("The key is not laid out as a key. Use the key as it was made.") from None


def number_text(value: float) -> str:
    """Return a number for the guide with at most six figures."""
    return f"{value:.6g}"


def guide_html(key: Key) -> bytes:
    """Return the marking guide of every form, to print and to keep from trainees."""
    title = f"Marking guide: {key.plan.title}"
    decides = any(item.decisions for items in key.forms.values() for item in items)
    parts = [
        f"<h1>{html_text(title)}</h1>\n<p>Paper {html_text(key.paper)}. Keep this from trainees.</p>\n",
        *(f"<p>{html_text(words)}</p>\n" for words in (*ADVICE, *(ON_DECISIONS if decides else ()))),
    ]
    for name, items in key.forms.items():
        parts.append(f"<h2>{html_text(name)}</h2>\n")
        parts += [_item_html(item) for item in items]
    return pack.page(title, "".join(parts))


ADVICE = (
    "The installed course can work out every answer.",
    "Sit a paper that counts under supervision: on paper, or on a machine without the course.",
    "Never open or run a notebook that a candidate hands in. Only attempt files are read.",
    "Follow-through: a step is marked against the candidate's own earlier figures too.",
    "Follow-through never makes a critical answer right.",
    "The exported question package has no follow-through.",
    "Critical items stand outside the cut: each must be right in truth.",
    "Only a candidate number is kept. Keep the list of names on paper.",
    "Delete attempts and results when your centre's time for appeals is over.",
    "Local codes, makers' instructions and a registered engineer decide on site. This paper is for training.",
)


ON_DECISIONS = (
    "A decision earns its marks when it is right in truth.",
    "It is held against the candidate's own figure too: the results say whether the two agree.",
    "One that fits the candidate's own figure and is wrong earns nothing.",
    "One that would pass what fails is listed under consistent but unsafe. Talk it over with the candidate.",
)


def _item_html(item: Item) -> str:
    critical = " · critical" if item.critical else ""
    lines = [f"<section><h3>{html_text(item.identifier.upper())} · {html_text(item.title)}{critical}</h3>"]
    lines.append(
        f'<p class="stem">{html_text(item.stem)}</p><p>Family {html_text(item.family)}, '
        f"version {html_text(item.version)}. Source: {html_text(item.source)}.</p>"
    )
    lines += [_step_html(step) for step in item.steps]
    lines += [_decision_html(decision) for decision in item.decisions]
    return "\n".join((*lines, "</section>\n"))


def _step_html(step: Step) -> str:
    unit = html_text(units.printed(step.unit) or pack.NO_UNIT)
    rows = "".join(
        f"<tr><td>{html_text(slip.id)}</td><td>{number_text(slip.value)}</td><td>{html_text(slip.says)}</td></tr>"
        for slip in step.slips
    )
    slips = f"<table><tr><th>Slip</th><th>Gives</th><th>What to say</th></tr>{rows}</table>" if rows else ""
    return (
        f"<p>{html_text(step.ask)} ({html_text(step.kind)}, {pack.marks_words(step.marks)})</p>"
        f"<p>Answer <b>{number_text(step.value)} {unit}</b>; right from {number_text(step.lo)} to "
        f"{number_text(step.hi)} {unit}, both included. {html_text(pack.precision_words(step))}</p>"
        f'<p class="stem">{html_text(step.worked)}</p>{slips}'
    )


def limit_words(limit: Limit) -> str:
    """Return where a limit lies, in words."""
    unit = units.printed(limit.unit) or pack.NO_UNIT
    ends = (("from", limit.low), ("to", limit.high))
    return " ".join(f"{word} {number_text(end)} {unit}" for word, end in ends if end is not None)


def _decision_html(decision: Decision) -> str:
    limit = decision.limit
    truth, why = (YES, limit.words_meets) if limit.meets else (NO, limit.words_fails)
    return (
        f"<p>{html_text(limit.ask)} (decision, {pack.marks_words(decision.marks)})</p>"
        f"<p>Answer <b>{truth}</b>. {html_text(why)}</p>"
        f"<p>Held against step {html_text(limit.step)}. {YES} is right {html_text(limit_words(limit))}, "
        f"both included. Source: {html_text(limit.source)}, {html_text(limit.status)}.</p>"
    )
