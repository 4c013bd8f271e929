"""How fast papers are made and attempts are marked. Run: python tests/benchmarks/bench_assess.py [largest batch]

Prints a table; judges nothing. Each marking run is a process of its own, so that its
peak memory is its own. The goals: 1 000 papers of 20 questions under 20 s; 10 000
attempts verified and marked under 60 s in under 500 MiB; a flat cost per attempt.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import sitting

from gaslab.assess import guide, marking_batch, papers

SIZES = (1_000, 10_000, 50_000)


def bench_papers(count: int = 1_000) -> None:
    plan = sitting.plan(questions=20, forms=count)
    began = time.perf_counter()
    for _ in papers.each_form(plan, sitting.SECRET):
        pass
    seconds = time.perf_counter() - began
    print(
        f"papers   {count:6d} of 20 questions, all filters  {seconds:7.2f} s  {1e3 * seconds / count:6.2f} ms each"
    )


def bench_marking(size: int, home: Path, paper) -> None:
    folder = home / f"in-{size}"
    sitting.write_attempts(folder, paper, size)
    subprocess.run([sys.executable, __file__, "--mark", str(folder), str(home / "key.json")], check=True)


def mark_one(folder: Path, key_file: Path) -> None:
    key = guide.read_key(key_file.read_bytes())
    began, work = time.perf_counter(), time.process_time()
    cohort = marking_batch.mark_to_file(folder, key, folder.with_suffix(".jsonl"), progress=bar)
    seconds, work = time.perf_counter() - began, time.process_time() - work
    count = len(cohort.candidates)
    began = time.perf_counter()
    cohort.analysis(), cohort.slips(), cohort.profile()
    analysis = time.perf_counter() - began
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"\rattempts {count:6d} verified and marked  {seconds:7.2f} s  {1e3 * work / count:6.3f} ms of work each  "
        f"peak {memory:5.0f} MiB  analysis {analysis:5.2f} s"
    )


def bar(done: int, count: int) -> None:
    if sys.stdout.isatty() and done % 500 == 0:
        print(f"\r{'#' * (40 * done // count):40s} {done}/{count}", end="", flush=True)


def main() -> None:
    if sys.argv[1:2] == ["--mark"]:
        mark_one(Path(sys.argv[2]), Path(sys.argv[3]))
        return
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else SIZES[-1]
    bench_papers()
    with tempfile.TemporaryDirectory() as home:
        paper = sitting.built(questions=20, forms=8)
        (Path(home) / "key.json").write_bytes(guide.key_json(guide.key_of(paper)))
        for size in (each for each in SIZES if each <= largest):
            bench_marking(size, Path(home), paper)


if __name__ == "__main__":
    main()
