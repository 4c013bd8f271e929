"""The command line: which command was asked for, and with what."""

import argparse
import os
import sys

from gaslab.commands import environment, long_run, run_tests
from gaslab.commands.child import run
from gaslab.commands.messages import Stop, say
from gaslab.commands.system_packages import Permission

SYSTEM_HELP = (
    "also install what is missing on Debian or Ubuntu with the system's package tool (asks for sudo)"
)


def open_course(asked: argparse.Namespace) -> int:
    """Open the course in a browser."""
    python = environment.prepare(permission=Permission(asked.system))
    say("Opening the course in your browser. Leave this window open; press Ctrl+C here to end.")
    command = [python, "-m", "jupyterlab", "notebooks/00-start-here.ipynb"]
    # In a container the only user may be root; JupyterLab then wants to be told that this is meant.
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    return run(command)


def test_course(asked: argparse.Namespace) -> int:
    """Run every test, or the parts that are named: modules, notebooks, browser."""
    permission = Permission(asked.system)
    python = environment.prepare(tests=True, permission=permission)
    return run_tests.everyday(python, asked.names, permission)


def check_course(_: argparse.Namespace) -> int:
    """Check layout, lint and types."""
    python = environment.prepare(tests=True)
    calls = [
        [python, "-m", "ruff", "format", "--check", "."],
        [python, "-m", "ruff", "check", "."],
        [python, "-m", "mypy", "-p", "gaslab", "--config-file", ".mypy.ini"],
    ]
    codes = [run(call) for call in calls]
    return int(any(codes))


def long_course(asked: argparse.Namespace) -> int:
    """Run every check at full size, or the parts that are named; go on where the last run was broken off."""
    permission = Permission(asked.system)
    python = environment.prepare(tests=True, permission=permission)
    return long_run.whole(python, asked.names, permission, asked.afresh)


def stamp_course(asked: argparse.Namespace) -> int:
    """Run notebooks anew and store their plain-text results; all of them, or those whose numbers are given."""
    return run([environment.prepare(tests=True), "tests/stamp.py", *asked.names])


def bench_course(asked: argparse.Namespace) -> int:
    """Measure the speed, side by side, as a table; every benchmark, or those named."""
    return run([environment.prepare(tests=True), "tests/benchmarks/all.py", *asked.names])


def stick_course(asked: argparse.Namespace) -> int:
    """Make a folder with the course and its packages, for a classroom with no internet."""
    python = environment.prepare()
    return run([python, "-m", "gaslab.commands.stick", *asked.names])


COMMANDS = {
    "open": open_course,
    "test": test_course,
    "check": check_course,
    "stamp": stamp_course,
    "long": long_course,
    "bench": bench_course,
    "stick": stick_course,
}


def parser(doc: str) -> argparse.ArgumentParser:
    """Return the reader of the command line."""
    whole = argparse.ArgumentParser(
        prog="course.py", description=doc, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    kinds = whole.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name, command in COMMANDS.items():
        kind = kinds.add_parser(name, help=command.__doc__, description=command.__doc__)
        if name == "stick":
            kind.add_argument("names", nargs=argparse.REMAINDER, metavar="FOLDER ...")
        elif name not in ("open", "check"):
            kind.add_argument("names", nargs="*", metavar="NAME")
        if name in ("open", "test", "long"):
            kind.add_argument("--system", action="store_true", help=SYSTEM_HELP)
        if name == "long":
            kind.add_argument("--afresh", action="store_true", help="run parts again that have passed")
    return whole


def main(arguments: list[str], doc: str) -> int:
    """Carry out one command; return 0 when all went well."""
    if not arguments:
        say(doc)
        return 2
    asked = parser(doc).parse_args(arguments)
    try:
        return COMMANDS[asked.command](asked)
    except Stop as stop:
        print(f"\n{stop}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        say("\nStopped.")
        return 130
