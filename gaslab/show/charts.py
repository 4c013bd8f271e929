"""Charts: one lasting figure each, its lines moved and not made again, written as SVG text.

The only module that imports Matplotlib, and only when a chart is first made. There is
no pyplot: a `Chart` holds its own figure. The layout is worked out once and then held,
and the ends of the axes come from the question, so they give no answer away.
The drawing functions at the foot take axes and data and return the artists they made.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from zlib import crc32

import numpy as np
from numpy.typing import ArrayLike

from gaslab.escape import html_text
from gaslab.show.palette import Look, current

SIZE = (6.4, 3.6)  # inches: the shape of every drawing
TEXT_POINTS = 13.7  # 19 units on a sheet 640 units wide: 19 * 72 / 100
_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "gaslab",
    "font.family": "sans-serif",
    "font.sans-serif": ["Liberation Sans", "Arial", "DejaVu Sans"],
}


Drawing = Callable[[Any, Look], Any]
"""What draws on axes in a look and returns what it drew."""


@dataclass(frozen=True)
class Axis:
    """One axis: what it shows, its printed unit, and its two fixed ends."""

    title: str
    unit: str
    low: float
    high: float

    def label(self) -> str:
        return f"{self.title} [{self.unit}]" if self.title and self.unit else self.title or self.unit


@dataclass
class Chart:
    """A lasting figure with one pair of axes.

    `put(name, x, y)` moves the line called `name`, `read(x, y, text)` the reading and its number;
    `svg(words)` returns the picture with its text alternative. A chart that was given no look of its
    own takes the look in use: when that changes, the next picture is made anew with the same points.
    """

    title: str
    x: Axis
    y: Axis
    own_look: Look | None = None
    artists: dict = field(default_factory=dict)
    moving: list = field(default_factory=list)

    def __post_init__(self):
        self._drawn: dict[str, tuple[Drawing, bool]] = {}
        self._points: dict[str, tuple[np.ndarray, np.ndarray]] = {}
        self._reading: tuple[float, float, str] | None = None
        self._make(self.own_look or current())

    def _make(self, look: Look) -> None:
        """Make the figure in a look, with all that was added, at the points it was put to."""
        from matplotlib.backends.backend_svg import FigureCanvasSVG
        from matplotlib.figure import Figure

        self.look = look
        with _style():
            self.figure = Figure(figsize=SIZE, dpi=100, layout="constrained", facecolor=look.card)
            FigureCanvasSVG(self.figure)
            self.axes = self.figure.add_subplot()
            _dress(self.axes, self.x, self.y, look)
        self._still = ""  # the SVG of all that does not move
        self.moving.clear()
        for name, (draw, moves) in self._drawn.items():
            self.add(name, draw, moves=moves)
        for name, points in self._points.items():
            self.put(name, *points)
        if self._reading is not None:
            self.read(*self._reading)

    def put(self, name: str, x: ArrayLike, y: ArrayLike) -> None:
        """Move the line called `name` to new points. Raises ValueError for lengths that differ."""
        across, up = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        if across.shape != up.shape:
            raise ValueError(f"chart line {name!r}: {across.size} places across but {up.size} up")
        if self.artists[name] not in self.moving:
            self._still = ""  # a line that was added as still is drawn again with the rest
        self.artists[name].set_data(np.atleast_1d(across), np.atleast_1d(up))
        self._points[name] = across, up

    def take_off_reading(self) -> None:
        """Take the reading's mark and its number off."""
        self.put("point", (), ())
        self.artists["number"].set_text("")
        self._reading = None

    def read(self, x: float, y: float, text: str) -> None:
        """Put the reading's mark at (x, y) with its number beside it, on the side where there is room."""
        self._reading = x, y, text
        self.put("point", x, y)
        number = self.artists["number"]
        (low, high), (bottom, top) = self.axes.get_xlim(), self.axes.get_ylim()
        left = x > low + 0.55 * (high - low)
        under = y > bottom + 0.8 * (top - bottom)
        number.set_text(text)
        number.xy = (min(max(x, low), high), min(max(y, bottom), top))
        number.set_position((-10 if left else 10, -12 if under else 12))
        number.set(ha="right" if left else "left", va="top" if under else "bottom")

    def add(self, name: str, draw: Drawing, *, moves: bool = False) -> None:
        """Draw something and keep it under a name. What `moves` is drawn for each picture; the rest only once."""
        self.artists[name] = artist = draw(self.axes, self.look)
        self._drawn[name] = draw, moves
        if moves:
            self.moving.append(artist)
        self._still = ""

    def svg(self, words: str) -> str:
        """Return the chart as an SVG text; `words` say in plain text what the lines show."""
        look = self.own_look or current()
        if look != self.look:
            self._make(look)
        if not self._still:
            self._still = self._draw_still()
        with _style():
            moved = self._draw_moving()
        return _named(self._still + moved, self.title, words)

    def _draw_still(self) -> str:
        """Lay the chart out, hold the layout, and return what does not move."""
        with _style():
            self.figure.set_layout_engine("constrained")
            self.figure.draw_without_rendering()
            self.figure.set_layout_engine("none")
            for artist in self.moving:
                artist.set_visible(False)
            out = io.StringIO()
            self.figure.savefig(
                out, format="svg", metadata={"Date": None, "Creator": None}, facecolor=self.look.card
            )
            for artist in self.moving:
                artist.set_visible(True)
        return _inside(out.getvalue())

    def _draw_moving(self) -> str:
        """Return the moving artists alone, drawn at the 72 dots an inch that an SVG is measured in."""
        from matplotlib.backends.backend_svg import RendererSVG

        out = io.StringIO()
        usual, self.figure.dpi = self.figure.dpi, _INCHES
        try:
            renderer = RendererSVG(SIZE[0] * _INCHES, SIZE[1] * _INCHES, out, image_dpi=_INCHES)
            for artist in self.moving:
                artist.draw(renderer)
            renderer.finalize()
        finally:
            self.figure.dpi = usual
        # Names made here must not be those of the part that stays.
        return re.sub(r'(id="|url\(#|href="#)', r"\g<1>m-", _inside(out.getvalue()))


def _style():
    from matplotlib import rc_context

    return rc_context(_STYLE)


def _dress(axes, x: Axis, y: Axis, look: Look) -> None:
    axes.set_facecolor(look.card)
    axes.set_xlim(x.low, x.high)
    axes.set_ylim(y.low, y.high)
    axes.set_xlabel(x.label(), fontsize=TEXT_POINTS, color=look.ink)
    axes.set_ylabel(y.label(), fontsize=TEXT_POINTS, color=look.ink)
    axes.tick_params(labelsize=TEXT_POINTS, colors=look.ink, length=5)
    axes.locator_params(nbins=6)
    axes.grid(True, color=look.grid, linewidth=1.0)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set(color=look.rule, linewidth=1.5)


_HEAD = re.compile(r"^.*?<svg[^>]*>", re.DOTALL)
_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)
_INCHES = 72.0


def _inside(text: str) -> str:
    """Return what stands between Matplotlib's svg tags."""
    return _METADATA.sub("", _HEAD.sub("", text, count=1)).rsplit("</svg>", 1)[0]


def _named(body: str, title: str, words: str) -> str:
    """Return an SVG text with our head: a role, a title and a description, and the width of its place."""
    mark = f"{crc32(f'{title}|{words}'.encode()):08x}"
    wide, high = SIZE[0] * _INCHES, SIZE[1] * _INCHES
    # Clip paths of two charts on one page must not share a name.
    body = re.sub(r'(id="|url\(#|href="#)', rf"\g<1>{mark}-", body)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox="0 0 {wide:g} {high:g}" '
        f'role="img" aria-labelledby="t-{mark} d-{mark}" style="display:block;width:100%;height:auto">'
        f'<title id="t-{mark}">{html_text(title)}</title><desc id="d-{mark}">{html_text(words)}</desc>{body}</svg>'
    )


# Functions that draw on axes and return what they drew.


def draw_line(
    axes: Any, look: Look, *, colour: str = "water", style: str = "-", width: float = 3.0, label: str = ""
) -> Any:
    """Draw an empty line that `Chart.put` fills, in a colour of the look. Styles differ as well as colours."""
    (artist,) = axes.plot(
        [],
        [],
        style,
        color=getattr(look, colour),
        linewidth=width,
        label=label or "_",
        solid_capstyle="round",
    )
    return artist


def draw_point(axes: Any, look: Look) -> Any:
    """Draw the mark of one reading, empty until it is put somewhere."""
    (artist,) = axes.plot(
        [],
        [],
        "o",
        color=look.ink,
        markersize=11,
        markeredgecolor=look.card,
        markeredgewidth=1.5,
        clip_on=False,
        zorder=5,
    )
    artist.set_in_layout(False)
    return artist


def draw_number(axes: Any, look: Look, *, size: float = 22.0) -> Any:
    """Draw the large number that stands beside a reading; `Chart.read` moves it."""
    behind = {"facecolor": look.card, "edgecolor": "none", "pad": 2.0, "alpha": 0.85}
    number = axes.annotate(
        "",
        (0, 0),
        xytext=(10, 12),
        textcoords="offset points",
        fontsize=size,
        color=look.ink,
        fontweight="bold",
        zorder=6,
        annotation_clip=False,
        bbox=behind,
    )
    number.set_in_layout(False)  # it moves, and the axes must not move with it
    return number


def draw_limit(axes: Any, look: Look, value: float, text: str) -> Any:
    """Draw a limit: a broken line across with its words on it."""
    line = axes.axhline(value, color=look.bad, linewidth=2.0, linestyle=(0, (7, 4)))
    words = axes.annotate(
        text,
        (1.0, value),
        xycoords=("axes fraction", "data"),
        xytext=(-4, 5),
        textcoords="offset points",
        ha="right",
        va="bottom",
        fontsize=TEXT_POINTS,
        color=look.bad,
        bbox={"facecolor": look.card, "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
    )
    return line, words


def draw_key(axes: Any, look: Look) -> Any:
    """Draw the key to the named lines."""
    return axes.legend(fontsize=TEXT_POINTS, frameon=False, labelcolor=look.ink, loc="best", handlelength=2.2)
