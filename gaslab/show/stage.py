"""The classroom screen: one call scales every panel, drawing and chart for the back of the room.

At 8 m from a picture 1.35 m high with 1080 lines, a capital of 20 minutes of arc needs text
of about 41 pixels (ISO 9241-303 gives 20 to 22 minutes as preferred; the sum is below).
"""

from __future__ import annotations

import math

from gaslab.show import palette
from gaslab.show.drawings.canvas import SMALL, WIDTH

LINES, PICTURE_HIGH, DISTANCE = 1080, 1.35, 8.0  # pixels, m, m
PICTURE_WIDE = 1400  # pixels that a drawing takes across the classroom screen
CAPITAL = 0.72  # height of a capital as a part of the text size, in the sans faces used here
LEAST_MINUTES = 16.0  # of arc: the least that ISO 9241-303 allows
_before = palette.CREAM.key


def text_pixels(
    minutes: float = LEAST_MINUTES,
    distance: float = DISTANCE,
    picture_high: float = PICTURE_HIGH,
    lines: int = LINES,
) -> float:
    """Return the text size [pixels] whose capitals are seen under an angle [minutes of arc] at a distance [m].

    size = distance * tan(angle) / (picture height / lines) / 0.72
    """
    return distance * math.tan(math.radians(minutes / 60.0)) / (picture_high / lines) / CAPITAL


def smallest_drawn_text() -> float:
    """Return the size [pixels] of the smallest text in a drawing on the classroom screen."""
    return SMALL * PICTURE_WIDE / WIDTH


def on() -> None:
    """Turn the classroom screen on: every open panel is drawn again, large and in black on white."""
    global _before
    from gaslab.show.panels.base import restyle_all

    if palette.current().key != palette.STAGE.key:
        _before = palette.current().key
    palette.use(palette.STAGE.key)
    restyle_all()


def off() -> None:
    """Go back to the look before the classroom screen."""
    from gaslab.show.panels.base import restyle_all

    if palette.current().key == palette.STAGE.key:
        palette.use(_before)
    restyle_all()


def look(key: str) -> None:
    """Let every open panel take a look: cream, white, night or large."""
    from gaslab.show.panels.base import restyle_all

    palette.use(key)
    restyle_all()
