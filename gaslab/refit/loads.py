"""What was alight as a pressure was read or the meter was timed, from what stood in plain sight."""

from __future__ import annotations

from collections.abc import Mapping

from gaslab.refit.site import Site


def loads_met(site: Site, sight: Mapping) -> list[str]:
    """Return the working loads that are on: the three largest rings, or the highest-rated at full, the rest at half."""
    hob = site.hob("after")
    ratings = {b.id: b.heat_input_gross for b in hob.burners}
    high = {id for id, tap in sight["lit"].items() if tap == "high"}
    met = []
    if set(sorted(ratings, key=lambda id: -ratings[id])[:3]) <= high:
        met.append("three largest rings")
    units = {a.id: site.heat_input_gross(a.id) for a in site.connected("after")}
    top = max(units, key=lambda id: units[id])
    burning = {id: site.heat_input_gross(id, name.partition("/")[2]) for id, name in sight["running"].items()}
    burning[hob.id] = sum(ratings.get(id, 0.0) for id in high)
    half = all(burning.get(id, 0.0) >= 0.45 * full for id, full in units.items() if id != top)
    if half and burning.get(top, 0.0) >= 0.99 * units[top]:
        met.append("highest-rated at full and the rest at half")
    return met


def rings_timed(site: Site, sight: Mapping) -> dict[str, float | str]:
    """Return which rings are alight, and their heat by the plate [W gross]; 0 when not all of it is on high."""
    plate = {b.id: b.heat_input_gross for b in site.appliance(sight["hob"]).burners}
    full = set(sight["lit"].values()) == {"high"} and not sight["purging"]
    return {
        "rings": " ".join(sorted(sight["lit"])),
        "plate": sum(plate[id] for id in sight["lit"]) if full else 0.0,
    }
