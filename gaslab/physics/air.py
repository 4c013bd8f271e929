"""A room's air: what burning puts in, what fresh air takes out, and what CO does to people.

One well-mixed room: V dC/dt = G + q (C_out - C), with fractions C, room V [m3], source G
[m3/s] and fresh air q = n V [m3/s]. A real room is not well mixed: read it as a guide.
"""

from __future__ import annotations

import numpy as np

from gaslab.guard import DENSITY_AIR, FRACTION, TEMPERATURE, InputError, between, calculation, positive, zero_or_more
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
    """Return the level the room settles at [1]: C_out + G/q. Source: gaslab (mass balance)."""
    return outside + source_flow / air_flow


@calculation(
    returns="1", time=TIME, source_flow=SOURCE, room_volume=ROOM, air_changes=CHANGES, start=FRACTION, outside=FRACTION
)
def concentration(time, source_flow, room_volume, air_changes, start, outside):
    """Return the level in the room [1] after a time [s].

    C = C_inf + (C0 - C_inf) exp(-n t), C_inf = C_out + G/(n V); with no air, C0 + G t/V.
    Source: gaslab (mass balance).
    """
    time = np.asarray(time, dtype=float)
    if np.ndim(air_changes) == 0 and air_changes == 0.0:
        return start + source_flow * time / room_volume
    # (1 - exp(-n t))/n keeps its digits when n t is small.
    filled = -np.expm1(-air_changes * time)
    return start + (outside - start + source_flow / (air_changes * room_volume)) * filled


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
    """Return the time [s] until the room reaches a level [1] above its start.

    t = -(1/n) ln((C_inf - C)/(C_inf - C0)); with no air, (C - C0) V/G. Refuses a level that
    is never reached. Source: gaslab (mass balance).
    """
    name = "physics.air.time_to_concentration"
    if level < start:
        raise InputError(name, "level", f"at least the start, {start:g}", level, "Give a level above the start.")
    if air_changes == 0.0:
        if source_flow == 0.0 and level > start:
            raise InputError(name, "level", f"at most {start:g}, for nothing is let in", level, "Give a source.")
        return (level - start) * room_volume / source_flow if level > start else 0.0
    steady = outside + source_flow / (air_changes * room_volume)
    if level > start and level >= steady:
        raise InputError(name, "level", f"below {steady:g}, where the room settles", level, "It never gets there.")
    return float(-np.log1p(-(level - start) / (steady - start)) / air_changes) if level > start else 0.0


@calculation(returns="m3/s", source_flow=SOURCE, limit=FRACTION, outside=FRACTION)
def air_flow_to_hold(source_flow, limit, outside):
    """Return the fresh air [m3/s] that holds the room at a limit [1]: G/(C - C_out).

    Source: gaslab (mass balance).
    """
    if np.any(np.asarray(limit) <= outside):
        raise InputError("physics.air.air_flow_to_hold", "limit", f"above the outside level {outside:g}", limit,
                         "Outside air cannot thin the room below its own level.")  # fmt: skip
    return source_flow / (limit - outside)


@calculation(
    returns="m3/s",
    free_area=zero_or_more("m2", 1.0, "free area of the opening; 100 cm2 is 0.01 m2"),
    pressure_difference=zero_or_more("Pa", 500.0, "pressure across the opening"),
    density=DENSITY_AIR,
    discharge_coefficient=between("1", 0.3, 1.0, "discharge coefficient; 0.61 for a sharp opening"),
)
def vent_flow(free_area, pressure_difference, density, discharge_coefficient=0.61):
    """Return the air through an opening [m3/s]: Cd A sqrt(2 dp/rho). Source: gaslab (Bernoulli)."""
    return discharge_coefficient * free_area * np.sqrt(2.0 * pressure_difference / density)


@calculation(
    returns="kg/m3",
    fraction=FRACTION,
    molar_mass=positive("kg/mol", 0.5, "molar mass; CO is 0.02801 kg/mol"),
    temperature=TEMPERATURE,
)
def ppm_to_mass(fraction, molar_mass, temperature):
    """Return the mass of a gas in air [kg/m3] for a volume fraction [1] at 1013.25 mbar.

    x p M/(R T). 1 ppm CO is 1.145 mg/m3 at 25 °C. Source: ppm-note.
    """
    return fraction * ATMOSPHERE * molar_mass / (8.3144621 * temperature)


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
    co_fraction, duration, start=0.0076, affinity=218.0, diffusing_capacity=30.0, ventilation=6.0, blood_volume=5.5
):
    """Return the fraction of haemoglobin taken up by CO [1] after breathing it for a time [s].

    Coburn, Forster and Kane's equation with the oxygen left in the blood in the balance:
    Vb dC/dt = V_CO + (P_CO - C P_O2/(M O))/beta, beta = 1/D + 713/V_A, C and O [ml CO or
    oxygen per ml blood], O = 0.2 - C. Rest values by default. Source: coburn-1965.
    """
    return _solve_uptake(
        float(co_fraction),
        float(duration) / 60.0,
        float(start),
        float(affinity),
        1.0 / float(diffusing_capacity) + 713.0 / (float(ventilation) * 1000.0),
        float(blood_volume) * 1000.0,
    )


FULL_BLOOD = 0.2  # ml of gas that a ml of blood holds
PRESSURE_OXYGEN = 100.0  # mmHg in the lung's small vessels
PRODUCTION = 0.007  # ml of CO a minute that the body makes itself


def _solve_uptake(fraction, minutes, start, affinity, resistance, blood) -> float:
    """Return the carboxyhaemoglobin after stepping the uptake equation (classic Runge-Kutta)."""
    inhaled = fraction * 713.0

    def rate(taken):
        back = taken * PRESSURE_OXYGEN / (affinity * (FULL_BLOOD - taken))
        return (PRODUCTION + (inhaled - back) / resistance) / blood

    steps = max(64, int(minutes / 2.0) + 1)
    step, taken = minutes / steps, start * FULL_BLOOD
    for _ in range(steps):
        first = rate(taken)
        second = rate(taken + step * first / 2.0)
        third = rate(taken + step * second / 2.0)
        fourth = rate(taken + step * third)
        taken += step * (first + 2.0 * second + 2.0 * third + fourth) / 6.0
    return taken / FULL_BLOOD
