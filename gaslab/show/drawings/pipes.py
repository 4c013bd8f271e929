"""The pipe run as an isometric drawing to scale, with lengths and pressures on it."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaslab.refit.lenses import Sizing
from gaslab.refit.site import Site
from gaslab.show import views
from gaslab.show.drawings.canvas import HEIGHT, SMALL, WIDTH, Canvas, text_width
from gaslab.show.palette import Look

Point = tuple[float, float, float]
_EDGE = 44.0  # room round the pipe for its labels
_AS_NOUGHT = str.maketrans("123456789", "000000000")  # figures are all about as wide
_MODEL_TEXT = "00.00 mbar"  # places are kept for the widest pressure, so labels do not jump


@dataclass(frozen=True)
class PipeLine:
    """One run to draw: corners (east, north, up) in m, and the two texts that belong to it."""

    points: tuple[Point, ...]
    length_text: str
    end_text: str
    new: bool = False


def lines_of(site: Site, sizing: Sizing | None = None) -> tuple[PipeLine, ...]:
    """Return the site's runs ready to draw: lengths, and pressures at the ends when `sizing` is given."""
    return tuple(
        PipeLine(
            points=site.path_points(run),
            length_text=views.number(run.length, "length"),
            end_text=views.number(sizing.run(run.id).pressure_end, "fine pressure")
            if sizing
            else run.end.replace("-", " "),
            new=run.state == "new",
        )
        for run in site.runs
    )


def pipe_isometric(
    lines: tuple[PipeLine, ...],
    *,
    start_text: str = "meter",
    marks: Mapping[str, str] | None = None,
    look: Look | None = None,
) -> str:
    """Draw pipe runs to scale, seen from above at a corner, with a scale bar.

    `start_text` stands at the meter. A new run is drawn broken and says so in the key.
    """
    c = Canvas(look)
    plan = _laid_out(
        tuple(line.points for line in lines),
        tuple(line.length_text for line in lines),
        start_text.translate(_AS_NOUGHT),
    )
    for line, points in zip(lines, plan.points, strict=True):
        c.polyline(points, c.look.ink, 10)
        c.polyline(points, c.look.card if line.new else c.look.gas, 6)
        if line.new:
            c.polyline(points, c.look.gas, 6, "14 8")
    for points in plan.points:
        c.circle(*points[-1], 8, c.look.card, c.look.ink, 3)
    x, y = plan.points[0][0]
    c.rect(x - 15, y - 15, 30, 30, c.look.gas, c.look.ink, 3, 5)
    for line, (length_at, end_at) in zip(lines, plan.labels, strict=True):
        c.text(*length_at, line.length_text, SMALL, fill=c.look.quiet, halo=c.look.card)
        c.text(*end_at, line.end_text, SMALL + 1, bold=True, halo=c.look.card)
    c.text(*plan.start, start_text, SMALL, bold=True, halo=c.look.card)
    _scale_bar(c, plan.per_metre)
    if any(line.new for line in lines):
        c.line(WIDTH - 132, HEIGHT - 20, WIDTH - 72, HEIGHT - 20, c.look.ink, 10)
        c.line(WIDTH - 132, HEIGHT - 20, WIDTH - 72, HEIGHT - 20, c.look.card, 6)
        c.line(WIDTH - 132, HEIGHT - 20, WIDTH - 72, HEIGHT - 20, c.look.gas, 6, "14 8")
        c.text(WIDTH - 60, HEIGHT - 14, "new", SMALL)
    words = " ".join(
        f"Run {n}: {line.length_text}{', new' if line.new else ''}, at its end {line.end_text}."
        for n, line in enumerate(lines, 1)
    )
    return c.svg("Pipe runs from the meter, to scale", f"At the start: {start_text}. {words}")


def _scale_bar(c: Canvas, per_metre: float) -> None:
    y = HEIGHT - 20
    c.line(20, y, 20 + per_metre, y, c.look.ink, 4, cap="butt")
    for x in (20, 20 + per_metre):
        c.line(x, y - 7, x, y + 7, c.look.ink, 3)
    c.text(30 + per_metre, y + 7, "1 m", SMALL)


def _flat(point: Point) -> tuple[float, float]:
    """Return where a point falls on the sheet, in metres: the usual isometric view from the south-west."""
    east, north, up = point
    return (east + north) * 0.866, (east - north) * 0.5 - up


@dataclass(frozen=True)
class _Plan:
    points: tuple[tuple[tuple[float, float], ...], ...]
    labels: tuple[tuple[tuple[float, float], tuple[float, float]], ...]
    start: tuple[float, float]
    per_metre: float


@functools.lru_cache(maxsize=256)
def _laid_out(runs: tuple[tuple[Point, ...], ...], lengths: tuple[str, ...], start_text: str) -> _Plan:
    """Return where pipes and labels stand. Kept, because only the pressures change from frame to frame."""
    flat = [[_flat(p) for p in points] for points in runs]
    every = [p for points in flat for p in points]
    left, right = min(x for x, _ in every), max(x for x, _ in every)
    top, bottom = min(y for _, y in every), max(y for _, y in every)
    scale = min(
        (WIDTH - 2 * _EDGE - 60) / max(right - left, 0.5), (HEIGHT - 2 * _EDGE - 26) / max(bottom - top, 0.5)
    )
    dx = (WIDTH - 40 - scale * (left + right)) / 2
    dy = (HEIGHT - 26 - scale * (top + bottom)) / 2
    points = tuple(tuple((x * scale + dx, y * scale + dy) for x, y in run) for run in flat)
    taken = _pipe_boxes(points)
    x, y = points[0][0]
    taken += [
        (x - 16, y - 16, x + 16, y + 16),
        (10, HEIGHT - 36, scale + 70, HEIGHT),
        (WIDTH - 140, HEIGHT - 36, WIDTH, HEIGHT),
    ]
    start = _place(x, y, start_text, taken, SMALL)
    ends = [_place(*run[-1], _MODEL_TEXT, taken, SMALL + 1) for run in points]
    middles = [
        _place(*_longest_middle(run), text, taken, SMALL) for run, text in zip(points, lengths, strict=True)
    ]
    return _Plan(points, tuple(zip(middles, ends, strict=True)), start, scale)


def _longest_middle(run) -> tuple[float, float]:
    pairs = list(itertools.pairwise(run))
    (x1, y1), (x2, y2) = max(pairs, key=lambda p: abs(p[0][0] - p[1][0]) + abs(p[0][1] - p[1][1]))
    return (x1 + x2) / 2, (y1 + y2) / 2


def _pipe_boxes(points) -> list[tuple]:
    boxes = []
    for run in points:
        for (x1, y1), (x2, y2) in itertools.pairwise(run):
            steps = max(1, int((abs(x2 - x1) + abs(y2 - y1)) / 22))
            for n in range(steps + 1):
                x, y = x1 + (x2 - x1) * n / steps, y1 + (y2 - y1) * n / steps
                boxes.append((x - 8, y - 8, x + 8, y + 8))
    return boxes


def _spots(distance: float) -> tuple[tuple[float, float, float], ...]:
    """Return eight places round a point: (across, part of the text's width, down)."""
    near = 0.7 * distance
    return (
        (distance, 0.0, 7.0), (-distance, -1.0, 7.0), (0.0, -0.5, -distance), (0.0, -0.5, distance + 15.0),
        (near, 0.0, -0.8 * distance), (near, 0.0, distance + 8.0),
        (-near, -1.0, -0.8 * distance), (-near, -1.0, distance + 8.0),
    )  # fmt: skip


_DISTANCES = (13.0, 26.0, 44.0, 66.0)
_SPOTS = np.array([spot for distance in _DISTANCES for spot in _spots(distance)])
_FAR = np.repeat(_DISTANCES, 8)


def _place(x: float, y: float, text: str, taken: list[tuple], size: float) -> tuple[float, float]:
    """Return the baseline start of a label near (x, y) where it covers the least, and take the place.

    All 32 places are weighed at once: reaching over the edge of the sheet costs most, then covering
    something that is there already, then standing far off.
    """
    wide = text_width(text, size, bold=True)
    left = x + _SPOTS[:, 0] + _SPOTS[:, 1] * wide
    base = y + _SPOTS[:, 2]
    top, right, bottom = base - 0.8 * size, left + wide, base + 0.25 * size
    there = np.array(taken)
    across = np.minimum(right[:, None], there[:, 2]) - np.maximum(left[:, None], there[:, 0])
    down = np.minimum(bottom[:, None], there[:, 3]) - np.maximum(top[:, None], there[:, 1])
    covered = (np.maximum(across, 0.0) * np.maximum(down, 0.0)).sum(axis=1)
    over = sum(
        np.maximum(beyond, 0.0)
        for beyond in (4.0 - left, 4.0 - top, right - WIDTH + 4.0, bottom - HEIGHT + 4.0)
    )
    best = int(np.argmin(1000.0 * over + 20.0 * covered + _FAR))
    taken.append((left[best], top[best], right[best], bottom[best]))
    return float(left[best]), float(base[best])
