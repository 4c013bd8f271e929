"""A room's air: what burning puts in, what fresh air takes out, and what CO does to people.

One well-mixed room: V dC/dt = G + q (C_out - C), with fractions C, room V [m3], source G
[m3/s] and fresh air q = n V [m3/s]. A real room is not well mixed: read it as a guide.
"""

from __future__ import annotations

import numpy as np

from gaslab import tables
from gaslab.guard import (
    DENSITY_AIR,
    FRACTION,
    TEMPERATURE,
    InputError,
    between,
    calculation,
    positive,
    zero_or_more,
)
from gaslab.physics import combustion
from gaslab.physics.gas import Composition
from gaslab.units import ATMOSPHERE

SOURCE = zero_or_more("m3/s", 1.0, "gas let into the room")
ROOM = positive("m3", 10_000.0, "volume of the room")
CHANGES = zero_or_more("1/s", 0.1, "air changes; 1 an hour is 0.000278 a second")
TIME = zero_or_more("s", 1e7, "time since the start")
AIR_FLOW = positive("m3/s", 10.0, "fresh air through the room")


@calculation(returns="m3/s", heat_input_gross=zero_or_more("W", 1e6, "gross heat input; 1 kW is 1000 W"))
def co2_source(heat_input_gross, composition: Composition):
    """Return the CO2 that burning makes [m3/s at 15 °C]: gross heat input [W] x m3 CO2 per joule.

    Source: gaslab (atom count).
    """
    return heat_input_gross * combustion.products_per_energy(composition)[2]


@calculation(returns="1", source_flow=SOURCE, air_flow=AIR_FLOW, outside=FRACTION)
def steady_concentration(source_flow, air_flow, outside):
    """Return the level the room settles at [1]: C_out + G/q. Source: gaslab (mass balance).

    G source [m3/s], q fresh air [m3/s].
    """
    return outside + source_flow / air_flow


@calculation(
    returns="1",
    time=TIME,
    source_flow=SOURCE,
    room_volume=ROOM,
    air_changes=CHANGES,
    start=FRACTION,
    outside=FRACTION,
)
def concentration(time, source_flow, room_volume, air_changes, start, outside):
    """Return the level in the room [1] after a time [s].

    C = C0 + (G/V + n (C_out - C0)) (1 - exp(-n t))/n; with no air, C0 + G t/V. For levels small
    beside 1, where the source itself pushes out little air. Source: gaslab (mass balance).
    G source [m3/s], V room [m3], n air changes [1/s].

    >>> round(float(concentration(3600.0, 1e-5, 20.0, 0.0, 0.0, 0.0)), 6)
    0.0018
    """
    rise = _first_rise(source_flow, room_volume, air_changes, start, outside)
    return start + rise * _felt(time, air_changes)


def _first_rise(source_flow, room_volume, air_changes, start, outside):
    """Return how fast the level rises at the start [1/s]."""
    return source_flow / room_volume + air_changes * (outside - start)


def _felt(time, air_changes):
    """Return (1 - exp(-n t))/n [s], which is t itself when there is no air."""
    time, air_changes = np.broadcast_arrays(np.asarray(time, dtype=float), air_changes)
    # expm1 keeps the digits when n t is small.
    return np.divide(-np.expm1(-air_changes * time), air_changes, out=time.copy(), where=air_changes > 0.0)


@calculation(
    returns="s",
    level=FRACTION,
    source_flow=SOURCE,
    room_volume=ROOM,
    air_changes=CHANGES,
    start=FRACTION,
    outside=FRACTION,
)
def time_to_concentration(level, source_flow, room_volume, air_changes, start, outside):
    """Return the time [s] until the room gets from its start to a level [1], up or down.

    t = -(1/n) ln((C_inf - C)/(C_inf - C0)); with no air, (C - C0) V/G. Refuses a level that
    is never reached. Source: gaslab (mass balance). G source [m3/s], V room [m3], n air changes [1/s].

    >>> round(float(time_to_concentration(0.0018, 1e-5, 20.0, 0.0, 0.0, 0.0)))
    3600
    """
    rise = _first_rise(source_flow, room_volume, air_changes, start, outside)
    change, rise, air_changes = np.broadcast_arrays(np.subtract(level, start), rise, air_changes)
    # The time it would take if the room kept its first pace: infinite when it does not move at all.
    paced = np.where(change == 0.0, 0.0, np.inf)
    np.divide(change, rise, out=paced, where=(change != 0.0) & (rise != 0.0))
    still = np.isinf(paced)
    way = air_changes * np.where(still, 0.0, paced)  # share of the way to where the room settles
    if np.any(still | (paced < 0.0) | (way >= 1.0)):
        raise InputError(
            "physics.air.time_to_concentration", "level", "between the start and where the room settles", level,
            "The room never gets there: change the level, the source or the air.",
        )  # fmt: skip
    times = np.divide(-np.log1p(-air_changes * paced), air_changes, out=paced.copy(), where=air_changes > 0.0)
    return times[()]


@calculation(returns="m3/s", source_flow=SOURCE, limit=FRACTION, outside=FRACTION)
def air_flow_to_hold(source_flow, limit, outside):
    """Return the fresh air [m3/s] that holds the room at a limit [1]: G/(C - C_out).

    Source: gaslab (mass balance).
    """
    if np.any(np.asarray(limit) <= outside):
        raise InputError(
            "physics.air.air_flow_to_hold", "limit", f"above the outside level {outside}", limit,
            "Outside air cannot thin the room below its own level.",
        )  # fmt: skip
    return source_flow / (limit - outside)


@calculation(
    returns="m3/s",
    free_area=zero_or_more("m2", 1.0, "free area of the opening; 100 cm2 is 0.01 m2"),
    pressure_difference=zero_or_more("Pa", 500.0, "pressure across the opening"),
    density=DENSITY_AIR,
    discharge_coefficient=between("1", 0.3, 1.0, "discharge coefficient; 0.61 for a sharp opening"),
)
def vent_flow(free_area, pressure_difference, density, discharge_coefficient=0.61):
    """Return the air through an opening [m3/s]: Cd A sqrt(2 dp/rho). Source: gaslab (Bernoulli).

    A [m2] is the free area its maker states, not the outside size of the grille.
    dp pressure difference [Pa], rho density [kg/m3].

    >>> round(vent_flow(0.01, 1.0, 1.2255) * 3600)  # 100 cm2 at 1 Pa, in m3/h
    28
    """
    return discharge_coefficient * free_area * (2.0 * pressure_difference / density) ** 0.5


@calculation(
    returns="kg/m3",
    fraction=FRACTION,
    molar_mass=positive("kg/mol", 0.5, "molar mass; CO is 0.02801 kg/mol"),
    temperature=TEMPERATURE,
)
def ppm_to_mass(fraction, molar_mass, temperature):
    """Return the mass of a gas in air [kg/m3] for a volume fraction [1] at 1013.25 mbar.

    x p M/(R T). Source: ppm-note. M molar mass [kg/mol], T temperature [K].

    >>> round(ppm_to_mass(1e-6, 0.0280101, 298.15) * 1e6, 3)  # 1 ppm of CO, in mg/m3
    1.145
    """
    constant = tables.si("constants", "gas", "molar_constant")
    return fraction * ATMOSPHERE * molar_mass / (constant * temperature)


@calculation(
    returns="1",
    co_fraction=zero_or_more("1", 0.01, "CO in the air breathed, as a fraction; 100 ppm is 0.0001"),
    duration=zero_or_more("s", 604_800.0, "time breathed"),
    start=between("1", 0.0, 0.9, "carboxyhaemoglobin at the start"),
    affinity=between("1", 150.0, 300.0, "how much better blood takes CO than oxygen"),
    diffusing_capacity=between("1", 5.0, 100.0, "diffusing capacity of the lung, ml/(min mmHg)"),
    ventilation=between("1", 1.0, 100.0, "breathing, litres a minute"),
    blood_volume=between("1", 1.0, 10.0, "blood, litres"),
)
def carboxyhaemoglobin(
    co_fraction,
    duration,
    start=0.0075,
    affinity=218.0,
    diffusing_capacity=30.0,
    ventilation=6.0,
    blood_volume=5.5,
):
    """Return the fraction of haemoglobin taken up by CO [1] after breathing it for a time [s].

    Coburn, Forster and Kane, with the oxygen that CO drives out in the balance:
    b Vb dC/dt = A - k C/(F - C), A = P_CO + b V_CO, k = P_O2/M, b = 1/D + P_dry/V_A;
    C [ml CO per ml blood], F what full blood holds. Defaults: a grown person at rest.
    A model of a healthy body, no medical advice. Source: coburn-1965.
    """
    full, oxygen, dry, made = (
        tables.fact("constants", "blood", quantity).value
        for quantity in ("full_content", "oxygen_pressure", "dry_pressure", "co_production")
    )
    resistance = 1.0 / diffusing_capacity + dry / (ventilation * 1000.0)
    drive = co_fraction * dry + resistance * made
    back = oxygen / affinity
    settled = full * drive / (drive + back)
    passed = (drive + back) * duration / 60.0 / (resistance * blood_volume * 1000.0)
    gap = settled - start * full
    return (settled - gap * np.exp(-_uptake_exponent(gap, full - settled, passed))) / full


def _uptake_exponent(gap, room, passed):
    """Return u >= 0 that solves gap (1 - exp(-u)) + room u = passed: the uptake law, integrated.

    u = ln(gap at the start / gap now). The left side rises with u and bends one way only, so
    Newton's step from the end where it is safe closes in from one side.
    """
    u = np.where(np.asarray(gap) < 0.0, (passed - gap) / room, passed / np.maximum(room + gap, room))
    for _ in range(60):
        left = np.exp(-u)
        step = (gap * (1.0 - left) + room * u - passed) / (gap * left + room)
        u = u - step
        if np.all(np.abs(step) <= 1e-14 * (1.0 + u)):
            break
    return u
