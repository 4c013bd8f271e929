"""The worktop with its cut-out from above, the oven in its housing from the side, and the rise from the front."""

from __future__ import annotations

from collections.abc import Mapping

from gaslab.refit.parts import Oven, Worktop
from gaslab.show import views
from gaslab.show.drawings.canvas import BIG, SMALL, WIDTH, Canvas, DrawingError
from gaslab.show.palette import Look, verdict_colour


def cut_out(top: Worktop, *, outcomes: Mapping[str, str] | None = None, look: Look | None = None) -> str:
    """Draw the worktop from above with the hole for the hob and the hob's outline over it.

    `outcomes` may colour the margins "left", "right", "front" and "back" by their findings.
    """
    c = Canvas(look)
    scale = min(580.0 / top.length, 236.0 / top.depth)
    left, back = (640 - top.length * scale) / 2, 62.0
    wide, deep = top.length * scale, top.depth * scale
    front = back + deep
    hole_left = left + top.offset_left * scale
    hole_front = front - top.offset_front * scale
    hole_wide, hole_deep = top.cut_out_length * scale, top.cut_out_depth * scale
    c.rect(left - 4, back - 16, wide + 8, 12, c.look.rule)
    c.text(left, back - 24, "wall", SMALL, fill=c.look.quiet)
    c.rect(left, back, wide, deep, c.look.wash, c.look.ink, 3, 3)
    c.rect(hole_left, hole_front - hole_deep, hole_wide, hole_deep, c.look.card, c.look.ink, 4, 8)
    hob_left = hole_left + (top.cut_out_length - top.hob_length) / 2 * scale
    hob_back = hole_front - hole_deep - (top.hob_depth - top.cut_out_depth) / 2 * scale
    c.rect(
        hob_left,
        hob_back,
        top.hob_length * scale,
        top.hob_depth * scale,
        "none",
        c.look.flame,
        2.5,
        8,
        "10 7",
    )
    margins = {
        "left": top.offset_left,
        "right": top.length - top.offset_left - top.cut_out_length,
        "front": top.offset_front,
        "back": top.depth - top.offset_front - top.cut_out_depth,
    }
    colours = {side: verdict_colour(outcome, c.look) for side, outcome in (outcomes or {}).items()}
    level = hole_front - hole_deep / 2
    for side, a, b in (("left", left, hole_left), ("right", hole_left + hole_wide, left + wide)):
        c.dimension(
            a + 2,
            level,
            b - 2,
            level,
            views.number(margins[side], "short length"),
            fill=colours.get(side, ""),
        )
    middle = hole_left + hole_wide / 2
    c.text(
        middle + 12,
        hole_front - hole_deep + 28,
        f"back {views.number(margins['back'], 'short length')}",
        SMALL,
        "middle",
        fill=colours.get("back", ""),
    )
    c.arrow(middle - 90, back, middle - 90, hole_front - hole_deep, both=True, head=6)
    c.text(
        middle + 12,
        hole_front - 14,
        f"front {views.number(margins['front'], 'short length')}",
        SMALL,
        "middle",
        fill=colours.get("front", ""),
    )
    c.arrow(middle - 90, hole_front, middle - 90, front, both=True, head=6)
    size = f"{views.figure(top.cut_out_length, 'short length')} × {views.number(top.cut_out_depth, 'short length')}"
    c.text(middle, level + 9, size, 24, "middle", True)
    c.line(left, 340, left + 52, 340, c.look.flame, 2.5, "10 7")
    c.text(
        left + 62,
        346,
        f"hob {views.figure(top.hob_length, 'short length')} × {views.number(top.hob_depth, 'short length')}",
        SMALL,
        fill=c.look.quiet,
    )
    c.text(
        left + wide,
        346,
        f"worktop {views.figure(top.length, 'short length')} × {views.number(top.depth, 'short length')}",
        SMALL,
        "end",
        fill=c.look.quiet,
    )
    words = ", ".join(f"{side} {views.number(size, 'short length')}" for side, size in margins.items())
    return c.svg("Worktop and cut-out from above", f"Cut-out {size}. Worktop left round it: {words}.")


def oven_void(oven: Oven, which: str = "new", *, outcome: str = "", look: Look | None = None) -> str:
    """Draw the oven in its housing from the side: the wall, the pipe that stands out, and the gap left."""
    if which not in ("new", "old"):
        raise DrawingError(f"oven: read {which!r}; needed new or old")
    c = Canvas(look)
    depth = oven.new_depth if which == "new" else oven.old_depth
    gap = oven.void_depth - depth - oven.pipe_projection
    scale = 400.0 / oven.void_depth
    wall, floor = 150.0, 276.0
    front = wall + oven.void_depth * scale
    oven_back = front - depth * scale
    pipe_end = wall + oven.pipe_projection * scale
    c.rect(wall - 26, 40, 26, floor - 40, c.look.rule)
    c.rect(wall, 40, front - wall, 14, c.look.wash, c.look.rule, 2)
    c.rect(wall, floor, front - wall, 12, c.look.wash, c.look.rule, 2)
    clash = gap < 0.0
    c.rect(oven_back, 74, front - oven_back, floor - 76, c.look.wash, c.look.ink, 4, 6)
    c.rect(front - 6, 68, 14, floor - 66, "#26303A", "#0F151B", 2, 4)
    c.text((oven_back + front) / 2 + 14, 118, f"{which} oven", SMALL, "middle", True)
    c.text(
        (oven_back + front) / 2 + 14,
        144,
        f"{views.number(depth, 'short length')} deep",
        SMALL,
        "middle",
        fill=c.look.quiet,
    )
    c.line(wall, 226, pipe_end, 226, c.look.gas, 14, cap="butt")
    c.rect(pipe_end - 15, 190, 15, 82, c.look.gas, c.look.ink, 2, 3)
    colour = verdict_colour(outcome, c.look) if outcome else c.look.bad if clash else c.look.ink
    left, right = sorted((pipe_end, oven_back))
    c.rect(left, 180, right - left, 10, colour)
    c.text(
        oven_back + 16 if not clash else pipe_end + 16,
        202,
        ("clash " if clash else "gap ") + views.number(gap, "short length"),
        BIG,
        bold=True,
        fill=colour,
        halo=c.look.wash,
    )
    c.text(
        oven_back + 16 if not clash else pipe_end + 16,
        236,
        f"maker: {views.number(oven.gap_maker, 'short length')}",
        SMALL,
        fill=c.look.quiet,
        halo=c.look.wash,
    )
    c.text(wall - 36, 226, "pipe", SMALL, "end", True)
    c.text(wall - 36, 250, views.number(oven.pipe_projection, "short length"), SMALL, "end")
    c.text(wall - 36, 64, "wall", SMALL, "end", fill=c.look.quiet)
    c.dimension(wall, 322, front, 322, f"housing {views.number(oven.void_depth, 'short length')}")
    tail = f" It {outcome}." if outcome else ""
    sizes = [views.number(size, "short length") for size in (oven.void_depth, depth, oven.pipe_projection)]
    words = "Housing {} deep, oven {}, pipe stands out {}".format(*sizes)
    return c.svg(
        "Oven in its housing, from the side",
        f"{words}: {'clash' if clash else 'gap'} {views.number(abs(gap), 'short length')}.{tail}",
    )


def rise_place(oven: Oven, *, outcome: str = "", look: Look | None = None) -> str:
    """Draw the oven in its housing from the front, and the new rise beside it with the space between.

    The washed strip is where the maker of the oven wants no pipe.
    """
    c = Canvas(look)
    scale = (
        320.0 / 0.6
    )  # of a housing 600 mm wide a third is shown; the wall beside it takes 320 units for 600 mm
    edge, top, floor = 440.0, 96.0, 290.0
    pipe = edge - oven.rise_offset * scale
    near = edge - oven.rise_maker * scale
    colour = verdict_colour(outcome, c.look) if outcome else c.look.ink
    c.rect(near, top, edge - near, floor - top, c.look.wash)
    c.line(near, top, near, floor, c.look.bad, 3, "9 6")
    c.rect(40, top - 16, WIDTH - 80, 16, c.look.wash, c.look.rule, 2)
    c.text(60, top - 26, "worktop", SMALL, fill=c.look.quiet)
    c.rect(edge, top, WIDTH - 40 - edge, floor - top, c.look.card, c.look.ink, 4)
    c.text((edge + WIDTH - 40) / 2, (top + floor) / 2, "oven housing", SMALL, "middle", True)
    c.line(40, floor, WIDTH - 40, floor, c.look.rule, 4)
    c.line(pipe, top, pipe, floor, c.look.gas, 14, cap="butt")
    c.text(pipe, 40, "new rise", SMALL, "middle", True)
    c.line(pipe, 46, pipe, top - 18, c.look.quiet, 2)
    c.dimension(pipe, 322, edge, 322, views.number(oven.rise_offset, "short length"))
    asked = f"maker: at least {views.number(oven.rise_maker, 'short length')}"
    c.text(WIDTH - 40, 70, asked, SMALL, "end", fill=colour)
    tail = f" It {outcome}." if outcome else ""
    return c.svg(
        "The new rise beside the oven, from the front",
        f"The new rise stands {views.number(oven.rise_offset, 'short length')} beside the housing. "
        f"The maker asks for {views.number(oven.rise_maker, 'short length')}.{tail}",
    )
