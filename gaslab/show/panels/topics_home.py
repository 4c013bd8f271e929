"""Chapters 00, 03 and 06: the pipework, the oven space, the room and its air."""

from __future__ import annotations

import math
from collections.abc import Mapping

from gaslab.refit import context, criteria, lenses
from gaslab.show import pictures, views
from gaslab.show.drawings import cutting, pipes, rooms
from gaslab.show.panels.base import Panel, Shown
from gaslab.show.panels.controls import button, choice, number_control
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.scenes import Scene, charted, on_scale


def told(finding: criteria.Finding) -> str:
    """Return a finding as a sentence with its mark."""
    return views.verdict(finding).text


def keeper(page: Page, panel: Panel, paths: dict[str, str]) -> None:
    """Let the panel's "keep" button put controls into the job: {control: path}."""

    def keep() -> None:
        now = panel.values()
        for name, path in paths.items():
            page.job.change(path, now[name], page.words.number)
        panel.message.say("Kept in your job. Run a page again to see it there.", "good")

    panel.on_click(panel.controls["keep"], keep)


def isometric_panel(page: Page) -> Panel:
    """The pipework to scale, with lengths, or with pressures when all is on."""
    home = page.job.site

    def show(now: dict) -> Shown:
        sizing = lenses.sizing(home) if now["show"] == "pressure" else None
        total = sum(run.length for run in home.runs)
        words = f"{home.name}: {len(home.runs)} runs, {views.number(total, 'length')} of pipe from the meter."
        return Shown(pipes.pipe_isometric(pipes.lines_of(home, sizing)), words)

    controls = {"show": choice("Show", {"lengths": "length", "pressures with everything on": "pressure"})}
    return Panel("Choose what stands beside the pipe.", controls, show, title="The pipework")


def oven_panel(page: Page) -> Panel:
    """Does the oven go home with the pipe where it is?"""
    home = page.job.site
    model: dict = {}

    def show(now: dict) -> Shown:
        site = home.with_changes({"oven.pipe_projection": now["projection"], "oven.new_depth": now["depth"]})
        gap, most = lenses.oven_gap(site), lenses.most_projection(site)
        finding = criteria.judge("oven-gap", gap, context=context.criteria_context(site))
        model.update(gap=gap, most=most, finding=finding)
        svg = cutting.oven_void(site.oven, "new", outcome=finding.outcome)
        allowed = (
            f"The pipe may stand out {views.number(most, 'short length')} at most."
            if most >= 0.0
            else "No pipe may stand behind this oven."
        )
        words = f"Gap behind the oven: {views.number(gap, 'short length')}. {allowed}"
        return Shown(svg, words, views.verdict(finding))

    controls = {
        "projection": number_control(
            "Pipe stands out", "mm", 0, 100, 1, round(home.oven.pipe_projection * 1e3), 0
        ),
        "depth": number_control(
            "Depth of the new oven", "mm", 500, 600, 1, round(home.oven.old_depth * 1e3), 0
        ),
        "keep": button("Keep this pipe place in my job"),
    }
    panel = Panel(
        "It starts as deep as the old oven. Set the depth of the new one, then move the pipe.",
        controls,
        show,
        title="Oven and pipe",
        model=model,
    )
    keeper(page, panel, {"projection": "oven.pipe_projection"})
    return panel


def rise_panel(page: Page) -> Panel:
    """Where the new rise goes, against the maker's figure."""
    home = page.job.site
    model: dict = {}

    def show(now: dict) -> Shown:
        site = home.with_changes({"oven.rise_offset": now["rise"]})
        finding = criteria.judge("rise-beside", now["rise"], context=context.criteria_context(site))
        model.update(finding=finding)
        return Shown(
            cutting.rise_place(site.oven, outcome=finding.outcome),
            "The rise stands beside the oven housing, never behind the oven.",
            views.verdict(finding),
        )

    controls = {
        "rise": number_control(
            "From the housing to the new rise", "mm", 0, 600, 5, round(home.oven.rise_offset * 1e3), 0
        ),
        "keep": button("Keep this place in my job"),
    }
    told_first = "Move the new rise. What the maker asks for is on the drawing, and it is invented."
    panel = Panel(told_first, controls, show, title="Where the new rise goes", model=model)
    keeper(page, panel, {"rise": "oven.rise_offset"})
    return panel


def oven_scene(page: Page) -> Scene:
    """The gap behind the new oven with the pipe where it is in the job."""
    home = page.job.site

    def picture(run: bool) -> str:
        return cutting.oven_void(home.oven, "new" if run else "old")

    return on_scale(
        "Space left behind the new oven", lenses.oven_gap(home) * 1e3, "mm", -60, 60, 0, 1.0, picture
    )


def room_panel(page: Page) -> Panel:
    """The room's volume and the opening the rule asks for."""
    home = page.job.site
    model: dict = {}
    room = home.room("kitchen")

    def show(now: dict) -> Shown:
        site = home.with_changes(
            {f"rooms.kitchen.{side}": now[side] for side in ("length", "width", "height")}
        )
        place = site.room("kitchen")
        finding = criteria.judge("cooker-vent", place.free_area, context=context.criteria_context(site))
        model.update(volume=place.volume, finding=finding)
        window = (
            "The window opens." if place.openable_window else "No window opens: that alone does not meet."
        )
        words = f"Volume {views.number(place.volume, 'volume')}. {window} Free area:"
        return Shown(rooms.room_plan(place), words, views.verdict(finding))

    controls = {
        side: number_control(side.capitalize(), "m", low, high, 0.05, round(getattr(room, side), 2), 2)
        for side, low, high in (("length", 1, 6), ("width", 1, 6), ("height", 1.9, 3.5))
    } | {"keep": button("Keep this room in my job")}
    told_first = "Move the walls. Watch the volume and what the rule asks for."
    panel = Panel(told_first, controls, show, title="Room and opening", model=model)
    keeper(page, panel, {side: f"rooms.kitchen.{side}" for side in ("length", "width", "height")})
    return panel


def upper(key: str, context: Mapping[str, object] | None = None) -> float:
    """Return the upper end of a limit that stands in the course's own data, in its unit."""
    limit = criteria.criterion(key, context)
    assert limit is not None and limit.high is not None, f"{key} has no upper end"
    return limit.high


def air_panel(page: Page) -> Panel:
    """Carbon dioxide in the kitchen while rings burn."""
    home, level = page.job.site, upper("co2-8-hours") * 1e-6
    model: dict = {}
    chart = pictures.room_level(
        "Carbon dioxide", "ppm", 60.0, 20_000.0, limit=(level * 1e6, "8-hour workplace limit")
    )

    def show(now: dict) -> Shown:
        found = lenses.room_air(home, "kitchen", now["heat"], now["changes"])
        when = found.time_to(level)
        model.update(air=found, time=when)
        words = f"{views.number(level, 'parts')} is passed after {views.duration(when)}."
        if math.isinf(when):
            steady, most = views.number(found.steady, "parts"), views.number(level, "parts")
            words = f"It settles at {steady} and never passes {most}."
        here = None if when > 3600.0 else (when / 60.0, level * 1e6, views.duration(when))
        return Shown(charted(chart, words, here, trace=(found.times / 60.0, found.levels * 1e6)), words)

    controls = {
        "heat": number_control("Rings on, gross", "kW", 0.5, 12, 0.5, 5, 1),
        "changes": number_control("Air changes an hour", "1/h", 0, 10, 0.5, 1, 1),
    }
    told_first = "Light some rings and change how much air gets in."
    return Panel(told_first, controls, show, title="Air over time", model=model)


def air_scene(page: Page) -> Scene:
    """How long until CO2 passes the workplace level with every ring on."""
    home = page.job.site
    found = lenses.room_air(home, "kitchen", home.hob().plate_input())
    minutes = found.time_to(upper("co2-8-hours") * 1e-6) / 60.0
    return on_scale("Minutes until CO₂ passes 5000 ppm", minutes, "min", 0, 30, 1, 0.2)


TOPICS: Topics = {
    "isometric": isometric_panel,
    "oven-space": oven_panel,
    "rise-place": rise_panel,
    "room-size": room_panel,
    "room-air": air_panel,
}
SCENES: Scenes = {"03": oven_scene, "06": air_scene}
