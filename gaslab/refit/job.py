"""The job: one file that every notebook shares.

It holds what was changed at the site, the seed, the readings, the findings and the
advice. Every write takes the newest file, adds to it and puts it back whole, under a
lock, so two open notebooks add to the same job. A value that was changed elsewhere
since this notebook last looked is not overwritten: JobConflict says so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from gaslab.refit import records
from gaslab.refit import site as sites
from gaslab.refit.criteria import Finding
from gaslab.refit.fields import SiteError
from gaslab.refit.folder import FileFault, locked, read_json, set_aside, user_data_folder, write_whole
from gaslab.refit.records import HIGHEST_SEED, SCHEMA, Advice, Change, FindingRecord, JobState, Reading

__all__ = ["Job", "JobConflict", "JobError", "user_data_folder"]


class JobError(ValueError):
    """Something a job cannot take, told in one sentence."""


class JobConflict(JobError):
    """The same value was changed elsewhere since this notebook last looked. Nothing was overwritten."""

    def __init__(self, path: str, mine: object, theirs: Change | None):
        self.path, self.mine, self.theirs = path, mine, theirs
        where = (
            f"chapter {theirs.chapter} set it to {theirs.value!r}"
            if theirs
            else "it was set back to the site's own value"
        )
        super().__init__(
            f"{path}: {where} since this notebook last looked. Your {mine!r} was not stored. "
            "Refresh to see the newest job, then change it again if you still want to."
        )


class Job:
    """The job at one site. `troubles` are sentences for the trainee: what was damaged or could not be saved."""

    def __init__(self, path: Path, state: JobState, saved: bool):
        self._path, self._state, self.saved = path, state, saved
        self.troubles: list[str] = []
        self._look()

    @classmethod
    def load(cls, folder: Path | str | None = None, site: str = "alder-court") -> Job:
        """Return the job at a site from the user's folder, or a new one. Bad files are told in `troubles`."""
        sites.load(site)  # an unknown site is refused before its name becomes a file name
        path = Path(folder or user_data_folder()) / f"job-{site}.json"
        job = cls(path, JobState(site), saved=True)
        job.refresh()
        return job

    def refresh(self) -> None:
        """Look at the newest file: what other notebooks changed is taken over."""
        self._state = self._newest()
        self._look()
        self._site_of(self._state)

    def _look(self) -> None:
        """Remember what this notebook has seen: a change made elsewhere after this is a conflict."""
        self._seen: dict[str, Change | None] = {change.path: change for change in self._state.changes}
        self._seen_seed = self._state.seed

    # What the job holds

    @property
    def site(self) -> sites.Site:
        """The site with every change made so far."""
        return self._site_of(self._state)

    @property
    def state(self) -> JobState:
        """Everything the job holds, frozen."""
        return self._state

    @property
    def seed(self) -> int:
        return self._state.seed

    @property
    def revision(self) -> int:
        return self._state.revision

    @property
    def changes(self) -> tuple[Change, ...]:
        return self._state.changes

    @property
    def readings(self) -> tuple[Reading, ...]:
        return self._state.readings

    @property
    def findings(self) -> tuple[FindingRecord, ...]:
        return self._state.findings

    @property
    def advice(self) -> tuple[Advice, ...]:
        return self._state.advice

    @property
    def archive(self) -> tuple[Mapping, ...]:  # what was reset: nothing is thrown away
        return self._state.archive

    # What a person does

    def change(self, path: str, value: float | str | bool, chapter: str) -> sites.Site:
        """Change one value of the site (SI) and return the new site. Raises SiteError or JobConflict."""

        def step(state: JobState) -> JobState:
            theirs = state.change(path)
            if theirs != self._seen.get(path):
                raise JobConflict(path, value, theirs)
            new = replace(state, changes=tuple(c for c in state.changes if c.path != path))
            own = sites.load(state.site).value(path)
            if value != own:  # the site's own value again is no change
                new = new.added("changes", Change(0, path, value, own, chapter, _now()))
            self._site_of(new)  # refuses what the site cannot take
            return new

        # A value that the site refuses is told before any file is touched.
        self.site.changed(path, value)
        _check(chapter=(chapter, (str,)), value=(value, (int, float, str, bool)))
        self._write(step)
        self._seen[path] = self._state.change(path)
        return self.site

    def change_seed(self, seed: int) -> None:
        """Set the seed that hides faults and draws numbers."""
        if isinstance(seed, bool) or not isinstance(seed, int) or not 0 <= seed <= HIGHEST_SEED:
            raise JobError(f"seed: read {str(seed)[:40]!r}; needed a whole number from 0 to {HIGHEST_SEED}.")

        def step(state: JobState) -> JobState:
            if state.seed != self._seen_seed:
                raise JobConflict(
                    "seed", seed, Change(0, "seed", state.seed, self._seen_seed, "elsewhere", _now())
                )
            return replace(state, seed=seed)

        self._write(step)
        self._seen_seed = seed

    def record(
        self,
        chapter: str,
        key: str,
        value: float,
        unit: str,
        resolution: float,
        *,
        note: str = "",
        source: str = "simulated",
    ) -> Reading:
        """Keep a reading as it was seen: `value` in `unit`, to `resolution`."""
        _check(chapter=(chapter, (str,)), key=(key, (str,)), value=(value, (int, float)), note=(note, (str,)))
        _check(resolution=(resolution, (int, float)), source=(source, (str,)), unit=(unit, (str,)))
        reading = Reading(0, chapter, key, value, unit, resolution, note, source, _now())
        self._write(lambda state: state.added("readings", reading))
        return self.readings[-1]

    def finding(self, finding: Finding, chapter: str, about: str = "", action: str = "") -> FindingRecord:
        """Keep a finding with its limit; `about` names the burner, run or check that was judged."""
        _check(chapter=(chapter, (str,)), about=(about, (str,)), action=(action, (str,)))
        kept = FindingRecord(
            number=0, chapter=chapter, about=about, action=action, when=_now(), **finding.record()
        )
        self._write(lambda state: state.added("findings", kept))
        return self.findings[-1]

    def advise(self, point: str, given: str, declined_by: str, when: str) -> Advice:
        """Keep a point of good practice: the advice given, who declined it ("" if nobody) and when."""
        for name, text in (("point", point), ("given", given), ("declined_by", declined_by), ("when", when)):
            _check(**{name: (text, (str,))})
            if name != "declined_by" and not text.strip():
                raise JobError(f"{name}: read nothing; needed some words.")
        self._write(lambda state: state.added("advice", Advice(0, point, given, declined_by, when)))
        return self.advice[-1]

    def reset(self, chapter: str | None = None) -> None:
        """Undo a chapter's changes and clear its readings and findings into the archive (None: all)."""
        self._write(lambda state: state.archived(chapter, _now()))
        self._look()

    def take(self, copied: JobState) -> None:
        """Put a job that was saved elsewhere in the place of this one. What was here goes to the archive."""
        if copied.site != self._state.site:
            raise JobError(f"site: read {copied.site[:40]!r}; needed {self._state.site!r}.")
        self._site_of(copied)  # refuses what the site cannot take
        self._write(lambda state: copied.in_place_of(state, _now()))
        self._look()

    # The file

    def _site_of(self, state: JobState) -> sites.Site:
        return sites.load(state.site).with_changes(state.values())

    def _newest(self) -> JobState:
        """Return the state in the file, or this session's; a damaged file is set aside."""
        if not self.saved:
            return self._state
        try:
            return self._state_in(self._path)
        except FileNotFoundError:
            return self._state
        except _OtherSchema as other:
            self._session_only(str(other))
            return self._state
        except (FileFault, SiteError) as fault:
            return self._after_damage(fault)
        except OSError as error:
            self._session_only(f"The job file could not be read ({error.strerror}).")
            return self._state

    def _state_in(self, path: Path) -> JobState:
        raw = read_json(path)
        if raw.get("schema") != SCHEMA:
            raise _OtherSchema(
                f"{path.name} has the layout {str(raw.get('schema'))[:40]!r}; this course reads {SCHEMA!r}."
            )
        state = records.state_from(raw, self._state.site)
        self._site_of(state)
        return state

    def _after_damage(self, fault: Exception) -> JobState:
        try:
            place = set_aside(self._path)
        except OSError as error:
            self._session_only(
                f"The job file is damaged ({fault}) and could not be set aside ({error.strerror})."
            )
            return self._state
        told = f"The job file was damaged: {fault}. It is kept as {place.name}."
        try:
            state = self._state_in(self._backup())
        except (OSError, ValueError):
            self.troubles.append(f"{told} A new job was started.")
            return self._state
        self.troubles.append(f"{told} The backup from the write before it was taken instead.")
        return state

    def _backup(self) -> Path:
        return self._path.with_name(f"{self._path.stem}.backup.json")

    def _session_only(self, why: str) -> None:
        """Stop saving: to take it up again later could overwrite what others wrote meanwhile."""
        self.saved = False
        self.troubles.append(f"{why} Your work is kept in this session only.")

    def _write(self, step: Callable[[JobState], JobState]) -> None:
        """Take the newest state, apply `step`, and put it in place, all under the lock."""
        try:
            if self.saved:
                with locked(self._path):
                    new = _raised(step, self._newest())
                    if self.saved:  # still, after looking at the file
                        write_whole(self._path, records.text_of(new), self._backup())
            else:
                new = _raised(step, self._state)
        except FileFault as fault:
            raise JobError(f"{fault}.") from None
        except OSError as error:
            new = _raised(step, self._state)
            self._session_only(f"The job file could not be written ({error.strerror}).")
        self._state = new


def _raised(step: Callable[[JobState], JobState], state: JobState) -> JobState:
    return replace(step(state), revision=state.revision + 1)


def _check(**values) -> None:
    """Refuse what a job file could not hold: each name has (value, types it may have)."""
    for name, (value, types) in values.items():
        try:
            records.check_value(name, value, types)
            if name == "unit":
                records.check_unit(name, value)
        except FileFault as fault:
            raise JobError(f"{fault}.") from None


class _OtherSchema(ValueError):
    """A file of another layout: it is left alone."""


def _now() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")
