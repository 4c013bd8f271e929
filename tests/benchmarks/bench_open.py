"""How fast the course opens: the command's own checks on a second start, what `import gaslab` adds, and each
notebook from a cold kernel to its last cell.
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from timing import row, said

ROOT = Path(__file__).resolve().parents[2]
REPEATS = 7


def import_time(modules: str) -> float:
    """Return the time [s] of imports in a fresh Python, its own start left out."""
    code = f"import time; start = time.perf_counter(); import {modules}; print(time.perf_counter() - start)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    return float(done.stdout)


def second_start() -> float:
    """Return the median time [s] of all that the open command does before it starts the server."""
    code = "import sys; sys.path.insert(0, '.'); from gaslab.commands import command_line, environment; "
    code += "environment.prepare(tests=True)"
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-I", "-c", code], check=True, cwd=ROOT)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def added(module: str) -> float:
    """Return the median of what a module adds to ipywidgets [s], the two taken in turns."""
    pairs = [(import_time("ipywidgets"), import_time(f"ipywidgets, {module}")) for _ in range(REPEATS)]
    return max(0.0, statistics.median(after - before for before, after in pairs))


def notebook_time(path: Path) -> float:
    """Return the time [s] from starting a kernel to the end of the last cell."""
    book = nbformat.read(path, as_version=4)
    start = time.perf_counter()
    NotebookClient(
        book, timeout=120, kernel_name="python3", resources={"metadata": {"path": str(path.parent)}}
    ).execute()
    return time.perf_counter() - start


def main() -> None:
    row("second start, before the server starts", second_start(), aim="aim: under 1 s")
    row("import gaslab, added to ipywidgets", added("gaslab"), aim="aim: under 0.35 s")
    row("what a notebook imports first, added to ipywidgets", added("gaslab.show.chapter"))
    for path in sorted((ROOT / "notebooks").glob("*.ipynb")):
        print(f"{path.stem:<52} {said(notebook_time(path)):>9}  cold, all cells")


if __name__ == "__main__":
    main()
