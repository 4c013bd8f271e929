"""What can be wrong on the bench: each kind of fault is a row of data/faults.csv.

A fault has a grade, from one that nobody could miss to one that takes a careful eye.
Which faults a job has is drawn from its number, so the same job can be met again.
"""

from __future__ import annotations

import functools
import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from gaslab import tables, units
from gaslab.refit.site import Site

GRADES = ("obvious", "plain", "marginal")
COMPARISONS = {
    "at least": lambda seen, threshold: seen >= threshold,
    "above": lambda seen, threshold: seen > threshold,
    "below": lambda seen, threshold: seen < threshold,
}
# Kinds that sit on one ring of the hob, and kinds that sit on one run of pipe.
ON_RING = ("tap-open", "wrong-injector", "low-flame", "slow-supervision", "weak-supervision")
ON_RUN = ("leak-pipe", "kinked-run")
# Faults that would cancel or hide each other: a drawn job has one of each group.
RIVALS = (
    {"warming", "cooling"},
    {"regulator-low", "regulator-high"},
    {"gauge-zero", "hose-blocked", "hose-leaking"},
    {"wrong-injector", "low-flame"},
    {"slow-supervision", "weak-supervision"},
)


class FaultError(ValueError):
    """A fault that the bench does not know, told in one sentence."""


@dataclass(frozen=True)
class Kind:
    """One kind of fault. `sizes` holds the size at each grade in SI; `threshold` is in SI too."""

    key: str
    title: str
    topic: str
    parameter: str
    unit: str
    sizes: Mapping[str, float]
    compare: str
    threshold: float
    threshold_unit: str
    sign: str
    means: str
    put_right: str
    source: str
    status: str
    note: str

    def shows(self, seen: float) -> bool:
        """Return True when a reading [SI, of the threshold's unit] is the sign of this fault.

        Readings carry the decimals of the instrument; a hair of binary rounding is not a difference.
        """
        hair = 1e-9 * max(abs(seen), abs(self.threshold))
        leaning = hair if self.compare == "at least" else -hair if self.compare == "above" else hair
        return COMPARISONS[self.compare](seen + leaning, self.threshold)


@dataclass(frozen=True)
class Fault:
    """One fault of a job: its kind, its grade, and the ring, run or appliance it sits on ("" if none).

    `stage` tells the old hob's rings (before) from the new hob's (after).
    """

    key: str
    grade: str
    place: str = ""
    stage: str = "after"

    @property
    def kind(self) -> Kind:
        return kinds()[self.key]

    @property
    def size(self) -> float:
        """Size of the fault [SI]."""
        return self.kind.sizes[self.grade]

    def as_record(self) -> dict[str, str]:
        """Return the fault as plain data."""
        return {"key": self.key, "grade": self.grade, "place": self.place, "stage": self.stage}

    def there(self, site: Site, stage: str) -> bool:
        """Return True when the fault is there at a stage of the job: a hob's faults come and go with it."""
        on_a_hob = self.key in ON_RING or self.place in {a.id for a in site.appliances if a.kind == "hob"}
        return not on_a_hob or self.stage == stage or self.key in ON_RUN


@functools.cache
def kinds() -> Mapping[str, Kind]:
    """Return every kind of fault by key, in file order."""
    found = {}
    for row in tables.records("faults"):
        number = functools.partial(tables.number, "faults.csv", int(row["_row"]))
        if row["compare"] not in COMPARISONS:
            need = f"must be one of {', '.join(COMPARISONS)}; found {row['compare']!r}"
            raise tables.TableError("faults.csv", int(row["_row"]), "compare", need)
        if row["key"] in found:
            raise tables.TableError("faults.csv", int(row["_row"]), "key", f"{row['key']!r} stands twice")
        # A change of temperature is the same number in kelvin and in degrees.
        sizes = {grade: units.to_si(number(grade, row[grade]), row["unit"]) for grade in GRADES}
        values: dict[str, Any] = {name: row[name] for name in Kind.__dataclass_fields__ if name in row}
        values["threshold"] = units.to_si(number("threshold", row["threshold"]), row["threshold_unit"])
        found[row["key"]] = Kind(**values, sizes=MappingProxyType(sizes))
    return MappingProxyType(found)


def places(site: Site, key: str, stage: str = "after") -> tuple[str, ...]:
    """Return where a fault of this kind can sit: rings, runs, an appliance, or ("",) for no place."""
    if key in ON_RING:
        return tuple(burner.id for burner in site.hob(stage).burners)
    if key in ON_RUN:
        runs = site.runs
        if key == "kinked-run":  # where the hob's pressure shows it
            runs = tuple(run for run in site.runs if run.end == site.hob(stage).node)
        return tuple(run.id for run in runs)
    if key == "leak-appliance":
        return tuple(appliance.id for appliance in site.connected(stage))
    return ("",)


def fault(site: Site, key: str, grade: str, place: str = "", stage: str = "after") -> Fault:
    """Return a fault that fits the site, or raise FaultError. Without a place the first one that fits is taken."""
    if key not in kinds():
        raise FaultError(f"no fault is called {key!r}; the faults are: {', '.join(kinds())}")
    if grade not in GRADES:
        raise FaultError(f"a fault is {', '.join(GRADES)}; got {grade!r}")
    possible = places(site, key, stage)
    if place and place not in possible:
        raise FaultError(
            f"{key} can sit at {', '.join(p for p in possible if p) or 'no place of its own'}; got {place!r}"
        )
    return Fault(key, grade, place or possible[0], stage)


def draw(
    site: Site,
    seed: int,
    count: int,
    keys: Iterable[str] = (),
    grades: Iterable[str] = GRADES,
    stage: str = "after",
) -> tuple[Fault, ...]:
    """Return `count` different faults drawn from the number `seed`; `keys` and `grades` narrow the choice.

    `stage` says on which hob's rings a fault may sit.
    """
    chance = random.Random(f"faults {seed}")
    pool, grades = list(keys) or list(kinds()), list(grades)
    if not 0 <= count <= len(pool):
        raise FaultError(f"{count} faults cannot be drawn from {len(pool)} kinds")
    chance.shuffle(pool)
    drawn: list[Fault] = []
    for key in pool:
        here = {f.key for f in drawn}
        if len(drawn) == count or any(key in group and group & here for group in RIVALS):
            continue
        grade = chance.choice(grades)
        drawn.append(fault(site, key, grade, chance.choice(places(site, key, stage)), stage))
    if len(drawn) < count:
        raise FaultError(f"only {len(drawn)} of these faults can stand side by side; {count} were asked for")
    return tuple(drawn)
