"""Colours by the contrast sum of WCAG 2.2, which is worked out here a second time, apart from the course's own."""

from __future__ import annotations

import pytest

from gaslab.show import palette, stage
from gaslab.show.drawings.canvas import SMALL

LOOKS = list(palette.LOOKS.values())


def wcag_contrast(one: str, other: str) -> float:
    """Contrast ratio as the WCAG 2.2 definitions give it (https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio)."""

    def luminance(colour):
        total = 0.0
        for weight, pair in zip(
            (0.2126, 0.7152, 0.0722), (colour[1:3], colour[3:5], colour[5:7]), strict=True
        ):
            c = int(pair, 16) / 255
            total += weight * (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4)
        return total

    a, b = luminance(one), luminance(other)
    return (max(a, b) + 0.05) / (min(a, b) + 0.05)


# Contrast of the Okabe-Ito colours on white, to two or three figures; values from memory.
@pytest.mark.parametrize(
    ("name", "ratio"),
    [("blue", 5.2), ("vermillion", 3.9), ("green", 3.4), ("purple", 3.1), ("orange", 2.25), ("yellow", 1.32)],
)
def test_the_contrast_sum_gives_the_known_ratios_on_white(name, ratio):
    assert palette.contrast(palette.OKABE_ITO[name], "#FFFFFF") == pytest.approx(ratio, abs=0.06)


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.key)
def test_text_stands_out_on_every_ground(look):
    need = 7.0 if look.key == "stage" else 4.5
    for name, colour in look.text_colours().items():
        for ground in (look.ground, look.card, look.wash):
            assert wcag_contrast(colour, ground) >= need, (look.key, name, ground)
            assert palette.contrast(colour, ground) == pytest.approx(wcag_contrast(colour, ground), rel=1e-9)


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.key)
def test_marks_stand_out(look):
    for name, colour in look.mark_colours().items():
        for ground in (look.ground, look.card, look.wash):
            assert wcag_contrast(colour, ground) >= 3.0, (look.key, name, ground)


def test_instruments_keep_their_contrast_on_the_classroom_screen():
    for text, ground in (
        (palette.ON_BODY, palette.BODY),
        (palette.ON_BODY, palette.BODY_EDGE),
        (palette.ON_DISPLAY, palette.DISPLAY),
        (palette.ON_DRUM, palette.DRUM),
    ):
        assert wcag_contrast(text, ground) >= 7.0
    assert wcag_contrast(palette.DRUM_RED, palette.DRUM) >= 4.5


def test_a_verdict_is_told_by_mark_and_word_and_each_colour_is_one_of_the_text_colours():
    assert set(palette.MARKS) == {"meets", "does not meet", "cannot judge", "cannot tell"}
    assert palette.MARKS["meets"] != palette.MARKS["does not meet"] != palette.MARKS["cannot judge"]
    for outcome in palette.MARKS:
        assert palette.verdict_colour(outcome, palette.CREAM) in palette.CREAM.text_colours().values()


def test_an_unknown_look_is_refused_by_name():
    with pytest.raises(ValueError, match="read 'pink'; needed one of cream"):
        palette.use("pink")


def test_the_classroom_text_is_large_enough():
    # 8 m from a picture 1.35 m high with 1080 lines: 16 minutes of arc needs capitals of
    # 8 m * tan(16/60 deg) = 37.2 mm, which is 29.8 lines, or text of 41.4 pixels at a capital of 0.72.
    assert stage.text_pixels() == pytest.approx(41.4, abs=0.2)
    assert stage.smallest_drawn_text() >= 41.0
    assert 17 * palette.STAGE.size >= 41.0
    assert SMALL == 19


def test_the_classroom_screen_goes_on_and_back():
    palette.use("night")
    try:
        stage.on()
        stage.on()
        assert palette.current().key == "stage"
        stage.off()
        assert palette.current().key == "night"
    finally:
        palette.use("cream")
