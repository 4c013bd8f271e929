"""A question package brought to the desk: looked at, never run, and refused in a sentence when it is not ours."""

from __future__ import annotations

from datetime import datetime

import pytest
from desk_support import DATE, html_faults

from gaslab.assess import frozen, qti, qti_names
from gaslab.learn.variant import Limit
from gaslab.show.panels.desk_package import PackagePanel
from gaslab.show.panels.desk_setting import SettingPanel

from hostile import zipped

STEP = frozen.Step(
    "heat", "sum", "What is the <b>gross</b> heat input?", "kW", ("kW", "MJ"), 13.07, 12.9, 13.1, 1, None, 2, (),
    "Seconds first.", "It comes to 13.07 kW.",
)  # fmt: skip
RATE = frozen.Step(
    "rate", "set-up", "What is the gas rate?", "m3/h", ("m3/h", "m3/s"), 1.2, 1.195, 1.2051, None, 3, 1, (), "", "",
)  # fmt: skip
LIMIT = Limit(
    "heat",
    "Is it within the plate?",
    None,
    12.0,
    "kW",
    False,
    "Yes, it is.",
    "No, it is over.",
    "practice",
    "given",
)
ITEM = frozen.Item(
    "q01-heat", "gas-rate-metric", "1", "Heat <script>alert(1)</script> & a meter", "A hob passes gas.",
    {"volume": 0.02}, (RATE, STEP), True, "practice", (frozen.Decision("decision-1", LIMIT, 3),),
)  # fmt: skip
SECOND = frozen.Item(
    "q02-rate",
    "gas-rate-metric",
    "1",
    "Gas rate",
    "A hob passes gas.",
    {"volume": 0.02},
    (RATE,),
    False,
    "practice",
)


def bring(panel: PackagePanel, data: bytes, name: str = "package.zip") -> None:
    """Upload a file as a browser does."""
    file = {
        "name": name, "type": "application/zip", "size": len(data), "content": memoryview(data),
        "last_modified": datetime(2031, 11, 28),
    }  # fmt: skip
    panel.controls["bring"].value = (file,)


@pytest.mark.parametrize("version", qti_names.VERSIONS)
def test_titles_steps_and_marks_are_listed_and_no_answer(version):
    panel = PackagePanel()
    bring(panel, qti.package([ITEM, SECOND], "paper", version))
    seen = panel.lines.value
    for words in (
        "q01-heat",
        "What is the gas rate?",
        "Yes or no: Is it within the plate?",
        "(critical)",
        "q02-rate",
    ):
        assert words in seen, words
    # 1 + 2 + 3 and 1.
    assert panel.message.sentence.startswith("2 questions, 7 marks in all.")
    assert not any(answer in seen for answer in ("13.07", "No, it is over", "1.2"))
    assert "<script" not in seen and "<b>gross" not in seen and "&lt;script&gt;" in seen
    assert html_faults(panel) == []


GOOD = qti.package([ITEM], "paper")
BOMB = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]><x>&b;</x>'


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not a package"),
        (b"not a zip at all", "not a package"),
        (GOOD[:-40], "not a package"),
        (zipped(**{"imsmanifest.xml": b"<manifest/>"}), "not QTI"),
        (zipped(**{"../evil.xml": b"<a/>"}), "no place for a question"),
        (zipped(**{"imsmanifest.xml": BOMB}), "document type"),
    ],
)
def test_a_foreign_damaged_or_hostile_file_gets_a_sentence_and_the_list_goes(data, words):
    panel = PackagePanel()
    bring(panel, GOOD)
    assert "q01-heat" in panel.lines.value
    bring(panel, data)
    assert words in panel.message.sentence and panel.message.sentence.endswith("can be looked at.")
    assert "q01-heat" not in panel.lines.value and panel.model == ()


def test_the_package_that_the_desk_writes_can_be_looked_at(own_home):
    setting = SettingPanel()
    c = setting.controls
    c["chapter"].value, c["family"].value, c["decision"].value = "12", "co-ratio", True
    c["add"].click()
    c["date"].value, c["forms"].value = DATE, 1
    c["build"].click()
    packages = sorted(setting.folder.rglob("*.zip"))
    assert len(packages) == 2, "one in each version of QTI"
    for path in packages:
        panel = PackagePanel()
        bring(panel, path.read_bytes())
        assert panel.message.sentence.startswith("1 question, "), panel.message.sentence
        assert "Yes or no: " in panel.lines.value
