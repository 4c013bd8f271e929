"""Whether the parts of a site fit together: what no single field can tell.

`site` is any object with a site's parts. Each fault is told with its path.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaslab import tables
from gaslab.refit.fields import SiteError

if TYPE_CHECKING:
    from gaslab.refit.site import Site


def check(site: Site) -> None:
    """Raise SiteError when runs, appliances, meter or gas do not fit together."""
    _check_runs(site)
    _check_appliances(site)
    if site.meter.lock_up < site.meter.pressure_setting:
        raise SiteError(
            "meter.lock_up", f"{site.meter.lock_up:g} Pa", "at least the meter's pressure setting"
        )
    if site.gas not in tables.keys("gases"):
        raise SiteError("gas", site.gas, "the key of a gas in data/gases.csv")


def _check_runs(site: Site) -> None:
    reached = {site.meter.node}
    for run in site.runs:
        path = f"runs.{run.id}"
        if run.start not in reached:
            raise SiteError(
                f"{path}.start", run.start, f"a node reached already: {', '.join(sorted(reached))}"
            )
        if run.end in reached:
            raise SiteError(f"{path}.end", run.end, "a node that no other run ends at")
        if not run.legs:
            raise SiteError(f"{path}.legs", "no legs", "at least one leg")
        reached.add(run.end)
    if not site.runs:
        raise SiteError("runs", "no runs", "at least one run from the meter")


def _check_appliances(site: Site) -> None:
    rooms, ends = {room.id for room in site.rooms}, {run.end for run in site.runs}
    for unit in site.appliances:
        path = f"appliances.{unit.id}"
        if unit.room not in rooms:
            raise SiteError(f"{path}.room", unit.room, f"one of {', '.join(sorted(rooms))}")
        if unit.node not in ends:
            raise SiteError(f"{path}.node", unit.node, f"the end of a run: {', '.join(sorted(ends))}")
        if bool(unit.burners) == bool(unit.modes):
            raise SiteError(path, "burners and modes", "burners for a hob, or modes for another appliance")
        if not unit.pressure_minimum <= unit.pressure_nominal <= unit.pressure_maximum:
            raise SiteError(
                f"{path}.pressure_nominal",
                unit.pressure_nominal,
                "a pressure from the minimum to the maximum",
            )
        for burner in unit.burners:
            if not burner.emf_release < burner.emf_hold < burner.emf_hot:
                raise SiteError(
                    f"{path}.burners.{burner.id}.emf_hold",
                    burner.emf_hold,
                    "a voltage above release and below hot",
                )
