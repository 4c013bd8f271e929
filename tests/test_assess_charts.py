"""The assessor's charts: what is drawn is what was counted, with its words, and nothing in it acts."""

from __future__ import annotations

import re

import numpy as np
import pytest
from lxml import etree

from gaslab.assess import analysis, pictures
from gaslab.assess.results import SlipCount
from gaslab.show import assess_charts
from gaslab.show.charts import Chart

from hostile import HOSTILE


@pytest.fixture
def drawn(monkeypatch):
    """The last chart that was drawn, to look at its artists."""
    kept = []
    real = Chart.svg

    def svg(self, words):
        kept.append(self)
        return real(self, words)

    monkeypatch.setattr(Chart, "svg", svg)
    return kept


def whole(svg: str, sentence: str) -> etree._Element:
    tree = etree.fromstring(svg.encode())
    assert tree.findtext("{*}desc") == sentence and tree.get("role") == "img"
    assert not list(tree.iter("{*}script")) and "javascript:" not in svg and not re.search(r"\son\w+=", svg)
    return tree


def test_scores(drawn):
    found = pictures.score_distribution([3, 3, 4, 7, 9], 10, cut=5.0, error=1.2)
    whole(assess_charts.score_chart(found), found.sentence)
    chart = drawn[0]
    assert [bar.get_height() for bar in chart.artists["bars"]] == list(found.counts)
    assert chart.artists["cut"].get_xdata()[0] == 5.0 and "cut 5.0" in chart.artists["cut words"].get_text()
    band = chart.artists["band"]
    assert (band.get_x(), band.get_x() + band.get_width()) == pytest.approx((3.8, 6.2))
    whole(assess_charts.score_chart(pictures.score_distribution([], 4)), "No attempts yet.")


def test_item_map(drawn):
    rng = np.random.default_rng(4)
    ability = rng.normal(size=(60, 1))
    table = (ability + rng.normal(size=(60, 6)) > 0).astype(float)
    table[:, 5] = np.arange(60) % 2
    found = pictures.item_map(analysis.analyse([f"q{n:02d}" for n in range(6)], table, [1] * 6))
    whole(assess_charts.item_chart(found), found.sentence)
    for point in found.points:
        (dot,) = drawn[0].artists[point.name]
        assert (dot.get_xdata()[0], dot.get_ydata()[0]) == (point.facility.value, point.discrimination.value)
        assert (dot.get_marker() == "s") == point.flagged
    few = pictures.item_map(analysis.analyse(["a"], [[1.0]] * 5, [1]))
    whole(assess_charts.item_chart(few), few.sentence)


def test_slip_heat(drawn):
    rows = [
        SlipCount("leak-from-drop", "drop", "taken-away", 30, 60),
        SlipCount("purge-time", "time", "minutes", 6, 60),
    ]
    found = pictures.slip_heat(rows)
    tree = whole(assess_charts.slip_chart(found), found.sentence)
    words = " ".join(tree.itertext())
    assert "50%" in words and "10%" in words and "taken-away" in words and "leak-from-drop" in words
    empty = pictures.slip_heat([])
    whole(assess_charts.slip_chart(empty), empty.sentence)


def test_profile(drawn):
    found = pictures.cohort_profile({"set-up": [0.5] * 5 + [1.0] * 5, "sum": [0.8] * 10})
    whole(assess_charts.profile_chart(found), found.sentence)
    assert [bar.get_height() for bar in drawn[0].artists["bars"]] == pytest.approx([75.0, 80.0])
    whole(assess_charts.profile_chart(pictures.cohort_profile({})), "No attempts yet.")


@pytest.mark.parametrize("kind", HOSTILE)
def test_hostile_names_are_only_words(kind):
    text = HOSTILE[kind].encode("utf-8", "replace").decode()
    found = pictures.slip_heat([SlipCount(text, text, text, 1, 2)])
    svg = assess_charts.slip_chart(found)
    tree = etree.fromstring(svg.encode(), etree.XMLParser(resolve_entities=False))
    assert not list(tree.iter("{*}script")) and not list(tree.iter("{*}img"))
    assert not [node for node in tree.iter() if any(name.startswith("on") for name in node.attrib)]
