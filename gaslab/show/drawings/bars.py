"""Level bars, each with its name before it and its number at its end."""

from __future__ import annotations

from collections.abc import Sequence

from gaslab.show.drawings.canvas import NORMAL, SMALL, WIDTH, Canvas, text_width
from gaslab.show.palette import Look

TOP, BOTTOM, RIGHT = 60.0, 340.0, 470.0


def level_bars(
    title: str,
    bars: Sequence[tuple[str, float, str]],
    full: float,
    *,
    mark: tuple[float, str] | None = None,
    look: Look | None = None,
) -> str:
    """Draw one bar for each (name, value, text). A bar as long as `full` fills its row; a longer one ends in an arrow.

    `mark` is an upright line at a value with its words, such as a limit.
    """
    c = Canvas(look)
    left = 24.0 + max(text_width(name, SMALL) for name, _, _ in bars)
    high = min(92.0, (BOTTOM - TOP - 20.0) / len(bars))
    top = (TOP + BOTTOM - high * len(bars)) / 2.0

    def at(value: float) -> float:
        return left + (RIGHT - left) * min(max(value / full, 0.0), 1.0)

    c.text(WIDTH / 2, 34, title, NORMAL, "middle", True)
    for number, (name, value, text) in enumerate(bars):
        y = top + number * high
        c.text(left - 10, y + high / 2 + 2, name, SMALL, "end")
        c.rect(left, y + 6, RIGHT - left, high - 18, "none", c.look.grid, 2)  # how long a full bar would be
        c.rect(left, y + 6, max(at(value) - left, 1.5), high - 18, c.look.wash, c.look.ink, 2)
        if value > full:
            c.arrow(RIGHT - 26, y + high / 2 - 3, RIGHT + 4, y + high / 2 - 3, c.look.ink, 3)
        c.text(at(value) + 12, y + high / 2 + 3, text, NORMAL, bold=True)
    if mark is not None:
        value, words = mark
        c.line(at(value), TOP, at(value), BOTTOM - 10, c.look.bad, 3, "9 6")
        c.text(at(value), TOP - 4, words, SMALL, "middle", fill=c.look.bad, halo=c.look.card)
    told = "; ".join(f"{name} {text}" for name, _, text in bars)
    return c.svg(title, told + (f". The mark: {mark[1]}." if mark else "."))
