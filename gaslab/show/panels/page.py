"""What a panel may ask of the page it stands on: the shared job, and the chapter's words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from gaslab.learn.chapters import ChapterWords
from gaslab.refit.job import Job
from gaslab.show.panels.base import Frame
from gaslab.show.panels.scenes import Scene


class Page(Protocol):
    """A chapter at work, as far as its panels need to know it."""

    words: ChapterWords
    job: Job


Topics = dict[str, Callable[[Page], Frame]]
"""Panels by name; each is made for a page."""

Scenes = dict[str, Callable[[Page], Scene]]
"""What a chapter's prediction is about, by the chapter's number."""
