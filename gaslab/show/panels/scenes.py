"""What a prediction is about: the true number, how finely it is read, and how it is drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from gaslab import units
from gaslab.show.drawings.scale import prediction_scale


@dataclass(frozen=True)
class Scene:
    """The value in the chapter's unit as the picture shows it, the resolution a person reads it to,
    and `draw(guesses, reveal)`, which returns the picture without or with the value on it."""

    value: float
    resolution: float
    draw: Callable[[Sequence[float], bool], str]


def on_scale(title: str, value: float, unit: str, low: float, high: float, places: int, resolution: float) -> Scene:
    """Return a scene on a bare scale whose ends come from the question, never from the answer."""
    printed = units.printed(unit)
    shown = f"{units.rounded(float(value), places):f}"

    def draw(guesses: Sequence[float], reveal: bool) -> str:
        return prediction_scale(
            low, high, printed, title=title, predictions=tuple(guesses),
            result=float(shown) if reveal else None, result_text=f"{shown} {printed}".strip(),
        )  # fmt: skip

    return Scene(float(shown), resolution, draw)


def charted(chart, told: str, here: tuple[float, float, str] | None = None, **lines) -> str:
    """Move a chart's lines and its reading (x, y, text), and return its SVG; `told` is its text alternative."""
    for name, (across, up) in lines.items():
        chart.put(name, across, up)
    if here is None:
        chart.put("point", (), ())
        chart.artists["number"].set_text("")
    else:
        chart.read(*here)
    return chart.svg(told)
