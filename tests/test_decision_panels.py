"""The decision on a paper, by the buttons that people press: set, looked at, sat, taken up again and marked."""

from __future__ import annotations

import pytest
from desk_support import DATE, hand_in, html_faults, marked, right

from gaslab.assess import desk, folders, pack
from gaslab.assess.attempts import Attempt
from gaslab.show.panels.desk_setting import SettingPanel
from gaslab.show.panels.sitting import SittingPanel
from gaslab.show.panels.sitting_boxes import DecisionBox, PartBox

ASKS = "Is the drop within the limit given for this exercise?"


@pytest.fixture
def setting(own_home):
    """A paper of one question with its decision and one without, set by pressing buttons."""
    panel = SettingPanel()
    c = panel.controls
    c["chapter"].value, c["family"].value = "04", "drop-from-leak"
    c["decision"].value, c["decision_marks"].value = True, 3
    c["add"].click()
    c["chapter"].value, c["family"].value = "10", "gas-rate-metric"
    c["add"].click()
    c["date"].value, c["forms"].value = DATE, 2
    c["build"].click()
    assert panel.folder is not None, panel.text
    return panel


def sat(folder, candidate="GAS-0001", form="form-a") -> SittingPanel:
    panel = SittingPanel(folder / folders.HAND_OUT / form / pack.JSON_NAME)
    panel.controls["candidate"].value = candidate
    panel.controls["begin"].click()
    return panel


def test_the_tick_stands_only_where_there_is_a_limit(own_home):
    panel = SettingPanel()
    c = panel.controls
    c["chapter"].value, c["family"].value = "04", "drop-from-leak"
    assert panel.deciding.layout.display != "none" and c["decision"].value is False
    assert ASKS in c["decision"].description
    c["decision"].value = True
    c["family"].value = "leak-from-drop"
    assert panel.deciding.layout.display == "none" and c["decision"].value is False
    assert panel._question().decision == 0


def test_steps_and_decisions_to_tick_show_the_courses_figures_and_no_braces(own_home):
    """The 8-hour limit on CO2 is 5000 ppm; the number comes from the data, so the tick must fill it in."""
    panel = SettingPanel()
    c = panel.controls
    c["chapter"].value, c["family"].value = "06", "air-co2-time"
    assert "5000 ppm" in panel.ticks["minutes"].description
    assert "5000 ppm" in c["decision"].description and "{" not in c["decision"].description


def test_the_preview_shows_the_decision_as_the_trainee_sees_it(own_home):
    panel = SettingPanel()
    c = panel.controls
    c["chapter"].value, c["family"].value = "04", "drop-from-leak"
    c["look"].click()
    assert "Tick one." not in panel.page.value
    c["decision"].value = True
    c["look"].click()
    assert f"{ASKS} (one mark)" in panel.page.value and "Tick one. Yes" in panel.page.value
    assert "over the limit given here" not in panel.page.value
    assert html_faults(panel) == []


def test_the_plan_tells_the_decision_and_the_reports_its_truth(setting):
    assert [q.decision for q in setting.questions] == [3, 0]
    lines = setting.plan_lines.value
    assert lines.count("The decision too: three marks.") == 1
    assert setting.controls["decision"].value is False, "the next question is asked for itself"
    assert "the right decision-1 is" in " ".join(setting.told)


def test_a_decision_is_kept_at_once_and_found_again(setting):
    panel = sat(setting.folder)
    box = panel.boxes["q01", "decision-1"]
    assert isinstance(box, DecisionBox) and ASKS in box.ask.value and box.choice.value is None
    assert box.widget in panel.side.children
    panel.controls["look_over"].click()
    assert "q01, decision-1: no decision yet." in panel.told
    box.choice.value = "Yes"
    assert "Kept: Yes." in box.said.sentence
    box.choice.value = "No"
    assert Attempt.resume(panel.model.path).answers()["q01", "decision-1"] == ("No", "")
    again = sat(setting.folder)
    assert again.boxes["q01", "decision-1"].choice.value == "No"
    assert len(again.model.events) == 3, "taking it up again records nothing"
    again.controls["look_over"].click()
    assert not any("decision-1" in line for line in again.told)
    assert html_faults(again) == []


@pytest.mark.parametrize("honest", [True, False])
def test_a_paper_with_a_decision_is_sat_and_marked(setting, honest):
    panel = sat(setting.folder)
    items = desk.key_of_folder(setting.folder).forms["form-a"]
    for item in items:
        for step in item.steps:
            box = panel.boxes[item.identifier, step.id]
            assert isinstance(box, PartBox)
            box.text.value, box.unit.value = right(step)
    meets = items[0].decisions[0].limit.meets
    panel.boxes["q01", "decision-1"].choice.value = "Yes" if meets == honest else "No"
    assert "-" in hand_in(panel)
    marking = marked(setting.folder)
    most = sum(item.marks for item in items)
    assert marking.model.cohort.scores() == [most if honest else most - 3]
    # The family is critical: right figures do not make up for a wrong decision.
    assert marking.model.cohort.missed == ({} if honest else {"GAS-0001": ("q01",)})
    marking.controls["why"].click()
    assert ("D1" if honest else "D4") in marking.lines.value
    assert html_faults(marking) == []
