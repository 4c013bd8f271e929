"""The hob: its plan with burners, flames and clearances; its elevation under the hood."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from gaslab.refit.parts import Appliance, Clearance
from gaslab.show import views
from gaslab.show.drawings.canvas import NORMAL, SMALL, Canvas
from gaslab.show.palette import Look, verdict_colour

_LEFT, _TOP, _WIDE, _DEEP = 150.0, 62.0, 372.0, 256.0
_ACROSS = {"left": 0.17, "centre": 0.5, "right": 0.83}
_DOWN = {"back": 0.25, "centre": 0.5, "front": 0.75}
_RADIUS = {"auxiliary": 30.0, "semi-rapid": 38.0, "rapid": 46.0, "triple": 58.0}


def _seat(title: str) -> tuple[float, float]:
    """Return where a burner sits, from its title ("Front right", "Centre wok")."""
    words = title.lower().split()
    across = next((x for word, x in _ACROSS.items() if word in words), 0.5)
    down = next((y for word, y in _DOWN.items() if word in words), 0.5)
    return _LEFT + across * _WIDE, _TOP + down * _DEEP


def hob_plan(
    hob: Appliance,
    lit: Mapping[str, float] | None = None,
    clearances: Iterable[Clearance] = (),
    *,
    look: Look | None = None,
) -> str:
    """Draw a hob from above. `lit` gives the part of full heat (0 to 1) of each burner that burns.

    Clearances called "side" and "rear" are drawn as measured.
    """
    c = Canvas(look)
    lit = lit or {}
    wall = {near.id: near for near in clearances}
    c.rect(20, 8, 600, 16, c.look.rule)
    c.rect(24, 24, 592, 330, c.look.wash, radius=0)
    c.text(30, 346, "worktop", SMALL, fill=c.look.quiet)
    c.rect(_LEFT, _TOP, _WIDE, _DEEP, "#26303A", "#0F151B", 3, 16)
    words = []
    for burner in hob.burners:
        fraction = lit.get(burner.id, 0.0)
        _burner(
            c,
            *_seat(burner.title),
            _RADIUS[burner.kind],
            fraction,
            views.figure(burner.heat_input_gross, "burner input"),
        )
        state = f"lit at {views.number(fraction, 'share', 0)} of full" if fraction > 0.0 else "off"
        words.append(
            f"{burner.title}: {views.heat(burner.heat_input_gross, 'gross', 'burner input')}, {state}."
        )
    c.text(_LEFT + _WIDE - 4, 346, "figures in kW gross", SMALL, "end", fill=c.look.quiet)
    if "rear" in wall:
        c.dimension(_LEFT + 96, 26, _LEFT + 96, _TOP, views.number(wall["rear"].measured, "short length"))
    if "side" in wall:
        c.rect(590, 24, 30, 330, c.look.rule)
        c.dimension(_LEFT + _WIDE, 236, 590, 236, views.figure(wall["side"].measured, "short length"))
        c.text(556, 262, "mm", SMALL, "middle", fill=c.look.quiet)
    words += [
        f"{near.title}: {views.number(near.measured, 'short length')}."
        for key, near in wall.items()
        if key in ("rear", "side")
    ]
    return c.svg(hob.title, " ".join(words))


def _burner(c: Canvas, x: float, y: float, radius: float, fraction: float, figure: str) -> None:
    if fraction > 0.0:
        reach = radius * (0.16 + 0.26 * fraction)
        petals = []
        for n in range(18):
            angle = 2.0 * math.pi * n / 18
            for turn, far in ((-0.12, 0.0), (0.0, reach), (0.12, 0.0)):
                petals.append(
                    (
                        x + (radius - 6 + far) * math.cos(angle + turn),
                        y + (radius - 6 + far) * math.sin(angle + turn),
                    )
                )
        c.path(
            "M" + " L".join(f"{px:.1f} {py:.1f}" for px, py in petals) + " Z",
            fill="#56B4E9",
            stroke="#BFE6FF",
            line=1.5,
        )
    c.circle(x, y, radius - 6, "#515D69", "#B8C2CC", 2.5)
    c.circle(x, y, radius - 13, "#1A222A", "none")
    c.text(x, y + 7, figure, SMALL, "middle", True, "#FFFFFF")


def hob_elevation(
    above: Clearance,
    shelf: Clearance | None = None,
    below: Clearance | None = None,
    *,
    outcome: str = "",
    look: Look | None = None,
) -> str:
    """Draw the hob from the front with what hangs above it, distances as measured.

    `outcome` colours the distance to the hood when a finding has been made.
    """
    c = Canvas(look)
    top = 262.0
    scale = 0.16 * 1000.0  # units a metre: 1 m of height is 160 units
    hood = max(40.0, top - 12 - above.measured * scale * 1.35)
    c.rect(262, 6, 76, hood - 34, c.look.wash, c.look.rule, 2)
    c.path(f"M210 {hood} L250 {hood - 30} H350 L390 {hood} Z", c.look.wash, c.look.rule, 3)
    c.text(300, hood - 8, "hood", SMALL, "middle", fill=c.look.quiet)
    c.rect(40, top, 560, 20, c.look.rule)
    c.rect(190, top - 12, 220, 12, "#26303A", "#0F151B", 2, 4)
    for x in (222, 300, 378):
        c.path(
            f"M{x - 16} {top - 12} q4 -16 8 0 q4 -22 8 0 q4 -22 8 0 q4 -16 8 0 Z",
            "#56B4E9",
            c.look.flame,
            1.5,
        )
    c.rect(190, top + 38, 220, 56, c.look.wash, c.look.rule, 3, 4)
    c.text(300, top + 74, "oven", SMALL, "middle", fill=c.look.quiet)
    colour = verdict_colour(outcome, c.look) if outcome else c.look.ink
    c.arrow(300, hood + 3, 300, top - 34, both=True)
    middle = (hood + top) / 2 - 6
    c.text(
        312,
        middle + 4,
        views.number(above.measured, "short length"),
        40,
        bold=True,
        fill=colour,
        halo=c.look.card,
    )
    c.text(
        312,
        middle + 28,
        f"maker: {views.number(above.maker, 'short length')}",
        SMALL,
        fill=c.look.quiet,
        halo=c.look.card,
    )
    words = [
        f"{above.title}: measured {views.number(above.measured, 'short length')}, "
        f"the maker asks {views.number(above.maker, 'short length')}."
    ]
    if shelf is not None:
        y = max(20.0, top - shelf.measured * scale * 1.35)
        c.rect(40, 6, 110, y - 6, c.look.wash, c.look.rule, 3)
        c.text(95, min(y - 12, 60), "wall unit", SMALL, "middle", fill=c.look.quiet)
        c.dimension(95, y + 2, 95, top - 2, views.number(shelf.measured, "short length"))
        words.append(f"{shelf.title}: {views.number(shelf.measured, 'short length')}.")
    if below is not None:
        c.dimension(440, top + 20, 440, top + 38, "")
        c.text(454, top + 44, f"{views.number(below.measured, 'short length')} to the oven", SMALL)
        words.append(f"{below.title}: {views.number(below.measured, 'short length')}.")
    if outcome:
        c.text(626, 44, outcome, NORMAL, "end", True, colour)
        words.append(f"Hob to hood {outcome}.")
    return c.svg("Hob under the hood", " ".join(words))
