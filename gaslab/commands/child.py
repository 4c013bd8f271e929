"""Running another program: with a time limit, and with every line that it prints in reach."""

import os
import subprocess
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@dataclass
class Ended:
    """How a program ended. `reason` is empty when all went well. `lines` is all that it printed."""

    reason: str = ""
    lines: list[str] = field(default_factory=list)


def run(command: Sequence[object], extra: Mapping[str, str] | None = None) -> int:
    """Run a program from the top of the course, its output on the screen; return its exit code."""
    place = {**os.environ, **(extra or {})}
    return subprocess.run([str(part) for part in command], cwd=ROOT, env=place, check=False).returncode


def watch(
    command: Sequence[object],
    limit: float,
    hear: Callable[[str], None] = lambda line: None,
    extra: Mapping[str, str] | None = None,
    asks: bool = False,
) -> Ended:
    """Run a program for at most `limit` seconds and hand each line it prints to `hear`.

    `asks` leaves the keyboard to the program, for one that may ask for a password.
    """
    ended = Ended()
    try:
        program = subprocess.Popen(
            [str(part) for part in command],
            cwd=ROOT,
            env={**os.environ, **(extra or {})},
            stdin=None if asks else subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            errors="replace",
            start_new_session=not asks and os.name != "nt",
        )
    except OSError as error:
        ended.reason = f"it could not be started: {error.strerror}"
        return ended
    late = threading.Event()

    def stop() -> None:
        late.set()
        end(program)

    clock = threading.Timer(limit, stop)
    clock.start()
    try:
        for line in program.stdout or ():
            for part in line.rstrip("\n").split("\r"):
                ended.lines.append(part)
                hear(part)
        code = program.wait()
    except KeyboardInterrupt:
        end(program)
        raise
    finally:
        clock.cancel()
    if late.is_set():
        ended.reason = f"not done after {limit:.0f} s"
    elif code != 0:
        ended.reason = f"it ended with {code}"
    return ended


def end(program: subprocess.Popen) -> None:
    """End a program and what it has started."""
    if os.name == "nt":
        subprocess.run(["taskkill", "/F", "/T", "/PID", str(program.pid)], capture_output=True, check=False)
        return
    try:
        if os.getpgid(program.pid) == program.pid:
            os.killpg(program.pid, 9)
        else:
            program.kill()
    except ProcessLookupError:
        return  # it ended by itself in the meantime
