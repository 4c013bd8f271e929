"""An attempt while it is being sat: every answer goes to the disk before the next one.

The file is JSON Lines, one event a line, append-only and chained (`chain`). Each
line is on the disk (fsync) before `answer` returns, so a power cut loses at most the
answer being typed. It holds a candidate number, never a name, and no marks.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

from gaslab.assess import attempt_reader, chain
from gaslab.assess.records import (
    LARGEST_FILE,
    LONGEST_LINE,
    LONGEST_TEXT,
    AttemptError,
    check_event,
    checked_events,
    event_line,
    file_name,
)  # fmt: skip


class Attempt:
    """One sitting by one candidate. Make it with `Attempt.start` or `Attempt.resume`."""

    def __init__(self, path: Path, clock: Callable[[], float]):
        self.path = path
        self.events: list[dict] = []
        self.last_link = chain.FIRST
        self.handed_in = False
        self._size = 0
        self._clock = clock
        self._began = clock()
        self._earlier = 0.0  # seconds on record from before a restart

    @classmethod
    def start(
        cls, folder: Path, *, candidate: str, paper: str, digest: str, form: str,
        package: str, clock: Callable[[], float] = time.monotonic,
    ) -> Attempt:  # fmt: skip
        """Begin an attempt in `folder`. An attempt that stands there already is never overwritten."""
        folder = Path(folder)
        folder.mkdir(parents=True, exist_ok=True)
        attempt = cls(folder / file_name(candidate, paper), clock)
        try:
            os.close(os.open(attempt.path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        except FileExistsError:
            raise AttemptError(
                f"Candidate {candidate} has begun this paper already. Resume that attempt; "
                "nothing was overwritten."
            ) from None
        _sync_folder(folder)
        try:
            attempt._append(
                "start", candidate=candidate, paper=paper, digest=digest, form=form, package=package,
            )  # fmt: skip
        except BaseException:
            attempt.path.unlink(missing_ok=True)  # nothing was answered yet: the candidate may begin again
            raise
        return attempt

    @staticmethod
    def has_begun(path: Path) -> bool:
        """Return True when the first line is whole. A power cut before that leaves nothing of the candidate's."""
        with open(path, "rb") as file:
            return b"\n" in file.read(LONGEST_LINE)

    @classmethod
    def resume(cls, path: Path, clock: Callable[[], float] = time.monotonic) -> Attempt:
        """Go on with an attempt after a power cut.

        A last line that was cut short is moved to a `.torn` file beside it, never
        thrown away. Any other damage is refused.
        """
        path = Path(path)
        data = attempt_reader.file_bytes(path)
        whole = data[: data.rfind(b"\n") + 1]
        events, last_link = checked_events(whole, path.name)
        if len(whole) < len(data):
            _set_aside(path, data[len(whole) :], len(whole))
        attempt = cls(path, clock)
        attempt.events, attempt.last_link, attempt._size = events, last_link, len(whole)
        attempt.handed_in = events[-1]["action"] == "hand-in"
        attempt._earlier = float(events[-1]["seconds"])
        return attempt

    @property
    def candidate(self) -> str:
        return self.events[0]["candidate"]

    def answers(self) -> dict[tuple[str, str], tuple[str, str]]:
        """Return the latest (text, unit) by (item, step), to fill the page after a restart."""
        return {
            (e["item"], e["step"]): (e["text"], e["unit"]) for e in self.events if e["action"] == "answer"
        }

    def answer(self, item: str, step: str, text: str, unit: str, read: str | None) -> None:
        """Record an answer as typed. `read` is the number the page said it read, or None.

        An answer given again is one more event; the last one counts. An empty
        text takes the answer back.
        """
        if not isinstance(text, str) or len(text) > LONGEST_TEXT:
            raise AttemptError(f"An answer holds at most {LONGEST_TEXT} characters. Type the number only.")
        self._append("answer", item=item, step=step, text=text, unit=unit, read=read)

    def hand_in(self) -> str:
        """Close the attempt and return the receipt code. Nothing can be added after it."""
        self._append("hand-in", answered=sum(1 for text, _ in self.answers().values() if text.strip()))
        return self.receipt

    @property
    def receipt(self) -> str:
        """The receipt code, known once the attempt is handed in."""
        if not self.handed_in:
            raise AttemptError("The receipt code comes when the attempt is handed in.")
        return chain.receipt(self.last_link)

    def _append(self, action: str, **fields: object) -> None:
        if self.handed_in:
            raise AttemptError("This attempt was handed in. Nothing can be added to it.")
        seconds = round(self._earlier + max(0.0, self._clock() - self._began), 1)
        event = {"seq": len(self.events), "seconds": seconds, "action": action, **fields}
        check_event(event, len(self.events), "this attempt")
        line, link = event_line(event, self.last_link)
        if len(line) > LONGEST_LINE or self._size + len(line) > LARGEST_FILE:
            raise AttemptError("The attempt would grow past what the marker reads. Hand it in as it stands.")
        self._write(line)
        self.events.append(event)
        self.last_link = link
        self.handed_in = action == "hand-in"

    def _write(self, line: bytes) -> None:
        """Put one line on the disk or leave the file as it was."""
        handle = os.open(self.path, os.O_WRONLY | os.O_APPEND | getattr(os, "O_BINARY", 0))
        try:
            if os.fstat(handle).st_size != self._size:
                raise AttemptError(
                    "Something else changed this attempt's file. Close other windows and resume it."
                )
            try:
                if os.write(handle, line) != len(line):
                    raise OSError("the disk took only part of the line")
                os.fsync(handle)
            except OSError as error:
                os.ftruncate(handle, self._size)
                raise AttemptError(
                    f"This answer is not saved ({error}). Free some space and give it again."
                ) from error
        finally:
            os.close(handle)
        self._size += len(line)


def _set_aside(path: Path, tail: bytes, keep: int) -> None:
    torn = path.with_name(path.name + ".torn")
    with open(torn, "ab") as file:
        file.write(tail + b"\n")
        file.flush()
        os.fsync(file.fileno())
    with open(path, "r+b") as file:
        file.truncate(keep)
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Put the folder's own entry on the disk, where the system lets a program do so."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
