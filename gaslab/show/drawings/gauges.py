"""Gauges and the stopwatch: what a person reads pressure, voltage and time from."""

from __future__ import annotations

import math

from gaslab import units
from gaslab.show import palette, views
from gaslab.show.drawings.canvas import BIG, HUGE, NORMAL, SMALL, Canvas, DrawingError
from gaslab.show.palette import Look

GAUGE_REACH = 1_500.0  # Pa each limb of the drawn water gauge can move
_MIDDLE, _PER_PASCAL = 164.0, 0.084


def water_gauge(
    pressure_gauge: float, *, number: bool = True, joined_to: str = "test point", label: str = "",
    look: Look | None = None,
) -> str:  # fmt: skip
    """Draw a U-tube water gauge at a gauge pressure [Pa]: two limbs, one scale, both levels.

    The water falls in one limb and rises in the other; the pressure is the two distances added.
    `number=False` leaves the sum to the reader. Raises DrawingError beyond the tube (±3000 Pa).
    """
    half = pressure_gauge / 2.0
    if not abs(half) <= GAUGE_REACH:
        raise DrawingError(
            f"water gauge: read {views.number(pressure_gauge, 'pressure')}; "
            "needed at most 30 mbar, or the water is blown out"
        )
    c = Canvas(look)
    left, right = 190.0, 330.0
    _tube(c, left, right, half)
    _scale(c, left, right)
    down, up = _MIDDLE + half * _PER_PASCAL, _MIDDLE - half * _PER_PASCAL
    limb = views.figure(abs(half), "pressure", 2)
    for x, y, anchor, way in (
        (left - 24, down, "end", "below" if half >= 0 else "above"),
        (right + 24, up, "start", "above" if half >= 0 else "below"),
    ):
        c.line(x, y, x + (-22 if anchor == "end" else 22), y, c.look.water, 3)
        c.text(x + (-30 if anchor == "end" else 30), y - 2, limb, NORMAL, anchor, True)
        c.text(x + (-30 if anchor == "end" else 30), y + 20, f"{way} 0", SMALL, anchor, fill=c.look.quiet)
    c.text(left, 26, joined_to, SMALL, "middle", fill=c.look.quiet)
    c.text(right, 26, "open", SMALL, "middle", fill=c.look.quiet)
    total = views.number(pressure_gauge, "pressure")
    if number:
        c.text(626, 190, views.figure(pressure_gauge, "pressure"), HUGE, "end", True)
        c.text(626, 224, "mbar", BIG - 4, "end")
    else:
        c.text(626, 184, "Add the two", SMALL, "end", fill=c.look.quiet)
    c.caption(626, 340, label, 270, "end")
    lead = f"{label}. " if label else ""
    words = (
        f"{lead}The water stands {limb} mbar below zero in one limb and {limb} mbar above zero in the other."
    )
    return c.svg("Water gauge", f"{words} Together: {total}." if number else words)


def _tube(c: Canvas, left: float, right: float, half: float) -> None:
    radius = (right - left) / 2
    down, up = _MIDDLE + half * _PER_PASCAL, _MIDDLE - half * _PER_PASCAL
    tube = f"M{left} 36 V{270} A{radius} {radius} 0 0 0 {right} 270 V36"
    c.path(tube, stroke=c.look.rule, line=32, cap="butt")
    c.path(tube, stroke=palette.GLASS, line=26, cap="butt")
    water = f"M{left} {down:.1f} V270 A{radius} {radius} 0 0 0 {right} 270 V{up:.1f}"
    c.path(water, stroke=c.look.water, line=26, cap="butt")
    for x, y in ((left, down), (right, up)):
        c.path(
            f"M{x - 13} {y - 3:.1f} Q{x} {y + 5:.1f} {x + 13} {y - 3:.1f}", stroke=palette.ON_DRUM, line=2.5
        )


def _scale(c: Canvas, left: float, right: float) -> None:
    middle = (left + right) / 2
    for mbar in range(-15, 16):
        y, long = _MIDDLE - mbar * 100 * _PER_PASCAL, mbar % 5 == 0
        reach = 20 if long else 10
        for x, way in ((left + 18, 1), (right - 18, -1)):
            c.line(x, y, x + way * reach, y, c.look.rule, 2.5 if long else 1.5, cap="butt")
        if long:
            c.text(middle, y + 7, str(abs(mbar)), SMALL, "middle", mbar == 0)


def electronic_gauge(
    pressure_gauge: float | None, *, places: int = 1, label: str = "", look: Look | None = None
) -> str:
    """Draw an electronic gauge with its figure at a gauge pressure [Pa], in mbar; None leaves the display blank."""
    c = Canvas(look)
    shown = "" if pressure_gauge is None else views.figure(pressure_gauge, "pressure", places)
    for x, name in ((250, "+"), (390, "−")):
        c.rect(x - 13, 16, 26, 44, c.look.gas if name == "+" else c.look.rule, palette.BODY_EDGE, 3, 5)
        c.text(x + (-24 if name == "+" else 24), 38, name, NORMAL, "end" if name == "+" else "start", True)
    c.rect(120, 52, 400, 292, palette.BODY, palette.BODY_EDGE, 4, 34)
    c.rect(150, 84, 340, 156, palette.DISPLAY, palette.BODY_EDGE, 3, 12)
    if shown:
        c.text(474, 190, shown, 96, "end", True, palette.ON_DISPLAY)
        c.text(474, 226, "mbar", BIG - 4, "end", fill=palette.ON_DISPLAY)
    c.caption(166, 110, label, 308, fill=palette.ON_DISPLAY)
    for x, word in ((220, "Zero"), (320, "Hold"), (420, "On")):
        c.rect(x - 38, 268, 76, 46, palette.BODY_EDGE, palette.ON_BODY, 1.5, 23)
        c.text(x, 298, word, SMALL, "middle", fill=palette.ON_BODY)
    words = f"The display shows {shown} mbar{f', {label}' if label else ''}."
    words = words if shown else f"The display is blank: {label or 'off'}."
    return c.svg("Electronic gauge", words)


def stopwatch(seconds: float, *, running: bool = False, label: str = "", look: Look | None = None) -> str:
    """Draw a stopwatch at a time [s], to a tenth, with a hand that goes round once a minute.

    `label` says what was timed.
    """
    if not seconds >= 0.0:
        raise DrawingError(f"stopwatch: read {seconds}; needed a time of zero or more")
    c = Canvas(look)
    tenths = int(units.rounded(seconds * 10, 0))
    shown = f"{tenths // 600}:{tenths % 600 / 10:04.1f}"
    x, y, radius = 190.0, 196.0, 140.0
    c.rect(x - 20, 14, 40, 34, c.look.rule, palette.BODY_EDGE, 2.5, 6)
    c.circle(x, y, radius, palette.DRUM, palette.BODY, 14)
    for mark in range(60):
        angle, long = math.radians(6 * mark), mark % 5 == 0
        sin, cos = math.sin(angle), -math.cos(angle)
        inner = radius - (24 if long else 17)
        c.line(
            x + inner * sin,
            y + inner * cos,
            x + (radius - 10) * sin,
            y + (radius - 10) * cos,
            palette.ON_DRUM,
            3 if long else 1.5,
        )
        if mark % 15 == 0:
            c.text(
                x + (radius - 44) * sin,
                y + (radius - 44) * cos + 7,
                str(mark or 60),
                SMALL,
                "middle",
                True,
                palette.ON_DRUM,
            )
    angle = math.radians(6.0 * (tenths / 10 % 60))
    c.line(
        x - 22 * math.sin(angle),
        y + 22 * math.cos(angle),
        x + 108 * math.sin(angle),
        y - 108 * math.cos(angle),
        palette.DRUM_RED,
        5,
    )
    c.circle(x, y, 9, palette.DRUM_RED)
    c.text(620, 200, shown, 80, "end", True)
    c.text(620, 240, "min : s", NORMAL, "end", fill=c.look.quiet)
    c.text(620, 108, "running" if running else "stopped", NORMAL, "end", fill=c.look.quiet)
    c.caption(620, 60, label, 260, "end")
    return c.svg(
        "Stopwatch",
        f"{f'{label}. ' if label else ''}"
        f"The watch is {'running' if running else 'stopped'} at {views.number(tenths / 10, 'watch')}.",
    )


def emf_dial(
    emf: float, *, hold: float = 0.0, release: float = 0.0, full: float = 0.04, label: str = "",
    look: Look | None = None,
) -> str:  # fmt: skip
    """Draw a voltmeter dial for a thermocouple: its voltage [V], and where the valve holds and lets go [V]."""
    if not 0.0 <= emf <= full:
        raise DrawingError(
            f"thermocouple dial: read {views.number(emf, 'voltage')}; needed 0 to {views.number(full, 'voltage')}"
        )
    c = Canvas(look)
    x, y, radius, edge = 220.0, 262.0, 190.0, 206.0

    def at(volts: float, distance: float) -> tuple[float, float]:
        angle = math.pi * (1.0 - volts / full)
        return x + distance * math.cos(angle), y - distance * math.sin(angle)

    c.path(
        f"M{x - edge} {y} A{edge} {edge} 0 0 1 {x + edge} {y} V{y + 46} H{x - edge} Z",
        palette.DRUM,
        palette.BODY,
        8,
    )
    for step in range(0, 9):
        volts = full * step / 8
        c.line(*at(volts, radius - 14), *at(volts, radius), palette.ON_DRUM, 3 if step % 2 == 0 else 1.5)
        if step % 2 == 0:
            px, py = at(volts, radius - 34)
            c.text(px, py + 8, views.figure(volts, "voltage", 0), SMALL, "middle", True, palette.ON_DRUM)
    for volts, word, colour, row in (
        (release, "lets go", palette.CREAM.bad, 0),
        (hold, "holds", palette.CREAM.good, 1),
    ):
        if volts > 0.0:
            c.line(*at(volts, radius - 76), *at(volts, radius + 2), colour, 5, "9 5")
            c.line(
                452,
                60 + 56 * row,
                476,
                60 + 56 * row,
                colour if c.look.key != "night" else c.look.ink,
                5,
                "9 5",
            )
            c.text(486, 54 + 56 * row, word, SMALL, fill=c.look.quiet)
            c.text(486, 76 + 56 * row, views.number(volts, "voltage"), SMALL, bold=True)
    c.line(x, y, *at(emf, radius - 48), palette.BODY, 6)
    c.circle(x, y, 13, palette.BODY)
    c.text(626, 246, views.figure(emf, "voltage"), HUGE, "end", True)
    c.text(626, 280, "mV", BIG - 4, "end")
    c.caption(626, 340, label, 600, "end")
    marks = [
        f"The valve {word} at {views.number(v, 'voltage')}."
        for v, word in ((hold, "holds"), (release, "lets go"))
        if v > 0.0
    ]
    said = [f"{label}.", *marks] if label else marks
    return c.svg(
        "Thermocouple voltage", " ".join([f"The needle shows {views.number(emf, 'voltage')}.", *said])
    )
