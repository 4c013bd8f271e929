"""The assessor's charts: what is drawn is what was counted, with its words, and nothing in it acts."""

from __future__ import annotations

import re

import numpy as np
import pytest
from lxml import etree

from gaslab.assess import analysis, pictures
from gaslab.assess.results import SlipCount
from gaslab.show import palette
from gaslab.show.drawings import cohort

from hostile import HOSTILE

LOOK = palette.current()


def whole(svg: str, sentence: str) -> etree._Element:
    tree = etree.fromstring(svg.encode())
    assert tree.findtext("{*}desc") == sentence and tree.get("role") == "img"
    assert not list(tree.iter("{*}script")) and "javascript:" not in svg and not re.search(r"\son\w+=", svg)
    return tree


def shapes(tree: etree._Element, tag: str, fill: str) -> list[etree._Element]:
    """The shapes of one kind in one colour, in the order they were drawn."""
    return [node for node in tree.iter("{*}" + tag) if node.get("fill") == fill]


def test_scores():
    found = pictures.score_distribution([3, 3, 4, 7, 9], 10, cut=5.0, error=1.2)
    tree = whole(cohort.score_chart(found), found.sentence)
    bars = shapes(tree, "rect", LOOK.water)
    heights = [float(bar.get("height")) for bar in bars]
    assert [height / heights[1] for height in heights] == pytest.approx([2, 1, 1, 1])  # scores 3, 4, 7 and 9

    centres = [float(bar.get("x")) + float(bar.get("width")) / 2 for bar in bars]
    one_mark = centres[1] - centres[0]
    cut = next(line for line in tree.iter("{*}line") if line.get("stroke") == LOOK.bad)
    assert (float(cut.get("x1")) - centres[0]) / one_mark == pytest.approx(5.0 - 3.0, abs=0.01)
    (band,) = shapes(tree, "rect", LOOK.wash)
    assert float(band.get("width")) / one_mark == pytest.approx(2 * 1.2, abs=0.01)
    assert "cut 5.0" in " ".join(tree.itertext())
    whole(cohort.score_chart(pictures.score_distribution([], 4)), "No attempts yet.")


def test_item_map():
    rng = np.random.default_rng(4)
    ability = rng.normal(size=(60, 1))
    table = (ability + rng.normal(size=(60, 6)) > 0).astype(float)
    table[:, 5] = 1 - table[:, 0]  # an item that goes against the rest
    found = pictures.item_map(analysis.analyse([f"q{n:02d}" for n in range(6)], table, [1] * 6))
    tree = whole(cohort.item_chart(found), found.sentence)
    flagged = [point for point in found.points if point.flagged]
    plain = [point for point in found.points if not point.flagged]
    assert flagged and plain, "the made-up answers hold both kinds"
    assert len(shapes(tree, "rect", LOOK.bad)) == len(flagged)
    across = [float(dot.get("cx")) for dot in shapes(tree, "circle", LOOK.water)]
    up = [-float(dot.get("cy")) for dot in shapes(tree, "circle", LOOK.water)]
    # The marks lie along straight scales: their places are a straight line of the figures.
    for places, figures in (
        (across, [point.facility.known for point in plain]),
        (up, [point.discrimination.known for point in plain]),
    ):
        slope, start = np.polyfit(figures, places, 1)
        assert slope > 0
        assert slope * np.array(figures) + start == pytest.approx(places, abs=0.1)
    names = {text.text for text in tree.iter("{*}text")}
    assert {point.name for point in found.points} <= names
    few = pictures.item_map(analysis.analyse(["a"], [[1.0]] * 5, [1]))
    whole(cohort.item_chart(few), few.sentence)


def test_slip_heat():
    rows = [
        SlipCount("leak-from-drop", "drop", "taken-away", 30, 60),
        SlipCount("purge-time", "time", "minutes", 6, 60),
    ]
    found = pictures.slip_heat(rows)
    tree = whole(cohort.heat_chart(found), found.sentence)
    words = " ".join(tree.itertext())
    assert "50%" in words and "10%" in words and "taken-away" in words and "leak-from-drop" in words
    empty = pictures.slip_heat([])
    whole(cohort.heat_chart(empty), empty.sentence)


def test_profile():
    found = pictures.cohort_profile({"set-up": [0.5] * 5 + [1.0] * 5, "sum": [0.8] * 10})
    tree = whole(cohort.profile_chart(found), found.sentence)
    won = [float(bar.get("width")) for bar in shapes(tree, "rect", LOOK.water)]
    full = [float(bar.get("width")) for bar in shapes(tree, "rect", "none")]
    assert [100 * part / all_of_it for part, all_of_it in zip(won, full, strict=True)] == pytest.approx(
        [75.0, 80.0]
    )
    whole(cohort.profile_chart(pictures.cohort_profile({})), "No attempts yet.")


@pytest.mark.parametrize("kind", HOSTILE)
def test_hostile_names_are_only_words(kind):
    text = HOSTILE[kind].encode("utf-8", "replace").decode()
    found = pictures.slip_heat([SlipCount(text, text, text, 1, 2)])
    svg = cohort.heat_chart(found)
    tree = etree.fromstring(svg.encode(), etree.XMLParser(resolve_entities=False))
    assert not list(tree.iter("{*}script")) and not list(tree.iter("{*}img"))
    assert not [node for node in tree.iter() if any(name.startswith("on") for name in node.attrib)]
