"""Gas shut in a closed installation: what the gauge shows, and why it moves.

The gas is ideal and the pipework stiff. The mass inside follows p V = m R T, so the
gauge moves for a leak, for let-by, for a change of temperature and for a change of
the weather. Leaks are given as volumes at the outside (barometer) pressure.
"""

from __future__ import annotations

import math

import numpy as np

from gaslab.guard import (
    PRESSURE_ABSOLUTE,
    PRESSURE_GAUGE,
    TEMPERATURE,
    Number,
    between,
    calculation,
    positive,
    zero_or_more,
)
from gaslab.physics.flow import BORE, GRAVITY, LENGTH
from gaslab.units import ATMOSPHERE, ZERO_CELSIUS

VOLUME = positive("m3", 10.0, "volume of the installation; 10 dm3 is 0.010 m3")
DURATION = positive("s", 86_400.0, "time; 2 minutes is 120 s")
BAROMETER = between("Pa", 80_000.0, 110_000.0, "barometer; 1013.25 mbar is 101 325 Pa")
DROP = between("Pa", -20_000.0, 20_000.0, "fall of gauge pressure; a rise is negative")


@calculation(returns="m3", bore=BORE, length=LENGTH)
def pipe_volume(bore, length):
    """Return the volume inside a pipe, V = pi d^2 L / 4 [m3].

    d bore [m], L length [m]. Source: gaslab (a cylinder).

    >>> round(pipe_volume(0.0202, 1.0), 6)
    0.00032
    """
    return math.pi * bore * bore * length / 4.0


@calculation(
    returns="m3",
    pipe_volume=zero_or_more("m3", 10.0, "volume inside the pipes"),
    meter_volume=zero_or_more("m3", 1.0, "volume inside the meter"),
    fittings_fraction=Number("1", 0.0, 1.0, "extra for fittings as a fraction of the pipe volume"),
)
def installation_volume(pipe_volume, meter_volume, fittings_fraction=0.10):
    """Return the installation volume, IV = V_meter + V_pipe (1 + fraction) [m3].

    A tenth of the pipe volume is added for fittings. Source: up1b-3 (pocket guide).

    >>> round(installation_volume(9 * 0.00014, 0.008), 6)  # published example
    0.009386
    """
    return meter_volume + pipe_volume * (1.0 + fittings_fraction)


@calculation(returns="m3/s", pressure_drop=DROP, volume=VOLUME, duration=DURATION, barometer=BAROMETER)
def leak_from_drop(pressure_drop, volume, duration, barometer=ATMOSPHERE):
    """Return the mean leak behind a fall of pressure, q = V dp / (p_atm t) [m3/s].

    V volume [m3], dp fall [Pa], t time [s], p_atm barometer [Pa]. A rise gives a
    negative leak: gas let by into the installation. The temperature must be steady.
    Holds while the gauge still stands above 0: once it is empty, t must end there.
    Source: gaslab (ideal gas).

    >>> round(leak_from_drop(400.0, 0.009386, 120.0) * 3600 * 1000, 2)  # dm3/h
    1.11
    """
    return volume * pressure_drop / (barometer * duration)


@calculation(
    returns="Pa",
    leak=between("m3/s", -0.01, 0.01, "leak at outside pressure; let-by into the installation is negative"),
    volume=VOLUME,
    duration=DURATION,
    barometer=BAROMETER,
)
def drop_from_leak(leak, volume, duration, barometer=ATMOSPHERE):
    """Return the fall of pressure a steady leak makes, dp = q p_atm t / V [Pa].

    The inverse of `leak_from_drop`. A negative leak (let-by) gives a negative fall: a rise.
    q leak [m3/s], V volume [m3], t time [s]. Holds while the gauge still stands above 0: a
    leak brings it to 0 and not below, and a real one slows down on the way (see `decay`).
    Source: gaslab (ideal gas).

    >>> round(drop_from_leak(1.11e-3 / 3600, 0.010, 120.0) / 100, 2)  # mbar
    3.75
    """
    return leak * barometer * duration / volume


@calculation(
    returns="Pa",
    pressure_gauge=PRESSURE_GAUGE,
    volume=VOLUME,
    conductance=zero_or_more("m3/(s Pa)", 1e-3, "leak at outside pressure for each Pa of gauge pressure"),
    time=zero_or_more("s", 1e7, "time since the start"),
    barometer=BAROMETER,
)
def decay(pressure_gauge, volume, conductance, time, barometer=ATMOSPHERE):
    """Return the gauge pressure left after a leak through a fine crack, p exp(-C p_atm t / V) [Pa].

    C conductance [m3/(s Pa)]: flow in a fine crack is laminar, so q = C p. From
    V dp/dt = -p_atm C p with the temperature held. Arrays of time are welcome.
    V volume [m3], t time [s]. Source: gaslab (ideal gas, laminar leak).

    >>> round(float(decay(2000.0, 0.01, 1.0e-10, 120.0)), 1)
    1771.0
    """
    return pressure_gauge * np.exp(-conductance * barometer * time / volume)


@calculation(
    returns="Pa",
    pressure_gauge=PRESSURE_GAUGE,
    temperature=TEMPERATURE,
    temperature_change=between("K", -60.0, 60.0, "warming of the gas; cooling is negative"),
    barometer=BAROMETER,
)
def thermal_change(pressure_gauge, temperature, temperature_change, barometer=ATMOSPHERE):
    """Return the change of gauge pressure as trapped gas warms, (p_atm + p) dT / T [Pa].

    p gauge pressure [Pa], T temperature at the start [K], dT warming [K]. Source: gaslab (ideal gas).

    >>> round(thermal_change(2100.0, 288.15, 1.0) / 100, 2)  # mbar
    3.59
    """
    return (barometer + pressure_gauge) * temperature_change / temperature


@calculation(returns="Pa", barometer_start=PRESSURE_ABSOLUTE, barometer_end=PRESSURE_ABSOLUTE)
def barometer_change(barometer_start, barometer_end):
    """Return the change of gauge pressure [Pa] as the weather changes round trapped gas.

    The pressure inside stays; the gauge reads the difference. A rising barometer makes
    the gauge fall by as much. It is p_start - p_end. Source: gaslab (ideal gas).

    >>> barometer_change(101_325.0, 101_425.0)
    -100.0
    """
    return barometer_start - barometer_end


@calculation(
    returns="kg/m3", temperature=between("K", 273.15, 313.15, "water temperature; 15 °C is 288.15 K")
)
def water_density(temperature):
    """Return the density of water at atmospheric pressure [kg/m3], 0 to 40 °C.

    Kell's formula of 1975 (coefficients from memory; held against CoolProp in the tests).
    Temperature [K]. Source: kell-1975.

    >>> round(water_density(288.15), 2)
    999.1
    """
    t = temperature - ZERO_CELSIUS
    powers = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
    top = 0.0
    for coefficient in reversed(powers):
        top = top * t + coefficient
    return top / (1.0 + 16.87985e-3 * t)


@calculation(
    returns="m",
    pressure=PRESSURE_GAUGE,
    temperature=between("K", 273.15, 313.15, "water temperature; 15 °C is 288.15 K"),
)
def water_gauge_height(pressure, temperature):
    """Return the height of water a pressure holds up, h = p / (rho g) [m].

    rho density of the water [kg/m3], g 9.80665 m/s2. It is the difference between the
    two legs of the gauge. A scale of 10 mm a mbar reads 2 % high.
    p pressure [Pa], at a temperature [K]. Source: gaslab (weight of the column).

    >>> round(water_gauge_height(100.0, 288.15) * 1000, 3)  # mm for 1 mbar
    10.206
    """
    return pressure / (water_density.bare(temperature) * GRAVITY)
