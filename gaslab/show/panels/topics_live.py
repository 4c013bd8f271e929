"""Chapters 08 and 09: the purge, and the pressures from meter to flame."""

from __future__ import annotations

import numpy as np

from gaslab.physics import burner, purging
from gaslab.refit import context, criteria, lenses
from gaslab.show import pictures, views
from gaslab.show.charts import Axis
from gaslab.show.drawings import hob, pipes
from gaslab.show.panels.base import Panel, Shown
from gaslab.show.panels.controls import choice, number_control
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.scenes import Scene, charted, on_scale

MIXING = 20  # how sharply gas pushes the air out ahead of it; a teaching value


def purge_panel(page: Page) -> Panel:
    """The purge through one ring, with the gas front in the pipe."""
    site = page.job.site
    model: dict = {}
    chart = pictures.line_chart(
        "Gas at the purge point", Axis("Time", "s", 0.0, 600.0), Axis("Gas", "%", 0.0, 100.0)
    )
    seconds, trapped = np.linspace(0.0, 600.0, 121), lenses.trapped_gas(site)
    held = trapped.pipe + trapped.fittings  # the meter was not opened, so only the pipe holds air

    def show(now: dict) -> Shown:
        found = lenses.purge_through(
            site, now["volume"], site.burner(site.hob().id, now["ring"]), site.hob().room
        )
        share = 100.0 * np.asarray(purging.gas_fraction(seconds * found.flow, held, MIXING))
        at_end = 100.0 * float(purging.gas_fraction(found.volume, held, MIXING))
        model.update(purge=found)
        words = (
            f"Time on this ring: {views.duration(found.time)}. Let into the kitchen and mixed: "
            f"{views.number(found.room_fraction, 'share', 2)} gas. "
            f"That is {views.number(found.of_lower_limit, 'share')} of the lower flammable limit. "
            "Near the ring it is far more: no flame, window open."
        )
        here = (found.time, at_end, views.duration(found.time)) if found.time <= 600.0 else None
        return Shown(charted(chart, words, here, trace=(seconds, share)), words)

    rings = {one.title: one.id for one in site.hob().burners}
    controls = {
        "ring": choice("Ring", rings, list(rings.values())[1]),
        "volume": number_control("Volume to purge", "dm3", 5, 20, 0.5, 7, 1),
    }
    told = "Choose the ring and the volume. The volume is given for this exercise."
    return Panel(told, controls, show, title="Purging the run", model=model)


def purge_scene(page: Page) -> Scene:
    """Seconds to pass 10 dm3 through a ring of 1.75 kW gross."""
    seconds = 0.010 / burner.flow_for_input(1750.0, page.job.site.cv_gross)
    return on_scale("Seconds on one 1.75 kW ring", float(seconds), "s", 0, 500, 0, 2.0)


def _others_off(site) -> dict[str, float]:
    return {unit.id: 0.0 for unit in site.connected() if unit.kind != "hob"}


def pressure_panel(page: Page) -> Panel:
    """Pressure from meter to hob with rings lit and the boiler on."""
    site = page.job.site
    model: dict = {}
    boilers = [unit.id for unit in site.connected() if unit.kind == "boiler"]

    def show(now: dict) -> Shown:
        fractions = _others_off(site) | {site.hob().id: now["hob"]} | dict.fromkeys(boilers, now["boiler"])
        state = lenses.running(site, fractions)
        at_hob = state.pressure(site.hob().node)
        finding = criteria.judge("appliance-inlet", at_hob, context=context.criteria_context(site))
        model.update(state=state, at_hob=at_hob, at_meter=state.meter_outlet, finding=finding)
        meter, inlet = views.number(state.meter_outlet, "pressure"), views.number(at_hob, "pressure")
        words = f"At the meter {meter}, at the hob {inlet}."
        return Shown(pipes.pipe_isometric(pipes.lines_of(site, state)), words, views.verdict(finding))

    controls = {
        "hob": number_control("Rings", "%", 0, 100, 5, 60, 0),
        "boiler": number_control("Boiler", "%", 0, 100, 5, 0, 0),
    }
    told = "Light rings and fire the boiler. With nothing on you see the standing pressure."
    return Panel(told, controls, show, title="Pressure along the pipe", model=model)


def low_flame_panel(page: Page) -> Panel:
    """Every ring at its lowest, and hot water drawn."""
    site = page.job.site
    model: dict = {}
    boilers = [unit.id for unit in site.connected() if unit.kind == "boiler"]
    need = max(one.low_fraction for one in site.hob().burners)

    def show(now: dict) -> Shown:
        calm = _others_off(site) | {site.hob().id: now["low"]}
        before = lenses.running(site, calm).pressure(site.hob().node)
        after = lenses.running(site, calm | dict.fromkeys(boilers, now["hot"])).pressure(site.hob().node)
        left = now["low"] * float(np.sqrt(after / before))
        model.update(left=left, pressure=after)
        words = (
            f"Pressure at the hob {views.number(after, 'pressure')}. "
            f"The low flames now burn at {views.number(left, 'share')} of full. "
            f"This maker's lowest settings go up to {views.number(need, 'share', 0)}. "
            "Below its own setting a flame may go out."
        )
        return Shown(hob.hob_plan(site.hob(), {one.id: left for one in site.hob().burners}), words)

    controls = {
        "low": number_control("Low flame", "%", 5, 60, 1, 25, 0),
        "hot": choice("Hot water", {"off": 0.0, "drawn": 1.0}),
    }
    told = "Set the low flame. Then draw hot water and watch it dip."
    return Panel(told, controls, show, title="Low flame and hot water", model=model)


def burner_scene(page: Page) -> Scene:
    """What is left of a burner's heat at 17 mbar instead of 20."""
    return on_scale(
        "Heat left at 17 mbar",
        100.0 * float(burner.input_at(1.0, 2000.0, 1700.0, 5e7, 5e7)),
        "%",
        50,
        110,
        1,
        0.5,
    )


TOPICS: Topics = {"purge": purge_panel, "pressures": pressure_panel, "low-flame": low_flame_panel}
SCENES: Scenes = {"08": purge_scene, "09": burner_scene}
