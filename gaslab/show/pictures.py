"""The course's own charts, each ready to be moved by a panel. Each function returns a `Chart`.

The axes are in trade units. `chart.put("trace", x, y)` moves a line, `chart.read(x, y, text)` the
reading with its number, and `chart.svg(words)` gives the picture.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gaslab.show import charts
from gaslab.show.charts import Axis, Chart
from gaslab.show.palette import Look, current

# A line's dash tells it from its neighbours where colour cannot.
_DASHES = ("-", "--", "-.", ":")


def line_chart(
    title: str, x: Axis, y: Axis, lines: Sequence[str] = ("",), *, limit: tuple[float, str] | None = None,
    band: tuple[float, float, str] | None = None, look: Look | None = None,
) -> Chart:  # fmt: skip
    """Return a chart with empty lines, one reading ("point") and its number ("number"), and a limit or an allowed band.

    The first line is called "trace" when it has no name of its own.
    """
    look = look or current()
    chart = Chart(title, x, y, look)
    if band is not None:
        chart.add("band", charts.draw_band(chart.axes, look, *band))
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


def drop_and_leak(
    leak_high: float,
    drop_high: float,
    volumes: Sequence[str],
    *,
    limit: tuple[float, str] | None = None,
    look: Look | None = None,
) -> Chart:
    """Return the drop [mbar] against the leak [dm³/h], one line for each named volume."""
    return line_chart(
        "Drop against leak",
        Axis("Leak", "dm³/h", 0.0, leak_high),
        Axis("Drop", "mbar", 0.0, drop_high),
        volumes,
        limit=limit,
        look=look,
    )


def pipe_loss(
    flow_high: float, loss_high: float, regimes: tuple[float, float], pipes: Sequence[str] = ("",), *,
    limit: tuple[float, str] | None = None, look: Look | None = None,
) -> Chart:  # fmt: skip
    """Return the loss [mbar] against the flow [m³/h].

    `regimes` are the two flows [m³/h] where it stops being smooth and where it starts to swirl.
    """
    chart = line_chart(
        "Pipe loss against flow",
        Axis("Flow", "m³/h", 0.0, flow_high),
        Axis("Loss", "mbar", 0.0, loss_high),
        pipes,
        limit=limit,
        look=look,
    )
    chart.add(
        "regimes", charts.draw_regimes(chart.axes, chart.look, regimes, ("smooth", "mixed", "swirling"))
    )
    return chart


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


def input_and_pressure(
    low: float, high: float, input_high: float, band: tuple[float, float, str], *, look: Look | None = None
) -> Chart:
    """Return an appliance's heat input [kW gross] against pressure [mbar], with the band its plate allows."""
    return line_chart(
        "Heat input against pressure",
        Axis("Burner pressure", "mbar", low, high),
        Axis("Heat input, gross", "kW", 0.0, input_high),
        band=band,
        look=look,
    )


def decision_error(x: Axis, limit_at: float, *, look: Look | None = None) -> Chart:
    """Return the chance [%] of calling a true value wrongly, either side of the limit at `limit_at`."""
    chart = line_chart("How often the reading misleads", x, Axis("Wrong calls", "%", 0.0, 60.0), look=look)
    chart.add(
        "edge", chart.axes.axvline(limit_at, color=chart.look.bad, linewidth=2.0, linestyle=(0, (7, 4)))
    )
    return chart


def bars(
    title: str, values: Mapping[str, float], unit: str, high: float, *, look: Look | None = None
) -> Chart:
    """Return level bars with their numbers at the ends, one for each name (a class's slips, or parts of a sum)."""
    chart = Chart(title, Axis("", unit, 0.0, high), Axis("", "", -0.6, len(values) - 0.4), look or current())
    places = range(len(values) - 1, -1, -1)
    chart.add(
        "bars",
        chart.axes.barh(
            list(places),
            list(values.values()),
            0.62,
            color=chart.look.wash,
            edgecolor=chart.look.ink,
            linewidth=1.5,
        ),
    )
    chart.axes.set_yticks(list(places), list(values), fontsize=charts.TEXT_POINTS)
    chart.axes.grid(False, axis="y")
    for place, value in zip(places, values.values(), strict=True):
        chart.axes.annotate(f"{value:g}", (value, place), xytext=(6, 0), textcoords="offset points", va="center",
                            fontsize=charts.TEXT_POINTS, color=chart.look.ink, fontweight="bold")  # fmt: skip
    return chart
