"""Meter indexes: the digits that a gas meter shows, on three kinds of meter."""

from __future__ import annotations

import math

from gaslab.show import palette, views
from gaslab.show.drawings.canvas import BIG, NORMAL, SMALL, Canvas, DrawingError
from gaslab.show.palette import Look


def metric_index(volume: float, *, label: str = "", look: Look | None = None) -> str:
    """Draw the index of a metric diaphragm meter at a volume [m3]: five black digits, three in red.

    `label` says when it was read.
    """
    c = Canvas(look)
    black, red = views.index_digits(volume)
    _case(c, "Gas meter", "diaphragm, metric")
    c.rect(52, 114, 524, 120, palette.BODY_EDGE, radius=10)
    for place, digit in enumerate(black):
        _drum(c, 64 + 60 * place, digit, palette.ON_DRUM)
    c.rect(370, 118, 192, 112, palette.DRUM_RED, radius=6)
    for place, digit in enumerate(red):
        _drum(c, 379 + 60 * place, digit, palette.DRUM_RED)
    c.text(588, 268, "m³", BIG, "end", True, palette.ON_BODY)
    c.text(64, 266, "whole cubic metres", SMALL, fill=palette.ON_BODY)
    c.text(379, 266, "litres", SMALL, fill=palette.ON_BODY)
    c.caption(64, 312, label, 520, fill=palette.ON_BODY)
    lead = f"{label}. " if label else ""
    words = f"{lead}The index shows {black}.{red} cubic metres. The last three digits have a red border."
    return c.svg("Gas meter, metric index", words)


def _case(c: Canvas, title: str, kind: str) -> None:
    c.rect(20, 26, 600, 308, palette.BODY, palette.BODY_EDGE, 4, 26)
    c.text(52, 74, title, BIG - 6, bold=True, fill=palette.ON_BODY)
    c.text(588, 74, kind, SMALL, "end", fill=palette.ON_BODY)


def _drum(c: Canvas, x: float, digit: str, colour: str) -> None:
    c.rect(x, 126, 54, 96, palette.DRUM, radius=4)
    c.line(x + 2, 142, x + 52, 142, "#D5D5D5", 1)
    c.line(x + 2, 206, x + 52, 206, "#D5D5D5", 1)
    c.text(x + 27, 199, digit, 70, "middle", True, colour)


def ultrasonic_index(volume: float, *, look: Look | None = None) -> str:
    """Draw the display of an ultrasonic meter at a volume [m3]."""
    c = Canvas(look)
    black, red = views.index_digits(volume)
    _case(c, "Gas meter", "ultrasonic, metric")
    c.rect(52, 104, 536, 146, palette.DISPLAY, palette.BODY_EDGE, 4, 12)
    c.text(500, 202, f"{black}.{red}", 82, "end", True, palette.ON_DISPLAY)
    c.text(512, 202, "m³", BIG, fill=palette.ON_DISPLAY)
    c.text(72, 236, "volume", SMALL, fill=palette.ON_DISPLAY)
    for bar in range(3):
        c.rect(520 + 14 * bar, 222, 10, 14, palette.ON_DISPLAY)
    c.circle(320, 292, 20, palette.BODY_EDGE, palette.ON_BODY, 2)
    c.text(352, 299, "next screen", SMALL, fill=palette.ON_BODY)
    return c.svg("Gas meter, ultrasonic", f"The display shows {black}.{red} cubic metres.")


def imperial_index(volume: float, *, feet_per_turn: float = 1.0, look: Look | None = None) -> str:
    """Draw the index of an imperial meter at a volume [m3]: cubic feet, and the test dial.

    `feet_per_turn` is the gas that one turn of the test dial passes, in ft³ (1, 2, 5 or 10).
    """
    if feet_per_turn not in (1.0, 2.0, 5.0, 10.0):
        raise DrawingError(f"test dial: read {feet_per_turn}; needed 1, 2, 5 or 10 ft³ a turn")
    c = Canvas(look)
    digits, rest = views.feet_digits(volume)
    turn = ((int(digits) + rest) / feet_per_turn) % 1.0
    _case(c, "Gas meter", "diaphragm, imperial")
    c.rect(40, 116, 374, 116, palette.BODY_EDGE, radius=10)
    for place, digit in enumerate(digits[:4]):
        _drum(c, 48 + 60 * place, digit, palette.ON_DRUM)
    c.rect(288, 120, 122, 108, palette.DRUM_RED, radius=6)
    for place, digit in enumerate(digits[4:]):
        _drum(c, 292 + 60 * place, digit, palette.DRUM_RED)
    c.text(48, 266, "hundreds", SMALL, fill=palette.ON_BODY)
    c.text(410, 270, "ft³", BIG, "end", True, palette.ON_BODY)
    _test_dial(c, turn, feet_per_turn)
    shown = f"{turn * feet_per_turn:.2f}"
    dial = f"The test dial stands at {shown} of {feet_per_turn:g} cubic feet a turn."
    return c.svg("Gas meter, imperial index", f"The index shows {digits} cubic feet. {dial}")


def _test_dial(c: Canvas, turn: float, feet_per_turn: float) -> None:
    x, y, radius = 512.0, 180.0, 82.0
    c.circle(x, y, radius, palette.DRUM, palette.BODY_EDGE, 4)
    for tenth in range(10):
        angle = 2.0 * math.pi * tenth / 10
        sin, cos = math.sin(angle), -math.cos(angle)
        c.line(
            x + (radius - 14) * sin,
            y + (radius - 14) * cos,
            x + (radius - 4) * sin,
            y + (radius - 4) * cos,
            palette.ON_DRUM,
            2.5,
        )
        if tenth % 2 == 0:
            c.text(
                x + (radius - 30) * sin,
                y + (radius - 30) * cos + 7,
                str(tenth),
                SMALL,
                "middle",
                fill=palette.ON_DRUM,
            )
    angle = 2.0 * math.pi * turn
    c.line(
        x, y, x + (radius - 16) * math.sin(angle), y - (radius - 16) * math.cos(angle), palette.DRUM_RED, 5
    )
    c.circle(x, y, 8, palette.DRUM_RED)
    c.text(x, 292, f"{feet_per_turn:g} ft³ a turn", NORMAL, "middle", fill=palette.ON_BODY)
