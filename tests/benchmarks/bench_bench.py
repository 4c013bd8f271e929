"""How fast the bench is, and how well its faults are seen. Run: python tests/benchmarks/bench_bench.py

Times are medians on this machine, each beside its aim. The tables of detection and of wrong
calls are computed, not timed. Nothing here fails: it is for reading.
"""

import multiprocessing
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from gaslab.refit import decision, faults, signs, site
from gaslab.refit.bench import Bench
from gaslab.refit.flowing import Flowing

ALDER = site.load("alder-court")
TESTS = 10_000
SEEDS = 100
CLOSED_FAULTS = ("leak-pipe", "leak-appliance", "tap-open", "warming", "cooling", "let-by")


def median_time(work, repeats=30):
    """Return the median time [s] of `work()`, after one unmeasured run."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def closed_test(fault="tap-open"):
    """Two simulated minutes of a closed test; the tap left open is the stiffest case."""
    bench = Bench(ALDER, [faults.fault(ALDER, fault, "obvious")], 1)
    bench.do("close", valve="control")
    start = time.perf_counter()
    bench.wait(120)
    return time.perf_counter() - start


def coupled_solve(plant, holes):
    """One solution from nothing remembered."""
    Flowing(plant).solve(holes)


def faulty_test(seed):
    """One seeded tightness test with a drawn fault; return the drop [Pa]."""
    hidden = faults.draw(ALDER, seed, 1, keys=CLOSED_FAULTS)
    return signs.tightness_drop(Bench(ALDER, hidden, seed))


def frame(bench):
    bench.advance(0.05)
    bench.view()


def report_speed():
    bench = Bench(ALDER, seed=1)
    for ring in bench.plant.rings:
        bench.do("light", ring=ring)
    bench.do("draw hot water")
    holes = bench.flowing.orifices(bench.state)
    shut = Bench(ALDER, [faults.fault(ALDER, "leak-pipe", "plain")], 1)
    shut.do("connect gauge")
    shut.do("close", valve="control")
    rows = [
        ("two minutes of a closed test", statistics.median(closed_test() for _ in range(15)), 5e-3),
        (
            "the same, with gas leaking into the kitchen",
            statistics.median(closed_test("leak-pipe") for _ in range(15)),
            5e-3,
        ),
        (
            "coupled steady solve, nothing remembered",
            median_time(lambda: coupled_solve(bench.plant, holes)),
            1e-3,
        ),
        ("one frame, everything alight (20 a second)", median_time(lambda: frame(bench), 200), 50e-3),
        ("one frame, shut in (20 a second)", median_time(lambda: frame(shut), 200), 50e-3),
    ]
    start = time.perf_counter()
    with multiprocessing.Pool(2) as pool:
        pool.map(faulty_test, range(TESTS), chunksize=250)
    rows.append((f"{TESTS} seeded faulty tightness tests, two processes", time.perf_counter() - start, 20.0))
    start = time.perf_counter()
    decision.table(ALDER)
    rows.append(
        (f"table of wrong calls, {decision.BATCH} jobs for each of 6 rows", time.perf_counter() - start, 1.0)
    )
    print(f"{'what':58} {'took':>12} {'aim':>10} {'took/aim':>9}")
    for what, took, aim in rows:
        print(f"{what:58} {took * 1e3:9.2f} ms {aim * 1e3:7.0f} ms {took / aim:9.2f}")


def report_detection():
    print(f"\nSigns seen in {SEEDS} seeded jobs, by grade; and with nothing wrong")
    print(f"{'fault':20} {'obvious':>8} {'plain':>8} {'marginal':>9} {'false alarm':>12}")
    for key in faults.kinds():
        rates = [signs.detection_rate(ALDER, key, grade, range(SEEDS)) for grade in faults.GRADES]
        alarm = signs.false_alarm_rate(ALDER, key, range(SEEDS))
        print(f"{key:20} {rates[0]:8.0%} {rates[1]:8.0%} {rates[2]:9.0%} {alarm:12.0%}")


def report_decisions():
    print(f"\nWrong calls in {decision.BATCH} jobs; limit {signs.given('permitted_drop')}")
    print(f"{'gauge':20} {'settled':>8} {'tight called leaking':>22} {'leaking called tight':>22}")
    for row in decision.table(ALDER):
        wrong = f"{row.called_leaking_though_tight:22.2%} {row.called_tight_though_leaking:22.2%}"
        print(f"{row.gauge:20} {'yes' if row.settled else 'no':>8} {wrong}")


if __name__ == "__main__":
    report_speed()
    report_detection()
    report_decisions()
