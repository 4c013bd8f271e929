"""The checker of an assessor's own question: it passes a good one and names each fault."""

from __future__ import annotations

import re

import pytest
from own_questions import GOOD, changed

from gaslab.assess import own_item, papers
from gaslab.assess.variants import Bank, PaperError, Question

from hostile import HOSTILE

# 130 to 132 s less 129 s: a hundredth of the time decides the answer.
ILL = changed('value = "volume * 3600 / time"', 'value = "time - 129"').replace(
    "high = 290\nstep = 1", "high = 132\nstep = 0.1"
)


def test_a_good_question_can_be_used():
    found = own_item.check(GOOD)
    assert found.problems == () and found.family.id == "own-hob-heat"
    assert found.text.startswith("The question can be used.")


FAULTS = {
    "ill-conditioned": (ILL, "ill-conditioned"),
    "slip inside the band": (changed('value = "rate * 3.6"', 'value = "rate * cv / 3.6 * 1.001"'), "inside the band"),
    "missing source": (changed('source = "iso-6976"\n', ""), "source: is missing"),
    "unknown source": (changed('"iso-6976"', '"my-own-head"'), "not a key"),
    "unknown name": (changed('"rate * cv"', '"rate * colour"'),
                     "nothing that a trainee can use here is called 'colour'"),
    "unknown function": (changed('"rate * cv"', '"system(rate)"'), "system"),
    "spelling mistake": (changed("plausible", "plausable"), "plausible|plausable"),
    "unknown unit": (changed('unit = "kW"', 'unit = "horses"'), "not a listed unit"),
    "answer in the stem": (changed('"rate * cv / 3.6"', '"cv"'), "prints a number"),
    "implausible": (changed("[0.3, 3.0]", "[200.0, 300.0]"), "plausible"),
    "divides by zero": (changed('"volume * 3600 / time"', '"volume / (time - time)"'), "zero"),
    "one slip": (GOOD[: GOOD.index('[[steps.slips]]\nid = "upside')] + GOOD[GOOD.index('[[steps]]\nid = "heat"') :],
                 "2 or more slips"),
    "no steps": (GOOD.split("[[steps]]")[0], "steps"),
    "not TOML": (GOOD + "\n= =", "not readable as TOML"),
    "too long": (GOOD + "#" * 50_000, "longer than"),
    "python": (changed('"rate * cv"', "\"__import__('os').system('x')\""), "character"),
    "huge power": (changed('"rate * cv"', '"9^9^9^9^9"'), "not_divided|not-divided|answer|zero|number"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_told_in_a_sentence(fault):
    text, words = FAULTS[fault]
    found = own_item.check(text)
    assert found.family is None and found.problems
    said = " ".join(found.problems)
    assert re.search(words, said), said
    assert all(sentence.endswith(".") for sentence in found.problems)


def test_a_name_of_the_course_is_refused():
    text = changed('"own-hob-heat"', '"gas-rate-metric"')
    assert "already" in own_item.check(text).text


def test_an_own_question_stands_in_a_paper():
    found = own_item.check(GOOD)
    plan = papers.Plan("Own", "2026-03-12", (Question(found.family.id),), forms=2)
    paper = papers.build(plan, bytes(32), Bank([found.family]))
    assert [form.items[0].family for form in paper.forms] == ["own-hob-heat"] * 2
    assert b"What is the gas rate?" in papers.preview(plan.questions[0], Bank([found.family]))
    with pytest.raises(PaperError, match="has the steps rate, heat"):
        papers.build(
            papers.Plan("x", "2026-03-12", (Question("own-hob-heat", ("guess",)),)),
            bytes(32),
            Bank([found.family]),
        )


@pytest.mark.parametrize("kind", HOSTILE)
@pytest.mark.parametrize("place", ["title", "stem", "ask", "says", "value", "file"])
def test_hostile_text_is_told_or_kept_as_text(kind, place):
    text = HOSTILE[kind].encode("utf-8", "replace").decode().replace("\\", "\\\\").replace('"', '\\"')
    old = {
        "title": "Heat input of a hob", "stem": "A hob test passes", "ask": "What is the gas rate?",
        "says": "That is the rate for one minute.", "value": "time / (volume * 3600)", "file": GOOD,
    }[place]  # fmt: skip
    found = own_item.check(GOOD.replace(old, text, 1))
    if found.family is not None:
        page = papers.preview(Question("own-hob-heat"), Bank([found.family])).decode()
        assert "<script" not in page and "<img" not in page and "<svg" not in page
    else:
        assert found.problems and all(line.isprintable() for line in found.problems)
