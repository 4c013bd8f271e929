"""Chapters 01 and 02: gauges, and what a burner feels of the gas."""

from __future__ import annotations

from gaslab import units
from gaslab.physics import burner, gas, trapped
from gaslab.show import views
from gaslab.show.drawings import bars, gauges
from gaslab.show.panels.base import Panel
from gaslab.show.panels.predict import Scene, on_scale


def gauge_panel(page) -> Panel:
    """The same pressure on a water gauge and on an electronic one, with a zero error."""

    def draw(panel: Panel) -> tuple[str, str]:
        true = units.to_si(panel.values["pressure"], "mbar")
        reads = true + units.to_si(panel.values["zero"], "mbar")
        height = trapped.water_gauge_height(true, page.job.site.temperature)
        svg = gauges.water_gauge(reads) if panel.values["kind"] == "water" else gauges.electronic_gauge(reads, places=2)
        panel.model.update(pressure=true, reading=reads, height=height)
        return svg, (
            f"The pressure is {views.number(true, 'pressure')}. The gauge shows {views.number(reads, 'fine pressure')}. "
            f"That pressure holds up {views.number(height, 'short length')} of water."
        )

    panel = Panel("Water gauge and electronic gauge", "Move the pressure. Then put in a zero error and look again.", draw)
    panel.choice("kind", "Gauge", [("water gauge", "water"), ("electronic gauge", "electronic")], "water")
    panel.slider("pressure", "Pressure", 21.0, 0.0, 28.0, 0.1, "mbar")
    panel.slider("zero", "Zero error", 0.0, -1.0, 1.0, 0.05, "mbar")
    return panel


def gauge_scene(page) -> Scene:
    """How far apart 21 mbar puts the two water levels."""
    height = trapped.water_gauge_height(2100.0, page.job.site.temperature) * 1e3

    return on_scale("Water levels at 21 mbar", height, "mm", 0, 400, 0, 2.0)


def mixture_panel(page) -> Panel:
    """A gas mixed by hand, and what a burner set for pure methane makes of it."""
    g20 = gas.properties(gas.mixture("g20"))

    def draw(panel: Panel) -> tuple[str, str]:
        ethane, nitrogen = panel.values["ethane"] / 100.0, panel.values["nitrogen"] / 100.0
        found = gas.properties({"methane": 1.0 - ethane - nitrogen, "ethane": ethane, "nitrogen": nitrogen})
        share = burner.input_at(100.0, 2000.0, 2000.0, g20.wobbe_gross, found.wobbe_gross)
        panel.model.update(properties=found, share=float(share) / 100.0)
        svg = bars.level_bars(
            "What the burner feels, against pure methane",
            [
                ("heat in each m³", found.cv_gross / g20.cv_gross, views.number(found.cv_gross, "calorific value")),
                ("weight against air", found.relative_density / g20.relative_density, views.number(found.relative_density, "plain")),
                ("Wobbe number", found.wobbe_gross / g20.wobbe_gross, views.number(found.wobbe_gross, "calorific value")),
            ],
            1.2,
            mark=(1.0, "pure methane"),
        )
        return svg, (
            f"Gross CV {views.number(found.cv_gross, 'calorific value')}, net {views.number(found.cv_net, 'calorific value')}. "
            f"Wobbe number {views.number(found.wobbe_gross, 'calorific value')}. "
            f"A burner set for pure methane gives {float(share):.0f} % of its heat."
        )

    panel = Panel("What the burner feels", "Mix the gas. The rest is methane. The pressure stays at 20 mbar.", draw)
    panel.slider("ethane", "Ethane", 4.5, 0.0, 10.0, 0.5, "%")
    panel.slider("nitrogen", "Nitrogen", 1.0, 0.0, 15.0, 0.5, "%")
    return panel


def mixture_scene(page) -> Scene:
    """How far the Wobbe number falls from methane to the lift test gas."""
    before, after = (gas.properties(gas.mixture(key)).wobbe_gross for key in ("g20", "g23"))
    fall = 100.0 * (1.0 - after / before)

    return on_scale("Fall of the Wobbe number", fall, "%", 0, 20, 1, 0.5)


TOPICS = {"gauges": gauge_panel, "mixture": mixture_panel}
SCENES = {"01": gauge_scene, "02": mixture_scene}


