"""Timing for the benchmarks: medians of many runs, taken in turns so that a busy moment hits both sides."""

import statistics
import time
from collections.abc import Callable


def once(work: Callable[[], object]) -> float:
    """Return how long one run takes [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def medians(*works: Callable[[], object], repeats: int = 20) -> list[float]:
    """Return each one's median time [s]; they run in turns, each once unmeasured first."""
    for work in works:
        work()
    times = [[once(work) for work in works] for _ in range(repeats)]
    return [statistics.median(column) for column in zip(*times, strict=True)]


def said(seconds: float) -> str:
    """Return a time in the unit a person would use.

    >>> said(2.5), said(0.0123), said(0.00004), said(2.6e-7)
    ('2.50 s', '12.3 ms', '40 µs', '260 ns')
    """
    if seconds >= 1:
        return f"{seconds:.2f} s"
    if seconds >= 1e-3:
        return f"{seconds * 1e3:.1f} ms"
    return f"{seconds * 1e6:.0f} µs" if seconds >= 1e-6 else f"{seconds * 1e9:.0f} ns"


def row(what: str, ours: float, other: float | None = None, against: str = "", aim: str = "") -> None:
    """Print one line of a table: ours, the other, and how many times faster."""
    times = other / ours if other is not None else 0.0
    ratio = f"{times:,.{0 if times >= 10 else 1}f} times" if other is not None else ""
    theirs = f"{said(other)} {against}" if other is not None else against
    print(f"{what:<52} {said(ours):>9}  {theirs:<28} {ratio:>12}  {aim}")
