"""The test run: its parts one after another, what each took, and one line that adds them up."""

import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree import ElementTree

from gaslab.commands import browser
from gaslab.commands.child import run
from gaslab.commands.course_files import OUTPUT
from gaslab.commands.messages import Stop, say
from gaslab.commands.system_packages import Permission

SHOWN = 10  # of the slowest tests
NO_BROWSER = "The browser part did not run, for want of a browser: it counts as failed."


@dataclass(frozen=True)
class Part:
    """One part of a run. `report` is True when the command can write its results as a JUnit file."""

    name: str
    command: tuple[object, ...]
    report: bool = True


@dataclass
class Result:
    """What a part gave: counts, time [s], and its slowest tests as (time [s], name)."""

    name: str
    passed: int = 0
    failed: int = 0
    skipped: int = 0
    seconds: float = 0.0
    slowest: list[tuple[float, str]] = field(default_factory=list)


def parts(python: Path) -> list[Part]:
    """Return the parts of the everyday test run."""
    pytest = (python, "-m", "pytest", "-n", "2")
    return [
        Part("modules", (*pytest, "--dist", "loadfile", "--doctest-modules", "gaslab", "tests",
                         "--ignore=tests/browser")),
        Part("notebooks", (*pytest, "--dist", "loadfile", "-p", "tests.empty_home", "--nbval",
                           "--nbval-current-env", "--nbval-cell-timeout=180", "notebooks")),
        Part("browser", (*pytest, "--dist", "loadgroup", "tests/browser")),
    ]  # fmt: skip


def chosen(every: list[Part], names: list[str]) -> list[Part]:
    """Return the parts with these names; all of them when none is named."""
    known = [part.name for part in every]
    unknown = [name for name in names if name not in known]
    if unknown:
        raise Stop(f"There is no part {', '.join(unknown)}. The parts are: {', '.join(known)}.")
    return [part for part in every if not names or part.name in names]


def read_report(report: Path, name: str) -> Result:
    """Return the counts of one part's report; a part that wrote none counts as one failure."""
    if not report.exists():
        return Result(name, failed=1)
    suites = list(ElementTree.parse(report).getroot().iter("testsuite"))
    total, failed, skipped = (
        sum(int(suite.get(key, "0")) for suite in suites for key in keys)
        for keys in (("tests",), ("failures", "errors"), ("skipped",))
    )
    cases = [
        (
            float(case.get("time", "0")),
            f"{case.get('classname', '').removeprefix('tests.')}: {case.get('name')}",
        )
        for suite in suites
        for case in suite.iter("testcase")
    ]
    return Result(
        name, total - failed - skipped, failed, skipped, slowest=sorted(cases, reverse=True)[:SHOWN]
    )


def run_part(part: Part, extra: Mapping[str, str]) -> Result:
    """Run one part with an empty user's folder; return what it gave."""
    say(f"\n== {part.name} ==")
    OUTPUT.mkdir(exist_ok=True)
    report = OUTPUT / f"{part.name}.xml"
    report.unlink(missing_ok=True)
    command = [*part.command, "--junit-xml", report] if part.report else part.command
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as home:
        code = run(command, {"GASLAB_HOME": home, "JUPYTER_PLATFORM_DIRS": "1", **extra})
    result = read_report(report, part.name) if part.report else Result(part.name, passed=int(code == 0))
    # A part can fail with every test passed, for example when a file could not be read at all.
    if code != 0 and result.failed == 0:
        result.failed = 1
    result.seconds = time.monotonic() - start
    return result


def minutes(seconds: float) -> str:
    """Return a time as a person says it.

    >>> minutes(125.2), minutes(9.4)
    ('2 min 5 s', '9 s')
    """
    whole = round(seconds)
    return f"{whole // 60} min {whole % 60} s" if whole >= 60 else f"{whole} s"


def summary(results: list[Result], no_browser: bool = False) -> str:
    """Return the slowest tests, the time of each part, and the line that adds all up."""
    slowest = sorted(((*one, result.name) for result in results for one in result.slowest), reverse=True)
    lines = [f"\nThe {min(SHOWN, len(slowest))} slowest tests:"] if slowest else []
    lines += [f"  {seconds:6.1f} s  {part}  {name[:90]}" for seconds, name, part in slowest[:SHOWN]]
    lines += ["\nThe parts:"]
    lines += [
        f"  {one.name:<12} {minutes(one.seconds):>12}  "
        f"{one.passed} passed, {one.failed} failed, {one.skipped} skipped"
        for one in results
    ]
    total = sum(one.seconds for one in results)
    counts = [sum(getattr(one, key) for one in results) for key in ("passed", "failed", "skipped")]
    lines += [f"  {'in all':<12} {minutes(total):>12}", "\nall parts:"]
    lines += ["{} passed, {} failed, {} skipped".format(*counts)]
    return "\n".join([*lines, NO_BROWSER] if no_browser else lines)


def find_browser(python: Path, wanted: list[Part], permission: Permission) -> dict[str, str] | None:
    """Return what tells the browser tests their browser; None when they need one and there is none."""
    if not any(part.name == "browser" for part in wanted):
        return {}
    found = browser.find(python, permission)
    return {browser.NAMED: found} if found else None


def outcome(part: Part, browser_place: Mapping[str, str] | None, extra: Mapping[str, str]) -> Result:
    """Run one part; the browser part has failed at once when there is no browser for it."""
    if part.name == "browser" and browser_place is None:
        return Result(part.name, failed=1)
    return run_part(part, {**extra, **(browser_place or {})})


def everyday(python: Path, names: list[str], permission: Permission) -> int:
    """Run the parts, or those named; return 0 when everything passed."""
    wanted = chosen(parts(python), names)
    told = find_browser(python, wanted, permission)
    results = [outcome(part, told, {}) for part in wanted]
    say(summary(results, no_browser=told is None))
    return int(any(result.failed for result in results))
