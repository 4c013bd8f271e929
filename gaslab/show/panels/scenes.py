"""What a prediction is about: the true number, how finely it is read, and the pictures before and after."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from gaslab import units
from gaslab.learn.chapters import Prediction
from gaslab.show.charts import Chart
from gaslab.show.drawings.bars import level_bars
from gaslab.show.panels.predict import PredictPanel, Run


@dataclass(frozen=True)
class Scene:
    """A number to foretell, in the chapter's unit, on a scale from `low` to `high` that gives nothing away.

    `text` is the number as the picture prints it; `picture(run)` draws it before (False) and after the run.
    """

    low: float
    high: float
    value: float
    text: str
    resolution: float
    picture: Callable[[bool], str]


def on_scale(
    title: str, value: float, unit: str, low: float, high: float, places: int, resolution: float,
    picture: Callable[[bool], str] | None = None,
) -> Scene:  # fmt: skip
    """Return a scene for a number in `unit`; without a picture of its own it is drawn as a level bar."""
    shown = units.rounded(float(value), places)
    text = f"{shown:f} {units.printed(unit)}".strip()

    def bar(run: bool) -> str:
        return level_bars(title, [("", max(float(shown), 0.0) if run else 0.0, text if run else "?")], high)

    return Scene(low, high, float(shown), text, resolution, picture or bar)


def predict_panel(prediction: Prediction, scene: Callable[[], Scene], **keeping) -> PredictPanel:
    """Return the four stages for a scene. The number is worked out at the run, from the job as it is then."""
    before = scene()

    def run() -> Run:
        now = scene()
        return Run(now.value, now.text, now.resolution)

    def picture(outcome: Run | None) -> str:
        return before.picture(False) if outcome is None else scene().picture(True)

    return PredictPanel(
        prediction, before.low, before.high, run, picture, title="Say first, then look", **keeping
    )


def charted(chart: Chart, told: str, here: tuple[float, float, str] | None = None, **lines) -> str:
    """Move a chart's lines and its reading (x, y, text), and return its SVG; `told` is its text alternative."""
    for name, (across, up) in lines.items():
        chart.put(name, across, up)
    if here is None:
        chart.take_off_reading()
    else:
        chart.read(*here)
    return chart.svg(told)
