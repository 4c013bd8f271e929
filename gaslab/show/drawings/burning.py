"""What a flame looks like, and what a combustion meter shows."""

from __future__ import annotations

from gaslab.show import palette, views
from gaslab.show.drawings.canvas import BIG, NORMAL, SMALL, Canvas, DrawingError
from gaslab.show.palette import Look

_SIGNS = {
    "steady": "Steady blue cones, seated on the ports.",
    "lift": "The flames stand off the ports and flutter.",
    "light-back": "The flame has gone inside, to the injector.",
    "yellow tip": "Yellow tips: too little air, and soot.",
}
_BLUE, _CONE, _YELLOW = "#56B4E9", "#0072B2", "#F0C800"


def flame_picture(kind: str, *, look: Look | None = None) -> str:
    """Draw a burner from the side with one kind of flame: steady, lift, light-back or yellow tip."""
    if kind not in _SIGNS:
        raise DrawingError(f"flame: read {kind!r}; needed one of {', '.join(_SIGNS)}")
    c = Canvas(look)
    c.rect(120, 210, 400, 26, "#515D69", "#1A222A", 3, 8)
    c.path("M150 236 H490 L420 282 H345 V330 H295 V282 H220 Z", "#75818C", "#1A222A", 3)
    c.rect(306, 330, 28, 18, palette.BODY, "#1A222A", 2)
    for n in range(9):
        x = 148 + 43 * n
        c.rect(x - 5, 204, 10, 12, "#1A222A")
        _flame(c, kind, x, n)
    if kind == "light-back":
        c.path(
            "M320 330 q-26 -22 -10 -44 q4 14 10 18 q0 -26 14 -34 q-4 26 8 34 q8 14 -22 26 Z",
            _BLUE,
            "#FFFFFF",
            2,
        )
    c.text(320, 42, kind.capitalize(), BIG - 4, "middle", True)
    c.text(320, 72, _SIGNS[kind], SMALL + 1, "middle", fill=c.look.quiet)
    return c.svg(f"Flame picture: {kind}", _SIGNS[kind])


def _flame(c: Canvas, kind: str, x: float, n: int) -> None:
    edge = c.look.flame
    if kind == "light-back":
        return
    base = 204.0
    if kind == "lift":
        base, lean = 178.0 - 5 * (n % 3), 7 if n % 2 else -7
        c.path(
            f"M{x - 9} {base} q{lean} -46 {9 + lean} -64 q{9 - lean} 18 {9 - lean} 64", _BLUE, edge, 2, "7 5"
        )
        return
    if kind == "yellow tip":
        c.path(f"M{x - 13} {base} q-8 -50 13 -104 q22 54 13 104 Z", _BLUE, edge, 2)
        c.path(f"M{x - 14} {base - 44} q2 -34 14 -66 q14 32 14 66 q-14 -12 -28 0 Z", _YELLOW, "#7A5C00", 2)
        return
    c.path(f"M{x - 14} {base} q-6 -40 14 -78 q20 38 14 78 Z", _BLUE, edge, 2)
    c.path(f"M{x - 8} {base} q-2 -24 8 -42 q10 18 8 42 Z", _CONE)


def combustion_reading(
    carbon_monoxide: float,
    carbon_dioxide: float,
    oxygen: float,
    *,
    ratio: float | None = None,
    label: str = "",
    look: Look | None = None,
) -> str:
    """Draw a combustion meter: CO, CO2 and O2 as fractions of the dry sample, and CO/CO2 (worked out if not given)."""
    c = Canvas(look)
    if ratio is None:
        ratio = carbon_monoxide / carbon_dioxide if carbon_dioxide > 0.0 else None
    rows = (
        ("CO", views.figure(carbon_monoxide, "parts"), "ppm"),
        ("CO₂", views.figure(carbon_dioxide, "carbon dioxide", 2), "%"),
        ("O₂", views.figure(oxygen, "share"), "%"),
        ("CO / CO₂", "– – –" if ratio is None else views.figure(ratio, "ratio"), ""),
    )
    c.rect(60, 12, 520, 336, palette.BODY, palette.BODY_EDGE, 4, 28)
    c.rect(86, 36, 468, 262, palette.DISPLAY, palette.BODY_EDGE, 3, 10)
    for n, (name, figure, unit) in enumerate(rows):
        y = 84 + 62 * n
        if n:
            c.line(102, y - 44, 538, y - 44, "#8FA08B", 1.5)
        c.text(106, y, name, NORMAL + 4, fill=palette.ON_DISPLAY)
        c.text(458, y + 4, figure, 46, "end", True, palette.ON_DISPLAY)
        c.text(470, y, unit, NORMAL + 2, fill=palette.ON_DISPLAY)
    c.text(320, 329, label or "dry sample", SMALL, "middle", fill=palette.ON_BODY)
    words = ", ".join(f"{name} {figure} {unit}".strip() for name, figure, unit in rows)
    return c.svg("Combustion meter", f"The display shows {words}.")
