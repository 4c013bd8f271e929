"""Chapters 10, 11 and 12: the gas rate, flame supervision, burning and carbon monoxide."""

from __future__ import annotations

import math

import numpy as np

from gaslab import tables, units
from gaslab.physics import air, combustion, flame, gas
from gaslab.refit import context, criteria, lenses
from gaslab.show import pictures, views
from gaslab.show.charts import Axis
from gaslab.show.drawings import burning, meters
from gaslab.show.panels.base import Panel, charted
from gaslab.show.panels.predict import Scene, on_scale
from gaslab.show.panels.topics_home import told
from gaslab.show.panels.topics_pipe import METERS

INDEXES = {"g4": meters.metric_index, "u6": meters.imperial_index, "e6": meters.ultrasonic_index}


def rate_panel(page) -> Panel:
    """A timed run of the meter: what it counts, and how sure that is."""
    site = page.job.site

    def draw(panel: Panel) -> tuple[str, str]:
        heat = panel.values["heat"] * 1e3
        found = lenses.timed_rate(site, heat, panel.values["time"], panel.values["meter"], site.meter.index_start)
        plate = heat
        finding = criteria.judge(
            "gas-rate-band", found.gross / plate - 1.0, found.uncertainty / 2.0, context.criteria_context(site)
        )
        panel.model.update(rate=found, finding=finding)
        sure = "no digit has passed yet" if math.isinf(found.uncertainty) else f"± {views.number(found.uncertainty, 'share', 0)}"
        return INDEXES[panel.values["meter"]](found.last), (
            f"Counted {views.number(found.volume, 'index')} in {panel.values['time']:g} s: "
            f"{views.heat(found.gross, 'gross', 'burner input')}, {views.heat(found.net, 'net', 'burner input')}. "
            f"How sure: {sure}. One digit is {views.number(found.digit, 'index')}."
        )

    panel = Panel("Meter and watch", "Change how long you run and which meter it is. Watch how sure you can be.", draw)
    panel.slider("time", "Time", 60, 5, 600, 5, "s")
    panel.slider("heat", "True heat input, gross", 7.0, 1.0, 12.0, 0.5, "kW")
    panel.choice("meter", "Meter", METERS, "g4")
    return panel


def rate_scene(page) -> Scene:
    """One digit of a metric meter against what a 7 kW hob turns in a minute."""
    share = 0.001 / (7000.0 / page.job.site.cv_gross * 60.0)
    return on_scale("One digit, of what a minute counts", 100.0 * share, "%", 0, 25, 1, 0.5)


def cooling_panel(page) -> Panel:
    """The thermocouple after blow-out."""
    chart = pictures.thermocouple_cooling(100.0, 40.0, 2.0)
    ring = page.job.site.burner(page.job.site.hob().id, "rapid")
    rate = lenses.burner_flow(page.job.site, ring)

    def draw(panel: Panel) -> tuple[str, str]:
        hot, constant = panel.values["hot"] / 1e3, panel.values["constant"]
        shut = float(flame.drop_out_time(hot, 0.002, constant))
        passed = flame.gas_passed(rate, shut)
        finding = criteria.judge("supervision-time", shut, context=context.criteria_context(page.job.site))
        panel.model.update(time=shut, gas=passed, finding=finding)
        seconds = np.linspace(0.0, 100.0, 101)
        volts = 1e3 * np.asarray(flame.emf_cooling(seconds, hot, constant))
        words = (
            f"Shuts after {views.number(shut, 'watch')}. Unburnt gas from a {views.heat(ring.heat_input_gross, 'gross')} ring: "
            f"{views.number(passed, 'litres')}. {told(finding)}"
        )
        return charted(chart, words, (min(shut, 100.0), 2.0, views.number(shut, "time")), trace=(seconds, volts)), words

    panel = Panel("Voltage over time", "Change how hot the tip was and how slowly it cools.", draw)
    panel.slider("hot", "Voltage when hot", 30.0, 4.0, 35.0, 0.5, "mV")
    panel.slider("constant", "Time constant", 10.0, 2.0, 35.0, 0.5, "s")
    return panel


def cooling_scene(page) -> Scene:
    """A tip at 30 mV that lets go at 2 mV with a time constant of 10 s."""
    return on_scale("Seconds from blow-out to shut", float(flame.drop_out_time(0.030, 0.002, 10.0)), "s", 0, 60, 1, 0.5)


def burning_panel(page) -> Panel:
    """Air, burnt gas, and the flame that goes with it."""
    mix = gas.mixture(page.job.site.gas)

    def draw(panel: Panel) -> tuple[str, str]:
        ratio, co = panel.values["air"], panel.values["co"] * 1e-6
        co2, oxygen = float(combustion.co2_dry(mix, ratio)), float(combustion.oxygen_dry(mix, ratio))
        found = float(combustion.co_ratio(co, co2))
        finding = criteria.judge("cooker-co-ratio", found)
        panel.model.update(co2=co2, oxygen=oxygen, ratio=found, finding=finding)
        if panel.values["show"] == "reading":
            svg = burning.combustion_reading(co, co2, oxygen)
        else:
            svg = burning.flame_picture(panel.values["show"])
        return svg, (
            f"CO₂ {views.number(co2, 'carbon dioxide')}, oxygen {views.number(oxygen, 'carbon dioxide')}, "
            f"CO {views.number(co, 'parts')}. {told(finding)}"
        )

    panel = Panel("Air, gases and flame", "Change the air and the CO. Then look at the four flame pictures.", draw)
    panel.choice(
        "show", "Show",
        [("the reading", "reading"), ("steady flame", "steady"), ("lift", "lift"), ("light-back", "light-back"), ("yellow tips", "yellow tip")],
        "reading",
    )  # fmt: skip
    panel.slider("air", "Air, times what it needs", 1.6, 1.0, 6.0, 0.1, "1")
    panel.slider("co", "CO in the sample", 60, 0, 2000, 10, "ppm")
    return panel


def burning_scene(page) -> Scene:
    """Carbon dioxide in the dry burnt gas with twice the air."""
    co2 = combustion.co2_dry(gas.mixture(page.job.site.gas), 2.0)
    return on_scale("CO₂ with twice the air it needs", 100.0 * float(co2), "%", 0, 12, 1, 0.1)


def uptake_panel(page) -> Panel:
    """How much of the blood CO takes up at rest."""
    chart = pictures.line_chart("CO in the blood, at rest", Axis("Time", "min", 0.0, 240.0), Axis("Blood taken up", "%", 0.0, 40.0))
    minutes = np.linspace(0.0, 240.0, 49)

    def draw(panel: Panel) -> tuple[str, str]:
        co, time = panel.values["co"] * 1e-6, panel.values["time"]
        share = [100.0 * air.carboxyhaemoglobin(co, 60.0 * minute) for minute in minutes]
        here = float(np.interp(time, minutes, share))
        alarm = _alarm_words(panel.values["co"])
        panel.model.update(share=here / 100.0)
        words = f"After {time:g} min at {panel.values['co']:g} ppm: about {here:.0f} % of the blood is taken up. {alarm}"
        return charted(chart, words, (time, here, f"{here:.0f} %"), trace=(minutes, share)), words

    panel = Panel("CO over time", "Change the CO and the time. People differ: this is a guide, not a test of health.", draw)
    panel.slider("co", "CO in the air", 100, 0, 400, 5, "ppm")
    panel.slider("time", "Time", 60, 0, 240, 5, "min")
    return panel


def _alarm_words(ppm: float) -> str:
    """Return what a home CO alarm does at the level just below. Source: en-50291."""
    said = ""
    for level in (30, 50, 100, 300):
        if ppm >= level:
            said = ALARMS[level]
    return said or "Below 30 ppm a home alarm need not sound. It is still not clean air."


ALARMS = {
    30: "A home alarm must not sound at 30 ppm before 120 min.",
    50: "A home alarm sounds at 50 ppm between 60 and 90 min.",
    100: "A home alarm sounds at 100 ppm between 10 and 40 min.",
    300: "A home alarm sounds at 300 ppm within 3 min.",
}

TOPICS = {
    "rate": rate_panel,
    "cooling": cooling_panel,
    "burning": burning_panel,
    "co-uptake": uptake_panel,
}
SCENES = {"10": rate_scene, "11": cooling_scene, "12": burning_scene}
