"""A new look is taken at once by every open picture, and nothing that was done or typed is lost."""

import re

import numpy as np
import pytest

from gaslab.refit.exercises import EXERCISES
from gaslab.show import bench_view, palette, pictures, stage
from gaslab.show.chapter import INSTRUMENTS, open_chapter
from gaslab.show.charts import Axis
from gaslab.show.panels.classroom import ShowPanel
from gaslab.show.panels.common import LookPanel

PICTURES = sorted(set(INSTRUMENTS) - set(EXERCISES))
# The ground of each picture.
OWN = {"night": palette.NIGHT.card.lower(), "cream": palette.CREAM.card.lower()}


@pytest.fixture(autouse=True)
def usual_look():
    yield
    palette.use("cream")


def colours(svg: str) -> set[str]:
    return {colour.lower() for colour in re.findall(r"#[0-9A-Fa-f]{6}\b", svg)}


def chart(**look):
    made = pictures.line_chart(
        "Loss", Axis("Rate", "m³/h", 0.0, 6.0), Axis("Loss", "mbar", 0.0, 2.0), ("one", "other"), limit=(1.0, "1 mbar"),
        **look,
    )  # fmt: skip
    made.put("one", [0.0, 6.0], [0.0, 1.5])
    made.put("other", [0.0, 3.0, 6.0], [1.0, 0.5, 0.0])
    made.read(3.0, 0.75, "0.75 mbar")
    return made


def test_a_chart_made_before_the_look_changed_is_the_chart_made_after():
    before = chart()
    before.svg("words")
    palette.use("night")
    assert before.svg("words") == chart().svg("words")
    assert OWN["night"] in colours(before.svg("words")) and OWN["cream"] not in colours(before.svg("words"))
    np.testing.assert_array_equal(before.artists["other"].get_data(), ([0.0, 3.0, 6.0], [1.0, 0.5, 0.0]))


def test_a_reading_that_was_taken_off_does_not_come_back_with_the_look():
    before = chart()
    before.take_off_reading()
    palette.use("night")
    assert "0.75 mbar" not in before.svg("words")


def test_a_chart_with_a_look_of_its_own_keeps_it():
    own = chart(look=palette.NIGHT)
    before = own.svg("words")
    palette.use("white")
    assert own.svg("words") == before


@pytest.mark.parametrize("name", PICTURES)
def test_every_open_picture_takes_the_look_and_keeps_what_was_set(name):
    panel = open_chapter("05").panel(name)
    number = next((c for c in panel.controls.values() if hasattr(c, "box")), None)
    if number is not None:
        number.minus.click()
        number.box.value = "ninety"  # typed, and not taken
    model, words, kept = panel.model, panel.text, panel._raw()
    usual = panel.view_svg
    assert OWN["cream"] in colours(usual)
    stage.look("night")
    assert OWN["night"] in colours(panel.view_svg) and OWN["cream"] not in colours(panel.view_svg)
    assert panel.model is model and panel.text == words and panel._raw() == kept
    assert number is None or number.box.value == "ninety"
    stage.look("cream")
    assert panel.view_svg == usual


def test_what_a_panel_said_is_still_there_in_the_new_look():
    panel = open_chapter("04").panel("leak-and-drop")
    panel.message.say("The value before it was kept.", "bad")
    stage.look("night")
    assert panel.message.sentence == "The value before it was kept."


@pytest.fixture
def bench():
    panel = open_chapter("04").panel("bench-tightness")
    panel.begin(1001)
    for action, values in (("connect gauge", {"kind": "fine-gauge"}), ("close", {"valve": "control"})):
        panel.controls["action"].value = action
        for name, value in values.items():
            panel.values[name].value = value
        panel.controls["do"].click()
        panel.controls["step on"].click()
    panel.controls["instrument"].value = "gauge"
    panel.controls["read"].click()
    panel.controls["action"].value = "let pressure out"
    panel.values["to"].value = "8.5 or so"
    panel.controls["number"].value = "77"
    return panel


@pytest.mark.parametrize("look", bench_view.VIEWS.values())
@pytest.mark.parametrize("turn", ["night", "stage"])
def test_the_bench_is_drawn_in_the_new_look_with_clock_readings_and_typed_values_as_they_were(
    bench, look, turn
):
    bench.controls["look at"].value = look
    usual, model, truth = bench.view_svg, bench.model, bench.model.truth()
    said = (bench.text, bench.status.value, bench.log_lines.value, list(bench.trace), bench.model.record())
    assert OWN["cream"] in colours(usual)
    stage.on() if turn == "stage" else LookPanel().controls["look"].set_trait("value", turn)
    assert OWN["cream"] not in colours(bench.view_svg)
    afresh = bench_view.BenchView().svg(look, bench.seen, model.site.hob(model.plant.stage), bench.trace)
    assert colours(bench.view_svg) == colours(afresh) != colours(usual)
    assert bench.model is model and bench.model.truth() == truth and bench.model.time == 20.0
    assert said == (
        bench.text,
        bench.status.value,
        bench.log_lines.value,
        list(bench.trace),
        bench.model.record(),
    )
    assert bench.controls["action"].value == "let pressure out" and bench.values["to"].value == "8.5 or so"
    assert bench.controls["number"].value == "77" and bench.controls["look at"].value == look
    stage.off()
    stage.look("cream")
    assert bench.view_svg == usual


def test_what_was_put_off_the_screen_takes_no_new_look_any_more():
    """Else each new look would draw everything again that was ever shown."""
    wall = ShowPanel(open_chapter("05"), INSTRUMENTS)
    wall.controls["topic"].value = "leak-and-drop"
    wall.controls["put"].click()
    first = wall.shown
    wall.controls["put"].click()
    stage.look("night")
    assert OWN["cream"] in colours(first.view_svg) and OWN["night"] in colours(wall.shown.view_svg)
