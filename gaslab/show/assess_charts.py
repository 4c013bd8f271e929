"""The assessor's charts: scores with the cut, the item map, the slip heat map, the cohort's profile.

Each function takes the numbers that `assess.pictures` worked out and returns SVG text with
its text alternative: the same sentence that stands under the chart.
"""

from __future__ import annotations

from gaslab import escape
from gaslab.assess.pictures import CohortProfile, ItemMap, ScoreDistribution, SlipHeat
from gaslab.show.charts import Axis, Chart
from gaslab.show.palette import Look

SMALL = 11.0  # points, for the names that stand in a row
MOST_ROWS, MOST_COLUMNS = 7, 3
LONGEST_NAME = 30


def score_chart(found: ScoreDistribution, look: Look | None = None) -> str:
    """Return the bars of every score, with the cut as a line and its error as a band."""
    most, top = max(found.scores), max((*found.counts, 1))
    chart = Chart(
        "Scores", Axis("Score", "marks", -0.5, most + 0.5), Axis("Attempts", "", 0, top * 1.25), look
    )
    look = chart.look
    bars = chart.axes.bar(
        found.scores, found.counts, width=0.8, color=look.water, edgecolor=look.ink, linewidth=0.8
    )
    chart.add("bars", bars)
    chart.axes.locator_params(axis="x", integer=True)
    if found.band is not None:
        chart.add("band", chart.axes.axvspan(*found.band, facecolor=look.wash, edgecolor=look.rule, zorder=0))
    if found.cut is not None:
        chart.add("cut", chart.axes.axvline(found.cut, color=look.bad, linewidth=2.5, linestyle=(0, (7, 4))))
        right = found.cut < 0.6 * most
        words = chart.axes.annotate(
            f"cut {found.cut:.1f}", (found.cut, 1.0), xycoords=("data", "axes fraction"), va="top",
            xytext=(6 if right else -6, -4), textcoords="offset points", ha="left" if right else "right",
            fontsize=13, color=look.bad,
        )  # fmt: skip
        chart.add("cut words", words)
    return chart.svg(found.sentence)


def item_chart(found: ItemMap, look: Look | None = None) -> str:
    """Return the map of items: facility across, item-rest correlation up, flagged items as squares by name."""
    chart = Chart("Item map", Axis("Facility", "", 0, 1), Axis("Item-rest r", "", -0.5, 1), look)
    look = chart.look
    chart.add("zero", chart.axes.axhline(0.1, color=look.rule, linewidth=1.5, linestyle=(0, (2, 3))))
    for point in found.points:
        across, up = point.facility, point.discrimination
        marker, colour = ("s", look.bad) if point.flagged else ("o", look.water)
        dot = chart.axes.plot([across.value], [up.value], marker, color=colour, markersize=9, clip_on=False)
        chart.add(point.name, dot)
        if up.low is not None and up.high is not None:
            whisker = chart.axes.plot(
                [across.value] * 2, [up.low, up.high], "-", color=colour, linewidth=1, alpha=0.6
            )
            chart.add(f"{point.name} interval", whisker)
        if point.flagged:
            name = chart.axes.annotate(
                point.name, (across.value, up.value), xytext=(7, 7), textcoords="offset points",
                fontsize=13, color=look.bad,
            )  # fmt: skip
            chart.add(f"{point.name} name", name)
    return chart.svg(found.sentence)


def slip_chart(found: SlipHeat, look: Look | None = None) -> str:
    """Return the heat map of slips: a row for each step, the commonest on top, each cell named and in per cent."""
    rows, shares = found.rows[:MOST_ROWS], [row[:MOST_COLUMNS] for row in found.shares[:MOST_ROWS]]
    count, wide = max(len(rows), 1), max((len(row) for row in shares), default=1)
    chart = Chart("Slips", Axis("", "", 0, wide), Axis("", "", count, 0), look)
    look, axes = chart.look, chart.axes
    for down, row in enumerate(shares):
        for across, share in enumerate(row):
            if share > 0:
                cell = axes.fill_between(
                    [across, across + 1], down, down + 1, facecolor=look.gas, alpha=min(1.0, 0.1 + share),
                    edgecolor=look.rule,
                )  # fmt: skip
                chart.add(f"cell {down} {across}", cell)
                words = f"{share:.0%}\n{_short(found.slips[down][across], 16)}"
                text = axes.text(
                    across + 0.5, down + 0.5, words, ha="center", va="center", fontsize=SMALL, color=look.ink
                )
                chart.add(f"words {down} {across}", text)
    axes.set_xticks([])
    axes.set_yticks(
        [n + 0.5 for n in range(len(rows))], [_short(row, LONGEST_NAME) for row in rows], fontsize=SMALL
    )
    axes.grid(False)
    return chart.svg(found.sentence)


def profile_chart(found: CohortProfile, look: Look | None = None) -> str:
    """Return three bars with their intervals: marks won in set-up, sum and reading."""
    places = list(range(len(found.kinds)))
    chart = Chart(
        "Profile", Axis("", "", -0.6, max(len(places), 1) - 0.4), Axis("Marks won", "%", 0, 100), look
    )
    look, axes = chart.look, chart.axes
    values = [100 * share.value for share in found.shares]
    chart.add("bars", axes.bar(places, values, width=0.6, color=look.water, edgecolor=look.ink))
    for place, share in zip(places, found.shares, strict=True):
        if share.low is not None and share.high is not None:
            ends = [100 * share.low, 100 * share.high]
            chart.add(
                f"interval {place}", axes.plot([place, place], ends, "-", color=look.ink, linewidth=2.5)
            )
    axes.set_xticks(places, found.kinds)
    return chart.svg(found.sentence)


def _short(text: str, longest: int) -> str:
    """Return a name that fits its place; Matplotlib must not read it as a formula."""
    plain = " ".join(escape.clean(text).replace("$", "").split())
    return plain if len(plain) <= longest else plain[: longest - 1] + "…"
