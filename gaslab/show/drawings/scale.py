"""A bare scale: what was foretold, drawn broken, and what came out, drawn solid."""

from __future__ import annotations

import math
from collections.abc import Sequence

from gaslab.show.drawings.canvas import BIG, SMALL, Canvas, DrawingError
from gaslab.show.palette import Look

_LEFT, _RIGHT, _Y, _HIGH = 50.0, 590.0, 156.0, 236.0


def scale_places(low: float, high: float) -> int:
    """Return how many decimals the marks of a scale need."""
    return max(0, 1 - math.floor(math.log10((high - low) / 5.0)))


def prediction_scale(
    low: float, high: float, unit: str, *, predictions: Sequence[float] = (), result: float | None = None,
    result_text: str = "", title: str = "Your guess and the reading", look: Look | None = None,
) -> str:  # fmt: skip
    """Draw a scale from `low` to `high` in `unit` with predictions and, once known, the result.

    The ends come from the question, never from the answer, so the scale gives nothing away.
    What lies beyond an end is drawn as an arrow at that end with its figure.
    """
    if not low < high:
        raise DrawingError(f"scale: read {low} to {high}; needed a low end below the high end")
    c = Canvas(look)
    places = scale_places(low, high)
    c.line(_LEFT, _Y, _RIGHT, _Y, c.look.ink, 5)
    for step in range(6):
        value = low + (high - low) * step / 5
        x = _at(value, low, high)
        c.line(x, _Y - 9, x, _Y + 9, c.look.ink, 3)
        c.text(x, _Y + 36, f"{value:.{places}f}", SMALL, "middle")
    c.text(_RIGHT + 30, _Y + 68, unit, SMALL, "end", fill=c.look.quiet)
    if result is not None:
        _mark(c, result, low, high, result_text or f"{result:g} {unit}", 40, solid=True)
    if len(predictions) == 1:
        guess = predictions[0]
        away = "" if result is None else "end" if guess < result else "start"
        _mark(
            c, guess, low, high, f"guess {guess:g}", 86 if result is not None else 60, solid=False, away=away
        )
    elif predictions:
        _tally(c, predictions, low, high)
    if len(predictions) > 1:
        c.circle(44, 219, 7, "none", c.look.water, 2.5)
    else:
        c.line(24, 219, 64, 219, c.look.water, 4, "9 7", cap="butt")
    c.line(146, 219, 186, 219, c.look.ink, 4, cap="butt")
    for x, word in ((74, "guess"), (196, "reading")):
        c.text(x, 225, word, SMALL, fill=c.look.quiet)
    said = (
        "No guess yet."
        if not predictions
        else "Guessed: " + ", ".join(f"{p:g}" for p in predictions) + f" {unit}."
    )
    shown = f" The reading: {result_text or f'{result:g} {unit}'}." if result is not None else ""
    return c.svg(title, f"A scale from {low:g} to {high:g} {unit}. {said}{shown}", _HIGH)


def _at(value: float, low: float, high: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * (min(max(value, low), high) - low) / (high - low)


def _mark(
    c: Canvas, value: float, low: float, high: float, text: str, top: float, *, solid: bool, away: str = ""
) -> None:
    x = _at(value, low, high)
    colour = c.look.ink if solid else c.look.water
    c.line(x, top + 8, x, _Y - 6, colour, 5 if solid else 4, "" if solid else "9 7", cap="butt")
    c.path(f"M{x - 9} {_Y - 18} L{x + 9} {_Y - 18} L{x} {_Y - 3} Z", colour)
    if value < low or value > high:
        text += " ◀" if value < low else " ▶"
    size = BIG if solid else SMALL + 3
    anchor = "start" if x < 180 else "end" if x > 460 else away or "middle"
    c.text(x, top, text, size, anchor, True, colour, c.look.card)


def _tally(c: Canvas, predictions: Sequence[float], low: float, high: float) -> None:
    """Pile one dot for each guess over the scale, at the nearest of 31 places; the six marks are among them."""
    piles: dict[int, int] = {}
    width = (_RIGHT - _LEFT) / 30
    for value in sorted(predictions):
        place = round((_at(value, low, high) - _LEFT) / width)
        piles[place] = piles.get(place, 0) + 1
    step = min(16.0, 100.0 / max(piles.values()))
    for place, count in piles.items():
        for n in range(count):
            c.circle(
                _LEFT + place * width,
                _Y - 20 - step * n,
                min(7.0, step / 2),
                "none",
                c.look.water,
                2.5,
            )
