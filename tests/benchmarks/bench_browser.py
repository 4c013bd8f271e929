"""From key press to changed picture, as the last browser tests on this machine measured it.

python3 gaslab/course.py test browser      measures and writes .test-output/latency.json
python3 gaslab/course.py bench browser     prints it
"""

import json
import sys
from pathlib import Path

FILE = Path(__file__).resolve().parents[2] / ".test-output" / "latency.json"


def main() -> int:
    if not FILE.exists():
        print("Not measured yet on this machine: run `python3 gaslab/course.py test browser` first.")
        return 0
    for name, value in json.loads(FILE.read_text(encoding="utf-8")).items():
        print(f"{name:40} {value}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
