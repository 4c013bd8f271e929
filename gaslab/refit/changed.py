"""What was changed at the site, in plain words for the page and the sheet."""

from __future__ import annotations

from gaslab import units
from gaslab.refit.records import Change
from gaslab.refit.site import Site

# Plain words for the first part of a path in the site's file.
_ONE_OF = {"runs": "run", "rooms": "room", "appliances": "appliance", "clearances": "clearance"}


def words(site: Site, change: Change) -> str:
    """Return a change as one line, its numbers in the unit in which the site's own file writes them."""
    first, *between, last = change.path.split(".")
    thing = " ".join([*between, _ONE_OF.get(first, first)])
    unit = _unit(site, change.path)
    before, after = (_short(value, unit) for value in (change.was, change.value))
    text = f"{last} of the {thing}".replace("-", " ").replace("_", " ")
    return f"{text}: {before} became {after} (chapter {change.chapter}, {change.when})"


def _unit(site: Site, path: str) -> str:
    """Return the unit in which the site's file writes a value; a run's length is written leg by leg."""
    if path in site.origins:
        return site.origins[path].unit
    parent, _, last = path.rpartition(".")
    parts = (
        o for name, o in site.origins.items() if name.startswith(f"{parent}.") and name.endswith(f".{last}")
    )
    return next((origin.unit for origin in parts), "1")


def _short(value: float | str | bool, unit: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    return f"{units.from_si(value, unit):.6g} {units.printed(unit)}".strip()
