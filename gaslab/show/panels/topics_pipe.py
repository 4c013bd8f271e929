"""Chapters 04, 05, 08 and 09: trapped gas, the pipe run, the purge and the pressures."""

from __future__ import annotations

import numpy as np

from gaslab import tables, units
from gaslab.physics import burner, flow, purging
from gaslab.refit import context, criteria, decision, lenses
from gaslab.show import pictures, views
from gaslab.show.charts import Axis
from gaslab.show.drawings import bars, hob, pipes
from gaslab.show.panels.base import Panel, charted
from gaslab.show.panels.predict import Scene, on_scale
from gaslab.show.panels.topics_home import told

START = 2050.0  # Pa: the gauge at the start of the test proper, between 20 and 21 mbar
METERS = [("G4 metric", "g4"), ("U6 imperial dial", "u6"), ("E6 ultrasonic", "e6")]
PIPES = [("15 mm copper", "copper-15"), ("22 mm copper", "copper-22"), ("28 mm copper", "copper-28")]


def leak_panel(page) -> Panel:
    """Leak, trapped volume and drop on the trainee's own installation."""
    home = page.job.site
    chart = pictures.pressure_trace(2.0, 10.0, 24.0)

    def draw(panel: Panel) -> tuple[str, str]:
        site = home.with_changes(
            {"meter.type": panel.values["meter"], "runs.kitchen.length": panel.values["length"]}
        )
        trapped = lenses.trapped_gas(site)
        leak = units.to_si(panel.values["leak"], "dm3/h")
        drop = trapped.drop(leak)
        panel.model.update(trapped=trapped, drop=drop)
        end = (START - drop) / 100.0
        words = (
            f"Trapped: {views.number(trapped.volume, 'installation volume')}. "
            f"Drop in 2 minutes: {views.number(drop, 'fine pressure')}. "
            f"Cooling by one degree would drop it {views.number(trapped.thermal, 'pressure')}."
        )
        here = (2.0, end, f"{end:.1f} mbar")
        return charted(chart, words, here, trace=((0.0, 2.0), (START / 100.0, end))), words

    panel = Panel("Leak and drop", "Change one thing at a time. The leak stays steady.", draw)
    panel.slider("leak", "Leak", 1.0, 0.0, 3.0, 0.05, "dm3/h")
    panel.choice("meter", "Meter", METERS, home.meter.type if home.meter.type in dict(map(reversed, METERS)) else "g4")
    panel.slider("length", "Kitchen run", round(home.run("kitchen").length, 1), 0.5, 15.0, 0.1, "m")
    return panel


def leak_scene(page) -> Scene:
    """The drop that a leak of 1 dm3/h makes in two minutes."""
    drop = lenses.trapped_gas(page.job.site).drop(lenses.EXERCISE_LEAK) / 100.0
    return on_scale("Drop in two minutes", drop, "mbar", 0, 10, 1, 0.1)


def errors_panel(page) -> Panel:
    """How often the test calls it wrong, by gauge and settling."""
    study = decision.table(page.job.site)

    def draw(panel: Panel) -> tuple[str, str]:
        rows = [row for row in study if row.settled == panel.values["settled"]]
        name = "called_tight_though_leaking" if panel.values["slip"] == "missed" else "called_leaking_though_tight"
        shares = [(row.gauge.replace("-", " "), 100.0 * getattr(row, name)) for row in rows]
        panel.model.update(rows=rows)
        svg = bars.level_bars(
            "Wrong calls in each hundred homes", [(gauge, share, f"{share:.1f}") for gauge, share in shares], 60.0
        )
        return svg, (
            f"{rows[0].jobs} made-up homes with each gauge. The limit is given for this exercise, not the standard's."
        )

    panel = Panel("Right and wrong calls", "Choose whether the gas was left to settle, and which slip to count.", draw)
    panel.choice("settled", "Left to settle for a minute", [("yes", True), ("no", False)], True)
    panel.choice("slip", "Count", [("leaks that were missed", "missed"), ("tight pipes called leaking", "alarm")], "missed")
    return panel


def sizing_panel(page) -> Panel:
    """The kitchen run: size, length and what is lost on the way to the hob."""
    run = page.job.site.run("kitchen")

    def draw(panel: Panel) -> tuple[str, str]:
        site = page.job.site.with_changes(
            {"runs.kitchen.length": panel.values["length"], "runs.kitchen.pipe": panel.values["pipe"]}
        )
        fractions = {unit.id: 1.0 for unit in site.connected()} | {"boiler": panel.values["boiler"] / 100.0}
        lost = lenses.loss_to(site, site.hob().node, fractions)
        finding = criteria.judge("pipe-drop", lost, context=context.criteria_context(site))
        panel.model.update(loss=lost, finding=finding, site=site)
        svg = pipes.pipe_isometric(pipes.lines_of(site, lenses.sizing(site, fractions)))
        return svg, f"Lost from meter to hob: {views.number(lost, 'fine pressure')}. {told(finding)}"

    def keep() -> str:
        for path in ("length", "pipe"):
            page.job.change(f"runs.kitchen.{path}", panel.values[path], page.words.number)
        return "Kept in your job. Chapters 04, 09, 10 and 14 see this pipe now."

    panel = Panel("Pipe size and loss", "Change the kitchen run and the boiler. Each end shows its pressure.", draw)
    panel.slider("length", "Kitchen run", round(run.length, 1), 0.5, 15.0, 0.1, "m")
    panel.choice("pipe", "Kitchen pipe", PIPES, run.pipe if run.pipe in dict(map(reversed, PIPES)) else "copper-15")
    panel.slider("boiler", "Boiler", 100, 0, 100, 5, "%")
    panel.button("keep", "Keep this pipe in my job", keep)
    return panel


def flow_panel(page) -> Panel:
    """Loss against flow, with the kind of flow."""
    site = page.job.site
    chart = pictures.line_chart(
        "Loss in each metre", Axis("Gas rate", "m³/h", 0.0, 6.0), Axis("Loss", "mbar/m", 0.0, 0.6)
    )
    density, viscosity = site.gas_density(), site.viscosity()

    def draw(panel: Panel) -> tuple[str, str]:
        pipe = panel.values["pipe"]
        bore = tables.si("pipes", pipe, "outside_diameter") - 2.0 * tables.si("pipes", pipe, "wall")
        rough = tables.si("pipes", pipe, "roughness")
        rates = np.linspace(0.0, 6.0, 121)
        losses = flow.pressure_loss(rates / 3600.0, 1.0, bore, rough, density, viscosity) / 100.0
        here = panel.values["rate"]
        loss = float(np.interp(here, rates, losses))
        reynolds = float(flow.reynolds_number(here / 3600.0, bore, density, viscosity))
        kind = "in layers" if reynolds < flow.LAMINAR_LIMIT else "swirling" if reynolds > flow.TURBULENT_LIMIT else "in between"
        panel.model.update(loss=loss, reynolds=reynolds, kind=kind)
        words = f"At {here:g} m³/h the flow is {kind}. It loses {loss:.3f} mbar in each metre."
        return charted(chart, words, (here, loss, kind), trace=(rates, losses)), words

    panel = Panel("Loss against flow", "Move the gas rate. Watch where the kind of flow changes.", draw)
    panel.choice("pipe", "Pipe", PIPES, "copper-15")
    panel.slider("rate", "Gas rate", 1.0, 0.1, 6.0, 0.1, "m3/h")
    return panel


def flow_scene(page) -> Scene:
    """How many times the loss of the shared pipe grows when its flow doubles."""
    site = page.job.site
    shared = site.run("hall")
    now = lenses.sizing(site).run("hall").flow
    lost = [
        flow.pressure_loss(
            rate, shared.length, shared.bore(), shared.roughness(), site.gas_density(), site.viscosity()
        )
        for rate in (now, 2.0 * now)
    ]
    return on_scale("Loss at twice the flow, against before", float(lost[1] / lost[0]), "1", 0, 10, 1, 0.1)


def purge_panel(page) -> Panel:
    """The purge through one ring, with the gas front in the pipe."""
    site = page.job.site
    chart = pictures.line_chart("Gas at the purge point", Axis("Time", "s", 0.0, 600.0), Axis("Gas", "%", 0.0, 100.0))

    def draw(panel: Panel) -> tuple[str, str]:
        ring = site.burner(site.hob().id, panel.values["ring"])
        volume = units.to_si(panel.values["volume"], "dm3")
        found = lenses.purge_through(site, volume, ring)
        seconds = np.linspace(0.0, 600.0, 121)
        held = site.installation_volume()
        share = 100.0 * np.asarray(purging.gas_fraction(seconds * found.flow, held, 20))
        panel.model.update(purge=found)
        at_end = float(np.interp(found.time, seconds, share))
        words = (
            f"Time on this ring: {views.duration(found.time)}. Let into the kitchen and mixed: "
            f"{views.number(found.room_fraction, 'share', 2)} gas. That is {views.number(found.of_lower_limit, 'share')} "
            "of the lower flammable limit. Near the ring it is far more: no flame, window open."
        )
        here = (min(found.time, 600.0), at_end, views.duration(found.time))
        return charted(chart, words, here, trace=(seconds, share)), words

    rings = [(one.title, one.id) for one in site.hob().burners]
    panel = Panel("Purging the run", "Choose the ring and the volume. The volume is given for this exercise.", draw)
    panel.choice("ring", "Ring", rings, rings[1][1])
    panel.slider("volume", "Volume to purge", 10.0, 5.0, 20.0, 0.5, "dm3")
    return panel


def purge_scene(page) -> Scene:
    """Seconds to pass 10 dm3 through a ring of 1.75 kW gross."""
    seconds = 0.010 / burner.flow_for_input(1750.0, page.job.site.cv_gross)
    return on_scale("Seconds on one 1.75 kW ring", float(seconds), "s", 0, 500, 0, 2.0)


def pressure_panel(page) -> Panel:
    """Pressure from meter to hob with rings lit and the boiler on."""
    site = page.job.site

    def draw(panel: Panel) -> tuple[str, str]:
        hob_part = panel.values["hob"] / 100.0
        fractions = {site.hob().id: hob_part, "boiler": panel.values["boiler"] / 100.0}
        state = lenses.running(site, fractions)
        at_hob, at_meter = state.pressure(site.hob().node), state.meter_outlet
        held = context.criteria_context(site)
        finding = criteria.judge("appliance-inlet", at_hob, context=held)
        panel.model.update(state=state, at_hob=at_hob, at_meter=at_meter, finding=finding)
        return pipes.pipe_isometric(pipes.lines_of(site, state)), (
            f"At the meter {views.number(at_meter, 'pressure')}, at the hob {views.number(at_hob, 'pressure')}. {told(finding)}"
        )

    panel = Panel("Pressure along the pipe", "Light rings and fire the boiler. Nothing on means standing pressure.", draw)
    panel.slider("hob", "Rings", 60, 0, 100, 5, "%")
    panel.slider("boiler", "Boiler", 0, 0, 100, 5, "%")
    return panel


def low_flame_panel(page) -> Panel:
    """Every ring at its lowest, and hot water drawn."""
    site = page.job.site

    def draw(panel: Panel) -> tuple[str, str]:
        low = panel.values["low"] / 100.0
        fractions = {site.hob().id: low, "boiler": 1.0 if panel.values["hot"] else 0.0}
        state = lenses.running(site, fractions)
        calm = lenses.running(site, {site.hob().id: low, "boiler": 0.0})
        left = low * float(np.sqrt(state.pressure(site.hob().node) / calm.pressure(site.hob().node)))
        panel.model.update(left=left, pressure=state.pressure(site.hob().node))
        lit = {one.id: left for one in site.hob().burners}
        return hob.hob_plan(site.hob(), lit), (
            f"Pressure at the hob {views.number(state.pressure(site.hob().node), 'pressure')}. The low flames now burn at "
            f"{100.0 * left:.1f} % of full. A flame below the maker's lowest setting may go out."
        )

    panel = Panel("Low flame and hot water", "Set the low flame. Then draw hot water and watch it dip.", draw)
    panel.slider("low", "Low flame", 25, 5, 60, 1, "%")
    panel.tick("hot", "Draw hot water")
    return panel


def burner_scene(page) -> Scene:
    """What is left of a burner's heat at 17 mbar instead of 20."""
    left = burner.input_at(100.0, 2000.0, 1700.0, 5.072e7, 5.072e7)
    return on_scale("Heat left at 17 mbar", float(left), "%", 50, 110, 1, 0.5)


TOPICS = {
    "leak-and-drop": leak_panel,
    "test-errors": errors_panel,
    "pipe-sizing": sizing_panel,
    "flow-kinds": flow_panel,
    "purge": purge_panel,
    "pressures": pressure_panel,
    "low-flame": low_flame_panel,
}
SCENES = {"04": leak_scene, "05": flow_scene, "08": purge_scene, "09": burner_scene}
