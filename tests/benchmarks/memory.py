"""How much memory a trainee needs: kernel, share of the server, and page, for one notebook and for five.

    .venv/bin/python tests/benchmarks/memory.py

Kernel and server memory is what a host must have; page memory is on the trainee's own machine. Each is the
proportional set size (PSS): memory that processes share is split between them, so sums are true. Linux only.
"""

import platform
import statistics
import sys
import tempfile
from importlib.metadata import version
from pathlib import Path

import psutil

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
from lab import BROWSER_FLAGS, NOTEBOOKS, Lab, browser_path
from playwright.sync_api import sync_playwright
from sheet import SCREEN, Sheet

ONE = ("04-tightness-test",)
FIVE = ("04-tightness-test", "05-pipe-run", "09-pressures", "10-gas-rate", "15-whole-job")
REPEATS = 3
SPARE = 1.5  # of what was measured: room for long sessions and for growth
SYSTEM = 2_000  # MB for the operating system and the hub itself: an estimate, not measured here
MB = 1_000_000
OPEN = "async name => { await window.jupyterapp.commands.execute('docmanager:open', {path: name}); }"


def pss(processes: list[psutil.Process]) -> float:
    """Return the proportional set size of processes together [MB]; one that has ended counts nothing."""
    total = 0
    for process in processes:
        try:
            total += process.memory_full_info().pss
        except psutil.NoSuchProcess:
            continue
    return total / MB


def family(root: psutil.Process) -> list[psutil.Process]:
    return [root, *root.children(recursive=True)]


def is_kernel(process: psutil.Process) -> bool:
    try:
        return "ipykernel_launcher" in " ".join(process.cmdline())
    except psutil.NoSuchProcess:
        return False


def measure(names: tuple[str, ...]) -> dict[str, float]:
    """Open notebooks one after another in one window, run all their cells, and return the memory [MB] by part."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        paths = [path for path in NOTEBOOKS if path.stem in names]
        lab = Lab(Path(folder) / "lab", paths)
        try:
            mine = psutil.Process()
            before = {process.pid for process in mine.children(recursive=True)}
            browser = playwright.chromium.launch(executable_path=browser_path(), args=BROWSER_FLAGS)
            page = browser.new_context(viewport=SCREEN).new_page()
            for path in paths:
                sheet = Sheet(page, path.name)
                if path == paths[0]:
                    sheet.open(lab.url(path.name))
                else:
                    page.evaluate(OPEN, path.name)
                    sheet.wait_ready()
                sheet.run_all()
                faults = sheet.errors()
                if faults:
                    raise RuntimeError(f"{path.name}: {faults}")
            # A page drops what it no longer uses when it likes; made to do so now, runs can be compared.
            page.context.new_cdp_session(page).send("HeapProfiler.collectGarbage")
            page.wait_for_timeout(2_000)
            server = psutil.Process(lab.process.pid)
            kernels = [process for process in family(server) if is_kernel(process)]
            others = [process for process in family(server) if not is_kernel(process)]
            chromium = [
                p for p in mine.children(recursive=True) if p.pid not in before and p not in family(server)
            ]
            found = {
                "kernels": pss(kernels),
                "server": pss(others),
                "page": pss(chromium),
                "count": len(kernels),
            }
            browser.close()
        finally:
            lab.stop()
    if found["count"] != len(names):
        raise RuntimeError(f"{found['count']} kernels run for {len(names)} notebooks")
    return found


def middle(names: tuple[str, ...]) -> tuple[dict[str, float], dict[str, str]]:
    """Return the median of each part over a few runs, and how it is printed: with its least and its most."""
    runs = [measure(names) for _ in range(REPEATS)]
    parts = {part: sorted(run[part] for run in runs) for part in runs[0]}
    medians = {part: statistics.median(values) for part, values in parts.items()}
    return medians, {part: f"{medians[part]:.0f} ({v[0]:.0f} to {v[-1]:.0f})" for part, v in parts.items()}


def sizing(found: dict[str, float], trainees: int) -> float:
    """Return the memory [GB] of a host for so many trainees at once, each with a server of their own.

    >>> sizing({"kernels": 100.0, "server": 100.0}, 30)
    11.0
    """
    return (trainees * (found["kernels"] + found["server"]) * SPARE + SYSTEM) / 1_000


def main() -> None:
    (one, one_said), (five, five_said) = middle(ONE), middle(FIVE)
    memory = psutil.virtual_memory().total / 1e9
    machine = f"{platform.system()} {platform.machine()}, {psutil.cpu_count()} cores, {memory:.0f} GB"
    print(f"{machine}; Python {platform.python_version()}")
    print(
        ", ".join(
            f"{name} {version(name)}"
            for name in ("jupyterlab", "ipykernel", "ipywidgets", "numpy", "matplotlib")
        )
    )
    print(f"Median of {REPEATS} runs (least to most), proportional set size.\n")
    print("| memory, MB | one notebook | five notebooks |\n|---|---:|---:|")
    for part, words in (
        ("kernels", "kernels"),
        ("server", "the trainee's server"),
        ("page", "browser with its pages"),
    ):
        print(f"| {words} | {one_said[part]} | {five_said[part]} |")
    hosts = [run["kernels"] + run["server"] for run in (one, five)]
    print(f"| **on the host, for each trainee** | **{hosts[0]:.0f}** | **{hosts[1]:.0f}** |\n")
    print(
        f"Host for a college, with {SPARE:g} times what was measured and {SYSTEM / 1000:g} GB for the system:\n"
    )
    print("| trainees at once | one notebook each | five notebooks each |\n|---|---:|---:|")
    for trainees in (30, 300):
        print(f"| {trainees} | {sizing(one, trainees):.0f} GB | {sizing(five, trainees):.0f} GB |")


if __name__ == "__main__":
    main()
