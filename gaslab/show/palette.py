"""Colours and text size as one value, the `Look`, and the contrast sum that the tests hold it to.

The hues come from the palette of Okabe and Ito, which people with any common kind of
colour vision can tell apart; they are darkened or lightened where text needs it.
A verdict is always a word and a mark as well as a colour.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

# The eight colours as Okabe and Ito published them (2008).
OKABE_ITO = {
    "black": "#000000", "orange": "#E69F00", "sky": "#56B4E9", "green": "#009E73",
    "yellow": "#F0E442", "blue": "#0072B2", "vermillion": "#D55E00", "purple": "#CC79A7",
}  # fmt: skip


@dataclass(frozen=True)
class Look:
    """One way the course looks. Text colours: ink, quiet, good, bad, doubt. Marks: rule, gas, water, flame.

    `ground` lies behind everything and `card` behind a drawing. `size` scales text and controls.
    """

    key: str
    title: str
    ground: str
    card: str
    ink: str
    quiet: str
    rule: str
    grid: str
    gas: str
    water: str
    flame: str
    good: str
    bad: str
    doubt: str
    wash: str
    size: float = 1.0

    def text_colours(self) -> dict[str, str]:
        return {name: getattr(self, name) for name in ("ink", "quiet", "good", "bad", "doubt")}

    def mark_colours(self) -> dict[str, str]:
        return {name: getattr(self, name) for name in ("rule", "gas", "water", "flame")}


CREAM = Look(
    key="cream", title="Cream", ground="#FFFBEA", card="#FFFEF8", ink="#1A1A1A", quiet="#4A4A44",
    rule="#5E5A50", grid="#DDD6C2", gas="#B35900", water="#0072B2", flame="#0067A5",
    good="#00664A", bad="#A33B00", doubt="#7A3B62", wash="#F3EBD2",
)  # fmt: skip
WHITE = replace(
    CREAM, key="white", title="White", ground="#FFFFFF", card="#FFFFFF", grid="#D9D9D9", wash="#EEF1F4"
)
NIGHT = Look(
    key="night", title="Dark", ground="#15191E", card="#1C2229", ink="#F5F1E6", quiet="#C9C6BC",
    rule="#A7A79F", grid="#3A424B", gas="#E69F00", water="#56B4E9", flame="#6CC0F0",
    good="#4FD0A5", bad="#FF9A5C", doubt="#E3A3C6", wash="#28303A",
)  # fmt: skip
LARGE = replace(CREAM, key="large", title="Cream, large text", size=1.35)
# For a classroom: daylight on the wall eats contrast, so every text reaches 7:1 on white.
STAGE = replace(
    WHITE, key="stage", title="Classroom screen", ink="#000000", quiet="#333333", rule="#333333", gas="#8A4300",
    water="#00508A", flame="#004F86", good="#004D37", bad="#7A2B00", doubt="#5C2A49", size=2.5,
)  # fmt: skip
LOOKS = {look.key: look for look in (CREAM, WHITE, NIGHT, LARGE, STAGE)}

# Instruments keep their own colours on any ground.
BODY, ON_BODY, BODY_EDGE = "#2F4256", "#FFFFFF", "#1B2938"
DISPLAY, ON_DISPLAY = "#DCE8D6", "#12201A"
DRUM, ON_DRUM, DRUM_RED = "#FFFFFF", "#111111", "#A82700"
GLASS = "#FFFFFF"

MARKS = {"meets": "✓", "does not meet": "✗", "cannot judge": "?", "cannot tell": "?"}
# The tone of an outcome: the name of its colour in a look, and of a message about it.
TONES = {"meets": "good", "does not meet": "bad", "cannot judge": "doubt", "cannot tell": "doubt"}

_now = CREAM


def current() -> Look:
    """Return the look in use."""
    return _now


def use(key: str) -> Look:
    """Take a look into use by its key, and return it."""
    global _now
    if key not in LOOKS:
        raise ValueError(f"look: read {key!r}; needed one of {', '.join(LOOKS)}")
    _now = LOOKS[key]
    return _now


def verdict_colour(outcome: str, look: Look) -> str:
    """Return the colour of the words of an outcome."""
    return getattr(look, TONES[outcome])


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour "#RRGGBB" (0 black to 1 white), after WCAG 2.2.

    >>> luminance("#FFFFFF")
    1.0
    """
    channels = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21, after WCAG 2.2: (L1 + 0.05) / (L2 + 0.05).

    >>> round(contrast("#000000", "#FFFFFF"), 6)
    21.0
    """
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
