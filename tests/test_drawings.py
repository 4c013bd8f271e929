"""Every drawing: well-formed, titled, escaped, its numbers those of the model, its words inside the sheet and apart."""

from __future__ import annotations

import dataclasses
import itertools
import math
import re

import pytest
from lxml import etree

from gaslab import units
from gaslab.learn import items
from gaslab.learn.chance import Chance
from gaslab.refit import lenses
from gaslab.refit import site as sites
from gaslab.show import palette
from gaslab.show.drawings import burning, cutting, gauges, hob, meters, pipes, readings, rooms, scale
from gaslab.show.drawings.canvas import SMALL as SMALLEST
from gaslab.show.drawings.canvas import numbered, text_box
from gaslab.show.palette import LOOKS

SVG = "{http://www.w3.org/2000/svg}"
SITES = [sites.load(key) for key in ("alder-court", "tern-yard")]


def _of_site(site, look=None):
    near = {c.id: c for c in site.clearances}
    sizing = lenses.sizing(site)
    new = site.hob()
    lit = {burner.id: 0.3 + 0.1 * n for n, burner in enumerate(new.burners)}
    yield "pipes", pipes.pipe_isometric(pipes.lines_of(site, sizing), start_text="21.00 mbar", look=look)
    yield "pipe names", pipes.pipe_isometric(pipes.lines_of(site), look=look)
    yield "hob", hob.hob_plan(new, lit, site.clearances, look=look)
    yield "hob off", hob.hob_plan(site.hob("before"), look=look)
    yield (
        "elevation",
        hob.hob_elevation(
            near["above"], near.get("shelf"), near.get("below"), outcome="does not meet", look=look
        ),
    )
    for room in site.rooms:
        yield f"room {room.id}", rooms.room_plan(room, window_open=True, look=look)
        yield f"room {room.id} vent", rooms.room_plan(dataclasses.replace(room, free_area=0.01), look=look)
    yield "cut-out", cutting.cut_out(site.worktop, outcomes={"front": "does not meet"}, look=look)
    for which in ("new", "old"):
        yield f"oven {which}", cutting.oven_void(site.oven, which, look=look)
    for offset in (0.0, 0.1, 0.6):
        oven = dataclasses.replace(site.oven, rise_offset=offset)
        yield f"rise {offset}", cutting.rise_place(oven, outcome="meets", look=look)


QUESTIONS = {
    family: items.draw(family, Chance(b"drawn")).reading
    for family, one in sorted(items.families().items())
    if one.instrument
}


def _instruments(look=None):
    for family, reading in QUESTIONS.items():
        yield f"question {family}", readings.instrument(reading, look=look)
    for pascal in (-1500.0, 0.0, 2112.0, 3000.0):
        yield f"water {pascal}", gauges.water_gauge(pascal, look=look)
    yield "water unread", gauges.water_gauge(1870.0, number=False, look=look)
    for pascal in (-5.0, 2112.0, 10_000.0):
        yield (
            f"electronic {pascal}",
            gauges.electronic_gauge(pascal, places=2, label="hob test point", look=look),
        )
    for seconds in (0.0, 59.96, 83.4, 3599.9):
        yield f"watch {seconds}", gauges.stopwatch(seconds, look=look)
    for volt in (0.0, 0.0214, 0.04):
        yield f"dial {volt}", gauges.emf_dial(volt, hold=0.005, release=0.002, look=look)
    for volume in (0.0, 4812.3679, 99_999.999):
        yield f"metric {volume}", meters.metric_index(volume, look=look)
        yield f"ultrasonic {volume}", meters.ultrasonic_index(volume, look=look)
        yield f"imperial {volume}", meters.imperial_index(volume, feet_per_turn=2.0, look=look)
    for kind in ("steady", "lift", "light-back", "yellow tip"):
        yield kind, burning.flame_picture(kind, look=look)
    yield "combustion", burning.combustion_reading(83e-6, 0.083, 0.062, label="after 15 min", look=look)
    yield "combustion air", burning.combustion_reading(0.0, 0.0, 0.209, look=look)
    for guess, result in ((0.6, None), (0.6, 0.94), (3.0, 1.8), (0.0, 0.02), (1.0, 1.0)):
        yield (
            f"scale {guess} {result}",
            scale.prediction_scale(0.0, 2.0, "mbar", predictions=[guess], result=result, look=look),
        )
    yield (
        "tally",
        scale.prediction_scale(0.0, 2.0, "mbar", predictions=[0.5] * 12 + [1.2, 1.9], result=0.9, look=look),
    )


ALL = [(f"{site.key} {name}", svg) for site in SITES for name, svg in _of_site(site)] + list(_instruments())
NAMES = [name for name, _ in ALL]


def _tree(svg):
    return etree.fromstring(svg.encode("utf-8"), etree.XMLParser(resolve_entities=False, no_network=True))


def _texts(tree):
    """Return (text, box, turned) of each text. A turned one is left out of the overlap check."""
    for node in tree.iter(f"{SVG}text"):
        size = float(node.get("font-size"))
        box = text_box(
            float(node.get("x")),
            float(node.get("y")),
            node.text or "",
            size,
            node.get("text-anchor"),
            node.get("font-weight") == "700",
        )
        yield node.text or "", box, node.getparent().get("transform") is not None


def _said(svg):
    return [text for text, _, _ in _texts(_tree(svg))]


@pytest.mark.parametrize(("name", "svg"), ALL, ids=NAMES)
def test_it_is_well_formed_and_titled_and_described(name, svg):
    tree = _tree(svg)
    assert (
        tree.tag == f"{SVG}svg" and tree.get("role") == "img" and tree.get("viewBox").startswith("0 0 640 ")
    )
    ids = tree.get("aria-labelledby").split()
    title, desc = tree.find(f"{SVG}title"), tree.find(f"{SVG}desc")
    assert [title.get("id"), desc.get("id")] == ids
    assert len(title.text) > 3 and len(desc.text) > 10
    every = [node.get("id") for node in tree.iter() if node.get("id")]
    assert len(every) == len(set(every))
    # Nothing that runs or fetches.
    assert not re.search(r"<script|\son\w+=|href=|url\(|<image|<foreignObject", svg)


@pytest.mark.parametrize(("name", "svg"), ALL, ids=NAMES)
def test_no_word_is_cut_off_and_none_lies_on_another(name, svg):
    tree = _tree(svg)
    high = float(tree.get("viewBox").split()[3])
    upright = [(text, box) for text, box, turned in _texts(tree) if not turned]
    for text, box in upright:
        assert box.left >= -1.0 and box.right <= 641.0, text
        assert box.top >= -1.0 and box.bottom <= high + 1.0, text
    for (one, a), (other, b) in itertools.combinations(upright, 2):
        smaller = min((x.right - x.left) * (x.bottom - x.top) for x in (a, b))
        assert a.overlap(b) <= 0.06 * smaller, (one, other)


@pytest.mark.parametrize(("name", "svg"), ALL, ids=NAMES)
def test_the_smallest_text_can_be_read_from_the_back_of_the_room(name, svg):
    assert min(float(node.get("font-size")) for node in _tree(svg).iter(f"{SVG}text")) >= SMALLEST


@pytest.mark.parametrize("look", LOOKS.values(), ids=list(LOOKS))
def test_every_look_draws_the_same_words(look):
    drawn = [svg for site in SITES for _, svg in _of_site(site, look)] + [
        svg for _, svg in _instruments(look)
    ]
    assert [_said(svg) for svg in drawn] == [_said(svg) for _, svg in ALL]
    assert look.card in drawn[0]


def test_the_water_gauge_shows_half_the_pressure_in_each_limb():
    svg = gauges.water_gauge(2112.0)
    said = _said(svg)
    assert said.count("10.56") == 2 and "21.1" in said
    assert "below zero" in svg and "Together: 21.1 mbar." in svg
    left, right = (
        float(x)
        for x in re.search(
            r'd="M190.0 ([\d.]+) V270 [^"]* V([\d.]+)" fill="none" stroke="#0072B2"', svg
        ).groups()
    )
    # The levels stand as far apart as the scale says: 15 mbar of scale is 126 units.
    assert left - right == pytest.approx(21.12 * 126.0 / 15.0, abs=0.11)


def test_the_unread_water_gauge_does_not_say_the_sum():
    svg = gauges.water_gauge(1870.0, number=False)
    assert "18.7" not in svg and svg.count("9.35") >= 3


@pytest.mark.parametrize(
    ("volume", "black", "red"),
    [
        (4812.3679, "04812", "367"),
        (0.0009999, "00000", "000"),
        (0.001, "00000", "001"),
        (99_999.9999, "99999", "999"),
        (7.29, "00007", "290"),
    ],
)
def test_a_metric_index_never_rounds_up(volume, black, red):
    digits = [text for text in _said(meters.metric_index(volume)) if len(text) == 1]
    assert "".join(digits) == black + red
    assert f"{black}.{red}" in _said(meters.ultrasonic_index(volume))


def test_the_imperial_index_and_its_dial_agree():
    # 1 ft3 = 0.028316846592 m3 exactly (0.3048 m cubed).
    svg = meters.imperial_index(1234.75 * 0.3048**3, feet_per_turn=1.0)
    assert "".join(t for t in _said(svg)[2:8]) == "001234"
    assert "The test dial stands at 0.75 of 1 cubic feet" in svg
    x1, y1, x2, y2 = (
        float(v)
        for v in re.search(
            r'x1="(512.0)" y1="(180.0)" x2="([\d.]+)" y2="([\d.]+)" stroke="#A82700"', svg
        ).groups()
    )
    assert math.degrees(math.atan2(x2 - x1, y1 - y2)) % 360 == pytest.approx(270.0, abs=0.2)


def test_the_stopwatch_rounds_to_a_tenth_and_carries_the_minute():
    assert "1:00.0" in _said(gauges.stopwatch(59.96))
    assert "1:23.4" in _said(gauges.stopwatch(83.44))


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.key)
def test_the_pipe_run_shows_the_model_and_is_to_scale(site):
    sizing = lenses.sizing(site)
    lines = pipes.lines_of(site, sizing)
    said = _said(pipes.pipe_isometric(lines))
    for run in site.runs:
        assert f"{run.length:.2f} m" in said
        assert f"{sizing.run(run.id).pressure_end / 100:.2f} mbar" in said
    plan = pipes._laid_out(
        tuple(line.points for line in lines), tuple(line.length_text for line in lines), "meter"
    )
    for line, drawn in zip(lines, plan.points, strict=True):
        for (a, b), ((x1, y1), (x2, y2)) in zip(
            itertools.pairwise(line.points), itertools.pairwise(drawn), strict=True
        ):
            metres = math.dist(a, b)
            # The isometric view draws every leg along an axis at the same scale (sides 0.866 and 0.5).
            assert math.hypot(x2 - x1, y2 - y1) == pytest.approx(metres * plan.per_metre, rel=1e-3)


@pytest.mark.parametrize("length", [1.0, 2.1, 7.7, 20.0])
@pytest.mark.parametrize("site", SITES, ids=lambda site: site.key)
def test_pipe_labels_stay_apart_whatever_the_length(site, length):
    longer = site.changed(f"runs.{site.runs[-1].id}.length", length)
    svg = pipes.pipe_isometric(pipes.lines_of(longer, lenses.sizing(longer)), start_text="21.00 mbar")
    test_no_word_is_cut_off_and_none_lies_on_another("", svg)


def test_the_room_shows_its_volume_and_its_vent():
    for site in SITES:
        for room in site.rooms:
            said = _said(rooms.room_plan(room))
            assert f"{room.length * room.width * room.height:.1f}" in said
            assert f"{room.length:.2f} m" in said and f"{room.width:.2f} m" in said


def test_the_cut_out_margins_add_up_to_the_worktop():
    for site in SITES:
        top = site.worktop
        said = _said(cutting.cut_out(top))
        right = top.length - top.offset_left - top.cut_out_length
        assert f"{1000 * right:.0f} mm" in said and f"front {1000 * top.offset_front:.0f} mm" in said


def test_an_oven_that_does_not_go_home_says_clash():
    oven = SITES[0].oven
    tight = dataclasses.replace(oven, void_depth=0.6, new_depth=0.55, pipe_projection=0.062)
    free = dataclasses.replace(tight, pipe_projection=0.02)
    assert "clash -12 mm" in _said(cutting.oven_void(tight)) and "gap 30 mm" in _said(cutting.oven_void(free))


def test_the_combustion_meter_works_out_the_ratio():
    # CO/CO2 = 83 ppm / 8.30 % = 0.0010
    said = _said(burning.combustion_reading(83e-6, 0.083, 0.062))
    assert {"83", "8.30", "6.2", "0.0010"} <= set(said)
    assert "– – –" in _said(burning.combustion_reading(0.0, 0.0, 0.209))


def test_the_scale_gives_nothing_away_before_the_result():
    before = scale.prediction_scale(0.0, 2.0, "mbar", predictions=[0.6])
    after = scale.prediction_scale(0.0, 2.0, "mbar", predictions=[0.6], result=0.94, result_text="0.94 mbar")
    assert "0.94" not in before and "0.94 mbar" in _said(after)
    ticks = [t for t in _said(before) if re.fullmatch(r"\d\.\d+", t)]
    assert ticks == [t for t in _said(after) if re.fullmatch(r"\d\.\d+", t)]
    assert 'stroke-dasharray="9 7"' in before


def test_text_from_outside_is_escaped():
    room = dataclasses.replace(SITES[0].rooms[0], title='<script>alert("x")</script> & \x0b')
    svg = rooms.room_plan(room)
    assert "<script" not in svg and "\x0b" not in svg
    assert '<script>alert("x")</script> & \ufffd' in _said(svg)
    assert "<b>" not in gauges.electronic_gauge(0.0, label="<b>x</b>")


def test_a_gauge_that_is_not_connected_shows_no_number():
    drawn = gauges.electronic_gauge(None, label="not connected")
    assert "The display is blank: not connected." in drawn
    assert set(_said(drawn)) == {"+", "−", "not connected", "Zero", "Hold", "On"}
    assert {"0.0", "mbar"} <= set(_said(gauges.electronic_gauge(0.0)))


@pytest.mark.parametrize(
    ("draw", "sentence"),
    [
        (lambda: gauges.water_gauge(3200.0), "water gauge: read 32.0 mbar; needed at most 30 mbar"),
        (lambda: gauges.water_gauge(float("nan")), None),
        (lambda: gauges.stopwatch(-1.0), "stopwatch: read -1.0"),
        (lambda: gauges.emf_dial(0.05), "thermocouple dial: read 50.0 mV"),
        (lambda: meters.imperial_index(1.0, feet_per_turn=3.0), "test dial: read 3.0; needed 1, 2, 5 or 10"),
        (lambda: burning.flame_picture("purple"), "flame: read 'purple'; needed one of steady"),
        (lambda: cutting.oven_void(SITES[0].oven, "third"), "oven: read 'third'"),
        (lambda: scale.prediction_scale(2.0, 2.0, "mbar"), "scale: read 2.0 to 2.0"),
    ],
)
def test_what_cannot_be_drawn_is_refused(draw, sentence):
    with pytest.raises(ValueError, match=sentence):
        draw()


def test_two_panels_never_share_an_id():
    svg = gauges.water_gauge(2000.0)
    one, two = _tree(numbered(svg, 1)), _tree(numbered(svg, 2))
    ids = [node.get("id") for tree in (one, two) for node in tree.iter() if node.get("id")]
    assert len(ids) == len(set(ids)) == 4
    assert one.get("aria-labelledby").split() == ids[:2]


def test_a_question_reading_is_drawn_on_its_instrument():
    shown = readings.Shown("p", "at the hob", 19.4, "mbar", 1)
    face = readings.instrument(readings.Reading("electronic-gauge", (shown,)))
    assert "19.4" in _said(face) and "at the hob" in _said(face)
    listed = readings.instrument(
        readings.Reading("data-plate", (shown, readings.Shown("q", "Heat input", 11.5, "kW", 1)))
    )
    assert {"Data plate", "at the hob", "19.4", "Heat input", "11.5", "kW"} <= set(_said(listed))


@pytest.mark.parametrize("family", QUESTIONS)
def test_a_question_shows_each_label_whole_in_picture_and_words(family):
    tree = _tree(readings.instrument(QUESTIONS[family]))
    written = [node.text for node in tree.iter() if node.tag.endswith("text")]
    told = "".join(node.text for node in tree.iter() if node.tag.endswith("desc"))
    for shown in QUESTIONS[family].shows:
        assert shown.label in written and shown.label in told


def test_a_name_in_capitals_stays_in_capitals():
    shown = readings.Shown("p", "Level", 30, "ppm", 0)
    assert "CO alarm" in _said(readings.instrument(readings.Reading("co-alarm", (shown,))))


def test_drawings_take_the_look_in_use():
    palette.use("night")
    try:
        assert palette.NIGHT.card in gauges.stopwatch(1.0)
    finally:
        palette.use("cream")
    assert units.printed("m3") == "m³"
