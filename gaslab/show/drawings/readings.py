"""The instrument that a question is read from."""

from __future__ import annotations

from gaslab import units
from gaslab.learn.items import Reading, Shown
from gaslab.show import palette
from gaslab.show.drawings import gauges, meters
from gaslab.show.drawings.canvas import SMALL, Canvas, text_width
from gaslab.show.palette import Look

_INITIALS = {"co": "CO", "co2": "CO₂"}
_WIDEST = 400.0  # units of the sheet for a figure beside its label


def instrument(reading: Reading, *, look: Look | None = None) -> str:
    """Draw what a question's instrument shows: its own face where it shows one number, else a list of figures."""
    shown = reading.shows[0]
    if len(reading.shows) == 1 and reading.instrument in _FACES:
        return _FACES[reading.instrument](shown, look)
    return _figures(reading, look)


def _si(shown: Shown) -> float:
    return float(units.to_si(shown.value, shown.unit))


_FACES = {
    "water-gauge": lambda shown, look: gauges.water_gauge(
        _si(shown), number=False, label=shown.label, look=look
    ),
    "electronic-gauge": lambda shown, look: gauges.electronic_gauge(
        _si(shown), places=1, label=shown.label, look=look
    ),
    "fine-gauge": lambda shown, look: gauges.electronic_gauge(
        _si(shown), places=2, label=shown.label, look=look
    ),
    "metric-index": lambda shown, look: meters.metric_index(_si(shown), label=shown.label, look=look),
    "stopwatch": lambda shown, look: gauges.stopwatch(_si(shown), label=shown.label, look=look),
    "millivolt-meter": lambda shown, look: gauges.emf_dial(
        _si(shown), full=0.04, label=shown.label, look=look
    ),
}


def _figures(reading: Reading, look: Look | None) -> str:
    """Draw up to five labelled figures on one display."""
    c = Canvas(look)
    first, *rest = reading.instrument.split("-")
    title = " ".join([_INITIALS.get(first, first.capitalize()), *rest])
    c.rect(20, 12, 600, 336, palette.BODY, palette.BODY_EDGE, 4, 26)
    c.text(48, 50, title, SMALL + 3, bold=True, fill=palette.ON_BODY)
    c.rect(40, 68, 560, 260, palette.DISPLAY, palette.BODY_EDGE, 3, 10)
    row = 260.0 / len(reading.shows)
    words = []
    for n, shown in enumerate(reading.shows):
        figure, unit = f"{shown.value:.{shown.places}f}", units.printed(shown.unit)
        size = min(54.0, row * 0.5, 54.0 * _WIDEST / max(_WIDEST, text_width(figure, 54, True)))
        top = 68 + row * n
        if n:
            c.line(56, top, 584, top, "#8FA08B", 1.5)
        below = row >= 86
        c.text(58, top + (26 if below else row / 2 + 7), shown.label, SMALL, fill=palette.ON_DISPLAY)
        c.text(
            500,
            top + row / 2 + size * 0.36 + (8 if below else 0),
            figure,
            size,
            "end",
            True,
            palette.ON_DISPLAY,
        )
        c.text(510, top + row / 2 + size * 0.36 + (8 if below else 0), unit, SMALL, fill=palette.ON_DISPLAY)
        words.append(f"{shown.label}: {figure} {unit}".strip())
    return c.svg(title, "It shows " + "; ".join(words) + ".")
