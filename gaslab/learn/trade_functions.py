"""The functions a question's formula may call, in trade units, on numbers and arrays alike.

Each named one is the course's own physics with the trade's units at its edge, so a
question and a panel can never disagree.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from gaslab import tables
from gaslab.physics import air, burner, combustion, flame, flow, gas, metering, trapped
from gaslab.units import ATMOSPHERE, HOUR, ZERO_CELSIUS

MBAR, DM3, KW, MJ, PPM = 100.0, 1e-3, 1e3, 1e6, 1e-6  # in SI
MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class Function:
    """A function of formulas: how to work it out, and how many values it takes."""

    work: Callable
    fewest: int
    most: int
    means: str


def _arrays(*values: Any) -> bool:
    return any(isinstance(value, np.ndarray) for value in values)


def _smallest(*values: Any) -> Any:
    return functools.reduce(np.minimum, values) if _arrays(*values) else min(values)


def _largest(*values: Any) -> Any:
    return functools.reduce(np.maximum, values) if _arrays(*values) else max(values)


def _either(for_number: Callable, for_array: Callable) -> Callable:
    return lambda value: for_array(value) if isinstance(value, np.ndarray) else for_number(value)


def round_to(value: Any, step: Any) -> Any:
    """Return the value rounded to whole steps, halves up, as the trade rounds.

    >>> round_to(0.285, 0.01), round_to(8.5239999999, 0.001)
    (0.29, 8.524)
    """
    whole = np.floor(value / step + 0.5 + 1e-9)
    # Dividing by a whole number gives the float nearest to the decimal that was meant.
    parts = 1.0 / step
    near = np.rint(parts)
    rounded = np.where(np.abs(parts - near) < 1e-6 * parts, whole / np.maximum(near, 1.0), whole * step)
    return rounded if rounded.ndim else float(rounded)


def leak_rate_dm3_h(drop_mbar: Any, volume_dm3: Any, minutes: Any) -> Any:
    """Return the leak behind a drop, at a standard barometer [dm3/h]."""
    return trapped.leak_from_drop.bare(drop_mbar * MBAR, volume_dm3 * DM3, minutes * MINUTE) * HOUR / DM3


def drop_mbar(leak_dm3_h: Any, volume_dm3: Any, minutes: Any) -> Any:
    """Return the drop a steady leak makes, at a standard barometer [mbar]."""
    return trapped.drop_from_leak.bare(leak_dm3_h * DM3 / HOUR, volume_dm3 * DM3, minutes * MINUTE) / MBAR


def thermal_mbar(pressure_mbar: Any, celsius: Any, warming: Any) -> Any:
    """Return how far the gauge moves as trapped gas warms, at a standard barometer [mbar]."""
    return trapped.thermal_change.bare(pressure_mbar * MBAR, celsius + ZERO_CELSIUS, warming) / MBAR


def water_mm(pressure_mbar: Any, celsius: Any = 15.0) -> Any:
    """Return the height of water that a pressure holds up [mm]."""
    return trapped.water_gauge_height.bare(pressure_mbar * MBAR, celsius + ZERO_CELSIUS) * 1e3


@functools.cache
def _teaching_gas() -> tuple[float, float, float]:
    """Return density and viscosity of methane-like teaching gas (relative density 0.6) and the air's density."""
    air_density = gas.air_density.bare(ATMOSPHERE, ZERO_CELSIUS + 15.0)
    viscosity = tables.si("gases", "methane", "viscosity")
    return tables.fact("practice", "teaching", "relative_density").value * air_density, viscosity, air_density


def pipe_loss_mbar(flow_m3_h: Any, length_m: Any, bore_mm: Any) -> Any:
    """Return the loss of a copper run with the teaching gas: relative density 0.6, 15 degC [mbar]."""
    density, viscosity, _ = _teaching_gas()
    rough = tables.si("pipes", "copper-15", "roughness")
    loss = flow.pressure_loss.bare(flow_m3_h / HOUR, length_m, bore_mm * 1e-3, rough, density, viscosity)
    return loss / MBAR if isinstance(loss, np.ndarray) and loss.ndim else float(loss) / MBAR


def static_gain_mbar(rise_m: Any, relative_density: Any) -> Any:
    """Return the pressure gained going up a rise, because gas is lighter than air [mbar]."""
    air_density = _teaching_gas()[2]
    return flow.static_gain.bare(rise_m, relative_density * air_density, air_density) / MBAR


def heat_gross_kw(rate_m3_h: Any, cv_mj_m3: Any) -> Any:
    """Return the gross heat input of a gas rate [kW]."""
    return metering.heat_input_gross.bare(rate_m3_h / HOUR, cv_mj_m3 * MJ) / KW


def burner_kw(plate_kw: Any, plate_mbar: Any, pressure_mbar: Any) -> Any:
    """Return the heat input at another pressure, with the same gas [kW]."""
    return burner.input_at.bare(plate_kw * KW, plate_mbar * MBAR, pressure_mbar * MBAR, 1.0, 1.0) / KW


def shut_seconds(hot_mv: Any, release_mv: Any, time_constant_s: Any) -> Any:
    """Return the time from flame out to gas off [s]."""
    if not np.all(np.asarray(release_mv) < np.asarray(hot_mv)):
        raise ValueError("the valve would not hold")
    return flame.drop_out_time.bare(hot_mv, release_mv, time_constant_s)


def co_ratio(co_ppm: Any, co2_percent: Any) -> Any:
    """Return the ratio of CO to CO2, one over the other in the same unit."""
    return combustion.co_ratio.bare(co_ppm * PPM, co2_percent / 100.0)


def air_free_co_ppm(co_ppm: Any, oxygen_percent: Any) -> Any:
    """Return the CO there would be with no spare air in the sample [ppm]."""
    return combustion.co_air_free.bare(co_ppm * PPM, oxygen_percent / 100.0) / PPM


@functools.cache
def _co2_per_joule() -> float:
    return combustion.products_per_energy.bare(gas.mixture("mix-a"))[2]


def co2_m3_h(heat_gross_kw: Any) -> Any:
    """Return the carbon dioxide a flame makes with the teaching mixture [m3/h]."""
    return heat_gross_kw * KW * _co2_per_joule() * HOUR


def co2_minutes(level_ppm: Any, heat_gross_kw: Any, room_m3: Any, air_changes_h: Any) -> Any:
    """Return the time for room air to climb from outside's level to `level_ppm` [min]."""
    outside = tables.si("practice", "outside-air", "co2")
    seconds = air.time_to_concentration.bare(
        level_ppm * PPM, co2_m3_h(heat_gross_kw) / HOUR, room_m3, air_changes_h / HOUR, outside, outside
    )
    return seconds / MINUTE


FUNCTIONS: dict[str, Function] = {
    "min": Function(_smallest, 2, 8, "the smallest of the values"),
    "max": Function(_largest, 2, 8, "the largest of the values"),
    "sqrt": Function(_either(math.sqrt, np.sqrt), 1, 1, "square root"),
    "abs": Function(abs, 1, 1, "the value without its sign"),
    "floor": Function(_either(math.floor, np.floor), 1, 1, "cut down to a whole number"),
    "ceil": Function(_either(math.ceil, np.ceil), 1, 1, "up to the next whole number"),
    "log": Function(_either(math.log, np.log), 1, 1, "natural logarithm"),
    "log10": Function(_either(math.log10, np.log10), 1, 1, "logarithm to base ten"),
    "exp": Function(_either(math.exp, np.exp), 1, 1, "e to the power of the value"),
    "round_to": Function(round_to, 2, 2, "value, step: rounded to whole steps, halves up"),
    "leak_rate_dm3_h": Function(leak_rate_dm3_h, 3, 3, "drop mbar, volume dm3, minutes"),
    "drop_mbar": Function(drop_mbar, 3, 3, "leak dm3/h, volume dm3, minutes"),
    "thermal_mbar": Function(thermal_mbar, 3, 3, "gauge mbar, temperature degC, warming K"),
    "water_mm": Function(water_mm, 1, 2, "pressure mbar, water degC (15 if left out)"),
    "pipe_loss_mbar": Function(pipe_loss_mbar, 3, 3, "flow m3/h, effective length m, bore mm"),
    "static_gain_mbar": Function(static_gain_mbar, 2, 2, "rise m, relative density"),
    "heat_gross_kw": Function(heat_gross_kw, 2, 2, "rate m3/h, gross calorific value MJ/m3"),
    "burner_kw": Function(burner_kw, 3, 3, "plate kW, plate mbar, pressure mbar"),
    "shut_seconds": Function(shut_seconds, 3, 3, "hot mV, release mV, time constant s"),
    "co_ratio": Function(co_ratio, 2, 2, "CO ppm, CO2 %"),
    "air_free_co_ppm": Function(air_free_co_ppm, 2, 2, "CO ppm, O2 %"),
    "co2_m3_h": Function(co2_m3_h, 1, 1, "gross heat input kW"),
    "co2_minutes": Function(co2_minutes, 4, 4, "level ppm, gross heat kW, room m3, air changes per hour"),
}
