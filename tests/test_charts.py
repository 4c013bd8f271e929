"""Charts: the arrays on the lines, the labels and the fixed ends; never a picture's bytes."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from lxml import etree

from gaslab.show import charts, palette, pictures
from gaslab.show.charts import Axis

SVG = "{http://www.w3.org/2000/svg}"
TIME = np.linspace(0.0, 2.0, 5)


def _trace():
    chart = pictures.pressure_trace(2.0, 18.0, 22.0)
    chart.put("trace", TIME, 20.0 - 0.5 * TIME)
    chart.read(2.0, 19.0, "19.0 mbar")
    return chart


def _tree(svg):
    return etree.fromstring(svg.encode(), etree.XMLParser(resolve_entities=False, no_network=True))


def test_a_line_holds_the_points_it_was_given():
    chart = _trace()
    across, up = chart.artists["trace"].get_data()
    np.testing.assert_array_equal(across, TIME)
    np.testing.assert_array_equal(up, [20.0, 19.75, 19.5, 19.25, 19.0])
    assert chart.artists["number"].get_text() == "19.0 mbar"
    assert chart.artists["point"].get_data() == (2.0, 19.0)


def test_labels_carry_units_and_the_ends_stay_put():
    chart = _trace()
    assert (chart.axes.get_xlabel(), chart.axes.get_ylabel()) == ("Time [min]", "Pressure [mbar]")
    chart.put("trace", [0.0, 9.0], [0.0, 90.0])
    chart.svg("words")
    assert chart.axes.get_xlim() == (0.0, 2.0) and chart.axes.get_ylim() == (18.0, 22.0)


def test_the_picture_is_well_formed_and_has_its_words():
    tree = _tree(_trace().svg('The pressure falls from 20.0 to 19.0 mbar & "stops".'))
    ids = tree.get("aria-labelledby").split()
    title, desc = tree.find(f"{SVG}title"), tree.find(f"{SVG}desc")
    assert tree.get("role") == "img" and [title.get("id"), desc.get("id")] == ids
    assert desc.text == 'The pressure falls from 20.0 to 19.0 mbar & "stops".'
    words = {"".join(node.itertext()) for node in tree.iter(f"{SVG}text")}
    assert {
        "Time [min]",
        "Pressure [mbar]",
        "19.0 mbar",
    } <= words  # text stays text, and is not turned into curves


def test_the_layout_is_held_after_the_first_picture():
    chart = _trace()
    chart.svg("one")
    place = chart.axes.get_position().bounds
    chart.read(0.1, 21.9, "a very long reading indeed")
    chart.svg("two")
    assert chart.axes.get_position().bounds == place


def test_a_still_line_that_is_moved_after_all_is_drawn_again():
    chart = _trace()
    chart.add("other", charts.draw_line)
    before = chart.svg("words")
    chart.put("other", [0.0, 2.0], [18.0, 22.0])
    assert chart.svg("words") != before


def test_the_same_chart_gives_the_same_text():
    assert _trace().svg("words") == _trace().svg("words")


def test_the_number_stays_beside_its_mark_on_the_side_with_room():
    chart = _trace()
    chart.read(0.1, 18.1, "a")
    assert (chart.artists["number"].get_ha(), chart.artists["number"].get_va()) == ("left", "bottom")
    chart.read(1.9, 21.9, "b")
    assert (chart.artists["number"].get_ha(), chart.artists["number"].get_va()) == ("right", "top")


def test_lines_of_different_length_are_refused():
    with pytest.raises(ValueError, match="'trace': 2 places across but 3 up"):
        _trace().put("trace", [0, 1], [0, 1, 2])


def test_each_of_the_courses_charts():
    made = {
        "leak": pictures.line_chart(
            "Drop against leak",
            Axis("Leak", "dm³/h", 0.0, 4.0),
            Axis("Drop", "mbar", 0.0, 3.0),
            ("this job", "half the pipe"),
            limit=(1.0, "1 mbar, given for this exercise"),
        ),
        "room": pictures.room_level("Carbon dioxide", "%", 60.0, 1.0, limit=(0.28, "0.28 %")),
        "cooling": pictures.thermocouple_cooling(60.0, 30.0, 2.0),
    }
    for name, chart in made.items():
        tree = _tree(chart.svg(f"words of {name}"))
        ids = [node.get("id") for node in tree.iter() if node.get("id")]
        assert len(ids) == len(set(ids)), name
    limit, words = made["leak"].artists["limit"]
    assert list(limit.get_ydata()) == [1.0, 1.0] and words.get_text() == "1 mbar, given for this exercise"
    # Lines are told apart by their dash and not by colour alone.
    assert (
        made["leak"].artists["this job"].get_linestyle()
        != made["leak"].artists["half the pipe"].get_linestyle()
    )


def test_no_two_charts_share_an_id():
    one, two = _trace().svg("one"), _trace().svg("two")
    found = [{node.get("id") for node in _tree(svg).iter() if node.get("id")} for svg in (one, two)]
    assert found[0] and not found[0] & found[1]


def test_every_text_can_be_read_from_the_back_of_the_room():
    # A drawing 640 units wide is 460.8 points wide here, and its smallest text is 19 units.
    assert charts.SIZE[0] * 72 == pytest.approx(460.8)
    assert pytest.approx(19.0, abs=0.05) == charts.TEXT_POINTS * 640 / 460.8
    chart = _trace()
    chart.svg("words")
    sizes = [
        t.get_fontsize()
        for t in chart.figure.findobj(match=lambda a: hasattr(a, "get_fontsize"))
        if t.get_text()
    ]
    assert min(sizes) >= charts.TEXT_POINTS


def test_charts_take_their_look():
    chart = pictures.pressure_trace(2.0, 18.0, 22.0, look=palette.NIGHT)
    assert chart.svg("words").count(palette.NIGHT.card.lower()) >= 1


def test_matplotlib_waits_for_the_first_chart():
    code = (
        "import gaslab.show.charts, gaslab.show.pictures, gaslab.show.panels.base, sys; "
        "print([m for m in ('matplotlib', 'pandas', 'pint') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_pyplot_is_never_loaded():
    code = (
        "from gaslab.show import pictures; pictures.pressure_trace(2, 18, 22).svg('w'); "
        "import sys; print('matplotlib.pyplot' in sys.modules)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "False"
