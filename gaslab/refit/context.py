"""What the limits ask about a site: the names that conditions in data/criteria use."""

from __future__ import annotations

from gaslab import tables
from gaslab.refit import lenses
from gaslab.refit.site import Site


def criteria_context(site: Site, room: str = "kitchen", stage: str = "after") -> dict[str, object]:
    """Return the context that `criteria.judge` needs for this site and room. Numbers are SI."""
    here = site.room(room)
    return {
        "room_volume": here.volume,
        "door_outside": here.door_outside,
        "bedsit": here.bedsit,
        "hood": here.extract > 0.0,
        "dwelling": site.dwelling,
        "appliance_new": stage == "after",
        "meter": site.meter.type,
        "meter_capacity": site.meter.capacity(),
        "largest_pipe": max(tables.si("pipes", run.pipe, "outside_diameter") for run in site.runs),
        "installation_volume": site.installation_volume(),
        "low_supply": site.meter.pressure_setting < 2_000.0,
        "maker_allows_hose": False,
        "maker": makers_figures(site),
    }


def makers_figures(site: Site) -> dict[str, float]:
    """Return the makers' own limits [SI] by the key of the limit they fill."""
    figures = {f"clearance-{c.id}": c.maker for c in site.clearances}
    top = site.worktop
    figures |= {
        "cut-out-side": top.margin_side_maker,
        "cut-out-front": top.margin_front_maker,
        "cut-out-back": top.margin_back_maker,
        "oven-gap": site.oven.gap_maker,
        "rise-beside": site.oven.rise_maker,
    }
    return figures


def measured(site: Site) -> dict[str, float]:
    """Return the distances measured at the site [m] by the key of the limit they are held against."""
    margins = site.worktop.margins()
    found = {f"clearance-{c.id}": c.measured for c in site.clearances}
    found |= {
        "cut-out-side": min(margins["left"], margins["right"]),
        "cut-out-front": margins["front"],
        "cut-out-back": margins["back"],
        "oven-gap": lenses.oven_gap(site),
        "rise-beside": site.oven.rise_offset,
    }
    near = site.electrical
    found |= {
        "spacing-cables": near.cable_distance,
        "spacing-switchgear": min(
            near.consumer_unit_distance, near.electricity_meter_distance, near.socket_distance
        ),
        "bond-distance": near.bond_distance,
    }
    return found
