"""The exercises on the bench: what each marks, and which faults may hide in it."""

from __future__ import annotations

import random
from dataclasses import dataclass

from gaslab.refit import faults, procedure
from gaslab.refit.site import Site


@dataclass(frozen=True)
class Exercise:
    """One exercise on the bench: which parts of the procedure it marks, and which faults may hide."""

    title: str
    told: str
    parts: tuple[str, ...]
    stage: str
    topics: tuple[str, ...]
    fewest: int
    most: int


EXERCISES = {
    "bench-tightness": Exercise(
        "The bench: tightness",
        "Do the test in order. One thing may be wrong.",
        ("tightness",),
        "before",
        ("tightness", "gauge"),
        0,
        1,
    ),
    "bench-purge": Exercise(
        "The bench: alter, test, purge",
        "Part the pipe, join it, test again and purge.",
        ("tightness", "alteration", "purge"),
        "before",
        ("tightness",),
        0,
        1,
    ),
    "bench-pressures": Exercise(
        "The bench: pressures",
        "Standing first, then working under load, then the low flame. Then decide on each.",
        ("pressures", "flame"),
        "after",
        ("pressure", "flame"),
        0,
        1,
    ),
    "bench-rate": Exercise(
        "The bench: gas rate",
        "Everything else off. Time the hob. Then decide.",
        ("rate",),
        "after",
        ("rate",),
        0,
        1,
    ),
    "bench-supervision": Exercise(
        "The bench: flame supervision",
        "Light each ring, blow it out and wait for the click. Then decide.",
        ("supervision",),
        "after",
        ("supervision",),
        0,
        1,
    ),
    "bench-whole-job": Exercise(
        "The bench: the whole job",
        "Two or three things are wrong. Work from the door to the van.",
        procedure.PARTS,
        "before",
        (),
        2,
        3,
    ),
}


def hidden(site: Site, exercise: Exercise, seed: int, fewest: int | None = None) -> tuple[faults.Fault, ...]:
    """Return the faults of an exercise for a job number: the same number hides the same faults.

    How many hide is drawn too, so that no run of numbers gives it away. `fewest` asks for more than the
    exercise's own least number; the faults drawn first stay the same.
    """
    keys = [
        key for key, kind in faults.kinds().items() if not exercise.topics or kind.topic in exercise.topics
    ]
    chance = random.Random(f"how many of {' '.join(exercise.parts)} {seed}")
    count = max(chance.randint(exercise.fewest, exercise.most), fewest or 0)
    # Where the work itself swaps the hobs, the faults sit on the new one.
    stage = "after" if "alteration" in exercise.parts else exercise.stage
    return faults.draw(site, seed, min(count, len(keys)), keys, stage=stage)
