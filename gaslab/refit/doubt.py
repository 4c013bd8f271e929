"""How unsure a reading is: the expanded uncertainty (k = 2) that stands beside a finding as advice.

A display shows steps, and all values within one step look alike. One reading of step d has
u = d/sqrt(12), a difference of two has d/sqrt(6); a time carries two presses of the watch.
Source: jcgm-100.
"""

from __future__ import annotations

import math

from gaslab import tables
from gaslab.physics import metering

COVERAGE = 2.0  # k: about 95 in 100 true values lie within it
KINDS = ("", "reading", "difference", "time")


def expanded(kind: str, step: float) -> float | None:
    """Return the expanded uncertainty of a reading with this display step [SI]; None where none is worked out.

    kind: "reading" one look at a display, "difference" one reading less another, "time" a
    stopwatch pressed twice, "" a count or a sum (no doubt is worked out).

    >>> round(expanded("difference", 10.0), 1)  # a drop on a gauge with 0.1 mbar steps, Pa
    8.2
    """
    if kind not in KINDS:
        raise ValueError(f"a kind of reading is one of {KINDS}; got {kind!r}")
    if not kind:
        return None
    if kind == "reading":
        return COVERAGE * metering.digital_uncertainty(step)
    if kind == "difference":
        return COVERAGE * metering.drop_uncertainty(step)
    press = tables.si("practice", "stopwatch", "reaction_time")  # each press is within plus or minus this
    return COVERAGE * math.hypot(metering.digital_uncertainty(step), press * math.sqrt(2.0 / 3.0))
