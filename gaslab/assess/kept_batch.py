"""A marked batch kept on the disk: marked once, looked at and written out as often as need be.

Ten thousand marked attempts do not fit in a small machine's memory, so their lines lie in a file without a name. The
system removes it when the page is closed.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator

from gaslab.assess.attempt_reader import RefusedAttempt
from gaslab.assess.marking_batch import result_line
from gaslab.assess.results import Result, StepResult


class KeptBatch:
    """Results and refusals in the order in which they were marked."""

    def __init__(self) -> None:
        self._file = tempfile.TemporaryFile()  # noqa: SIM115  (it lives as long as the batch)

    def keep(self, found: Result | RefusedAttempt) -> None:
        """Keep one more."""
        self._file.seek(0, 2)
        self._file.write(result_line(found))

    def lines(self) -> Iterator[bytes]:
        """Yield the line of each, as `marking_batch.result_line` writes it."""
        place = 0
        while True:
            self._file.seek(place)
            line = self._file.readline()
            if not line:
                return
            place = self._file.tell()
            yield line

    def results(self) -> Iterator[Result]:
        """Yield each marked attempt, the same as it was kept."""
        for line in self.lines():
            plain = json.loads(line)
            if "refused" not in plain:
                kept = {name: plain[name] for name in Result.__slots__}
                steps = tuple(StepResult(**step) for step in plain["steps"])
                lists = {name: tuple(plain[name]) for name in ("missed", "notes")}
                yield Result(**{**kept, **lists, "steps": steps})
