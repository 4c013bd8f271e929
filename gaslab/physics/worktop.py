"""The carpenter's side of a hob: the cut-out, the gap behind the oven, clips, and what cutting does to people."""

from __future__ import annotations

import math

import numpy as np

from gaslab.guard import InputError, Number, between, calculation, positive, zero_or_more

WORKING_DAY = 8.0 * 3600.0  # s, the day that exposures are averaged over
HUNDRED_POINTS = 2.5  # m/s2 over the working day, by definition of the points scale
DAY = 86_400.0

SIDE = positive("m", 10.0, "a length; 600 mm is 0.6 m")
OFFSET = zero_or_more("m", 10.0, "distance from the left end or the front edge to the cut")
LEVEL = between("dB(A)", 0.0, 160.0, "noise level at the ear")
DURATIONS = zero_or_more("s", DAY, "time at each level; 15 minutes is 900 s")
MAGNITUDE = zero_or_more("m/s2", 100.0, "vibration at the hand")


@calculation(
    worktop_length=SIDE, worktop_depth=SIDE, cut_length=SIDE, cut_depth=SIDE, offset_x=OFFSET, offset_y=OFFSET
)
def cut_out_margins(
    worktop_length, worktop_depth, cut_length, cut_depth, offset_x, offset_y
) -> dict[str, float]:
    """Return the worktop left round a cut-out: left, right, front and back [m].

    offset_x from the left end, offset_y from the front edge, to the nearest edge of the cut.
    The right is length - offset - cut, the back likewise. Source: gaslab (subtraction).

    >>> {side: round(width, 3) for side, width in cut_out_margins(3.0, 0.6, 0.56, 0.48, 1.2, 0.05).items()}
    {'left': 1.2, 'right': 1.24, 'front': 0.05, 'back': 0.07}
    """
    right = worktop_length - offset_x - cut_length
    back = worktop_depth - offset_y - cut_depth
    for argument, left_over in (("offset_x", right), ("offset_y", back)):
        if not np.all(np.asarray(left_over) >= -1e-12):  # a cut flush with the edge is still on the worktop
            raise InputError(
                "physics.worktop.cut_out_margins", argument, "small enough for the cut to stay on the worktop",
                f"a cut that runs {-np.min(left_over):.3f} m past the edge", "Move the cut or make it smaller.",
            )  # fmt: skip
    return {"left": offset_x, "right": right, "front": offset_y, "back": back}


@calculation(
    returns="m",
    oven_void_depth=SIDE,
    oven_depth=SIDE,
    pipe_projection=zero_or_more("m", 10.0, "how far the pipe stands out from the wall"),
)
def projection_gap(oven_void_depth, oven_depth, pipe_projection):
    """Return the gap left between oven and pipe, void - oven - projection [m].

    Below zero the oven cannot slide home: the pipe must move. Source: gaslab (subtraction).

    >>> round(projection_gap(0.60, 0.55, 0.065), 3)
    -0.015
    """
    return oven_void_depth - oven_depth - pipe_projection


@calculation(
    returns="1",
    length=positive("m", 1_000.0, "length of the pipe run"),
    spacing=Number("m", 0.01, 100.0, "largest distance between two clips"),
)
def clip_count(length, spacing):
    """Return the clips for a straight run with one at each end and no gap above `spacing`.

    ceil(length / spacing) + 1. length and spacing [m]. Source: gaslab (counting).

    >>> int(clip_count(4.0, 1.5))
    4
    """
    # 0.3 / 0.1 is a hair under 3 in floats; a hair over must not cost a clip.
    return np.ceil(length / spacing - 1e-9) + 1.0


def _one_time_each(function: str, values, durations, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Return values and durations as arrays of one shape; refuse unequal counts and too long a day."""
    values, durations = np.atleast_1d(values), np.atleast_1d(durations)
    if values.shape != durations.shape or values.ndim != 1 or not values.size:
        raise InputError(
            f"physics.worktop.{function}", "durations", f"one time for each of the {name}",
            f"{durations.size} times for {values.size}", "Give both lists the same length.",
        )  # fmt: skip
    if durations.sum() > DAY:
        raise InputError(
            f"physics.worktop.{function}", "durations", "at most 24 hours in all",
            f"{durations.sum() / 3600:g} h", "Give the times of one day, in seconds.",
        )  # fmt: skip
    return values, durations


@calculation(returns="dB(A)", levels=LEVEL, durations=DURATIONS)
def noise_exposure(levels, durations):
    """Return the daily personal noise exposure L_EP,d = 10 log10(sum(t 10^(L/10)) / 8 h) [dB(A)].

    levels [dB(A)] at the ear and the durations [s] spent at them. Energy adds up: 3 dB
    more is as bad as twice the time. Source: noise-regs.

    >>> round(noise_exposure([100.0], [900.0]), 1)
    84.9
    """
    levels, durations = _one_time_each("noise_exposure", levels, durations, "levels")
    energy = float(np.sum(durations * 10.0 ** (levels / 10.0)))
    if energy <= 0.0:
        raise InputError(
            "physics.worktop.noise_exposure", "durations", "above zero for at least one level", "no time at all",
            "Give the seconds spent at each level.",
        )  # fmt: skip
    return 10.0 * math.log10(energy / WORKING_DAY)


@calculation(returns="m/s2", magnitudes=MAGNITUDE, durations=DURATIONS)
def vibration_exposure(magnitudes, durations):
    """Return the daily vibration exposure A(8) = sqrt(sum(a^2 t) / 8 h) [m/s2].

    magnitudes a [m/s2] at the hand and durations [s] on the trigger. Source: vibration-directive.

    >>> round(vibration_exposure([10.0], [1800.0]), 3)
    2.5
    """
    magnitudes, durations = _one_time_each("vibration_exposure", magnitudes, durations, "magnitudes")
    return math.sqrt(float(np.sum(magnitudes**2 * durations)) / WORKING_DAY)


@calculation(returns="points", magnitude=MAGNITUDE, duration=zero_or_more("s", DAY, "time on the trigger"))
def vibration_points(magnitude, duration):
    """Return exposure points, 100 (a / 2.5)^2 (t / 8 h); points of several tools add up.

    a [m/s2], t [s]. 100 points are the action value, 400 the limit. Source: common practice.

    >>> round(vibration_points(10.0, 1800.0), 9)
    100.0
    """
    return 100.0 * (magnitude / HUNDRED_POINTS) ** 2 * (duration / WORKING_DAY)


@calculation(
    returns="kg/m3",
    concentrations=zero_or_more("kg/m3", 0.1, "dust in the air; 5 mg/m3 is 5e-6 kg/m3"),
    durations=DURATIONS,
)
def dust_average(concentrations, durations):
    """Return the 8-hour average of dust breathed, sum(c t) / 8 h [kg/m3].

    c [kg/m3], t [s]; the rest of the day counts as clean. Source: eh40.

    >>> round(dust_average([20e-6], [3600.0]) * 1e6, 3)  # mg/m3
    2.5
    """
    concentrations, durations = _one_time_each("dust_average", concentrations, durations, "concentrations")
    return float(np.sum(concentrations * durations)) / WORKING_DAY
