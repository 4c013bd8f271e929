"""Which room a point of the pipework is in: where leaking gas goes."""

from __future__ import annotations

from dataclasses import dataclass

from gaslab.refit.parts import Run
from gaslab.refit.site import Site

WALL = 0.001  # m: a point this near to the edge of a room is in its wall, and in no room


@dataclass(frozen=True)
class Rooms:
    """The room of each run, of the start of each run, of each appliance and of the meter; "" where there is none."""

    runs: dict[str, str]
    starts: dict[str, str]
    appliances: dict[str, str]
    meter: str


def rooms_of(site: Site) -> Rooms:
    """Return where a site's gas is. A run counts as in its appliance's room, or where its middle is."""
    appliances = {appliance.id: appliance.room for appliance in site.appliances}
    by_node = {appliance.node: appliance.room for appliance in site.appliances}
    return Rooms(
        runs={run.id: by_node.get(run.end) or _room_at(site, *_middle(site, run)) for run in site.runs},
        starts={run.id: _room_at(site, *site.path_points(run)[0][:2]) for run in site.runs},
        appliances=appliances,
        meter=_room_at(site, 0.0, 0.0),
    )


def _room_at(site: Site, east: float, north: float) -> str:
    for room in site.rooms:
        inside_x = room.x + WALL < east < room.x + room.length - WALL
        if inside_x and room.y + WALL < north < room.y + room.width - WALL:
            return room.id
    return ""


def _middle(site: Site, run: Run) -> tuple[float, float]:
    """Return the point (east, north) [m] half way along a run."""
    left, points = run.length / 2.0, site.path_points(run)
    for leg, start, end in zip(run.legs, points, points[1:], strict=False):
        if left <= leg.length:
            part = left / leg.length
            return start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1])
        left -= leg.length
    return points[-1][:2]
