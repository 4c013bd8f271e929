"""A thermocouple in a flame: how it warms, cools, holds and lets go.

One time constant stands for the tip: voltage follows E0 (1 - exp(-t/tau)) in the flame
and E0 exp(-t/tau) out of it. The true voltage is not quite straight with temperature and
the cold end warms too, so tau is a number fitted to the device, not read off it.
"""

from __future__ import annotations

import numpy as np

from gaslab.guard import InputError, calculation, positive, zero_or_more
from gaslab.physics.flow import FLOW

EMF = positive("V", 1.0, "voltage in the flame once hot; 30 mV is 0.030 V")
TIME = zero_or_more("s", 1e6, "time since the flame changed")
TIME_CONSTANT = positive("s", 10_000.0, "time constant of the thermocouple")


@calculation(returns="V", time=TIME, emf_hot=EMF, time_constant=TIME_CONSTANT)
def emf_heating(time, emf_hot, time_constant):
    """Return the voltage of a cold thermocouple after `time` in the flame, E0 (1 - exp(-t/tau)) [V].

    t time [s], E0 hot voltage [V], tau time constant [s]. Source: gaslab (a lump that warms).

    >>> round(float(emf_heating(10.0, 0.030, 10.0)) * 1000, 1)  # mV
    19.0
    """
    return -emf_hot * np.expm1(-time / time_constant)


@calculation(returns="V", time=TIME, emf_hot=EMF, time_constant=TIME_CONSTANT)
def emf_cooling(time, emf_hot, time_constant):
    """Return the voltage left `time` after the flame went out, E0 exp(-t/tau) [V].

    t time [s], E0 voltage when it went out [V], tau time constant [s]. Source: gaslab (a lump that cools).

    >>> round(float(emf_cooling(27.08, 0.030, 10.0)) * 1000, 1)  # mV
    2.0
    """
    return emf_hot * np.exp(-time / time_constant)


def _need_below(function: str, argument: str, level, emf_hot) -> None:
    if not np.all(np.asarray(level) < np.asarray(emf_hot)):
        raise InputError(
            f"physics.flame.{function}", argument, "below the hot voltage (emf_hot)",
            f"{level} V against {emf_hot} V", "With less voltage than that the valve does not hold at all.",
        )  # fmt: skip


@calculation(
    returns="s",
    emf_hot=EMF,
    emf_release=positive("V", 1.0, "voltage at which the valve lets go"),
    time_constant=TIME_CONSTANT,
)
def drop_out_time(emf_hot, emf_release, time_constant):
    """Return the time from flame out to gas off, tau ln(E0 / E_release) [s].

    E0 hot voltage [V], E_release voltage at which the valve lets go [V], tau [s].
    Source: gaslab (a lump that cools).

    >>> round(float(drop_out_time(0.030, 0.002, 10.0)), 1)
    27.1
    """
    _need_below("drop_out_time", "emf_release", emf_release, emf_hot)
    return time_constant * np.log(emf_hot / emf_release)


@calculation(
    returns="s",
    emf_hot=EMF,
    emf_hold=zero_or_more("V", 1.0, "voltage that holds the valve open"),
    time_constant=TIME_CONSTANT,
)
def pull_in_time(emf_hot, emf_hold, time_constant):
    """Return how long the knob must be held in, -tau ln(1 - E_hold / E0) [s].

    E0 hot voltage [V], E_hold voltage that holds the valve [V], tau [s].
    Source: gaslab (a lump that warms).

    >>> round(float(pull_in_time(0.030, 0.008, 10.0)), 1)
    3.1
    """
    _need_below("pull_in_time", "emf_hold", emf_hold, emf_hot)
    return -time_constant * np.log1p(-emf_hold / emf_hot)


@calculation(
    returns="s",
    diameter=positive("m", 0.05, "diameter of the tip; 2 mm is 0.002 m"),
    density=positive("kg/m3", 30_000.0, "density of the metal"),
    heat_capacity=positive("J/(kg K)", 10_000.0, "specific heat of the metal"),
    heat_transfer=positive("W/(m2 K)", 10_000.0, "heat transfer to the air round it"),
)
def time_constant(diameter, density, heat_capacity, heat_transfer):
    """Return the time constant of a round rod, tau = rho c d / (4 h) [s].

    Heat stored over heat given off through the side, for a tip thin enough to be at one
    temperature. rho [kg/m3], c [J/(kg K)], d [m], h [W/(m2 K)]. Source: gaslab (heat balance of a lump).

    >>> round(time_constant(0.002, 8000.0, 500.0, 100.0), 6)
    20.0
    """
    return density * heat_capacity * diameter / (4.0 * heat_transfer)


@calculation(returns="m3", gas_rate=FLOW, duration=zero_or_more("s", 86_400.0, "time the gas flows unlit"))
def gas_passed(gas_rate, duration):
    """Return the unlit gas passed before the valve shuts, q t [m3].

    q gas rate [m3/s], t time [s]. Source: gaslab (rate times time).

    >>> round(gas_passed(0.306 / 3600, 60.0) * 1000, 1)  # dm3
    5.1
    """
    return gas_rate * duration
