"""The assessor's four charts: scores with the cut, a map of items, slips by heat, and marks by kind of step."""

from __future__ import annotations

from collections.abc import Callable

from gaslab.assess.pictures import CohortProfile, ItemMap, MapPoint, ScoreDistribution, SlipHeat
from gaslab.escape import clean
from gaslab.show.drawings.canvas import NORMAL, SMALL, WIDTH, Box, Canvas, text_box, text_width
from gaslab.show.palette import Look, contrast

LEFT, RIGHT, TOP, BOTTOM = 64.0, 612.0, 78.0, 290.0
MOST_BARS = 40
HEAT_ROWS, HEAT_COLUMNS = 5, 3
LOWEST_R = -0.4  # the foot of the item map; what lies below is drawn at the foot with its figure


def score_chart(made: ScoreDistribution, *, look: Look | None = None) -> str:
    """Draw how many got each score. The cut is a solid line; the band of its error is edged and named."""
    c = Canvas(look)
    c.text(WIDTH / 2, 32, "Scores and the cut", NORMAL, "middle", True)
    width = max(1, -(-len(made.scores) // MOST_BARS))  # scores that share one bar
    counts = [sum(made.counts[at : at + width]) for at in range(0, len(made.counts), width)]
    each = (RIGHT - LEFT) / len(counts)
    tallest = max([*counts, 1])

    def across(score: float) -> float:
        return LEFT + each * (score + 0.5) / width

    if made.band is not None:
        low, high = (min(max(across(end), LEFT), RIGHT) for end in made.band)
        c.rect(low, TOP - 8, high - low, BOTTOM - TOP + 8, c.look.wash, c.look.doubt, 1.5, dash="5 4")
    for place, count in enumerate(counts):
        if count:
            high = (BOTTOM - TOP) * count / tallest
            c.rect(
                LEFT + each * place + 1, BOTTOM - high, max(each - 2, 1.5), high, c.look.water, c.look.ink, 1
            )
    c.line(LEFT, BOTTOM, RIGHT, BOTTOM, c.look.ink, 2.5)
    _ticks(c, len(made.scores) - 1, across)
    c.text(LEFT - 10, TOP + 6, f"{tallest}", SMALL, "end", fill=c.look.quiet)
    c.text(LEFT - 10, BOTTOM + 4, "0", SMALL, "end", fill=c.look.quiet)
    c.text(
        (LEFT + RIGHT) / 2, BOTTOM + 56, "score, up: number of attempts", SMALL, "middle", fill=c.look.quiet
    )
    if made.cut is not None:
        x = across(made.cut)
        c.line(x, TOP - 14, x, BOTTOM, c.look.bad, 4, cap="butt")
        side = "end" if x > WIDTH / 2 else "start"
        words = f"cut {made.cut:.1f}" + (", with its error" if made.band else "")
        c.text(x - 8 if side == "end" else x + 8, TOP - 18, words, SMALL, side, True, c.look.bad, c.look.card)
    return c.svg("Scores and the cut", made.sentence)


def _ticks(c: Canvas, most: int, across: Callable) -> None:
    step = max(1, -(-most // 8))
    step = next(nice for nice in (1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000) if nice >= step)
    for score in range(0, most + 1, step):
        c.line(across(score), BOTTOM, across(score), BOTTOM + 7, c.look.ink, 2)
        c.text(across(score), BOTTOM + 28, f"{score}", SMALL, "middle")


def item_chart(made: ItemMap, *, look: Look | None = None) -> str:
    """Draw each item at its facility and discrimination with both intervals. A flagged item is a square."""
    c = Canvas(look)
    c.text(WIDTH / 2, 32, "Item map", NORMAL, "middle", True)
    top = 54.0

    def across(share: float) -> float:
        return LEFT + (RIGHT - LEFT) * share

    def up(r: float) -> float:
        return BOTTOM - (BOTTOM - top) * (max(r, LOWEST_R) - LOWEST_R) / (1 - LOWEST_R)

    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        c.line(across(share), top, across(share), BOTTOM, c.look.grid, 1)
        c.text(across(share), BOTTOM + 26, f"{share:.0%}", SMALL, "middle")
    for r in (0.0, 0.5, 1.0):
        c.line(LEFT, up(r), RIGHT, up(r), c.look.grid, 1)
        c.text(LEFT - 8, up(r) + 7, f"{r:.1f}", SMALL, "end")
    c.line(LEFT, up(0.1), RIGHT, up(0.1), c.look.bad, 2, "7 5")
    c.text(
        (LEFT + RIGHT) / 2, BOTTOM + 54, "right: easier; up: goes with the rest of the paper", SMALL, "middle",
        fill=c.look.quiet,
    )  # fmt: skip
    if not made.points:
        c.text((LEFT + RIGHT) / 2, 160, "Too few attempts to draw", NORMAL, "middle", True)
    taken: list[Box] = []
    for point in made.points:
        _cross(c, point, across, up)
        x, y = across(point.facility.known), up(point.discrimination.known)
        taken.append(Box(x - 9, y - 9, x + 9, y + 9))
    for point in made.points:
        _name(c, point, across(point.facility.known), up(point.discrimination.known), taken)
    return c.svg("Item map", made.sentence)


def _cross(c: Canvas, point: MapPoint, across: Callable, up: Callable) -> None:
    x, y = across(point.facility.known), up(point.discrimination.known)
    if point.facility.low is not None:
        c.line(across(point.facility.low), y, across(point.facility.high), y, c.look.rule, 1.5)
    if point.discrimination.low is not None:
        c.line(x, up(point.discrimination.low), x, up(point.discrimination.high), c.look.rule, 1.5)
    if point.flagged:
        c.rect(x - 8, y - 8, 16, 16, c.look.bad, c.look.ink, 1.5)
    else:
        c.circle(x, y, 7, c.look.water, c.look.ink, 1.5)


def _name(c: Canvas, point: MapPoint, x: float, y: float, taken: list[Box]) -> None:
    """Write an item's name beside its mark, on the side that is freest."""
    places = [(x + 12, y - 6, "start"), (x - 12, y - 6, "end"), (x + 12, y + 20, "start"),
              (x - 12, y + 20, "end"), (x, y - 14, "middle"), (x, y + 28, "middle")]  # fmt: skip

    def covered(place) -> float:
        box = text_box(place[0], place[1], point.name, SMALL, place[2])
        outside = (
            1000.0 if box.left < LEFT or box.right > WIDTH - 4 or box.top < 36 or box.bottom > BOTTOM else 0
        )
        return outside + sum(box.overlap(other) for other in taken)

    best = min(places, key=covered)
    taken.append(text_box(best[0], best[1], point.name, SMALL, best[2]))
    colour = c.look.bad if point.flagged else c.look.ink
    c.text(best[0], best[1], point.name, SMALL, best[2], point.flagged, colour, c.look.card)


def heat_chart(made: SlipHeat, *, look: Look | None = None) -> str:
    """Draw the commonest slips: the darker the cell, the more people made that slip. Each cell has its figure."""
    c = Canvas(look)
    c.text(WIDTH / 2, 32, "Commonest slips", NORMAL, "middle", True)
    if not made.rows:
        c.text(WIDTH / 2, 180, "No named slip was made", NORMAL, "middle")
    across, down, left = 136.0, 58.0, 214.0
    for row, (name, slips, shares) in enumerate(
        list(zip(made.rows, made.slips, made.shares, strict=True))[:HEAT_ROWS]
    ):
        y = 54.0 + row * down
        family, _, step = name.partition(" · ")
        c.text(left - 10, y + 24, _fitted(family, left - 20), SMALL, "end")
        c.text(left - 10, y + 47, _fitted(step, left - 20), SMALL, "end", fill=c.look.quiet)
        for column, (slip, share) in enumerate(list(zip(slips, shares, strict=True))[:HEAT_COLUMNS]):
            if slip:
                _heat_cell(c, left + column * across, y, across, down, slip, share)
    return c.svg("Commonest slips", made.sentence)


def _heat_cell(c: Canvas, x: float, y: float, across: float, down: float, slip: str, share: float) -> None:
    fill = mixed(c.look.card, c.look.gas, min(1.0, share / 0.5))
    ink = max(("#000000", "#FFFFFF"), key=lambda colour: contrast(colour, fill))
    c.rect(x, y, across - 4, down - 4, fill, c.look.rule, 1.5, 4)
    c.text(x + (across - 4) / 2, y + 23, _fitted(slip, across - 12), SMALL, "middle", fill=ink)
    c.text(x + (across - 4) / 2, y + 46, f"{share:.0%}", SMALL, "middle", True, ink)


def mixed(one: str, other: str, share: float) -> str:
    """Return the colour that lies `share` of the way from one to the other.

    >>> mixed("#000000", "#FFFFFF", 0.5)
    '#808080'
    """
    parts = []
    for at in (1, 3, 5):
        a, b = int(one[at : at + 2], 16), int(other[at : at + 2], 16)
        parts.append(f"{round(a + (b - a) * share):02X}")
    return "#" + "".join(parts)


def _fitted(text: str, room: float, size: float = SMALL) -> str:
    """Return a text, cut with a mark where it would not fit."""
    text = clean(text)
    if text_width(text, size) <= room:
        return text
    while text and text_width(text + "…", size) > room:
        text = text[:-1]
    return text + "…"


def profile_chart(made: CohortProfile, *, look: Look | None = None) -> str:
    """Draw the share of marks won in each kind of step, with the interval as a bar across the end."""
    c = Canvas(look)
    c.text(WIDTH / 2, 32, "Marks won by kind of step", NORMAL, "middle", True)
    left, right = 110.0, 520.0
    if not made.kinds:
        c.text(WIDTH / 2, 180, "No attempts yet", NORMAL, "middle")
    for row, (kind, share) in enumerate(zip(made.kinds, made.shares, strict=True)):
        y = 64.0 + row * 84
        c.text(left - 10, y + 33, kind, SMALL, "end")
        c.rect(left, y, right - left, 50, "none", c.look.grid, 1.5)
        c.rect(left, y, (right - left) * share.known, 50, c.look.water, c.look.ink, 1.5)
        if share.low is not None and share.high is not None:
            low, high = (left + (right - left) * end for end in (share.low, share.high))
            for width, colour in ((9, c.look.card), (4, c.look.ink)):
                c.line(low, y + 25, high, y + 25, colour, width, cap="butt")
            for end in (low, high):
                c.line(end, y + 13, end, y + 37, c.look.ink, 4, cap="butt")
        c.text(right + 14, y + 36, f"{share.known:.0%}", NORMAL, bold=True)
    c.text(
        WIDTH / 2,
        344,
        "full bar: all marks; line: where it may lie (95 %)",
        SMALL,
        "middle",
        fill=c.look.quiet,
    )
    return c.svg("Marks won by kind of step", made.sentence)
