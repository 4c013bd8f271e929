"""Chapters 00, 03, 06 and 07: the home, the oven space, the room, the worktop and the clearances."""

from __future__ import annotations

import math

from gaslab import units
from gaslab.physics import worktop
from gaslab.refit import context, criteria, lenses
from gaslab.show import pictures, views
from gaslab.show.drawings import bars, cutting, hob, pipes, rooms
from gaslab.show.panels.base import Panel, charted
from gaslab.show.panels.predict import Scene, on_scale

FIVE_THOUSAND = 5_000e-6  # the workplace limit for CO2 over 8 hours; source: eh40


def told(finding: criteria.Finding) -> str:
    """Return a finding as a sentence with its mark."""
    return views.verdict(finding).text


def isometric_panel(page) -> Panel:
    """The pipework to scale, with lengths, or with pressures when all is on."""

    def draw(panel: Panel) -> tuple[str, str]:
        home = page.job.site
        sizing = lenses.sizing(home) if panel.values["show"] == "pressure" else None
        svg = pipes.pipe_isometric(pipes.lines_of(home, sizing))
        total = sum(run.length for run in home.runs)
        return svg, f"{home.name}: {len(home.runs)} runs, {views.number(total, 'length')} of pipe from the meter."

    panel = Panel("The pipework", "Choose what stands beside the pipe.", draw)
    panel.choice("show", "Show", [("lengths", "length"), ("pressures with everything on", "pressure")], "length")
    return panel


def oven_panel(page) -> Panel:
    """Does the oven go home with the pipe where it is?"""
    oven = page.job.site.oven

    def draw(panel: Panel) -> tuple[str, str]:
        home = page.job.site.with_changes(
            {
                "oven.pipe_projection": units.to_si(panel.values["projection"], "mm"),
                "oven.new_depth": units.to_si(panel.values["depth"], "mm"),
            }
        )
        gap = lenses.oven_gap(home)
        finding = criteria.judge("oven-gap", gap, context=context.criteria_context(home))
        panel.model.update(gap=gap, finding=finding)
        return cutting.oven_void(home.oven, "new", outcome=finding.outcome), told(finding)

    panel = Panel("Oven and pipe", "Move the pipe and change the oven. Watch the gap.", draw)
    panel.slider("projection", "Pipe stands out from the wall", oven.pipe_projection * 1e3, 0, 100, 1, "mm")
    panel.slider("depth", "Depth of the new oven", oven.new_depth * 1e3, 500, 600, 1, "mm")
    panel.button("keep", "Keep this in my job", lambda: _keep(page, panel, "oven.pipe_projection", "projection", "mm"))
    return panel


def _keep(page, panel: Panel, path: str, name: str, unit: str) -> str:
    """Put one value of a panel into the job."""
    page.job.change(path, units.to_si(panel.values[name], unit), page.words.number)
    return "Kept in your job. Every chapter sees it now."


def oven_scene(page) -> Scene:
    """The gap behind the new oven with the pipe in its old place."""
    gap = lenses.oven_gap(page.job.site) * 1e3
    return on_scale("Space left behind the new oven", gap, "mm", -60, 60, 0, 1.0)


def room_panel(page) -> Panel:
    """The room's volume and the opening the rule asks for."""
    room = page.job.site.room("kitchen")

    def draw(panel: Panel) -> tuple[str, str]:
        home = page.job.site.with_changes(
            {f"rooms.kitchen.{side}": panel.values[side] for side in ("length", "width", "height")}
        )
        place = home.room("kitchen")
        finding = criteria.judge("cooker-vent", place.free_area, context=context.criteria_context(home))
        panel.model.update(volume=place.volume, finding=finding)
        return rooms.room_plan(place), f"Volume {views.number(place.volume, 'volume')}. Free area: {told(finding)}"

    panel = Panel("Room and opening", "Move the walls. Watch the volume and what the rule asks for.", draw)
    panel.slider("length", "Length", room.length, 1.0, 6.0, 0.05, "m")
    panel.slider("width", "Width", room.width, 1.0, 6.0, 0.05, "m")
    panel.slider("height", "Height", room.height, 1.9, 3.5, 0.05, "m")

    def keep() -> str:
        for side in ("length", "width", "height"):
            page.job.change(f"rooms.kitchen.{side}", panel.values[side], page.words.number)
        return "Kept in your job. Every chapter sees this room now."

    panel.button("keep", "Keep this room in my job", keep)
    return panel


def air_panel(page) -> Panel:
    """Carbon dioxide in the kitchen while rings burn."""
    chart = pictures.room_level("Carbon dioxide", "ppm", 60.0, 20_000.0, limit=(5000.0, "8-hour workplace limit"))

    def draw(panel: Panel) -> tuple[str, str]:
        found = lenses.room_air(
            page.job.site, "kitchen", panel.values["heat"] * 1e3, panel.values["changes"] / 3600.0
        )
        when = found.time_to(FIVE_THOUSAND)
        panel.model.update(air=found, time=when)
        words = f"5000 ppm is passed after {views.duration(when)}."
        if math.isinf(when):
            words = f"It settles at {views.number(found.steady, 'parts')} and never passes 5000 ppm."
        here = None if when > 3600.0 else (when / 60.0, 5000.0, views.duration(when))
        return charted(chart, words, here, trace=(found.times / 60.0, found.levels * 1e6)), words

    panel = Panel("Air over time", "Light some rings and change how much air gets in.", draw)
    panel.slider("heat", "Rings on, gross", 11.5, 0.5, 12.0, 0.5, "kW")
    panel.slider("changes", "Air changes an hour", 1.0, 0.0, 10.0, 0.5, "1/h")
    return panel


def air_scene(page) -> Scene:
    """How long until CO2 passes 5000 ppm with every ring on."""
    home = page.job.site
    found = lenses.room_air(home, "kitchen", home.hob().plate_input())
    return on_scale("Minutes until CO₂ passes 5000 ppm", found.time_to(FIVE_THOUSAND) / 60.0, "min", 0, 30, 1, 0.2)


def cut_out_panel(page) -> Panel:
    """The hole in the worktop against the maker's margins."""
    top = page.job.site.worktop

    def draw(panel: Panel) -> tuple[str, str]:
        home = page.job.site.with_changes(
            {
                "worktop.offset_left": units.to_si(panel.values["left"], "mm"),
                "worktop.offset_front": units.to_si(panel.values["front"], "mm"),
            }
        )
        held = context.criteria_context(home)
        found = {
            key: criteria.judge(key, value, context=held)
            for key, value in context.measured(home).items()
            if key.startswith("cut-out-")
        }
        outcome = {key.removeprefix("cut-out-"): finding.outcome for key, finding in found.items()}
        outcome |= {"left": outcome["side"], "right": outcome.pop("side")}
        panel.model.update(findings=found, cost=home.worktop.miscut_cost())
        words = " ".join(f"{key.removeprefix('cut-out-').capitalize()}: {told(f)}" for key, f in found.items())
        return cutting.cut_out(home.worktop, outcomes=outcome), (
            f"{words} One wrong cut here costs about £{home.worktop.miscut_cost():.0f}."
        )

    panel = Panel("Worktop and cut-out", "Move the hole. Each margin is held against the maker's figure.", draw)
    panel.slider("left", "Cut-out from the left end", top.offset_left * 1e3, 0, 1300, 5, "mm")
    panel.slider("front", "Cut-out from the front edge", top.offset_front * 1e3, 0, 150, 1, "mm")
    return panel


def clearance_panel(page) -> Panel:
    """The hood and the cupboards against the maker's clearances."""
    home = page.job.site

    def draw(panel: Panel) -> tuple[str, str]:
        site = home.with_changes(
            {
                "clearances.above.measured": units.to_si(panel.values["above"], "mm"),
                "clearances.side.measured": units.to_si(panel.values["side"], "mm"),
            }
        )
        held = context.criteria_context(site)
        above = criteria.judge("clearance-above", site.clearance("above").measured, context=held)
        side = criteria.judge("clearance-side", site.clearance("side").measured, context=held)
        panel.model.update(above=above, side=side)
        if panel.values["view"] == "front":
            svg = hob.hob_elevation(site.clearance("above"), site.clearance("shelf"), outcome=above.outcome)
        else:
            svg = hob.hob_plan(site.hob(), {}, site.clearances)
        return svg, f"Above: {told(above)} Side: {told(side)}"

    panel = Panel("Hob and clearances", "Change the hood and the tall unit. The maker's figures are invented.", draw)
    panel.choice("view", "View", [("from the front", "front"), ("from above", "plan")], "front")
    panel.slider("above", "Hob to hood", home.clearance("above").measured * 1e3, 400, 900, 5, "mm")
    panel.slider("side", "Hob edge to tall unit", home.clearance("side").measured * 1e3, 0, 400, 5, "mm")
    return panel


def exposure_panel(page) -> Panel:
    """Noise, vibration and dust over the day."""
    tools = {tool.id: tool for tool in page.job.site.tools}

    def draw(panel: Panel) -> tuple[str, str]:
        times = {id: 60.0 * panel.values[id] for id in tools}
        found = lenses.cutting(page.job.site, times)
        noise = criteria.judge("noise-upper", found.noise)
        shake = criteria.judge("vibration-action", found.vibration)
        dust = criteria.judge("dust-hardwood", found.dust)
        panel.model.update(cutting=found, findings=(noise, shake, dust))
        svg = bars.level_bars(
            "Your day against the action values",
            [
                ("noise", 100.0 * 10 ** ((found.noise - 85.0) / 10.0), views.number(found.noise, "noise")),
                ("shaking", 100.0 * found.vibration / 2.5, views.number(found.vibration, "vibration")),
                ("dust", 100.0 * found.dust / 3e-6, views.number(found.dust, "dust")),
            ],
            200.0,
            mark=(100.0, "act here"),
        )
        return svg, f"Noise: {told(noise)} Shaking: {told(shake)} Dust: {told(dust)}"

    panel = Panel("Noise, shaking and dust", "Set the minutes for each tool today.", draw)
    for tool in tools.values():
        panel.slider(tool.id, tool.title, tool.duration / 60.0, 1, 120, 1, "min")
    return panel


def exposure_scene(page) -> Scene:
    """A quarter of an hour of a router at 100 dB(A)."""
    level = worktop.noise_exposure([100.0], [900.0])
    return on_scale("Daily noise exposure", level, "dB(A)", 60, 110, 1, 0.5)


TOPICS = {
    "isometric": isometric_panel,
    "oven-space": oven_panel,
    "room-size": room_panel,
    "room-air": air_panel,
    "cut-out": cut_out_panel,
    "clearances": clearance_panel,
    "exposure": exposure_panel,
}
SCENES = {"03": oven_scene, "06": air_scene, "07": exposure_scene}
