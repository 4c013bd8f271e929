"""How fast a picture follows its control, against the usual way: `interact` with a new pyplot figure.

Run from the repository's root: `python tests/benchmarks/bench_show.py`. Both ways draw the same
picture in the same run, so the ratio holds on any machine. It asserts nothing about time.
"""

from __future__ import annotations

import contextlib
import io
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable

import matplotlib

matplotlib.use("Agg")
import ipywidgets
import matplotlib.pyplot as plt
import numpy as np
from matplotlib.figure import Figure

from gaslab.refit import lenses
from gaslab.refit import site as sites
from gaslab.show import pictures, views
from gaslab.show.charts import Axis
from gaslab.show.drawings import burning, cutting, gauges, hob, meters, pipes, rooms
from gaslab.show.panels import controls
from gaslab.show.panels.base import Panel, Shown

HOME = sites.load()
FLOWS = np.linspace(0.0, 3.0, 200)


def median_ms(call: Callable[[float], object], values, warm: int = 3) -> float:
    """Return the median time [ms] of a call over changing values."""
    taken = []
    for n, value in enumerate(values):
        start = time.perf_counter()
        call(float(value))
        if n >= warm:
            taken.append(1000.0 * (time.perf_counter() - start))
    return statistics.median(taken)


def drawings() -> dict[str, Callable[[float], str]]:
    """Return each drawing as a function of one moving number, between 0 and 1."""
    sizing, near, kitchen = lenses.sizing(HOME), {c.id: c for c in HOME.clearances}, HOME.rooms[-1]
    lines = pipes.lines_of(HOME, sizing)
    return {
        "water gauge": lambda x: gauges.water_gauge(2500.0 * x),
        "electronic gauge": lambda x: gauges.electronic_gauge(2500.0 * x),
        "stopwatch": lambda x: gauges.stopwatch(120.0 * x),
        "thermocouple dial": lambda x: gauges.emf_dial(0.03 * x, hold=0.005, release=0.002),
        "metric index": lambda x: meters.metric_index(4812.0 + x),
        "imperial index": lambda x: meters.imperial_index(4812.0 + x),
        "pipe run": lambda x: pipes.pipe_isometric(lines, start_text=f"{20 + x:.2f} mbar"),
        "hob plan": lambda x: hob.hob_plan(
            HOME.hob(), {b.id: x for b in HOME.hob().burners}, HOME.clearances
        ),
        "hob elevation": lambda x: hob.hob_elevation(near["above"], near["shelf"]),
        "room": lambda x: rooms.room_plan(kitchen),
        "cut-out": lambda x: cutting.cut_out(HOME.worktop),
        "oven": lambda x: cutting.oven_void(HOME.oven),
        "combustion": lambda x: burning.combustion_reading(1e-4 * x, 0.09, 0.05),
    }


def usual_gauge_figure(x: float) -> Figure:
    """Return the water gauge's levels and scale, drawn the usual way: a new pyplot figure each time."""
    figure, axes = plt.subplots(figsize=(6.4, 3.6))
    half = 12.5 * x
    axes.bar([0, 1], [15 - half, 15 + half], 0.3)
    axes.set_yticks(range(0, 31, 5))
    axes.text(2, 15, f"{2 * half:.1f} mbar", fontsize=30)
    return figure


def usual_chart_figure(x: float) -> Figure:
    """Return the pipe loss chart, drawn the usual way."""
    figure, axes = plt.subplots(figsize=(6.4, 3.6))
    axes.plot(FLOWS, 0.2 * FLOWS**1.8)
    axes.plot([3 * x], [0.2 * (3 * x) ** 1.8], "o")
    axes.axhline(1.0, linestyle="--")
    axes.axvspan(0.8, 1.5, alpha=0.2)
    axes.set(xlabel="Flow [m³/h]", ylabel="Loss [mbar]", xlim=(0, 3), ylim=(0, 2))
    axes.text(0.5, 1.5, f"{0.2 * (3 * x) ** 1.8:.2f} mbar", fontsize=20)
    axes.grid(True)
    return figure


def our_chart() -> Callable[[float], str]:
    flow, loss = Axis("Flow", "m³/h", 0.0, 3.0), Axis("Loss", "mbar", 0.0, 2.0)
    chart = pictures.line_chart("Pipe loss against flow", flow, loss, limit=(1.0, "1 mbar"))
    chart.put("trace", FLOWS, 0.2 * FLOWS**1.8)

    def move(x: float) -> str:
        loss = 0.2 * (3 * x) ** 1.8
        chart.read(3 * x, loss, f"{loss:.2f} mbar")
        return chart.svg(f"At {3 * x:.2f} m³/h the loss is {loss:.2f} mbar.")

    return move


def panel_of(show: Callable[[float], str], step: float = 0.001) -> Panel:
    """Return a whole panel with one control: control, model, picture and words."""
    number = controls.number_control("x", "m", 0.0, 1.0, step, 0.5, 3)
    return Panel("Move it.", {"x": number}, lambda v: Shown(show(v["x"]), views.number(v["x"], "length")))


def panel_update(show: Callable[[float], str]) -> Callable[[float], None]:
    """Return a call that moves a whole panel."""
    panel = panel_of(show)

    def move(x: float) -> None:
        panel.controls["x"].value = x

    return move


def usual_update(draw: Callable[[float], Figure]) -> Callable[[float], None]:
    """Return a call that moves the usual slider of `interactive`."""

    def shown(x: float) -> None:
        # What the inline backend does at the end of a cell's output.
        figure = draw(x)
        figure.savefig(io.BytesIO(), format="png", bbox_inches="tight", dpi=100)
        plt.close(figure)

    usual = ipywidgets.interactive(shown, x=ipywidgets.FloatSlider(min=0, max=1, step=0.001, value=0.5))

    def move(x: float) -> None:
        # Without a kernel behind it, `interactive` writes its clearing of the output to the screen.
        with contextlib.redirect_stdout(io.StringIO()):
            usual.children[0].value = x

    return move


def import_seconds(statement: str) -> float:
    """Return the least of seven times [s] that a fresh Python takes to run an import."""
    code = f"import time; t = time.perf_counter(); {statement}; print(time.perf_counter() - t)"
    return min(
        float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)
        for _ in range(7)
    )


def main() -> None:
    values = np.linspace(0.001, 0.999, 60)
    print(
        f"Python {platform.python_version()}, ipywidgets {ipywidgets.__version__}, "
        f"Matplotlib {matplotlib.__version__}, {platform.machine()}"
    )
    print("\nA drawing as SVG text, median of 57 (target: under 1 ms)")
    for name, draw in drawings().items():
        print(f"  {name:<20} {median_ms(draw, values):7.3f} ms")
    print(f"  {'pipe run, new length':<20} {median_ms(_new_length, values):7.3f} ms (labels placed afresh)")
    print("\nA whole panel, control to picture, against interact with pyplot, in the kernel")
    gauge, usual = (
        median_ms(panel_update(gauges_of_x), values),
        median_ms(usual_update(usual_gauge_figure), values),
    )
    print(
        f"  instrument {gauge:8.2f} ms   usual {usual:8.2f} ms   {usual / gauge:6.0f} times faster (target 100)"
    )
    chart, usual = (
        median_ms(panel_update(our_chart()), values),
        median_ms(usual_update(usual_chart_figure), values),
    )
    print(
        f"  chart      {chart:8.2f} ms   usual {usual:8.2f} ms   {usual / chart:6.1f} times faster "
        "(targets 8, and under 50 ms)"
    )
    base, whole = import_seconds("import ipywidgets"), import_seconds("import ipywidgets, gaslab")
    panels = import_seconds("import gaslab.show.panels.base, gaslab.show.pictures")
    print("\nImport, least of seven")
    print(
        f"  ipywidgets {base:.3f} s, with gaslab {whole:.3f} s (target: at most 0.35 s more), "
        f"with panels and charts {panels:.3f} s: {panels / base:.1f} times"
    )


def gauges_of_x(x: float) -> str:
    return gauges.water_gauge(2500.0 * x)


def _new_length(x: float) -> str:
    return pipes.pipe_isometric(pipes.lines_of(HOME.changed("runs.kitchen.length", 1.0 + 9.0 * x)))


if __name__ == "__main__":
    main()
