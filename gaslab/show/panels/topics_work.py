"""Chapter 07: the cut-out in the worktop, the hob's clearances, and the day's noise, shaking and dust."""

from __future__ import annotations

from gaslab import tables
from gaslab.physics import worktop
from gaslab.refit import context, criteria, lenses
from gaslab.show import views
from gaslab.show.drawings import bars, cutting, hob
from gaslab.show.panels.base import Panel, Shown
from gaslab.show.panels.controls import button, choice, number_control
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.scenes import Scene, on_scale
from gaslab.show.panels.topics_home import keeper, upper


def cut_out_panel(page: Page) -> Panel:
    """The hole in the worktop against the maker's margins."""
    home = page.job.site
    model: dict = {}
    top = home.worktop

    def show(now: dict) -> Shown:
        site = home.with_changes({"worktop.offset_left": now["left"], "worktop.offset_front": now["front"]})
        held = context.criteria_context(site)
        found = {
            key.removeprefix("cut-out-"): criteria.judge(key, value, context=held)
            for key, value in context.measured(site).items()
            if key.startswith("cut-out-")
        }
        cost = site.worktop.miscut_cost()
        model.update(findings=found, cost=cost)
        outcomes = {
            side: found["side" if side in ("left", "right") else side].outcome
            for side in ("left", "right", "front", "back")
        }
        worst = next((f for f in found.values() if f.outcome != criteria.MEETS), found["side"])
        words = " ".join(f"{side.capitalize()}: {f.outcome}." for side, f in found.items())
        words = f"{words} One wrong cut costs about £{cost:.0f} here."
        return Shown(cutting.cut_out(site.worktop, outcomes=outcomes), words, views.verdict(worst))

    controls = {
        "left": number_control(
            "Cut-out from the left end", "mm", 0, 1300, 5, round(top.offset_left * 1e3), 0
        ),
        "front": number_control(
            "Cut-out from the front edge", "mm", 0, 150, 1, round(top.offset_front * 1e3), 0
        ),
        "keep": button("Keep this cut-out in my job"),
    }
    told_first = "Move the hole. Each margin is held against the maker's figure."
    panel = Panel(told_first, controls, show, title="Worktop and cut-out", model=model)
    keeper(page, panel, {"left": "worktop.offset_left", "front": "worktop.offset_front"})
    return panel


def clearance_panel(page: Page) -> Panel:
    """The hood and the tall unit against the maker's clearances."""
    home = page.job.site
    model: dict = {}

    def show(now: dict) -> Shown:
        site = home.with_changes(
            {"clearances.above.measured": now["above"], "clearances.side.measured": now["side"]}
        )
        held = context.criteria_context(site)
        above, side = (
            criteria.judge(f"clearance-{id}", site.clearance(id).measured, context=held)
            for id in ("above", "side")
        )
        model.update(above=above, side=side)
        if now["view"] == "front":
            svg = hob.hob_elevation(site.clearance("above"), site.clearance("shelf"), outcome=above.outcome)
        else:
            svg = hob.hob_plan(site.hob(), {}, site.clearances)
        worst = side if above.outcome == criteria.MEETS else above
        up, across = (views.number(now[name], "short length") for name in ("above", "side"))
        words = f"Above {up}: {above.outcome}. Side {across}: {side.outcome}."
        return Shown(svg, words, views.verdict(worst))

    controls = {
        "view": choice("View", {"from the front": "front", "from above": "plan"}),
        "above": number_control(
            "Hob to hood", "mm", 400, 900, 5, round(home.clearance("above").measured * 1e3), 0
        ),
        "side": number_control(
            "Hob edge to tall unit", "mm", 0, 400, 5, round(home.clearance("side").measured * 1e3), 0
        ),
    }
    told_first = "Change the hood and the tall unit. The maker's figures here are invented."
    return Panel(told_first, controls, show, title="Hob and clearances", model=model)


def exposure_panel(page: Page) -> Panel:
    """Noise, vibration and dust over the day."""
    tools = page.job.site.tools
    model: dict = {}
    held = {"wood": "hardwood"}  # chipboard dust is held against the mixed-wood limit
    # The worst first. Noise has two values: people are told from the lower one, and wear from the upper.
    wears, tells = "noise-upper", "noise-lower"
    act = {key: upper(key, held) for key in (wears, "vibration-action", "dust-hardwood", tells)}

    def show(now: dict) -> Shown:
        found = lenses.cutting(page.job.site, {tool.id: now[tool.id] for tool in tools})
        heard = dict(zip(act, (found.noise, found.vibration, found.dust, found.noise), strict=True))
        judged = {key: criteria.judge(key, value, context=held) for key, value in heard.items()}
        model.update(cutting=found, findings=judged)
        levels = [
            (name, 100.0 * 10.0 ** ((found.noise - act[key]) / 10.0), views.number(found.noise, "noise"))
            for name, key in (("noise: tell", tells), ("noise: wear", wears))
        ] + [
            (
                "shaking",
                100.0 * found.vibration / act["vibration-action"],
                views.number(found.vibration, "vibration"),
            ),
            ("dust", 1e8 * found.dust / act["dust-hardwood"], views.number(found.dust, "dust", 2)),
        ]
        svg = bars.level_bars("Your day against where you must act", levels, 200.0, mark=(100.0, "act here"))
        worst = next((f for f in judged.values() if f.outcome != criteria.MEETS), judged[tells])
        return Shown(
            svg,
            "The bars show sound energy, shaking and dust over eight hours. "
            "Once the first noise bar passes the mark, you tell people and offer protection. "
            "Once the second does, all must wear it.",
            views.verdict(worst),
        )

    controls = {
        tool.id: number_control(tool.title, "min", 1, 120, 1, round(tool.duration / 60.0), 0)
        for tool in tools
    }
    return Panel(
        "Set the minutes for each tool today.", controls, show, title="Noise, shaking and dust", model=model
    )


def exposure_scene(page: Page) -> Scene:
    """A quarter of an hour of a router, at its teaching noise."""
    level = worktop.noise_exposure([tables.fact("practice", "noise", "router").value], [900.0])
    return on_scale("Daily noise exposure", level, "dB(A)", 60, 110, 1, 0.5)


TOPICS: Topics = {"cut-out": cut_out_panel, "clearances": clearance_panel, "exposure": exposure_panel}
SCENES: Scenes = {"07": exposure_scene}
