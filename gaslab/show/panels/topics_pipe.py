"""Chapters 04 and 05: trapped gas and the pipe run."""

from __future__ import annotations

import numpy as np

from gaslab import tables
from gaslab.physics import flow
from gaslab.refit import context, criteria, decision, lenses
from gaslab.refit.plant import bench_number
from gaslab.refit.site import Site
from gaslab.show import pictures, views
from gaslab.show.charts import Axis
from gaslab.show.drawings import bars, pipes
from gaslab.show.panels.base import Panel, Shown
from gaslab.show.panels.controls import button, choice, number_control
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.scenes import Scene, charted, on_scale
from gaslab.show.panels.topics_home import keeper

START = decision.START_PRESSURE
METERS = {"G4 metric": "g4", "U6 imperial dial": "u6", "E6 ultrasonic": "e6"}
PIPES = {"15 mm copper": "copper-15", "22 mm copper": "copper-22", "28 mm copper": "copper-28"}


def kitchen_run(home: Site) -> str:
    """Return the run that the refit may resize: the one before the last on the way to the hob."""
    end = home.run(next(run.id for run in home.runs if run.end == home.hob().node))
    return next(run.id for run in home.runs if run.end == end.start)


def leak_panel(page: Page) -> Panel:
    """Leak, trapped volume and drop on the trainee's own installation."""
    home = page.job.site
    model: dict = {}
    chart = pictures.pressure_trace(2.0, 0.0, 24.0)
    run = kitchen_run(home)
    lasts = bench_number("tightness-test", "duration")

    def show(now: dict) -> Shown:
        site = home.with_changes({"meter.type": now["meter"], f"runs.{run}.length": now["length"]})
        trapped = lenses.trapped_gas(site)
        empty = trapped.empty_after(START, now["leak"])
        falls = min(lasts, empty)  # with nothing left to push gas out, the gauge stays at 0
        drop = trapped.drop(now["leak"], falls)
        end = max(0.0, START - drop) / 100.0  # the last figures of a float may lie under 0
        text, stays = f"{end:.1f} mbar", ""
        if empty < lasts:
            text = f"0 mbar from {views.duration(empty)} on"
            stays = "At 0 nothing is left to push gas out: the gauge stays there. A real leak slows down on the way. "
        points = ((0.0, falls / 60.0, lasts / 60.0), (START / 100.0, end, end))
        model.update(trapped=trapped, drop=drop, points=points)
        words = (
            f"Trapped: {views.number(trapped.volume, 'installation volume')}. "
            f"Drop in 2 minutes: {views.number(drop, 'fine pressure')}. {stays}"
            f"Cooling by one degree would drop it {views.number(trapped.thermal, 'pressure')}."
        )
        return Shown(charted(chart, words, (points[0][-1], end, text), trace=points), words)

    meter = home.meter.type if home.meter.type in METERS.values() else "g4"
    controls = {
        "leak": number_control("Leak", "dm3/h", 0, 3, 0.05, 0.4, 2),
        "meter": choice("Meter", METERS, meter),
        "length": number_control("Kitchen run", "m", 0.5, 15, 0.1, round(home.run(run).length, 1), 1),
    }
    return Panel(
        "Change one thing at a time. The leak stays steady.",
        controls,
        show,
        title="Leak and drop",
        model=model,
    )


def leak_scene(page: Page) -> Scene:
    """The drop that a leak of 1 dm3/h makes in two minutes."""
    drop = lenses.trapped_gas(page.job.site).drop(lenses.EXERCISE_LEAK) / 100.0
    return on_scale("Drop in two minutes", drop, "mbar", 0, 10, 1, 0.1)


def errors_panel(page: Page) -> Panel:
    """How often the test calls it wrong, by gauge and settling, as the exercise's limit is swept."""
    home = page.job.site
    model: dict = {}

    def show(now: dict) -> Shown:
        study = decision.table(home, limit=now["limit"])
        rows = [row for row in study if row.settled == now["settled"]]
        shares = [(row.gauge.replace("-", " "), 100.0 * getattr(row, now["slip"])) for row in rows]
        model.update(rows=rows)
        named = [(gauge, share, f"{share:.1f}") for gauge, share in shares]
        svg = bars.level_bars("Wrong calls in each hundred homes", named, 60.0)
        words = (
            f"{rows[0].jobs} made-up homes with each gauge. The limit, {views.number(now['limit'], 'pressure')} "
            "in two minutes, is given for this exercise, not the standard's."
        )
        return Shown(svg, words)

    slips = {
        "leaks that were missed": "called_tight_though_leaking",
        "tight pipes called leaking": "called_leaking_though_tight",
    }
    controls = {
        "settled": choice("Left to settle for a minute", {"yes": True, "no": False}),
        "slip": choice("Count", slips),
        "limit": number_control("Limit of this exercise", "mbar", 0.5, 8, 0.5, 2, 1),
    }
    told = "Choose whether the gas was left to settle, and which slip to count. Then move the limit."
    return Panel(told, controls, show, title="Right and wrong calls", model=model)


def sizing_panel(page: Page) -> Panel:
    """The kitchen run: size, length and what is lost on the way to the hob."""
    home = page.job.site
    model: dict = {}
    run = kitchen_run(home)
    boilers = [unit.id for unit in home.connected() if unit.kind == "boiler"]

    def show(now: dict) -> Shown:
        site = home.with_changes({f"runs.{run}.length": now["length"], f"runs.{run}.pipe": now["pipe"]})
        fractions = {unit.id: 1.0 for unit in site.connected()} | dict.fromkeys(boilers, now["boiler"])
        lost = lenses.loss_to(site, site.hob().node, fractions)
        finding = criteria.judge("pipe-drop", lost, context=context.criteria_context(site))
        model.update(loss=lost, finding=finding, site=site)
        svg = pipes.pipe_isometric(pipes.lines_of(site, lenses.sizing(site, fractions)))
        return Shown(
            svg, f"Lost from meter to hob: {views.number(lost, 'fine pressure')}.", views.verdict(finding)
        )

    now_pipe = home.run(run).pipe if home.run(run).pipe in PIPES.values() else "copper-15"
    controls = {
        "length": number_control("Kitchen run", "m", 0.5, 15, 0.1, round(home.run(run).length, 1), 1),
        "pipe": choice("Kitchen pipe", PIPES, now_pipe),
        "boiler": number_control("Boiler", "%", 0, 100, 5, 100, 0),
        "keep": button("Keep this pipe in my job"),
    }
    told = "Change the kitchen run and the boiler. Each end shows its pressure."
    panel = Panel(told, controls, show, title="Pipe size and loss", model=model)
    keeper(page, panel, {"length": f"runs.{run}.length", "pipe": f"runs.{run}.pipe"})
    return panel


def flow_panel(page: Page) -> Panel:
    """Loss against flow, with the kind of flow."""
    site = page.job.site
    model: dict = {}
    chart = pictures.line_chart(
        "Loss in each metre", Axis("Gas rate", "m³/h", 0.0, 6.0), Axis("Loss", "mbar/m", 0.0, 0.6)
    )
    density, viscosity = site.gas_density(), site.viscosity()
    rates = np.linspace(0.0, 6.0, 121)

    def show(now: dict) -> Shown:
        bore = tables.si("pipes", now["pipe"], "outside_diameter") - 2.0 * tables.si(
            "pipes", now["pipe"], "wall"
        )
        rough = tables.si("pipes", now["pipe"], "roughness")
        losses = flow.pressure_loss(rates / 3600.0, 1.0, bore, rough, density, viscosity) / 100.0
        loss = float(flow.pressure_loss(now["rate"], 1.0, bore, rough, density, viscosity))
        reynolds = float(flow.reynolds_number(now["rate"], bore, density, viscosity))
        slow, fast = reynolds < flow.LAMINAR_LIMIT, reynolds > flow.TURBULENT_LIMIT
        kind = "in layers" if slow else "swirling" if fast else "in between"
        model.update(loss=loss, reynolds=reynolds, kind=kind)
        rate = views.number(now["rate"], "gas rate")
        words = f"At {rate} the flow is {kind}. It loses {loss / 100.0:.3f} mbar in each metre."
        here = (now["rate"] * 3600.0, loss / 100.0, kind)
        return Shown(charted(chart, words, here, trace=(rates, losses)), words)

    controls = {
        "pipe": choice("Pipe", PIPES),
        "rate": number_control("Gas rate", "m3/h", 0.1, 6, 0.1, 1, 1),
    }
    told = "Move the gas rate. Watch where the kind of flow changes."
    return Panel(told, controls, show, title="Loss against flow", model=model)


def flow_scene(page: Page) -> Scene:
    """How many times the loss of the shared pipe grows when its flow doubles."""
    site = page.job.site
    shared, now = site.runs[0], lenses.sizing(site).runs[0].flow
    pipe = (shared.length, shared.bore(), shared.roughness(), site.gas_density(), site.viscosity())
    before, after = (flow.pressure_loss(rate, *pipe) for rate in (now, 2.0 * now))
    return on_scale("Loss at twice the flow, against before", float(after / before), "1", 0, 10, 1, 0.1)


TOPICS: Topics = {
    "leak-and-drop": leak_panel,
    "test-errors": errors_panel,
    "pipe-sizing": sizing_panel,
    "flow-kinds": flow_panel,
}
SCENES: Scenes = {"04": leak_scene, "05": flow_scene}
