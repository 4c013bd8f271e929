"""What the bench shows: one instrument at a time, drawn from what a person can see."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gaslab.refit.parts import Appliance
from gaslab.show import pictures
from gaslab.show.drawings import gauges, hob, meters

TRACE_MINUTES = 6.0  # the part of the trace that is in sight
WIDEST_ON_WATER = 3_000.0  # Pa: beyond this the water is blown out of the tube
LOW_FLAME = 0.3  # how large a low flame is drawn, as a part of a full one
INDEX_DRAWINGS = {"g": meters.metric_index, "e": meters.ultrasonic_index, "u": meters.imperial_index}
VIEWS = {"gauge": "gauge", "gauge over time": "trace", "meter": "meter", "hob": "hob"}


class BenchView:
    """Draws the bench: its gauge, the gauge over time, the meter or the hob."""

    def __init__(self):
        self.chart = pictures.pressure_trace(TRACE_MINUTES, 0.0, 30.0)

    def svg(self, look: str, seen: Mapping, unit: Appliance, trace: Sequence[tuple[float, float]]) -> str:
        """Return the drawing called `look` of what `Bench.view` gives; `trace` is (minute, mbar) points."""
        if look == "meter":
            return INDEX_DRAWINGS[seen["index"]["kind"][0]](seen["index"]["value"])
        if look == "hob":
            parts = {"high": 1.0, "low": LOW_FLAME}
            lit = {id: parts[ring["tap"]] for id, ring in seen["rings"].items() if ring["lit"]}
            return hob.hob_plan(unit, lit)
        return self._trace(trace) if look == "trace" else _gauge(seen["gauge"])

    def _trace(self, trace: Sequence[tuple[float, float]]) -> str:
        start = max(0.0, trace[-1][0] - TRACE_MINUTES) if trace else 0.0
        points = [(minute - start, value) for minute, value in trace if minute >= start]
        self.chart.put("trace", [minute for minute, _ in points], [value for _, value in points])
        if not points:
            return self.chart.svg("No gauge has been connected yet.")
        text = f"{points[-1][1]:.2f} mbar"
        self.chart.read(*points[-1], text)
        return self.chart.svg(f"The gauge now shows {text}.")


def _gauge(gauge: Mapping | None) -> str:
    if gauge is None:
        return gauges.electronic_gauge(None, label="not connected")
    if gauge["kind"] == "water-gauge":
        if abs(gauge["value"]) > WIDEST_ON_WATER:
            return gauges.electronic_gauge(None, label="water blown out")
        return gauges.water_gauge(gauge["value"], joined_to=gauge["at"])
    places = 2 if gauge["kind"] == "fine-gauge" else 1
    return gauges.electronic_gauge(gauge["value"], places=places, label=gauge["at"])
