"""A scale to guess on: one number, the guess with a dashed mark, and the truth drawn over it."""

from __future__ import annotations

from collections.abc import Sequence

from gaslab import units
from gaslab.show.drawings.canvas import BIG, HUGE, NORMAL, SMALL, WIDTH, Canvas
from gaslab.show.palette import Look

LEFT, RIGHT, BASE = 50.0, WIDTH - 50.0, 230.0


def guess_scale(
    label: str,
    unit: str,
    low: float,
    high: float,
    places: int,
    guesses: Sequence[float] = (),
    truth: float | None = None,
    look: Look | None = None,
) -> str:
    """Draw a scale from `low` to `high` in `unit`. Its ends never depend on the truth or the guesses.

    A guess off the scale stands at its end with an arrow, and its own number.
    """
    c = Canvas(look)
    printed = units.printed(unit)

    def at(value: float) -> float:
        return LEFT + (min(max(value, low), high) - low) / (high - low) * (RIGHT - LEFT)

    def said(value: float) -> str:
        return f"{units.rounded(value, places):f} {printed}".strip()

    c.text(WIDTH / 2, 36, label, NORMAL, "middle", True)
    c.line(LEFT, BASE, RIGHT, BASE, line=4)
    for step in range(6):
        value = low + (high - low) * step / 5
        c.line(at(value), BASE, at(value), BASE + 12, line=3)
        c.text(at(value), BASE + 38, f"{value:g}", SMALL, "middle", fill=c.look.quiet)
    c.text(WIDTH / 2, BASE + 70, printed, SMALL, "middle", fill=c.look.quiet)
    words = []
    if truth is not None:
        c.rect(LEFT, BASE - 26, max(at(truth) - LEFT, 2.0), 26, fill=c.look.gas)
        c.text(WIDTH / 2, 110, said(truth), HUGE, "middle", True)
        words.append(f"It comes out at {said(truth)}.")
    for guess in guesses:
        c.line(at(guess), BASE - 70, at(guess), BASE + 4, c.look.water, 4, dash="9 7")
        off = "" if low <= guess <= high else (" →" if guess > high else "← ")
        if len(guesses) == 1:
            anchor = "start" if at(guess) < LEFT + 100 else "end" if at(guess) > RIGHT - 100 else "middle"
            c.text(at(guess), BASE - 80, f"guess {said(guess)}{off}", SMALL, anchor, True, c.look.water, c.look.card)
        words.append(f"Guess: {said(guess)}.")
    if truth is None and not guesses:
        c.text(WIDTH / 2, 120, "?", BIG + 20, "middle", True, c.look.quiet)
        words.append("Nothing is shown yet.")
    return c.svg(label, f"A scale from {low:g} to {high:g} {printed}. " + " ".join(words))
