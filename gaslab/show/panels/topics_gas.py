"""Chapters 01 and 02: gauges, and what a burner feels of the gas."""

from __future__ import annotations

from gaslab.physics import burner, gas, trapped
from gaslab.show import views
from gaslab.show.drawings import bars, gauges
from gaslab.show.panels.base import Panel, Shown
from gaslab.show.panels.controls import choice, number_control
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.scenes import Scene, on_scale


def gauge_panel(page: Page) -> Panel:
    """The same pressure on a water gauge and on an electronic one, with a zero error."""
    model: dict = {}
    temperature = page.job.site.temperature

    def show(now: dict) -> Shown:
        true, reads = now["pressure"], now["pressure"] + now["zero"]
        height = trapped.water_gauge_height(true, temperature)
        svg = (
            gauges.water_gauge(reads) if now["kind"] == "water" else gauges.electronic_gauge(reads, places=2)
        )
        model.update(pressure=true, reading=reads, height=height)
        return Shown(
            svg,
            f"The pressure is {views.number(true, 'pressure')}. "
            f"The gauge shows {views.number(reads, 'fine pressure')}. "
            f"That pressure holds up {views.number(height, 'short length')} of water.",
        )

    controls = {
        "kind": choice("Gauge", {"water gauge": "water", "electronic gauge": "electronic"}),
        "pressure": number_control("Pressure", "mbar", 0, 28, 0.1, 12, 1),
        "zero": number_control("Zero error", "mbar", -1, 1, 0.05, 0, 2),
    }
    told = "Move the pressure. Then put in a zero error and look again."
    return Panel(told, controls, show, title="Water gauge and electronic gauge", model=model)


def gauge_scene(page: Page) -> Scene:
    """How far apart 21 mbar puts the two water levels."""
    height = trapped.water_gauge_height(2100.0, page.job.site.temperature) * 1e3
    return on_scale("Water levels at 21 mbar", height, "mm", 0, 400, 0, 2.0)


def mixture_panel(page: Page) -> Panel:
    """A gas mixed by hand, and what a burner set for pure methane makes of it."""
    model: dict = {}
    g20 = gas.properties(gas.mixture("g20"))

    def show(now: dict) -> Shown:
        rest = 1.0 - now["ethane"] - now["nitrogen"]
        found = gas.properties({"methane": rest, "ethane": now["ethane"], "nitrogen": now["nitrogen"]})
        share = float(burner.input_at(1.0, 2000.0, 2000.0, g20.wobbe_gross, found.wobbe_gross))
        model.update(properties=found, share=share)
        gross, wobbe = (
            views.number(value, "calorific value") for value in (found.cv_gross, found.wobbe_gross)
        )
        weight = views.number(found.relative_density, "plain")
        svg = bars.level_bars(
            "What the burner feels, against pure methane",
            [
                ("heat in each m³", found.cv_gross / g20.cv_gross, gross),
                ("weight against air", found.relative_density / g20.relative_density, weight),
                ("Wobbe number", found.wobbe_gross / g20.wobbe_gross, wobbe),
            ],
            1.2,
            mark=(1.0, "pure methane"),
        )
        return Shown(
            svg,
            f"Gross CV {gross}, net {views.number(found.cv_net, 'calorific value')}. Wobbe number {wobbe}. "
            f"A burner set for pure methane gives {views.number(share, 'share', 0)} of its heat.",
        )

    controls = {
        "ethane": number_control("Ethane", "%", 0, 10, 0.5, 4.5, 1),
        "nitrogen": number_control("Nitrogen", "%", 0, 15, 0.5, 1, 1),
    }
    told = "Mix the gas. The rest is methane. The pressure stays at 20 mbar."
    return Panel(told, controls, show, title="What the burner feels", model=model)


def mixture_scene(page: Page) -> Scene:
    """How far the Wobbe number falls from methane to the lift test gas."""
    before, after = (gas.properties(gas.mixture(key)).wobbe_gross for key in ("g20", "g23"))
    return on_scale("Fall of the Wobbe number", 100.0 * (1.0 - after / before), "%", 0, 20, 1, 0.5)


TOPICS: Topics = {"gauges": gauge_panel, "mixture": mixture_panel}
SCENES: Scenes = {"01": gauge_scene, "02": mixture_scene}
