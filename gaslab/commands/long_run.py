"""The long run: every check at full size, in parts. A run that was broken off goes on with the next part.

What has passed is kept in a file, with a digest of the course's files: a changed file starts the run anew.
"""

import json
from dataclasses import asdict
from pathlib import Path

from gaslab.commands import course_files
from gaslab.commands.course_files import OUTPUT
from gaslab.commands.messages import say
from gaslab.commands.run_tests import Part, Result, chosen, find_browser, outcome, parts, summary
from gaslab.commands.system_packages import Permission

STATE = OUTPUT / "long-run.json"
TURNED_AWAY = OUTPUT / "turned-away.txt"


def long_parts(python: Path) -> list[Part]:
    """Return the parts of the long run: the everyday ones at full size, then what only the long run does."""
    return [
        *parts(python),
        Part("mutation", (python, "tests/mutation.py"), report=False),
        Part("stick", (python, "tests/offline.py", "stick"), report=False),
        Part("systems", (python, "tests/offline.py", "systems"), report=False),
        Part("binder", (python, "tests/offline.py", "binder"), report=False),
        Part("bench", (python, "tests/benchmarks/all.py"), report=False),
    ]


def read_state(digest: str) -> dict[str, Result]:
    """Return the parts that have passed on these very files; nothing when the note is missing or damaged."""
    try:
        state = json.loads(STATE.read_text(encoding="utf-8"))
        if state["digest"] != digest:
            return {}
        return {name: Result(**data) for name, data in state["passed"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def write_state(digest: str, done: dict[str, Result]) -> None:
    """Keep the parts that have passed."""
    passed = {name: asdict(result) for name, result in done.items() if not result.failed}
    OUTPUT.mkdir(exist_ok=True)
    STATE.write_text(json.dumps({"digest": digest, "passed": passed}), encoding="utf-8")


def whole(python: Path, names: list[str], permission: Permission, afresh: bool) -> int:
    """Run every part that has not passed on these files, or those named; return 0 when everything passed."""
    wanted = chosen(long_parts(python), names)
    digest = course_files.digest()
    done = {} if afresh else read_state(digest)
    for name in done:
        if any(part.name == name for part in wanted):
            say(f"{name} has passed on these files already. To run it again: long --afresh")
    to_do = [part for part in wanted if part.name not in done]
    told = find_browser(python, to_do, permission)
    for part in to_do:
        TURNED_AWAY.unlink(missing_ok=True)
        done[part.name] = outcome(part, told, {"GASLAB_LONG": "1"})
        if TURNED_AWAY.exists():
            say("\nDraws that the filters turned away:\n" + TURNED_AWAY.read_text(encoding="utf-8"))
        write_state(digest, done)
    results = [done[part.name] for part in wanted]
    say(summary(results, no_browser=told is None))
    return int(any(result.failed for result in results))
