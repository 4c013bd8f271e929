"""The course's own charts, each ready to be moved by a panel. Each function returns a `Chart`.

The axes are in trade units. `chart.put("trace", x, y)` moves a line, `chart.read(x, y, text)` the
reading with its number, and `chart.svg(words)` gives the picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from gaslab.show import charts
from gaslab.show.charts import Axis, Chart
from gaslab.show.palette import Look

# A line's dash tells it from its neighbours where colour cannot.
_DASHES = ("-", "--", "-.", ":")
_COLOURS = ("water", "gas", "good", "doubt")


def line_chart(
    title: str, x: Axis, y: Axis, lines: Sequence[str] = ("",), *, limit: tuple[float, str] | None = None,
    look: Look | None = None,
) -> Chart:  # fmt: skip
    """Return a chart with empty lines, one reading ("point") and its number ("number"), and a limit.

    The first line is called "trace" when it has no name of its own. Without a `look` it follows the look in use.
    """
    chart = Chart(title, x, y, look)
    if limit is not None:
        value, words = limit
        chart.add("limit", partial(charts.draw_limit, value=value, text=words))
    for n, name in enumerate(lines):
        chart.add(
            name or "trace",
            partial(charts.draw_line, colour=_COLOURS[n % 4], style=_DASHES[n % 4], label=name),
            moves=True,
        )
    chart.add("point", charts.draw_point, moves=True)
    chart.add("number", charts.draw_number, moves=True)
    if any(lines):
        chart.add("key", charts.draw_key)
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
