"""Every benchmark in one run, as tables with machine and versions.

    python3 gaslab/course.py bench [name ...]     such as: bench open network

Speed is only ever compared inside one run on one machine. Nothing here is a test: a slow day fails nobody.
"""

import os
import platform
import subprocess
import sys
import tempfile
from importlib.metadata import version
from pathlib import Path

FOLDER = Path(__file__).resolve().parent
SHOWN = ("numpy", "matplotlib", "ipywidgets", "pandapipes", "CoolProp")


def main(names: list[str]) -> int:
    found = {path.stem.removeprefix("bench_"): path for path in sorted(FOLDER.glob("bench_*.py"))}
    unknown = [name for name in names if name not in found]
    if unknown:
        print(f"There is no benchmark {', '.join(unknown)}. There are: {', '.join(found)}.")
        return 2
    print(
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    )
    print(", ".join(f"{name} {version(name)}" for name in SHOWN))
    codes = []
    for name in names or found:
        print(f"\n== {name} ==", flush=True)
        with tempfile.TemporaryDirectory() as home:
            place = {**os.environ, "GASLAB_HOME": home}
            codes.append(
                subprocess.run([sys.executable, str(found[name])], env=place, check=False).returncode
            )
    return 1 if any(codes) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
