"""Panels, driven without a browser: values set, buttons pressed, pictures and sentences read."""

from __future__ import annotations

from decimal import Decimal

import ipywidgets
import pytest
import traitlets

from gaslab.guard import InputError
from gaslab.learn import feedback, items
from gaslab.learn.chance import Chance
from gaslab.learn.chapters import Choice, Option, Prediction
from gaslab.learn.progress import Progress
from gaslab.refit import criteria, lenses
from gaslab.refit import site as sites
from gaslab.show import palette, stage, views
from gaslab.show.drawings import gauges, pipes
from gaslab.show.panels import controls, learning, predict
from gaslab.show.panels.base import Panel, Shown
from gaslab.show.panels.question import QuestionPanel

HOME = sites.load()


def _length():
    return controls.number_control("Kitchen run", "m", 1.0, 20.0, 0.1, 2.1, 1)


def _show(values):
    site = HOME.with_changes({"runs.kitchen.length": values["length"], "runs.kitchen.pipe": values["pipe"]})
    loss = lenses.loss_to(site, "hob")
    svg = pipes.pipe_isometric(pipes.lines_of(site, lenses.sizing(site)))
    return Shown(svg, views.line("Loss to the hob", views.number(loss, "fine pressure")))


def _panel():
    pipe = controls.choice("Pipe", {"15 mm copper": "copper-15", "22 mm copper": "copper-22"})
    return Panel("Change the kitchen run.", {"length": _length(), "pipe": pipe}, _show, title="Pipe size")


# The number control


def test_box_slider_and_value_move_together():
    control = _length()
    control.box.value = "9.5"
    assert control.value == 9.5 and control.slider.value == 85 and control.si == 9.5
    control.slider.value = 3
    assert control.value == 1.3 and control.box.value == "1.3"
    control.plus.click()
    assert control.value == 1.4 and control.slider.value == 4
    control.minus.click()
    control.minus.click()
    assert control.value == 1.2
    control.value = 20.0
    assert control.box.value == "20.0" and control.slider.value == control.slider.max


def test_every_tick_of_the_slider_is_a_clean_number():
    control = _length()
    for tick in range(control.slider.max + 1):
        control.slider.value = tick
        assert control.value == float(Decimal(1) + tick * Decimal("0.1"))
        assert len(control.box.value) <= 4


@pytest.mark.parametrize(
    "text",
    [
        "",
        "ninety",
        "2l",
        "0.9",
        "20.1",
        "-3",
        "1e1",
        "nan",
        "inf",
        "1,200",
        "９",
        "2.1 m",
        "3/2",
        "=1+1",
        "1" * 40,
    ],
)
def test_what_cannot_be_used_leaves_the_value_alone_and_says_why(text):
    control = _length()
    control.box.value = text
    assert control.value == 2.1 and control.slider.value == 11
    if text:
        assert (
            control.message.sentence.startswith("Kitchen run: read “")
            and "needed a number from 1.0 to 20.0 m" in control.message.sentence
        )
        assert "left as it was" in control.message.sentence
    assert control.box.value == text, "what was typed is not lost"
    control.box.value = "3"
    assert control.value == 3.0 and control.message.sentence == ""


def test_a_typed_number_between_two_ticks_is_kept_as_typed():
    control = _length()
    control.box.value = "2.157"
    assert control.value == 2.157 and control.box.value == "2.157"
    control.box.value = "4,5"
    assert control.value == 4.5 and control.message.sentence == "I read that as 4.5 m."


def test_the_ends_are_told_and_not_passed():
    control = _length()
    control.value = 20.0
    control.plus.click()
    assert control.value == 20.0 and "that is the end" in control.message.sentence


@pytest.mark.parametrize("bad", [0.0, 21.0, float("nan"), float("inf")])
def test_code_cannot_set_a_value_out_of_range(bad):
    control = _length()
    with pytest.raises(traitlets.TraitError, match="Kitchen run"):
        control.value = bad
    assert control.value == 2.1


def test_a_message_escapes_what_was_typed():
    control = _length()
    control.box.value = "<img src=x>"
    assert "<img" not in control.message.value and "&lt;img" in control.message.value


def test_every_control_has_a_name_and_the_slider_is_left_to_the_mouse():
    control = _length()
    assert control.children[0] is control.box  # first for the keyboard
    assert control.box.description == "Kitchen run [m]"
    assert (control.minus.description, control.plus.description) == ("Kitchen run: less", "Kitchen run: more")
    assert control.slider.readout is False
    style = _panel().style.value
    assert ".noUi-handle { visibility:hidden" in style and ".noUi-touch-area { visibility:visible" in style
    assert "min-height:44px" in style


def test_an_si_value_is_handed_on():
    assert controls.number_control("Pressure", "mbar", 0, 30, 0.1, 21, 1).si == pytest.approx(2100.0)


# The panel


def test_moving_a_control_changes_picture_and_text():
    panel = _panel()
    before = panel.view_svg, panel.text
    panel.controls["length"].value = 15.0
    site = HOME.changed("runs.kitchen.length", 15.0)
    assert panel.view_svg != before[0] and "15.00 m" in panel.view_svg
    assert panel.text == f"Loss to the hob = {lenses.loss_to(site, 'hob') / 100:.2f} mbar"
    panel.controls["pipe"].value = "copper-22"
    wider = site.changed("runs.kitchen.pipe", "copper-22")
    assert panel.text == f"Loss to the hob = {lenses.loss_to(wider, 'hob') / 100:.2f} mbar"


def test_an_error_for_the_trainee_is_said_and_the_last_good_value_comes_back():
    def show(values):
        if values["length"] > 10.0:
            raise InputError("flow.x", "length", "at most 10 m", values["length"], "Shorten it.")
        return Shown(gauges.stopwatch(values["length"]), f"{values['length']:.1f}")

    panel = Panel("Move it.", {"length": _length()}, show)
    panel.controls["length"].value = 9.0
    picture = panel.view_svg
    panel.controls["length"].value = 12.0
    assert panel.controls["length"].value == 9.0 and panel.view_svg == picture and panel.text == "9.0"
    assert "must be at most 10 m" in panel.message.sentence and "was kept" in panel.message.sentence
    panel.controls["length"].value = 4.0
    assert panel.text == "4.0" and panel.message.sentence == ""


@pytest.mark.parametrize("error", [KeyError("x"), ValueError("x"), ZeroDivisionError("x"), TypeError("x")])
def test_a_mistake_of_ours_is_never_swallowed(error):
    def show(values):
        if values["length"] > 10.0:
            raise error
        return Shown("", "")

    panel = Panel("Move it.", {"length": _length()}, show)
    with pytest.raises(type(error)):
        panel.controls["length"].value = 12.0
    assert panel.controls["length"].value == 2.1


def test_a_plain_viewer_gets_one_sentence():
    panel = _panel()
    bundle = panel._repr_mimebundle_()
    assert bundle["text/plain"] == "Change the kitchen run." == repr(panel)
    assert set(bundle) == {"text/plain", "application/vnd.jupyter.widget-view+json"}


def test_more_than_three_controls_are_refused():
    with pytest.raises(ValueError, match="at most 3"):
        Panel("x", {str(n): _length() for n in range(4)}, lambda values: Shown("", ""))


def test_a_verdict_shows_as_mark_word_and_tone():
    def show(values):
        finding = criteria.Finding(
            "k",
            "does not meet",
            "1.2 mbar does not meet: the limit is 1 mbar",
            120.0,
            None,
            None,
            "read again",
        )
        return Shown("", "Drop 1.2 mbar.", views.verdict(finding))

    panel = Panel("x", {"length": _length()}, show)
    assert panel.text == "Drop 1.2 mbar. ✗ 1.2 mbar does not meet: the limit is 1 mbar. Note: read again."
    assert 'class="gl-bad"' in panel.result.value


def test_open_panels_take_a_new_look():
    panel = _panel()
    try:
        stage.on()
        assert palette.STAGE.ink in panel.view_svg and "font-size:42px" in panel.style.value
        stage.off()
        assert palette.CREAM.card in panel.view_svg
        stage.look("night")
        assert palette.NIGHT.card in panel.view_svg
    finally:
        stage.look("cream")


# Predict, run, record, explain

PREDICTION = Prediction(
    "What will the gauge show?", "mbar",
    Choice("Why?", (Option("Gas rubs.", True, "Yes. Gas rubs."), Option("It is hot.", False, "Heat has no part."))),
)  # fmt: skip


def _predict(**kept):
    runs = []

    def run():
        runs.append(1)
        return predict.Run(19.4, "19.4 mbar", 0.1)

    def scene(seen):
        return gauges.electronic_gauge(0.0 if seen is None else 1940.0)

    panel = predict.PredictPanel(PREDICTION, 0.0, 30.0, run, scene, **kept)
    return panel, panel.controls, runs


def test_nothing_runs_before_a_prediction_is_locked():
    panel, controls_, runs = _predict()
    assert controls_["run"].disabled
    controls_["run"].click()
    assert runs == [] and panel.model.state == predict.PREDICT
    for text in ("", "lots", "1,200"):
        controls_["guess"].value = text
        controls_["lock"].click()
        assert panel.model.state == predict.PREDICT and panel.message.sentence.startswith("Your guess: ")
    assert "19.4" not in panel.view_svg


def test_the_four_stages_in_order():
    kept = []
    panel, c, runs = _predict(on_record=kept.append, on_done=lambda told: kept.append(told.reason))
    c["guess"].value = "18"
    c["lock"].click()
    assert panel.model.state == predict.RUN and not c["run"].disabled and c["guess"].disabled
    assert (
        "guess 18" in panel.scale.value
        and 'stroke-dasharray="9 7"' in panel.scale.value
        and "19.4" not in panel.scale.value
    )
    c["run"].click()
    c["run"].click()
    assert runs == [1] and panel.model.state == predict.RECORD and "19.4" in panel.view_svg
    assert panel.scale.value == "", "the figure waits until the picture has been read"
    c["seen"].value = "19.6"
    c["check"].click()
    assert panel.model.state == predict.RECORD and "Look again" in panel.message.sentence and kept == []
    c["seen"].value = "19.5"
    c["check"].click()
    assert panel.model.state == predict.EXPLAIN and kept == [Decimal("19.5")]
    assert "19.4 mbar" in panel.scale.value and "guess 18" in panel.scale.value
    c["answer"].click()
    assert "Choose one reason" in panel.message.sentence
    c["reason"].value = "It is hot."
    c["answer"].click()
    assert panel.model.state == predict.EXPLAIN and "Heat has no part." in panel.message.sentence
    c["reason"].value = "Gas rubs."
    c["answer"].click()
    assert (
        panel.model.state == predict.DONE
        and panel.message.sentence == "✓ Yes. Gas rubs."
        and kept[-1] == "Gas rubs."
    )


@pytest.mark.parametrize(
    ("seen", "good"), [("19.3", True), ("19.5", True), ("19.29", False), ("19.51", False), ("1940", False)]
)
def test_a_reading_counts_within_one_step_of_the_instrument(seen, good):
    panel, c, _ = _predict()
    c["guess"].value = "1"
    c["lock"].click()
    c["run"].click()
    c["seen"].value = seen
    c["check"].click()
    assert (panel.model.state == predict.EXPLAIN) is good


def test_after_three_looks_the_reading_is_told_and_what_was_read_is_kept():
    kept = []
    panel, c, _ = _predict(on_record=kept.append)
    c["guess"].value = "1"
    c["lock"].click()
    c["run"].click()
    for _try in range(3):
        c["seen"].value = "91.4"
        c["check"].click()
    assert panel.model.state == predict.EXPLAIN and kept == [Decimal("91.4")]
    assert "It shows 19.4 mbar. Your 91.4 is kept" in panel.message.sentence


# Questions


def _question(**kept):
    variant = items.draw("gas-rate-metric", Chance(b"panel"))
    return QuestionPanel(lambda: variant, **kept), variant


def _give(panel, value, unit):
    panel.controls["answer"].value = value
    panel.controls["unit"].value = unit
    panel.controls["check"].click()


def test_right_answers_go_through_to_the_end():
    done, marks = [], []
    panel, variant = _question(
        on_done=lambda v, p: done.append(p), on_mark=lambda *args: marks.append(args[2].outcome)
    )
    for step in variant.steps:
        _give(panel, f"{step.value:.{step.places if step.places is not None else 4}f}", step.unit)
    assert panel.model.done and len(done) == 1 and done[0].clean
    assert set(marks) == {"right"} and "That is the whole sum." in panel.message.sentence


def _answered(family, params):
    """Return a panel on which every step of a question was answered right."""
    panel = QuestionPanel(lambda: items.variant(family, params))
    for step in panel.variant.steps:
        _give(panel, f"{step.value:.{step.places if step.places is not None else 6}f}", step.unit)
    assert panel.model.done
    return panel


def test_the_decision_on_a_limit_is_asked_last_and_told():
    """500 ppm CO and 9.0 % CO2 make a ratio of 0.0056, over 0.0040 (by hand): no, it does not meet."""
    panel = _answered("co-ratio", {"co": 500, "co2": 9.0})
    c = panel.controls
    assert panel.deciding.layout.display == "" and "0.0040" in panel.limit_ask.value
    c["decide"].click()
    assert panel.message.sentence == "Choose yes or no first."
    c["decision"].value = "No"
    c["decide"].click()
    assert panel.message.sentence.startswith("✓ Right.") and panel.deciding.layout.display == "none"


def test_a_decision_that_would_be_unsafe_says_so():
    panel = _answered("co-ratio", {"co": 500, "co2": 9.0})
    panel.controls["decision"].value = "Yes"
    panel.controls["decide"].click()
    said = panel.message.sentence
    assert (
        said.startswith("✗ Look again.")
        and "pass something that does not meet" in said
        and "may not be left in use" in said
    )
    panel.controls["new"].click()
    assert panel.deciding.layout.display == "none"


def test_a_question_without_a_limit_asks_for_no_decision():
    panel = _answered("gas-rate-metric", {"start": 8.436, "used": 0.088, "time": 122, "cv": 38.7})
    assert panel.variant.limits == () and panel.deciding.layout.display == "none"


def test_feedback_locates_names_cues_and_then_works_the_step():
    panel, variant = _question()
    step = variant.steps[0]
    _give(panel, "99999", step.unit)
    said = panel.message.sentence
    assert said.index("step 1") < said.index(step.cue) < said.index("Try again")
    assert step.worked not in said and panel.model.step == 0
    _give(panel, "99999", step.unit)
    assert (
        step.worked in panel.message.sentence and panel.model.step == 1 and panel.model.helped == (step.id,)
    )


def test_a_named_slip_is_named():
    panel, variant = _question()
    index, step = next((n, s) for n, s in enumerate(variant.steps) if s.slips)
    panel.model = feedback.Progression(step=index)
    panel._ask()
    slip = step.slips[0]
    _give(panel, f"{slip.value:.6f}", step.unit)
    assert slip.says in panel.message.sentence


def test_nothing_is_marked_without_a_number_and_a_unit():
    marks = []
    panel, variant = _question(on_mark=lambda *args: marks.append(args))
    panel.controls["check"].click()
    panel.controls["answer"].value = "five"
    panel.controls["check"].click()
    assert marks == [] and panel.model.step == 0 and panel.message.sentence
    if len(variant.steps[0].units_offered) > 1:
        panel.controls["answer"].value = "5"
        panel.controls["check"].click()
        assert marks == [] and "choose the unit" in panel.message.sentence


def test_worked_steps_come_first_and_fade_from_the_end():
    panel, variant = _question(worked=len(variant_steps()) - 1)
    assert panel.model.step == len(variant.steps) - 1
    for step in variant.steps[:-1]:
        assert step.worked.split(" ")[0] in panel.steps.value
    panel.controls["show"].click()
    assert panel.model.done and panel.model.helped == (variant.steps[-1].id,)
    panel.controls["new"].click()
    assert not panel.model.done and panel.message.sentence == ""


def variant_steps():
    return items.draw("gas-rate-metric", Chance(b"panel")).steps


def test_the_answer_is_nowhere_before_it_is_given():
    panel, variant = _question()
    last = variant.steps[-1]
    words = panel.stem.value + panel.steps.value + panel.ask.value + panel.view_svg
    assert last.worked not in words


def test_messages_and_widgets_are_stock():
    # No browser code of our own: every widget is one that ipywidgets ships.
    control = _length()
    assert isinstance(control, ipywidgets.VBox) and control._model_module == "@jupyter-widgets/controls"


def test_a_step_that_is_shown_is_kept_as_shown(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    progress = Progress.load()
    panel = learning.question(progress, lambda: items.draw("gas-rate-metric", Chance(b"panel")), "")
    for _ in panel.variant.steps:
        panel.controls["show"].click()
    assert panel.model.done
    kept = Progress.load().attempts
    assert [one.outcome for one in kept] == ["shown"] * len(panel.variant.steps)
    assert sum(one.last_step for one in kept) == 1
