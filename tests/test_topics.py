"""Every topic's panel, driven without a browser: a moved control moves picture or words, and the numbers are right.

Expected numbers are worked beside the checks, from the published or common-practice figures named there.
"""

import math

import ipywidgets
import pytest
from lxml import etree

from gaslab.learn import chapters
from gaslab.refit import exercises, tosheet
from gaslab.refit import site as sites
from gaslab.show.chapter import SCENES, TOPICS, open_chapter
from gaslab.show.panels import closing
from gaslab.show.panels.base import Panel
from gaslab.show.panels.controls import NumberControl

# Panels whose picture follows their controls; the others ask, list or run, and have tests of their own below.
MOVING = [
    "gauges", "mixture", "isometric", "oven-space", "rise-place", "room-size", "room-air", "cut-out",
    "clearances", "exposure", "leak-and-drop", "test-errors", "pipe-sizing", "flow-kinds", "purge", "pressures",
    "low-flame", "rate", "cooling", "burning", "co-uptake",
]  # fmt: skip


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    return tmp_path


def made(name, chapter="05"):
    return open_chapter(chapter).panel(name)


def test_every_panel_a_notebook_calls_is_there():
    import json
    from pathlib import Path

    folder = Path(__file__).resolve().parent.parent / "notebooks"
    called = set()
    for path in folder.glob("*.ipynb"):
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            source = "".join(cell["source"])
            called |= {part.split('"')[1] for part in source.split("page.panel(")[1:]}
    assert called and called <= set(TOPICS)
    assert {f"{n:02d}" for n in range(1, 15)} <= set(SCENES)


@pytest.mark.parametrize("name", MOVING)
def test_each_control_moves_picture_or_words(name):
    panel = made(name)
    assert isinstance(panel, Panel)
    for key, control in panel.controls.items():
        if isinstance(control, ipywidgets.Button):
            continue
        before, other = (panel.view_svg, panel.text), control.value
        if isinstance(control, NumberControl):
            (control.plus if control.value < control._high else control.minus).click()
            for _ in range(4):  # a small step may round to the same figure
                if (panel.view_svg, panel.text) != before:
                    break
                (control.plus if float(control.value) < float(control._high) else control.minus).click()
        else:
            for value in [
                value for _, value in control.options if value != other
            ]:  # two meters may hold the same gas
                control.value = value
                if (panel.view_svg, panel.text) != before:
                    break
        assert (panel.view_svg, panel.text) != before, f"{name}: {key} moves nothing"


@pytest.mark.parametrize("name", MOVING)
def test_picture_is_sound_and_text_is_one_sentence_or_more(name):
    panel = made(name)
    root = etree.fromstring(panel.view_svg.encode())
    assert root.get("role") == "img"
    assert root.find("{*}title").text and root.find("{*}desc").text
    assert panel.text.rstrip(".)").strip()
    assert panel._repr_mimebundle_()["text/plain"] == panel.instruction


@pytest.mark.parametrize("name", MOVING)
def test_bad_text_is_told_and_nothing_moves(name):
    panel = made(name)
    for control in panel.controls.values():
        if isinstance(control, NumberControl):
            kept = (control.value, panel.view_svg)
            for text in ("two", "1e3", "999999", "", "nan", "<b>1</b>"):
                control.box.value = text
                assert (control.value, panel.view_svg) == kept
                assert control.label in control.message.sentence and "needed" in control.message.sentence


def test_water_stands_10_2_mm_for_each_millibar():
    # 1 mbar holds up 10.206 mm of water at 15 °C (CoolProp, in the trade's figures).
    panel = made("gauges")
    panel.controls["pressure"].value = 20.0
    assert panel.model["height"] == pytest.approx(20 * 10.206e-3, rel=1e-4)
    assert "20.0 mbar" in panel.text


def test_pure_methane_gives_a_burner_all_its_heat():
    panel = made("mixture")
    for gas in ("ethane", "nitrogen"):
        panel.controls[gas].value = 0.0
    assert panel.model["share"] == pytest.approx(1.0, rel=1e-12)
    panel.controls["nitrogen"].value = 7.5  # G23: Ws 45.66 against 50.72 (EN 437, published)
    assert panel.model["share"] == pytest.approx(45.66 / 50.72, rel=0.001)


def test_keeping_a_pipe_reaches_the_other_chapters():
    sizing = made("pipe-sizing")
    sizing.controls["length"].value = 9.0
    sizing.controls["keep"].click()
    assert "Kept" in sizing.message.sentence
    page = open_chapter("04")
    assert page.job.site.run("kitchen").length == pytest.approx(9.0)
    # 6.9 m more of 15 mm pipe by the trade table, and a tenth for fittings.
    volume = page.panel("leak-and-drop").model["trapped"].volume
    assert volume == pytest.approx(sites.load().installation_volume() + 6.9 * 0.00014 * 1.1, abs=1e-9)


@pytest.mark.parametrize("leak", [0.0, 1.0, 2.0, 3.0])
def test_the_leak_chart_falls_in_a_straight_line_and_ends_at_nothing(leak):
    """t = p V/(q B), 20.5 mbar at the start: V = 2.4 dm3 of meter and the pipes; then the gauge lies at 0."""
    page = open_chapter("04")
    panel = page.panel("leak-and-drop")
    panel.controls["meter"].value = "e6"
    panel.controls["length"].value = 0.5
    panel.controls["leak"].value = leak
    site = page.job.site
    runs = (
        site.installation_volume() - site.meter.volume() - 0.00014 * 1.1 * (site.run("kitchen").length - 0.5)
    )
    volume = 0.0024 + runs
    gone = leak / 3.6e6 * site.barometer * 120.0 / volume  # Pa, if there were enough
    (began, bent, ended), (first, end, last) = panel.model["points"]
    assert (began, ended, first) == (0.0, 2.0, 20.5) and end == last
    assert end == pytest.approx(max(0.0, 2050.0 - gone) / 100.0, rel=1e-9) and end >= 0.0
    assert bent == pytest.approx(2.0 if gone < 2050.0 else 2.0 * 2050.0 / gone, rel=1e-9)
    empties = gone > 2050.0
    assert ("stays there" in panel.text) == (" on<" in panel.view_svg) == empties == (leak == 3.0)
    assert panel.model["drop"] == pytest.approx(min(gone, 2050.0), rel=1e-9)


def test_a_drop_on_the_sheet_larger_than_the_pressure_is_drawn_to_nothing():
    page = open_chapter("08")
    tosheet.put(page.job, "second-test-drop", 25.0)
    words = closing.sheet_drawings(page.job)["Tightness test: the drop as read, drawn from 20.5 mbar"]
    assert ">0.0 mbar<" in words and "the line stops at 0" in words and "-4.5" not in words


def test_the_same_value_changed_elsewhere_is_told_and_not_overwritten():
    first, second = made("pipe-sizing"), made("pipe-sizing")
    first.controls["length"].value = 9.0
    first.controls["keep"].click()
    second.controls["length"].value = 4.0
    second.controls["keep"].click()
    assert "not stored" in second.message.sentence
    assert open_chapter("09").job.site.run("kitchen").length == pytest.approx(9.0)


def test_pipe_loss_against_its_limit():
    # 1 mbar from meter outlet to appliance, all loads at maximum (BS 6891, published).
    panel = made("pipe-sizing")
    assert panel.model["finding"].outcome == "meets"
    panel.controls["length"].value = 15.0
    assert panel.model["loss"] > 100.0
    assert panel.model["finding"].outcome == "does not meet"
    panel.controls["pipe"].value = "copper-22"
    assert panel.model["finding"].outcome == "meets"


def test_small_rooms_need_an_opening():
    # BS 5440-2:2000 as quoted: below 5 m3 100 cm2, 5 to 10 m3 50 cm2, above 10 m3 none.
    panel = made("room-size")
    assert panel.model["finding"].outcome == "meets"
    panel.controls["length"].value, panel.controls["width"].value = 1.5, 1.2
    assert panel.model["volume"] < 5.0
    assert panel.model["finding"].outcome == "does not meet"
    assert "100 cm²" in panel.text


def test_a_jigsaw_and_a_router_add_up():
    # Energy over eight hours, by hand: 15 min at 100 dB(A) and 1 min at 94 dB(A).
    panel = made("exposure")
    panel.controls["jigsaw"].value = 1
    by_hand = 10 * math.log10((900 * 10**10.0 + 60 * 10**9.4) / 28_800)
    assert panel.model["cutting"].noise == pytest.approx(by_hand, rel=1e-9)


def test_the_pipe_may_stand_out_by_what_the_oven_and_its_maker_leave():
    """By hand at Alder Court: 600 mm of housing, less 550 mm of oven, less the 20 mm the maker asks for."""
    panel = made("oven-space", "03")
    panel.controls["depth"].value, panel.controls["projection"].value = 550, 30
    assert (
        panel.model["finding"].outcome == "meets"
        and "at most" in panel.text
        and "30 mm at most" in panel.text
    )
    panel.controls["projection"].value = 31
    assert panel.model["finding"].outcome == "does not meet"
    panel.controls["depth"].value = 590
    assert "No pipe may stand behind this oven" in panel.text


def test_the_new_rise_stands_beside_the_oven_and_goes_into_the_job():
    panel = made("rise-place", "03")
    for millimetres, outcome in ((0, "does not meet"), (95, "does not meet"), (100, "meets")):
        panel.controls["rise"].value = millimetres
        assert panel.model["finding"].outcome == outcome, millimetres
    panel.controls["rise"].value = 240
    panel.controls["keep"].click()
    checks = made("survey-checks", "03")
    checks.controls["which"].value = "new-rise"
    assert "The site says: 240 mm" in checks.question.value
    checks.controls["value"].value = "80"
    checks.controls["put"].click()
    assert "does not meet" in checks.message.sentence and "maker allows" in checks.message.sentence


@pytest.mark.parametrize(
    ("key", "right", "wrong"),
    # Published or from memory, as the limits' rows say: 25 mm from cables, 150 mm from boards, 600 mm and 10 mm2.
    [
        ("clear-of-cables", "25", "24"),
        ("clear-of-boards", "150", "149"),
        ("bond-place", "600", "601"),
        ("bond-size", "10", "6"),
    ],
)
def test_the_survey_asks_what_stands_near_the_pipe(key, right, wrong):
    panel = made("survey-checks", "03")
    panel.controls["which"].value = key
    assert "The site says: " in panel.question.value
    for number, said in ((right, " meets"), (wrong, "does not meet")):
        panel.controls["value"].value = number
        panel.controls["put"].click()
        assert said in panel.message.sentence


@pytest.mark.parametrize(
    ("chapter", "name", "key", "words"),
    [
        ("03", "survey-checks", "data-plate", "category I2H"),
        ("03", "survey-checks", "oven-isolated", "double-pole switch"),
        ("07", "worktop-checks", "cut-out", "laminate on chipboard"),
    ],
)
def test_the_list_says_what_the_plate_the_switch_and_the_worktop_are(chapter, name, key, words):
    panel = made(name, chapter)
    panel.controls["which"].value = key
    assert "The site says: " in panel.question.value and words in panel.question.value


@pytest.mark.parametrize(
    ("router", "key", "outcome"),
    # By hand over eight hours, a minute of the jigsaw at 94 dB(A) with 4, 6 or 20 minutes of the router at 100 dB(A):
    # 79.5, 81.2 and 86.3 dB(A).
    [(4, "noise-lower", "meets"), (6, "noise-lower", "does not meet"), (20, "noise-upper", "does not meet")],
)
def test_noise_has_two_values_to_act_on(router, key, outcome):
    """Regulation 4 of the noise regulations: 80 dB(A) to tell people and offer protection, 85 dB(A) to wear it."""
    panel = made("exposure")
    panel.controls["jigsaw"].value, panel.controls["router"].value = 1, router
    finding = panel.model["findings"][key]
    assert finding.outcome == outcome and finding.words in panel.text
    assert all(name in panel.view_svg for name in ("noise: tell", "noise: wear"))


def test_flame_supervision_time():
    # 30 mV to 2 mV at 10 s: 27.1 s (computed).
    panel = made("cooling")
    panel.controls["hot"].value, panel.controls["constant"].value = 30.0, 10.0
    assert panel.model["time"] == pytest.approx(27.1, abs=0.05)
    panel.controls["constant"].value = 25.0
    assert (
        panel.model["finding"].outcome == "does not meet"
    )  # 67.7 s, within 60 s (common practice, no source)


def test_a_minute_on_a_small_hob_is_digit_limited():
    panel = made("rate")
    panel.controls["time"].value = 60
    short = panel.model["rate"].uncertainty
    # 7 kW for a minute at 39.0 MJ/m3 is 0.0108 m3, so one digit of 0.001 m3 is about a tenth (by hand).
    assert "One digit is 10 %" in panel.text or "One digit is 9 %" in panel.text
    panel.controls["time"].value = 600
    assert panel.model["rate"].uncertainty < short / 3.0
    panel.controls["time"].value, panel.controls["heat"].value = 5, 1.0
    assert panel.model["rate"].uncertainty == math.inf and "No digit" in panel.text


def test_burnt_gas_reading():
    # Mix A, air ratio 2.0: CO2 5.68 %, O2 11.03 % (computed).
    panel = made("burning")
    panel.controls["air"].value = 2.0
    assert panel.model["co2"] == pytest.approx(0.0568, abs=0.00005)
    assert panel.model["oxygen"] == pytest.approx(0.1103, abs=0.00005)


def test_alarm_words_follow_the_published_times():
    panel = made("co-uptake")
    panel.controls["co"].value = 20
    assert "need not sound" in panel.text
    panel.controls["co"].value = 60
    assert "60 min" in panel.text and "90 min" in panel.text  # EN 50291 at 50 ppm
    panel.controls["co"].value = 400
    assert "within 3 min" in panel.text


@pytest.mark.parametrize("number", [f"{n:02d}" for n in range(1, 15)])
def test_say_first_then_look(number):
    page = open_chapter(number)
    panel, scene = page.predict(), SCENES[number](page)
    assert panel.controls["run"].disabled
    # Nothing gives the answer away before the run.
    assert f">{scene.text}<" not in panel.view_svg and scene.text not in panel.message.sentence
    panel.controls["guess"].value = f"{scene.high / 2:g}"
    panel.controls["lock"].click()
    panel.controls["run"].click()
    assert panel.model.state == "record"
    panel.controls["seen"].value = f"{scene.value:g}"
    panel.controls["check"].click()
    assert panel.model.state == "explain"
    right = next(o for o in page.words.prediction.reasons.options if o.right)
    panel.controls["reason"].value = right.text
    panel.controls["answer"].click()
    assert panel.model.state == "done" and right.says in panel.message.sentence


@pytest.mark.parametrize("number", [n for n in chapters.numbers() if chapters.words(n).decision])
def test_decisions_answer_each_choice_in_its_own_words(number):
    panel = open_chapter(number).decide()
    for option in panel.choice.options:
        panel.controls["answer"].value = option.text
        panel.controls["check"].click()
        assert option.says in panel.message.sentence
        assert panel.message.sentence.startswith("✓" if option.right else "✗")


def test_a_reading_goes_from_a_chapter_to_the_sheet():
    page = open_chapter("09")
    record = page.record()
    record.controls["which"].value = "working-pressure"
    record.controls["value"].value = "17.8"
    record.controls["put"].click()
    assert "does not meet" in record.message.sentence  # 18.5 to 23 mbar (IGEM/G/13, published)
    sheet = open_chapter("14").panel("sheet")
    sheet.controls["make"].click()
    assert "17.8" in sheet.model["page"] and "does not meet" in sheet.model["page"]
    assert "NOT A GAS SAFETY RECORD" in sheet.model["page"]


def test_an_unconfirmed_limit_cannot_judge():
    record = open_chapter("04").record()
    record.controls["which"].value = "first-test-drop"
    record.controls["value"].value = "0.6"
    record.controls["put"].click()
    assert "annot judge" in record.message.sentence


def test_advice_declined_is_kept_by_whom_and_when():
    page = open_chapter("13")
    panel = page.panel("advice")
    panel.controls["point"].value, panel.controls["given"].value = "CO alarm", "Fit one in the hall"
    panel.controls["by"].value = "the tenant"
    panel.controls["keep"].click()
    kept = open_chapter("14").job.advice[-1]
    assert (kept.point, kept.declined_by) == ("CO alarm", "the tenant") and kept.when
    panel.controls["point"].value = " "
    panel.controls["keep"].click()
    assert "needed some words" in panel.message.sentence


def test_six_findings_to_sort():
    panel = made("findings", "13")
    for row in panel.rows:
        panel.controls["action"].value = row["action"]
        panel.controls["check"].click()
        assert row["why"] in panel.message.sentence
    assert panel.right == len(panel.rows)
    panel.controls["again"].click()
    assert panel.at == 0


def test_bench_exercises_replay_by_their_number():
    panel = made("bench-tightness", "04")
    panel.begin(1003)
    first = panel.model.truth()["faults"]
    panel.begin(1004)
    panel.controls["number"].value = "1003"
    panel.controls["new"].click()
    assert panel.model.truth()["faults"] == first
    for bad in ("ten", "-1", "1.5", "99999999"):
        panel.controls["number"].value = bad
        panel.controls["new"].click()
        assert "whole number" in panel.message.sentence
    assert panel.seed == 1003


def test_the_bench_never_shows_its_truth_before_the_debrief():
    panel = made("bench-whole-job", "15")
    panel.begin(1001)
    titles = [fault.kind.title for fault in panel.model.faults]
    assert len(titles) >= 2
    seen = panel.text + panel.view_svg + panel.log_lines.value + panel.status.value
    assert not [title for title in titles if title in seen]
    panel.controls["truth"].click()
    from html import unescape

    told = unescape(panel.log_lines.value)
    assert all(title in told for title in titles)


def test_an_instructor_enters_a_limit_and_the_sheet_says_who():
    panel = made("enter-limit", "00")
    drop = next(name for name, row in panel.rows.items() if row.key == "permitted-drop")
    panel.controls["which"].value = drop
    panel.controls["value"].value = "5"
    panel.controls["put"].click()
    assert "must be filled in" in panel.message.sentence  # edition, clause and name are asked for
    for name, words in (("edition", "Edition X"), ("clause", "7.3"), ("entered_by", "A. Instructor")):
        panel.controls[name].value = words
    panel.controls["put"].click()
    assert "Entered" in panel.message.sentence
    record = open_chapter("04").record()
    record.controls["which"].value = "first-test-drop"
    record.controls["value"].value = "0.6"
    record.controls["put"].click()
    assert "meets" in record.message.sentence and "A. Instructor" in record.message.sentence
    sheet = open_chapter("14").panel("sheet")
    sheet.controls["make"].click()
    assert all(words in sheet.model["page"] for words in ("Edition X", "7.3", "A. Instructor"))


@pytest.mark.parametrize(
    "name", ["survey-checks", "run-checks", "worktop-checks", "live-checks", "handover-checks"]
)
def test_every_easily_left_out_part_is_judged_or_says_what_is_missing(name):
    panel = made(name, "03")
    for key in panel.checks:
        panel.controls["which"].value = key
        panel.controls["value"].value = "0"
        panel.controls["put"].click()
        said = panel.message.sentence
        assert said[0] in "✓✗?" and "is not known" not in said, said
    assert f"{len(panel.checks)} of {len(panel.checks)}" in panel.text


@pytest.mark.parametrize("name", ["bench-tightness", "bench-pressures", "bench-rate", "bench-supervision"])
def test_a_hidden_fault_is_there_on_its_bench(name):
    exercise = exercises.EXERCISES[name]
    for number in range(1000, 1200):
        for fault in exercises.hidden(sites.load(), exercise, number):
            assert fault.there(sites.load(), exercise.stage), (number, fault)


@pytest.mark.parametrize("name", list(exercises.EXERCISES))
def test_no_run_of_job_numbers_tells_whether_something_hides(name):
    """Not the odd numbers, not the even ones, not each third: every such run has each count of faults in it."""
    site, exercise = sites.load(), exercises.EXERCISES[name]
    counts = {number: len(exercises.hidden(site, exercise, number)) for number in range(400)}
    every = set(range(exercise.fewest, exercise.most + 1))
    assert set(counts.values()) == every
    for step in range(2, 8):
        for start in range(step):
            assert {counts[number] for number in range(start, 400, step)} == every, (step, start)


def test_asking_for_a_fault_adds_one_and_changes_no_other():
    site, exercise = sites.load(), exercises.EXERCISES["bench-pressures"]
    for number in range(60):
        alone, asked = (exercises.hidden(site, exercise, number, least) for least in (None, 1))
        assert len(asked) == 1 and asked[: len(alone)] == alone


def test_the_error_chart_sweeps_the_limit_of_the_exercise():
    panel = made("test-errors", "04")
    told = []
    for limit in (1.0, 4.0):
        panel.controls["limit"].value = limit
        told.append([row.tight for row in panel.model["rows"]])
        assert f"{limit:.1f} mbar" in panel.text and "not the standard's" in panel.text
    # A wider limit calls more of the same homes tight.
    assert all(more > fewer for fewer, more in zip(*told, strict=True))
