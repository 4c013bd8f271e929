"""What a command says on the screen: sentences, one line of progress, and the reason why it stopped."""

import sys
import time

_UNITS = {"B": 1.0, "bytes": 1.0, "kB": 1e3, "MB": 1e6, "GB": 1e9}


class Stop(Exception):
    """Something a person can put right, told in plain sentences."""


def say(text: str = "") -> None:
    """Print a line at once, also when the output goes to a file."""
    print(text, flush=True)


def megabytes(size: float) -> str:
    """Return a size [bytes] in MB, as a person would say it.

    >>> megabytes(17_300_000), megabytes(94_000)
    ('17 MB', '0.1 MB')
    """
    return f"{size / 1e6:.0f} MB" if size >= 9.5e6 else f"{size / 1e6:.1f} MB"


def size_of(number: str, unit: str) -> float:
    """Return the size [bytes] that an installer prints as a number and a unit.

    >>> size_of("1,068", "kB"), size_of("24", "bytes")
    (1068000.0, 24.0)
    """
    return float(number.replace(",", "")) * _UNITS[unit]


def counted(packages: int) -> str:
    """Return a number of packages in words.

    >>> counted(1), counted(2)
    ('1 package', '2 packages')
    """
    return f"{packages} package{'' if packages == 1 else 's'}"


class Progress:
    """One line of progress. A terminal shows it in place; a file gets a new line every few seconds."""

    def __init__(self, every: float = 5.0):
        self.every, self.terminal = every, sys.stdout.isatty()
        self.last, self.shown = 0.0, ""

    def show(self, text: str) -> None:
        """Show how far the work is; nothing new when the text is empty or stands there already."""
        if text in ("", self.shown):
            return
        if self.terminal:
            print(f"\r  {text[:76]:<76}", end="", flush=True)
            self.shown = text
        elif time.monotonic() - self.last >= self.every:
            say(f"  {text}")
            self.last, self.shown = time.monotonic(), text

    def finish(self, text: str) -> None:
        """Show the last state and end the line."""
        if self.terminal:
            print(f"\r  {text[:76]:<76}", flush=True)
        elif text != self.shown:
            say(f"  {text}")
        self.shown = ""
