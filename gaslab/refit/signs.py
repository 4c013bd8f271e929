"""The sign of each fault, sought as a competent person would: a short routine on the bench.

A routine uses only what can be done and read. It returns one figure, which the fault's
row in data/faults.csv holds against its threshold. So it can be told how often a fault
of each grade is seen, and how often the same look cries out with nothing wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from gaslab import tables
from gaslab.refit import faults as fault_list
from gaslab.refit.bench import Bench
from gaslab.refit.decision import START_PRESSURE
from gaslab.refit.plant import bench_number
from gaslab.refit.site import Site

LOWEST_TEST = 1800.0  # Pa: below this the pressure did not come up
GAUGE = "electronic-gauge"


def _shut_and_empty(bench: Bench) -> None:
    bench.do("connect gauge", kind=GAUGE)
    bench.wait(5)
    bench.do("close", valve="control")
    bench.do("let pressure out", to=0.0)


def _figure(bench: Bench, instrument: str, at: str = "") -> float:
    """Return what an instrument reads [SI], or raise ValueError: a routine must make it readable first."""
    reading = bench.read(instrument, at=at)
    if reading.value is None:
        raise ValueError(f"{instrument}: {reading.text}")
    return reading.value


def _pressure(bench: Bench) -> float:
    return _figure(bench, "gauge")


def let_by_rise(bench: Bench) -> float:
    """Rise [Pa] in a minute at 8.5 mbar with the control shut, after a short settle."""
    _shut_and_empty(bench)
    bench.do("raise pressure", to=bench_number("let-by-test", "pressure"))
    bench.wait(20)
    start = _pressure(bench)
    bench.wait(bench_number("let-by-test", "duration"))
    return _pressure(bench) - start


def tightness_drop(bench: Bench, shut: Iterable[str] = ()) -> float:
    """Fall [Pa] in the two minutes, with some appliance valves shut; all of it where it would not come up."""
    if not bench.state.gauge:
        _shut_and_empty(bench)
    for valve in shut:
        bench.do("close", valve=valve)
    bench.do("raise pressure", to=START_PRESSURE)
    bench.wait(bench_number("tightness-test", "stabilise"))
    start = _pressure(bench)
    bench.wait(bench_number("tightness-test", "duration"))
    end = _pressure(bench)
    return (START_PRESSURE if start < LOWEST_TEST else start) - end


def pipe_drop(bench: Bench) -> float:
    """Fall [Pa] with every appliance valve shut."""
    return tightness_drop(bench, list(bench.state.valves))


def appliance_drop(bench: Bench) -> float:
    """Fall [Pa] with the appliance valves open, less the fall with them shut."""
    joined = tightness_drop(bench)
    return joined - pipe_drop(bench)


def warming_rise(bench: Bench) -> float:
    """Rise [Pa] in the two minutes."""
    return -tightness_drop(bench)


def zero_error(bench: Bench) -> float:
    """What the gauge shows [Pa] open to the air, without its sign."""
    bench.do("connect gauge", kind=GAUGE, at="air")
    return abs(_pressure(bench))


def creeping(bench: Bench) -> float:
    """Rise of the gauge [Pa] in the ten seconds after the control is shut again."""
    _shut_and_empty(bench)
    bench.do("raise pressure", to=START_PRESSURE)
    start = _pressure(bench)
    bench.wait(10)
    return _pressure(bench) - start


def hose_drop(bench: Bench) -> float:
    """Fall [Pa] in the two minutes if leak fluid bubbles on the hose, else nothing."""
    _shut_and_empty(bench)
    bench.do("raise pressure", to=START_PRESSURE)
    bubbles = bench.read("leak fluid", at="hose").value
    return tightness_drop(bench) if bubbles else 0.0


def largest_rings(bench: Bench, count: int = 3) -> list[str]:
    """Return the largest rings of the hob, the largest first."""
    return sorted(bench.plant.rings, key=lambda id: -bench.plant.rings[id].rated)[:count]


def _largest_mode(bench: Bench) -> tuple[str, str]:
    name = max(bench.plant.modes, key=lambda name: bench.plant.modes[name].orifice)
    appliance, _, mode = name.partition("/")
    return appliance, mode


def working_pressure(bench: Bench) -> float:
    """Working pressure [Pa] at the meter with the three largest rings alight."""
    bench.do("connect gauge", kind=GAUGE)
    for ring in largest_rings(bench):
        bench.do("light", ring=ring)
    bench.wait(20)
    return _pressure(bench)


def recovery(bench: Bench) -> float:
    """How much [Pa] the pressure comes back in the minute after a load comes on."""
    bench.do("connect gauge", kind=GAUGE)
    appliance, mode = _largest_mode(bench)
    bench.do("start", appliance=appliance, mode=mode)
    bench.wait(2)
    early = _pressure(bench)
    bench.wait(60)
    return _pressure(bench) - early


def standing_pressure(bench: Bench) -> float:
    """Standing pressure [Pa] at the meter."""
    bench.do("connect gauge", kind=GAUGE)
    bench.wait(10)
    return _pressure(bench)


def pipe_loss(bench: Bench) -> float:
    """Pressure [Pa] at the meter less that at the hob, with every ring alight."""
    bench.do("connect gauge", kind=GAUGE)
    for ring in bench.plant.rings:
        bench.do("light", ring=ring)
    bench.wait(20)
    at_meter = _pressure(bench)
    bench.do("disconnect gauge")
    bench.do("connect gauge", kind=GAUGE, at=bench.site.hob().id)
    bench.wait(20)
    return at_meter - _pressure(bench)


def lowest_rate(bench: Bench) -> float:
    """Smallest heat of a ring as a part of its plate, each timed alone until 0.05 m3 has passed."""
    cv = _figure(bench, "gas bill")
    lowest = []
    for id, ring in bench.plant.rings.items():
        bench.do("light", ring=id)
        start, started = _figure(bench, "index"), bench.time
        bench.wait(round(0.05 * cv / ring.rated))
        end, ended = _figure(bench, "index"), bench.time
        bench.do("turn off", ring=id)
        lowest.append((end - start) / (ended - started) * cv / ring.rated)
    return min(lowest)


def low_flames_lost(bench: Bench) -> float:
    """1 if a flame on low goes out when the largest appliance starts, else 0."""
    for ring in bench.plant.rings:
        bench.do("light", ring=ring)
        bench.do("turn", ring=ring, to="low")
    bench.wait(20)
    appliance, mode = _largest_mode(bench)
    bench.do("start", appliance=appliance, mode=mode)
    return float(any(bench.read("flame", at=ring).value == 0.0 for ring in bench.plant.rings))


def slowest_shut(bench: Bench) -> float:
    """Longest time [s] from blow-out to the click, over the rings."""
    times = []
    for ring in bench.plant.rings:
        bench.do("light", ring=ring, hold=10)
        bench.wait(60)
        bench.do("blow out", ring=ring)
        bench.wait(150)
        times.append(_figure(bench, "stopwatch", at=ring))
    return max(times)


def flames_not_held(bench: Bench) -> float:
    """1 if a flame goes out as the knob is let go after five seconds, else 0."""
    for ring in bench.plant.rings:
        bench.do("light", ring=ring, hold=5)
    return float(any(bench.read("flame", at=ring).value == 0.0 for ring in bench.plant.rings))


def card_ratio(bench: Bench) -> float:
    """Heat by the meter card's figure as a part of the hob's plate."""
    heat = _figure(bench, "meter card") * bench_number("bench", "cv_default")
    return heat / bench.site.hob().plate_input()


def cv_difference(bench: Bench) -> float:
    """How far the bill's calorific value is from the default, as a part of the default."""
    return abs(_figure(bench, "gas bill") / bench_number("bench", "cv_default") - 1.0)


def hood_short(bench: Bench) -> float:
    """How far [m] the tape falls short of the maker's height to the hood."""
    return bench.site.clearance("above").maker - _figure(bench, "tape", at="hood")


SIGNS: dict[str, Callable[[Bench], float]] = {
    "let-by": let_by_rise,
    "leak-pipe": pipe_drop,
    "leak-appliance": appliance_drop,
    "tap-open": appliance_drop,
    "warming": warming_rise,
    "cooling": tightness_drop,
    "gauge-zero": zero_error,
    "hose-blocked": creeping,
    "hose-leaking": hose_drop,
    "regulator-low": working_pressure,
    "regulator-high": working_pressure,
    "regulator-slow": recovery,
    "no-lock-up": standing_pressure,
    "kinked-run": pipe_loss,
    "wrong-injector": lowest_rate,
    "low-flame": low_flames_lost,
    "slow-supervision": slowest_shut,
    "weak-supervision": flames_not_held,
    "meter-card": card_ratio,
    "cv-off": cv_difference,
    "bond-far": lambda bench: _figure(bench, "tape", at="bond"),
    "live-casing": lambda bench: _figure(bench, "voltage detector"),
    "blocked-opening": lambda bench: _figure(bench, "opening"),
    "hood-low": hood_short,
}


def seen(site: Site, key: str, faults: Iterable[fault_list.Fault], seed: int) -> bool:
    """Return True when the routine for `key` shows its sign on a bench with these faults."""
    return fault_list.kinds()[key].shows(SIGNS[key](Bench(site, faults, seed)))


def detection_rate(site: Site, key: str, grade: str, seeds: Iterable[int]) -> float:
    """Return how often a fault of a grade shows its sign, over jobs numbered by `seeds`."""
    fault = fault_list.fault(site, key, grade)
    found = [seen(site, key, (fault,), seed) for seed in seeds]
    return sum(found) / len(found)


def false_alarm_rate(site: Site, key: str, seeds: Iterable[int]) -> float:
    """Return how often the routine for `key` shows its sign with nothing wrong."""
    found = [seen(site, key, (), seed) for seed in seeds]
    return sum(found) / len(found)


def given(quantity: str) -> str:
    """Return a limit of the exercise as printed: with its unit and what it is."""
    fact = tables.fact("bench", "exercise", quantity)
    if fact.status == "invented":
        return f"{fact.value:g} {fact.unit} (given for this exercise, not the standard's)"
    return f"{fact.value:g} {fact.unit} ({tables.STATUS_WORDS[fact.status]})"
