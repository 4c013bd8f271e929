"""The kitchen as a room: its plan to scale, its openings and its volume."""

from __future__ import annotations

from gaslab.refit.parts import Room
from gaslab.show import views
from gaslab.show.drawings.canvas import BIG, NORMAL, SMALL, Canvas
from gaslab.show.palette import Look


def room_plan(room: Room, *, window_open: bool = False, look: Look | None = None) -> str:
    """Draw a room's plan to scale with its openings, and its volume in large figures."""
    c = Canvas(look)
    scale = min(350.0 / room.length, 244.0 / room.width)
    wide, deep = room.length * scale, room.width * scale
    left, top = 44.0 + (350 - wide) / 2, 42.0 + (244 - deep) / 2
    right, bottom = left + wide, top + deep
    c.rect(left, top, wide, deep, c.look.wash, c.look.ink, 9)
    if room.openable_window:
        a, b = left + 0.3 * wide, left + 0.7 * wide
        c.line(a, top, b, top, c.look.card, 11, cap="butt")
        c.rect(a, top - 5, b - a, 10, "none", c.look.water, 2.5)
        if window_open:
            c.line(a, top, a + 0.62 * (b - a), top - 30, c.look.water, 5)
        c.text(
            (a + b) / 2,
            top + 30,
            "window open" if window_open else "window",
            SMALL,
            "middle",
            fill=c.look.quiet,
        )
    door = "door outside" if room.door_outside else "inner door"
    _door(c, left, bottom, scale, door if wide > 170 else "")  # a narrow plan has no room for the word
    if room.free_area > 0.0:
        y = top + 0.5 * deep
        c.line(right, y - 34, right, y + 34, c.look.card, 11, cap="butt")
        for step in range(-3, 4):
            c.line(right - 6, y + 9 * step + 5, right + 6, y + 9 * step - 3, c.look.water, 3)
        c.text(
            right - 14,
            y + 6,
            f"vent {views.number(room.free_area, 'area')}",
            SMALL,
            "end",
            True,
            halo=c.look.wash,
        )
    c.dimension(left, bottom + 30, right, bottom + 30, views.number(room.length, "length"), gap=28)
    c.arrow(left - 22, top, left - 22, bottom, both=True)
    c.parts.append(f'<g transform="rotate(-90 {left - 30:.1f} {(top + bottom) / 2:.1f})">')
    c.text(
        left - 30, (top + bottom) / 2, views.number(room.width, "length"), SMALL, "middle", halo=c.look.card
    )
    c.parts.append("</g>")
    c.text(626, 76, room.title, NORMAL, "end", True)
    c.text(626, 108, f"height {views.number(room.height, 'length')}", SMALL, "end", fill=c.look.quiet)
    c.text(626, 190, views.figure(room.volume, "volume"), 60, "end", True)
    c.text(626, 224, "m³", BIG - 4, "end")
    c.text(
        626,
        282,
        "no vent" if room.free_area == 0.0 else f"vent {views.number(room.free_area, 'area')}",
        SMALL,
        "end",
        fill=c.look.quiet,
    )
    c.text(
        626,
        308,
        f"{views.figure(room.air_changes, 'air changes')} air changes / h",
        SMALL,
        "end",
        fill=c.look.quiet,
    )
    return c.svg(f"{room.title}, plan", _words(room, window_open))


def _door(c: Canvas, left: float, bottom: float, scale: float, name: str) -> None:
    width = 0.76 * scale
    a = left + 0.18 * scale
    c.line(a, bottom, a + width, bottom, c.look.card, 11, cap="butt")
    c.path(
        f"M{a:.1f} {bottom - width:.1f} A{width:.1f} {width:.1f} 0 0 1 {a + width:.1f} {bottom:.1f}",
        stroke=c.look.rule,
        line=1.5,
        dash="5 5",
    )
    c.line(a, bottom, a, bottom - width, c.look.rule, 4)
    if name:
        c.text(a + 10, bottom - 14, name, SMALL, fill=c.look.quiet, halo=c.look.wash)


def _words(room: Room, window_open: bool) -> str:
    openings = [
        "a window that opens" + (", open now" if window_open else "")
        if room.openable_window
        else "no window that opens"
    ]
    openings.append("a door outside" if room.door_outside else "no door outside")
    openings.append(
        f"a vent of {views.number(room.free_area, 'area')} free area"
        if room.free_area
        else "no permanent vent"
    )
    size = " by ".join(views.number(side, "length") for side in (room.length, room.width, room.height))
    return f"{size}, volume {views.number(room.volume, 'volume')}. It has {', '.join(openings)}."
