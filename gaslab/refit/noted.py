"""What one action shows against what stood in plain sight: what must never happen, and what must hold then."""

from __future__ import annotations

from collections.abc import Mapping

from gaslab.refit.plant import bench_number

FLAMES = ("light", "start", "draw hot water")
NOT_TOUCHING = ("sweep for voltage", "wait", "open window", "close window", "decide", "isolate oven")


def noted(
    event: Mapping, before: Mapping, *, live: bool, tested: bool, lit_at: Mapping[str, float]
) -> list[str]:
    """Return the names of what an action shows.

    `live` says whether the voltage detector lit up last, `tested` whether the pipe was tested since it was last
    joined, and `lit_at` when [s] each ring was lit.
    """
    name, arguments = event["name"], event["arguments"]
    closes = name == "close window"
    shows = {
        # What the detector found may itself be put right.
        "touch after the detector lit": live and name not in (*NOT_TOUCHING, "put right"),
        "pipe parted with gas on": name == "part pipe" and before["control"] == "open",
        "bond on": name == "part pipe" and before["bond"],
        "ends plugged": name == "join pipe" and before["ends"] == "plugged",
        "tested since it was joined": name == "purge" and tested,
        "purge with the window shut": (name == "purge" and before["window"] == "shut")
        or (closes and bool(before["purging"])),
        "flame while purging": (name == "purge" and bool(before["lit"] or before["running"]))
        or (name in FLAMES and bool(before["purging"])),
        "ring blown out cold": name == "blow out"
        and event["time"] - lit_at.get(arguments["ring"], 0.0) < bench_number("exercise", "warm_up"),
        **refused(event, before),
    }
    if name == "zero gauge":
        under_pressure = before["gauge"] not in ("", "air") and not before["parted"]
        shows["gauge zeroed under pressure" if under_pressure else "gauge checked open to the air"] = True
    return [words for words, shown in shows.items() if shown]


def refused(event: Mapping, before: Mapping) -> dict[str, bool]:
    """Return what counts even where the site itself put a stop to it."""
    name = event["name"]
    opens = name == "open" and event["arguments"].get("valve") == "control"
    return {
        "gas let out of an open end": opens and before["ends"] == "open",
        "flame with a smell of gas": name in FLAMES and bool(before["smell"]),
    }
