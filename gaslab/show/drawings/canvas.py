"""A sheet to draw on: every drawing is one SVG text made here.

All sheets share one size, so that one scale makes every drawing readable from the back
of a classroom: the smallest text is 19 units on a sheet 640 units wide. Text goes
through the one escape. A drawing carries a title and a description for people who
listen to the page.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from gaslab.escape import html_text
from gaslab.show.palette import Look, current

WIDTH, HEIGHT = 640, 360
SMALL, NORMAL, BIG, HUGE = 19, 22, 34, 64  # text sizes, in units of the sheet
FONT = "Arial, 'Liberation Sans', Helvetica, sans-serif"
_DESCEND = set("gjpqy(),;Q")
_NARROW, _WIDE = set("iljtfrI.,:;'|!()[] "), set("mwMWOQ%@")


class DrawingError(ValueError):
    """A number that a drawing cannot show, told in one sentence."""


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Return about how wide a text is, a little on the safe side."""
    units = sum(0.34 if c in _NARROW else 0.9 if c in _WIDE else 0.68 if c.isupper() else 0.57 for c in text)
    return units * size * (1.07 if bold else 1.0)


@dataclass(frozen=True)
class Box:
    """Where something stands on the sheet."""

    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: Box) -> float:
        """Return the area that two boxes share."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across * down if across > 0.0 and down > 0.0 else 0.0


def text_box(x: float, y: float, text: str, size: float, anchor: str = "start", bold: bool = False) -> Box:
    """Return the box of a text whose baseline starts, centres or ends at (x, y)."""
    wide = text_width(text, size, bold)
    left = x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[anchor]
    below = 0.22 if _DESCEND.intersection(text) else 0.03
    return Box(left, y - 0.76 * size, left + wide, y + below * size)


class Canvas:
    """Collects shapes and returns them as one SVG text. Coordinates grow right and down."""

    def __init__(self, look: Look | None = None):
        self.look = look or current()
        self.parts: list[str] = []

    def rect(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        fill: str = "none",
        stroke: str = "none",
        line: float = 2.0,
        radius: float = 0.0,
        dash: str = "",
    ) -> None:
        self.parts.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" rx="{radius:g}" fill="{fill}" '
            f'stroke="{stroke}" stroke-width="{line:g}"{_dashed(dash)}/>'
        )

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        stroke: str = "",
        line: float = 2.0,
        dash: str = "",
        cap: str = "round",
    ) -> None:
        self.parts.append(
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{stroke or self.look.rule}" '
            f'stroke-width="{line:g}" stroke-linecap="{cap}"{_dashed(dash)}/>'
        )

    def circle(
        self,
        x: float,
        y: float,
        radius: float,
        fill: str = "none",
        stroke: str = "none",
        line: float = 2.0,
        dash: str = "",
    ) -> None:
        self.parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{fill}" stroke="{stroke}" '
            f'stroke-width="{line:g}"{_dashed(dash)}/>'
        )

    def path(
        self,
        d: str,
        fill: str = "none",
        stroke: str = "none",
        line: float = 2.0,
        dash: str = "",
        cap: str = "round",
    ) -> None:
        self.parts.append(
            f'<path d="{d}" fill="{fill}" stroke="{stroke}" stroke-width="{line:g}" stroke-linejoin="round" '
            f'stroke-linecap="{cap}"{_dashed(dash)}/>'
        )

    def polyline(
        self, points: Sequence[tuple[float, float]], stroke: str, line: float = 2.0, dash: str = ""
    ) -> None:
        self.path("M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in points), stroke=stroke, line=line, dash=dash)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = SMALL,
        anchor: str = "start",
        bold: bool = False,
        fill: str = "",
        halo: str = "",
    ) -> None:
        weight = ' font-weight="700"' if bold else ""
        edge = (
            f' stroke="{halo}" stroke-width="5" stroke-linejoin="round" paint-order="stroke"' if halo else ""
        )
        self.parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}" '
            f'fill="{fill or self.look.ink}"{weight}{edge}>{html_text(text)}</text>'
        )

    def caption(
        self, x: float, y: float, text: str, room: float, anchor: str = "start", fill: str = ""
    ) -> None:
        """Write what an instrument is joined to or timed; words too long for the room [units] are written smaller."""
        if text:
            self.text(x, y, text, SMALL * min(1.0, room / text_width(text, SMALL)), anchor, fill=fill)

    def arrow(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        stroke: str = "",
        line: float = 2.0,
        both: bool = False,
        head: float = 9.0,
    ) -> None:
        """Draw a line with a solid head at its end, or at both ends."""
        colour = stroke or self.look.rule
        self.line(x1, y1, x2, y2, colour, line)
        angle = math.atan2(y2 - y1, x2 - x1)
        for x, y, way in ((x2, y2, angle), (x1, y1, angle + math.pi))[: 2 if both else 1]:
            left, right = way + 2.7, way - 2.7
            self.path(
                f"M{x:.1f} {y:.1f} L{x + head * math.cos(left):.1f} {y + head * math.sin(left):.1f} "
                f"L{x + head * math.cos(right):.1f} {y + head * math.sin(right):.1f} Z", fill=colour
            )  # fmt: skip

    def dimension(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        text: str,
        size: float = SMALL,
        bold: bool = False,
        fill: str = "",
        gap: float = 0.0,
    ) -> None:
        """Draw a measuring line between two points with its number beside the middle.

        A level line carries the number above it (`gap` moves it down), an upright one to the right.
        """
        self.arrow(x1, y1, x2, y2, both=True)
        if abs(y2 - y1) < abs(x2 - x1):
            self.text(
                (x1 + x2) / 2, (y1 + y2) / 2 - 7 + gap, text, size, "middle", bold, fill, self.look.card
            )
        else:
            self.text(
                (x1 + x2) / 2 + 9 + gap,
                (y1 + y2) / 2 + size / 3,
                text,
                size,
                "start",
                bold,
                fill,
                self.look.card,
            )

    def svg(self, title: str, desc: str, height: float = HEIGHT) -> str:
        """Return the sheet as an SVG text with its title and description; only its height may be less."""
        # The same words give the same id, so a repeated drawing still points at its own words.
        mark = f"{zlib.crc32(f'{title}|{desc}'.encode('utf-8', 'replace')):08x}"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:g}" role="img" '
            f'aria-labelledby="t-{mark} d-{mark}" font-family="{FONT}" style="display:block;width:100%;height:auto">'
            f'<title id="t-{mark}">{html_text(title)}</title><desc id="d-{mark}">{html_text(desc)}</desc>'
            f'<rect width="{WIDTH}" height="{height:g}" rx="10" fill="{self.look.card}"/>{"".join(self.parts)}</svg>'
        )


def _dashed(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""


def numbered(svg: str, number: int) -> str:
    """Return an SVG text with ids that no other panel on the page has."""
    for part in ("t-", "d-"):
        at = svg.index(f'id="{part}') + 4
        mark = svg[at : svg.index('"', at)]
        svg = (
            svg.replace(f'"{mark}"', f'"{mark}-{number}"')
            .replace(f'"{mark} ', f'"{mark}-{number} ')
            .replace(f' {mark}"', f' {mark}-{number}"')
        )
    return svg
