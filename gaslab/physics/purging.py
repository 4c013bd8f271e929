"""Driving air out of a pipe with gas: how much, how long, how well, and what it leaves in a room."""

from __future__ import annotations

import numpy as np

from gaslab.guard import FRACTION, InputError, between, calculation, positive, zero_or_more

VOLUME = positive("m3", 10.0, "volume of the installation; 10 dm3 is 0.010 m3")


@calculation(
    returns="m3",
    installation_volume=VOLUME,
    factor=between("1", 1.0, 10.0, "purge volume over installation volume"),
)
def purge_volume(installation_volume, factor):
    """Return the gas to pass in a purge, factor x IV [m3].

    IV installation volume [m3]. The factor belongs to the edition in force. Source: up1b-3 (from memory).

    >>> round(purge_volume(0.009386, 1.5) * 1000, 2)  # dm3
    14.08
    """
    return factor * installation_volume


@calculation(returns="s", volume=VOLUME, flow=positive("m3/s", 1.0, "flow at the purge point"))
def purge_time(volume, flow):
    """Return the time to pass a volume, V / q [s].

    V volume [m3], q flow [m3/s]. Source: gaslab (volume over flow).

    >>> round(purge_time(0.010, 0.1668 / 3600))
    216
    """
    return volume / flow


@calculation(
    returns="1",
    volume_passed=zero_or_more("m3", 100.0, "gas let in since the purge began"),
    pipe_volume=VOLUME,
    mixing_cells=between(
        "1", 1.0, 100.0, "number of well-stirred cells; 1 mixes fully, many push like a plug"
    ),
)
def gas_fraction(volume_passed, pipe_volume, mixing_cells):
    """Return the fraction of gas leaving the end of the pipe: N stirred tanks in a row.

    1 - exp(-N v) sum over k < N of (N v)^k / k!, with v = volume passed / pipe volume [m3].
    N = 1 is a stirred room; a long thin pipe is near a plug (N of 20 or more). N is a
    whole number. A standard model of mixing; the choice of N is this course's own.
    Source: gaslab (stirred tanks).

    >>> round(float(gas_fraction(0.010, 0.010, 1)), 3)
    0.632
    """
    if np.ndim(mixing_cells) or mixing_cells != int(mixing_cells):
        raise InputError(
            "physics.purging.gas_fraction",
            "mixing_cells",
            "one whole number",
            mixing_cells,
            "Give 1, 2, 3 ...",
        )
    passed = mixing_cells * np.asarray(volume_passed / pipe_volume, dtype=float)
    term = np.exp(-passed)
    left = term
    for k in range(1, int(mixing_cells)):
        term = term * passed / k
        left = left + term
    # Rounding may leave the sum a hair above one before any gas arrives.
    fraction = np.maximum(1.0 - left, 0.0)
    return fraction if fraction.ndim else float(fraction)


@calculation(
    returns="1",
    gas_volume=zero_or_more("m3", 1_000.0, "gas let into the room"),
    room_volume=positive("m3", 10_000.0, "volume of the room"),
)
def room_fraction(gas_volume, room_volume):
    """Return the gas fraction of a closed room, V_gas / V_room [m3], once fully mixed and none lost.

    Air of the same volume is pushed out, so the gas may not exceed the room. Source: gaslab (volumes).

    >>> room_fraction(0.010, 20.0)
    0.0005
    """
    if not np.all(np.asarray(gas_volume) <= room_volume):
        raise InputError(
            "physics.purging.room_fraction", "gas_volume", "at most the volume of the room", gas_volume,
            "Check both volumes; they are read in m3.",
        )  # fmt: skip
    return gas_volume / room_volume


@calculation(
    returns="1",
    fraction=FRACTION,
    lower_limit=between("1", 0.001, 0.5, "lower flammable limit as a fraction; 5 % is 0.05"),
)
def fraction_of_lower_limit(fraction, lower_limit):
    """Return a gas fraction as a part of the lower flammable limit.

    Both are fractions of the mixture's volume. Above 1 the mixture can burn.
    It is fraction / lower_limit. Source: gaslab (definition).

    >>> fraction_of_lower_limit(0.0005, 0.05)
    0.01
    """
    return fraction / lower_limit
