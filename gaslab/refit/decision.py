"""How often a tightness test says the wrong thing: thousands of jobs at once, against the true leak.

Each job has its own leak, its own drift of temperature and weather, and its own misreading.
The closed balance of the bench is used in closed form, for arrays: a leak, let-by and
temperature together make a straight-line equation, and it is solved exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaslab.physics import trapped
from gaslab.refit.plant import LEAK_STATED_AT, bench_number, instrument_number
from gaslab.refit.site import Site

START_PRESSURE = 2050.0  # Pa: the middle of 20 to 21 mbar
MOST_LEAK = 2.0e-3 / 3600.0  # m3/s at 21 mbar
GAUGES = ("water-gauge", "electronic-gauge", "fine-gauge")
BATCH = 10_000


@dataclass(frozen=True)
class Jobs:
    """The truth of many jobs: arrays with one value for each job [SI]."""

    leak: np.ndarray
    warming: np.ndarray
    barometer_rate: np.ndarray


@dataclass(frozen=True)
class Row:
    """One row of the table: a gauge, with or without the minute to settle, and how often it was wrong."""

    gauge: str
    settled: bool
    jobs: int
    tight: int
    called_leaking_though_tight: float
    called_tight_though_leaking: float


def draw_jobs(seed: int, count: int = BATCH, most_leak: float = MOST_LEAK) -> Jobs:
    """Return `count` jobs: half with no leak, half with a leak [m3/s at 21 mbar] spread evenly up to `most_leak`.

    Drift of temperature and weather have the spread that data/bench.csv gives every home,
    with the kitchen's temperature five times as unsteady: people come and go, doors open.
    """
    chance = np.random.default_rng(seed)
    leak = np.where(chance.random(count) < 0.5, 0.0, chance.random(count) * most_leak)
    warming = 5.0 * bench_number("nature", "warming") / 60.0 * chance.standard_normal(count)
    barometer_rate = bench_number("nature", "barometer") / 3600.0 * chance.standard_normal(count)
    return Jobs(leak, warming, barometer_rate)


def pressure_after(site: Site, jobs: Jobs, start: float, time: float, since_raised: float) -> np.ndarray:
    """Return the gauge pressure [Pa] a `time` [s] after it was `start` [Pa], for every job.

    dp/dt = -a p + P/T (w - (D/tau) exp(-(s + t)/tau)) - b, with a = C B/V the leak's rate,
    P the absolute pressure, w the warming [K/s], D the warmth left by raising the pressure,
    s the time since then, b the barometer's rate. P/T is held at its start: over a test it
    changes by less than a thousandth.
    """
    volume, barometer = site.installation_volume("bore"), site.barometer
    rate = jobs.leak / LEAK_STATED_AT * barometer / volume
    per_kelvin = (barometer + start) / site.temperature
    steady = per_kelvin * jobs.warming - jobs.barometer_rate
    tau = bench_number("bench", "settling_time")
    if np.any(rate >= 0.5 / tau):
        raise ValueError(
            "decision.pressure_after: a leak this large empties the pipe; give one below 0.5 V/(C B tau)"
        )
    warmth = bench_number("bench", "compression_warming") * START_PRESSURE / LEAK_STATED_AT
    cooling = -per_kelvin * warmth / tau * np.exp(-since_raised / tau)
    left = np.exp(-rate * time)
    with np.errstate(divide="ignore", invalid="ignore"):
        driven = np.where(rate > 0.0, -np.expm1(-rate * time) / rate, time)
    # int_0^t exp(-a (t - s)) exp(-s/tau) ds = (exp(-a t) - exp(-t/tau)) / (1/tau - a)
    faded = (left - np.exp(-time / tau)) / (1.0 / tau - rate)
    return start * left + steady * driven + cooling * faded


def read(true: np.ndarray, gauge: str, chance: np.random.Generator) -> np.ndarray:
    """Return what a gauge shows for true pressures: its spread added, cut to its steps."""
    step = instrument_number(gauge, "resolution")
    return (
        np.round((true + instrument_number(gauge, "spread") * chance.standard_normal(true.shape)) / step)
        * step
    )


def drops(site: Site, jobs: Jobs, gauge: str, settled: bool, seed: int) -> np.ndarray:
    """Return the drop [Pa] read in the two minutes of every job, with or without the minute to settle."""
    settle = bench_number("tightness-test", "stabilise") if settled else 0.0
    chance = np.random.default_rng([seed, GAUGES.index(gauge), int(settled)])
    first = (
        pressure_after(site, jobs, START_PRESSURE, settle, 0.0)
        if settle
        else np.full(jobs.leak.shape, START_PRESSURE)
    )
    last = pressure_after(
        site, jobs, START_PRESSURE, settle + bench_number("tightness-test", "duration"), 0.0
    )
    return read(first, gauge, chance) - read(last, gauge, chance)


def limit_leak(site: Site, limit: float) -> float:
    """Return the leak [m3/s at 21 mbar] that a limit on the drop [Pa] stands for at this site.

    The pressure has fallen a little in the minute to settle; the mean over the test counts.
    """
    duration, settle = (bench_number("tightness-test", name) for name in ("duration", "stabilise"))
    leak = trapped.leak_from_drop.bare(limit, site.installation_volume("bore"), duration, site.barometer)
    mean = START_PRESSURE - limit * (0.5 + settle / duration)
    return leak * LEAK_STATED_AT / mean


def table(site: Site, seed: int = 0, count: int = BATCH, limit: float | None = None) -> list[Row]:
    """Return, for each gauge and with or without settling, how often the call was wrong.

    `limit` [Pa] on the drop is given for the exercise, not the standard's; a job is truly
    tight when its leak is at most the leak that this limit stands for.
    """
    limit = bench_number("exercise", "permitted_drop") if limit is None else limit
    edge = limit_leak(site, limit)
    jobs = draw_jobs(seed, count, max(MOST_LEAK, 2.0 * edge))  # leaks on both sides of the limit
    tight = jobs.leak <= edge
    rows = []
    for gauge in GAUGES:
        for settled in (True, False):
            leaking_called = drops(site, jobs, gauge, settled, seed) > limit + 1e-6
            wrong_alarm, missed = leaking_called[tight].mean(), (~leaking_called[~tight]).mean()
            rows.append(Row(gauge, settled, count, int(tight.sum()), float(wrong_alarm), float(missed)))
    return rows
