"""The site of a refit: one frozen description that every chapter looks at.

A site is read from data/sites. `Site.changed` returns a new site with one value
changed and checked; nothing is clamped. Whatever follows from the description
(pipe tree, volumes, gas figures) is worked out here and never typed twice.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from gaslab import tables
from gaslab.guard import FRACTION, PRESSURE_ABSOLUTE, TEMPERATURE, InputError, between, checked
from gaslab.physics import gas as gas_physics
from gaslab.physics import network, trapped
from gaslab.refit import consistency
from gaslab.refit.fields import (
    Origin,
    SiteError,
    build,
    choice,
    label,
    many,
    member,
    one,
    replaced,
    value_at,
    words,
)
from gaslab.refit.fields import number as number_field
from gaslab.refit.parts import (
    DIRECTIONS,
    Appliance,
    Burner,
    Clearance,
    Electrical,
    Meter,
    Oven,
    Room,
    Run,
    Tool,
    Worktop,
)

FITTINGS_FRACTION = 0.10  # of the pipe volume, added for fittings; source: up1b-3
PLATE_GAS = "g20"  # heat inputs on data plates are stated on this reference gas; source: en-437
EDITIONS = ("2015", "2005")  # of the equivalent lengths, newest first
ALTITUDE = between("m", -100.0, 1_000.0, "height above sea level")


@dataclass(frozen=True)
class Site:
    """A home, its gas installation and what the makers say. See `parts` for each part's values."""

    key: str = label()
    name: str = words()
    address: str = words()
    customer: str = words()
    dwelling: str = choice("house", "flat")
    source: str = words()
    gas: str = label()
    altitude: float = number_field(ALTITUDE)
    temperature: float = number_field(TEMPERATURE)
    barometer: float = number_field(PRESSURE_ABSOLUTE)
    fittings_edition: str = choice(*EDITIONS)
    meter: Meter = one(Meter)  # noqa: RUF009 - it declares a field
    runs: tuple[Run, ...] = many(Run)
    appliances: tuple[Appliance, ...] = many(Appliance)
    rooms: tuple[Room, ...] = many(Room)
    worktop: Worktop = one(Worktop)  # noqa: RUF009 - it declares a field
    oven: Oven = one(Oven)  # noqa: RUF009 - it declares a field
    clearances: tuple[Clearance, ...] = many(Clearance)
    tools: tuple[Tool, ...] = many(Tool)
    electrical: Electrical = one(Electrical)  # noqa: RUF009 - it declares a field
    origins: Mapping[str, Origin] = field(default_factory=dict, repr=False, compare=False)

    def changed(self, path: str, value: object) -> Site:
        """Return a new site with the value at `path` changed, or raise SiteError.

        `path` names the value, such as "runs.kitchen.length"; numbers are SI or pint quantities.
        """
        return self.with_changes({path: value})

    def with_changes(self, changes: Mapping[str, object]) -> Site:
        """Return a new site with several values changed in turn and checked together."""
        site = self
        for path, value in changes.items():
            if not isinstance(path, str) or not path or len(path) > 120:
                raise SiteError("path", path, 'the name of a value, such as "runs.kitchen.length"')
            if path.split(".")[0] in ("key", "source"):
                raise SiteError(path, value, "another site's file: this value names the site itself")
            site = replaced(site, path.split("."), value, path)
        consistency.check(site)
        return site

    def value(self, path: str) -> Any:
        """Return the value at `path`, in SI."""
        return value_at(self, path.split("."), path)

    def origin(self, path: str) -> Origin:
        """Return the number at `path` as the site's file gives it, with its unit and status."""
        if path not in self.origins:
            raise SiteError(path, "this path", "the path of a number in the site's file")
        return self.origins[path]

    def run(self, id: str) -> Run:
        return member(self.runs, id, f"runs.{id}")[1]

    def appliance(self, id: str) -> Appliance:
        return member(self.appliances, id, f"appliances.{id}")[1]

    def room(self, id: str) -> Room:
        return member(self.rooms, id, f"rooms.{id}")[1]

    def burner(self, appliance: str, id: str) -> Burner:
        return member(self.appliance(appliance).burners, id, f"appliances.{appliance}.burners.{id}")[1]

    def clearance(self, id: str) -> Clearance:
        return member(self.clearances, id, f"clearances.{id}")[1]

    def connected(self, stage: str = "after") -> tuple[Appliance, ...]:
        """Return the gas appliances joined up `before` or `after` the work."""
        if stage not in ("before", "after"):
            raise SiteError("stage", stage, "before or after")
        return tuple(a for a in self.appliances if a.stage in (stage, "always"))

    def hob(self, stage: str = "after") -> Appliance:
        """Return the hob that is joined up `before` or `after` the work."""
        return next(a for a in self.connected(stage) if a.kind == "hob")

    # Gas

    def gas_properties(self) -> gas_physics.GasProperties:
        """Return the properties of the site's gas at 15 °C and 1013.25 mbar."""
        return _properties(self.gas)

    @property
    def cv_gross(self) -> float:
        """Gross calorific value of the site's gas [J/m3]."""
        return self.gas_properties().cv_gross

    def gas_density(self) -> float:
        """Return the density [kg/m3] of the gas in the pipe at the meter's setting."""
        pressure = self.barometer + self.meter.pressure_setting
        return gas_physics.density(gas_physics.mixture(self.gas), pressure, self.temperature)

    def air_density(self) -> float:
        """Return the density [kg/m3] of the air in the home."""
        return gas_physics.air_density(self.barometer, self.temperature)

    def viscosity(self) -> float:
        """Return the viscosity [Pa s] of the gas."""
        return gas_physics.viscosity(gas_physics.mixture(self.gas), self.temperature)

    def heat_input_gross(self, appliance: str, mode: str = "") -> float:
        """Return an appliance's plate heat input [W] on the gross basis."""
        unit = self.appliance(appliance)
        return unit.plate_input(mode) * (plate_ratio() if unit.basis == "net" else 1.0)

    # Pipework

    def equivalent_length(self, run: Run) -> float:
        """Return the length [m] of straight pipe that the run's fittings count for."""
        used = [(self.fitting_fact(run.pipe, fitting), n) for fitting, n in run.fittings.items() if n]
        return math.fsum(n * fact.si for fact, n in used)

    def fitting_fact(self, pipe: str, fitting: str) -> tables.Fact:
        """Return the equivalent length of one fitting, with the edition it comes from.

        Where the chosen edition's figure was not seen, the other edition's stands in: its basis says so.
        """
        known = tables.facts("fittings")
        for edition in (self.fittings_edition, *(e for e in EDITIONS if e != self.fittings_edition)):
            if (f"{pipe}:{edition}", fitting) in known:
                return known[f"{pipe}:{edition}", fitting]
        sizes = ", ".join(sorted({key.partition(":")[0] for key, name in known if name == fitting}))
        raise SiteError(f"fittings.{fitting}", pipe, f"a pipe whose {fitting} has a known length: {sizes}")

    def effective_length(self, run: Run) -> float:
        """Return the run's length with its fittings [m]."""
        return run.length + self.equivalent_length(run)

    def end_index(self, node: str) -> int:
        """Return the number of the run that ends at `node`."""
        ends = [run.end for run in self.runs]
        if node not in ends:
            raise SiteError("node", node, f"one of {', '.join(ends)}")
        return ends.index(node)

    def tree(self) -> network.Tree:
        """Return the pipe runs as a tree, each with its effective length."""
        return network.Tree(
            parent=tuple(-1 if r.start == self.meter.node else self.end_index(r.start) for r in self.runs),
            length=np.array([self.effective_length(run) for run in self.runs]),
            bore=np.array([run.bore() for run in self.runs]),
            roughness=np.array([run.roughness() for run in self.runs]),
            rise=np.array([run.rise for run in self.runs]),
        )

    def loads(self, fractions: Mapping[str, float] | None = None, stage: str = "after") -> np.ndarray:
        """Return the gas taken at the end of each run [m3/s].

        `fractions` gives the part of full heat at which each appliance burns; the rest are off.
        Without it every appliance is at full. Gas rate = gross heat input / gross CV.
        """
        joined = {a.id: a for a in self.connected(stage)}
        wanted = dict.fromkeys(joined, 1.0) if fractions is None else fractions
        taken = np.zeros(len(self.runs))
        for id, fraction in wanted.items():
            if id not in joined:
                raise SiteError("loads", id, f"an appliance that is joined up: {', '.join(joined)}")
            try:
                part = checked("site.loads", id, FRACTION, fraction)
            except InputError as error:
                raise SiteError(f"loads.{id}", error.got, error.need) from None
            taken[self.end_index(joined[id].node)] += part * self.heat_input_gross(id) / self.cv_gross
        return taken

    def pipe_volume(self, basis: str = "trade", state: str = "") -> float:
        """Return the volume in the pipes [m3], fittings not counted; `state` keeps only such runs."""
        runs = [run for run in self.runs if state in ("", run.state)]
        if basis == "trade":
            return math.fsum(run.length * tables.si("pipes", run.pipe, "trade_volume") for run in runs)
        if basis == "bore":
            return math.fsum(trapped.pipe_volume.bare(run.bore(), run.length) for run in runs)
        raise SiteError("basis", basis, "trade (the trade's table) or bore (the exact bore)")

    def installation_volume(self, basis: str = "trade") -> float:
        """Return pipes + 10 % for fittings + meter [m3], by the trade's table or the exact bores."""
        return trapped.installation_volume(self.pipe_volume(basis), self.meter.volume(), FITTINGS_FRACTION)

    def path_points(self, run: Run) -> tuple[tuple[float, float, float], ...]:
        """Return the corners of a run as (east, north, up) from the meter [m]."""
        start = (0.0, 0.0, 0.0)
        if run.start != self.meter.node:
            start = self.path_points(self.runs[self.end_index(run.start)])[-1]
        points = [start]
        for leg in run.legs:
            (east, north, up), way = points[-1], DIRECTIONS[leg.direction]
            points.append((east + leg.length * way[0], north + leg.length * way[1], up + leg.length * way[2]))
        return tuple(points)


@functools.cache
def _properties(gas: str) -> gas_physics.GasProperties:
    return gas_physics.properties(gas_physics.mixture(gas))


def plate_ratio() -> float:
    """Return gross over net heat for the gas that data plates are stated on."""
    plate = _properties(PLATE_GAS)
    return plate.cv_gross / plate.cv_net


def keys() -> tuple[str, ...]:
    """Return the keys of the sites in data/sites."""
    return tuple(name.removesuffix(".json") for name in tables.files("sites", ".json"))


@functools.cache
def load(key: str = "alder-court") -> Site:
    """Return a site as its file describes it."""
    if key not in keys():
        raise SiteError("site", key, f"one of {', '.join(keys())}")
    file = f"sites/{key}.json"
    origins: dict[str, Origin] = {}
    try:
        site = build(Site, tables.json_file(file), "", origins)
        consistency.check(site)
    except SiteError as error:
        raise tables.TableError(file, None, error.path, f"read {error.read!r}; needed {error.need}") from None
    return replace(site, origins=origins)
