"""Testing until it holds: the same tightness test done again, with nothing put right between, until one passes.

To test again for a reason is good work: the gas was left to settle for longer, the gauge was set to zero or
changed, a joint was mended, a valve was shut to find the leak. Only the same test over again is a fault.
"""

from __future__ import annotations

from collections.abc import Iterable

from gaslab.refit import criteria
from gaslab.refit.findings import tightness_test
from gaslab.refit.milestones import Milestone
from gaslab.refit.plant import bench_number

NAME = "the same test again until it holds"
# Actions after which another test is no longer the same one. The control and a repair are looked at more closely.
CHANGES = (
    "connect gauge", "disconnect gauge", "zero gauge", "open window", "close window", "isolate oven", "fit bond",
    "remove bond", "part pipe", "plug ends", "join pipe", "light", "turn", "turn off", "blow out", "start", "stop",
    "draw hot water", "purge", "stop purge",
)  # fmt: skip


def until_it_held(done: Iterable[Milestone]) -> list[Milestone]:
    """Return a milestone for each test that passed where the same test had failed just before it."""
    found: list[Milestone] = []
    failed: Milestone | None = None  # the last test that is over, when it did not pass
    going: Milestone | None = None  # the test whose gas has not been touched since
    new_pipe = False

    def over() -> Milestone | None:
        """Return the failed test to hold the next one against, now that the test going on is over."""
        if going is None:
            return failed
        if tightness_test(going.figures, new_pipe).outcome != criteria.MEETS:
            return going
        if failed is not None and not _settled_longer(failed, going):
            found.append(Milestone(NAME, going.time, failed.events + going.events))
        return None

    for milestone in done:
        if milestone.name == "tightness test":
            if going is not None and going.figures["began"] != milestone.figures["began"]:
                failed = over()
            going = milestone  # watched for longer, a test is still the same one
        elif _changes(milestone):
            over()
            failed = going = None
            new_pipe = new_pipe or milestone.name == "join pipe"
    over()
    return found


def _changes(milestone: Milestone) -> bool:
    """Return whether something was put right or changed. A repair that found nothing changed nothing."""
    name, figures = milestone.name, milestone.figures
    if name in ("open", "close"):
        return figures["valve"] != "control"
    return name in CHANGES or (name == "put right" and bool(figures))


def _settled_longer(before: Milestone, after: Milestone) -> bool:
    """Return whether the gas was left alone for clearly longer before the second test, or long enough at last."""
    was, now = (float(test.figures["settled"]) for test in (before, after))
    enough = bench_number("tightness-test", "stabilise")
    rested = max(now, float(after.figures["rested"]))
    return was < enough <= now or rested >= was + bench_number("exercise", "settle_longer")
