"""A copy of a trainee's work in one file: every answer, and the job with its changes, readings and findings.

Bringing one back loses nothing: answers are joined, and a job that it takes the place of goes to the archive.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace

from gaslab.learn import progress as answers
from gaslab.learn.boxes import Attempt
from gaslab.learn.progress import Progress
from gaslab.refit import records
from gaslab.refit.folder import LARGEST_COPY, FileFault, parse_json
from gaslab.refit.job import Job
from gaslab.refit.records import JobState

KIND, SCHEMA = "gaslab copy of work", 1


@dataclass(frozen=True)
class Copy:
    """What a copy holds. `job` is None in a copy of answers alone."""

    attempts: tuple[Attempt, ...]
    job: JobState | None = None


def text_of(progress: Progress, job: Job) -> str:
    """Return the text of a copy: the newest answers and the newest job, what other pages wrote included."""
    progress.save()
    job.refresh()
    parts = {"kind": KIND, "schema": SCHEMA, "progress": json.loads(progress.export_text())}
    return json.dumps({**parts, "job": job.state.as_dict()}, ensure_ascii=True, allow_nan=False) + "\n"


def read(text: str, name: str) -> Copy:
    """Return what a copy holds, or a file of answers alone. Raises FileFault, which calls it by `name`."""
    raw = parse_json(text, name, LARGEST_COPY)
    if raw.get("kind") != KIND:
        return Copy(answers.attempts_in(raw, name))
    if raw.get("schema") != SCHEMA or set(raw) != {"kind", "schema", "progress", "job"}:
        raise FileFault(f"{name} is not a copy that this course can read")
    for part in ("progress", "job"):
        if not isinstance(raw[part], dict):
            raise FileFault(f"{name}: {part} must be named values in braces")
    job = dict(raw["job"])
    if job.pop("schema", None) != records.SCHEMA or not isinstance(job.get("site"), str):
        raise FileFault(f"{name} holds a job that this course cannot read")
    state = records.state_from({"schema": records.SCHEMA, **job}, job["site"])
    return Copy(answers.attempts_in(raw["progress"], name), state)


def same_work(one: JobState, other: JobState) -> bool:
    """Tell whether two jobs hold the same work; how often each was written does not count."""
    return replace(one, revision=0) == replace(other, revision=0)


def untouched(job: JobState) -> bool:
    """Tell whether nothing was done in a job yet."""
    return same_work(job, JobState(job.site))
