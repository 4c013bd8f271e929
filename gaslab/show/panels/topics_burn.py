"""Chapters 10, 11 and 12: the gas rate, flame supervision, burning and carbon monoxide."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from gaslab import tables
from gaslab.physics import air, combustion, flame, gas
from gaslab.refit import context, criteria, lenses
from gaslab.show import pictures, views
from gaslab.show.charts import Axis
from gaslab.show.drawings import burning, gauges, meters
from gaslab.show.panels.base import Panel, Shown
from gaslab.show.panels.controls import choice, number_control
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.scenes import Scene, charted, on_scale
from gaslab.show.panels.topics_pipe import METERS

INDEXES: dict[str, Callable[[float], str]] = {
    "g4": meters.metric_index,
    "u6": meters.imperial_index,
    "e6": meters.ultrasonic_index,
}
ALARM_LEVELS = (300, 100, 50, 30)  # ppm; what each does stands in practice.csv; source: en-50291


def rate_panel(page: Page) -> Panel:
    """A timed run of the meter: what it counts, and how sure that is."""
    site = page.job.site
    model: dict = {}

    def show(now: dict) -> Shown:
        found = lenses.timed_rate(site, now["heat"], now["time"], now["meter"], site.meter.index_start)
        model.update(rate=found, finding=None)
        if math.isinf(found.uncertainty):
            words = f"No digit has passed in {views.number(now['time'], 'time')}. Run longer: nothing can be said yet."
            return Shown(INDEXES[now["meter"]](found.last), words)
        share = found.gross / now["heat"]  # of a true plate
        held = context.criteria_context(site)
        finding = criteria.judge("gas-rate-band", share - 1.0, found.uncertainty * share, held)
        model.update(finding=finding)
        sure = f"± {views.number(found.uncertainty, 'share', 0)}"
        words = (
            f"Counted {views.number(found.volume, 'index')} in {views.number(now['time'], 'time')}: "
            f"{views.heat(found.gross, 'gross', 'burner input')}, {views.heat(found.net, 'net', 'burner input')}. "
            f"One digit is {views.number(found.digit_share, 'share', 0)} of what you counted. "
            f"How sure: {sure}. Against a true plate:"
        )
        return Shown(INDEXES[now["meter"]](found.last), words, views.verdict(finding))

    controls = {
        "time": number_control("Time", "s", 5, 600, 5, 30, 0),
        "heat": number_control("True heat input, gross", "kW", 1, 12, 0.5, 7, 1),
        "meter": choice("Meter", METERS),
    }
    told = "Change how long you run and which meter it is. Watch how sure you can be."
    return Panel(told, controls, show, title="Meter and watch", model=model)


def rate_scene(page: Page) -> Scene:
    """One digit of a metric meter against what a 7 kW hob turns in a minute."""
    share = tables.si("meters", "g4", "digit") / (7000.0 / page.job.site.cv_gross * 60.0)
    return on_scale("One digit, of what a minute counts", 100.0 * share, "%", 0, 25, 1, 0.5)


def cooling_panel(page: Page) -> Panel:
    """The thermocouple after blow-out."""
    site = page.job.site
    model: dict = {}
    ring = max(site.hob().burners, key=lambda one: one.heat_input_gross)
    chart = pictures.thermocouple_cooling(100.0, 40.0, ring.emf_release * 1e3)
    rate, seconds = lenses.burner_flow(site, ring), np.linspace(0.0, 100.0, 101)

    def show(now: dict) -> Shown:
        shut = float(flame.drop_out_time(now["hot"], ring.emf_release, now["constant"]))
        passed = flame.gas_passed(rate, shut)
        finding = criteria.judge("supervision-time", shut, context=context.criteria_context(site))
        model.update(time=shut, gas=passed, finding=finding)
        volts = 1e3 * np.asarray(flame.emf_cooling(seconds, now["hot"], now["constant"]))
        words = (
            f"Shuts after {views.number(shut, 'watch')}. A {views.heat(ring.heat_input_gross, 'gross')} ring lets out "
            f"{views.number(passed, 'litres')} of unburnt gas."
        )
        here = (shut, ring.emf_release * 1e3, views.number(shut, "time")) if shut <= 100.0 else None
        return Shown(charted(chart, words, here, trace=(seconds, volts)), words, views.verdict(finding))

    controls = {
        "hot": number_control("Voltage when hot", "mV", 4, 35, 0.5, 20, 1),
        "constant": number_control("Time constant", "s", 2, 35, 0.5, 6, 1),
    }
    told = "Change how hot the tip was and how slowly it cools."
    return Panel(told, controls, show, title="Voltage over time", model=model)


def cooling_scene(page: Page) -> Scene:
    """A tip at 30 mV that lets go at 2 mV with a time constant of 10 s."""
    shut = float(flame.drop_out_time(0.030, 0.002, 10.0))

    def picture(run: bool) -> str:
        return gauges.stopwatch(shut if run else 0.0)

    return on_scale("Seconds from blow-out to shut", shut, "s", 0, 60, 1, 0.5, picture)


def burning_panel(page: Page) -> Panel:
    """Air, burnt gas, and the flame that goes with it."""
    mix = gas.mixture(page.job.site.gas)
    model: dict = {}

    def show(now: dict) -> Shown:
        co2, oxygen = (float(f(mix, now["air"])) for f in (combustion.co2_dry, combustion.oxygen_dry))
        found = float(combustion.co_ratio(now["co"], co2))
        finding = criteria.judge("cooker-co-ratio", found)
        model.update(co2=co2, oxygen=oxygen, ratio=found, finding=finding)
        if now["show"] == "reading":
            svg = burning.combustion_reading(now["co"], co2, oxygen)
        else:
            svg = burning.flame_picture(now["show"])
        shares = [views.number(share, "carbon dioxide") for share in (co2, oxygen)]
        words = f"CO₂ {shares[0]}, oxygen {shares[1]}. CO over CO₂:"
        return Shown(svg, words, views.verdict(finding))

    pictures_of = {
        "the reading": "reading",
        "steady flame": "steady",
        "lift": "lift",
        "light-back": "light-back",
        "yellow tips": "yellow tip",
    }
    controls = {
        "show": choice("Show", pictures_of),
        "air": number_control("Air, times what it needs", "1", 1, 6, 0.1, 1.6, 1),
        "co": number_control("CO in the sample", "ppm", 0, 2000, 10, 60, 0),
    }
    told = "Change the air and the CO. Then look at the four flame pictures."
    return Panel(told, controls, show, title="Air, gases and flame", model=model)


def burning_scene(page: Page) -> Scene:
    """Carbon dioxide in the dry burnt gas with twice the air."""
    mix = gas.mixture(page.job.site.gas)
    co2, oxygen = (float(f(mix, 2.0)) for f in (combustion.co2_dry, combustion.oxygen_dry))

    def picture(run: bool) -> str:
        return burning.combustion_reading(0.0, co2, oxygen) if run else burning.flame_picture("steady")

    return on_scale("CO₂ with twice the air it needs", 100.0 * co2, "%", 0, 12, 1, 0.1, picture)


def uptake_panel(page: Page) -> Panel:
    """How much of the blood CO takes up at rest."""
    model: dict = {}
    chart = pictures.line_chart(
        "CO in the blood, at rest", Axis("Time", "min", 0.0, 240.0), Axis("Blood taken up", "%", 0.0, 40.0)
    )
    minutes = np.linspace(0.0, 240.0, 49)

    def show(now: dict) -> Shown:
        share = [100.0 * air.carboxyhaemoglobin(now["co"], 60.0 * minute) for minute in minutes]
        here = float(np.interp(now["time"] / 60.0, minutes, share))
        model.update(share=here / 100.0)
        words = (
            f"After {views.duration(now['time'])} about {here:.0f} % of the blood is taken up. "
            f"{alarm_words(now['co'] * 1e6)}"
        )
        return Shown(
            charted(chart, words, (now["time"] / 60.0, here, f"{here:.0f} %"), trace=(minutes, share)), words
        )

    controls = {
        "co": number_control("CO in the air", "ppm", 0, 400, 5, 100, 0),
        "time": number_control("Time", "min", 0, 240, 5, 60, 0),
    }
    told = "Change the CO and the time. People differ: this is a guide, not a test of health."
    return Panel(told, controls, show, title="CO over time", model=model)


def alarm_words(ppm: float) -> str:
    """Return what a home CO alarm does at the highest tested level at or below `ppm`."""
    for level in ALARM_LEVELS:
        if ppm >= level - 1e-9:
            facts = tables.facts("practice")
            first, last = (facts.get((f"co-alarm-{level}", end)) for end in ("not_before", "not_after"))
            when = " and ".join(
                f"{word} {fact.value:g} min"
                for word, fact in (("not before", first), ("within", last))
                if fact
            )
            return f"A home alarm tested at {level} ppm sounds {when}."
    return "Below 30 ppm a home alarm need not sound. It is still not clean air."


TOPICS: Topics = {
    "rate": rate_panel,
    "cooling": cooling_panel,
    "burning": burning_panel,
    "co-uptake": uptake_panel,
}
SCENES: Scenes = {"10": rate_scene, "11": cooling_scene, "12": burning_scene}
