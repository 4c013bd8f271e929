"""The course's own charts, each ready to be moved by a panel. Each function returns a `Chart`.

The axes are in trade units. `chart.put("trace", x, y)` moves a line, `chart.read(x, y, text)` the
reading with its number, and `chart.svg(words)` gives the picture.
"""

from __future__ import annotations

from collections.abc import Sequence

from gaslab.show import charts
from gaslab.show.charts import Axis, Chart
from gaslab.show.palette import Look, current

# A line's dash tells it from its neighbours where colour cannot.
_DASHES = ("-", "--", "-.", ":")


def line_chart(
    title: str, x: Axis, y: Axis, lines: Sequence[str] = ("",), *, limit: tuple[float, str] | None = None,
    look: Look | None = None,
) -> Chart:  # fmt: skip
    """Return a chart with empty lines, one reading ("point") and its number ("number"), and a limit.

    The first line is called "trace" when it has no name of its own.
    """
    look = look or current()
    chart = Chart(title, x, y, look)
    if limit is not None:
        chart.add("limit", charts.draw_limit(chart.axes, look, *limit))
    colours = (look.water, look.gas, look.good, look.doubt)
    for n, name in enumerate(lines):
        chart.add(
            name or "trace",
            charts.draw_line(chart.axes, look, colour=colours[n % 4], style=_DASHES[n % 4], label=name),
            moves=True,
        )
    chart.add("point", charts.draw_point(chart.axes, look), moves=True)
    chart.add("number", charts.draw_number(chart.axes, look), moves=True)
    if any(lines):
        chart.add("key", charts.draw_key(chart.axes, look))
    return chart


def pressure_trace(minutes: float, low: float, high: float, *, look: Look | None = None) -> Chart:
    """Return pressure [mbar] against time [min]: a tightness test as it runs."""
    return line_chart(
        "Pressure while the gas is shut in",
        Axis("Time", "min", 0.0, minutes),
        Axis("Pressure", "mbar", low, high),
        look=look,
    )


def room_level(
    what: str,
    unit: str,
    minutes: float,
    high: float,
    *,
    limit: tuple[float, str] | None = None,
    look: Look | None = None,
) -> Chart:
    """Return the level of something in a room's air against time [min]."""
    return line_chart(
        f"{what} in the room",
        Axis("Time", "min", 0.0, minutes),
        Axis(what, unit, 0.0, high),
        limit=limit,
        look=look,
    )


def thermocouple_cooling(
    seconds: float, millivolts: float, release: float, *, look: Look | None = None
) -> Chart:
    """Return a thermocouple's voltage [mV] against time [s] with the flame out, and where the valve lets go."""
    return line_chart(
        "Thermocouple after the flame goes out",
        Axis("Time", "s", 0.0, seconds),
        Axis("Voltage", "mV", 0.0, millivolts),
        limit=(release, f"valve lets go: {release:g} mV"),
        look=look,
    )
