"""Units: the one pint registry, the trade's unit list and one number formatter.

Inside gaslab every number is a plain float in SI units. A person may hand over a
pint quantity at the edge; `calculation` (in `guard`) turns it into an SI float.
pint is imported on first use, because building its registry is slow.
"""

from __future__ import annotations

import functools
import math
from decimal import ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    import numpy as np

Numbers = TypeVar("Numbers", float, "np.ndarray")
"""One number, or an array of them."""

ZERO_CELSIUS = 273.15  # K, by definition of the Celsius scale
ATMOSPHERE = 101_325.0  # Pa, the standard atmosphere, by definition
HOUR = 3600.0  # s

# Unit text as the trade writes it -> the same unit as pint reads it.
TRADE_UNITS = {
    "mbar": "millibar",
    "Pa": "pascal",
    "m": "meter",
    "mm": "millimeter",
    "ft": "foot",
    "in": "inch",
    "in w.c.": "inch_H2O_60F",
    "mm2": "millimeter**2",
    "cm2": "centimeter**2",
    "m2": "meter**2",
    "dm3": "decimeter**3",
    "litre": "decimeter**3",
    "m3": "meter**3",
    "ft3": "foot**3",
    "m3/h": "meter**3/hour",
    "dm3/h": "decimeter**3/hour",
    "m3/s": "meter**3/second",
    "l/s": "decimeter**3/second",
    "l/min": "decimeter**3/minute",
    "ft3/h": "foot**3/hour",
    "kW": "kilowatt",
    "W": "watt",
    "kWh": "kilowatt_hour",
    "J": "joule",
    "MJ": "megajoule",
    "MJ/m3": "megajoule/meter**3",
    "J/m3": "joule/meter**3",
    "kWh/m3": "kilowatt_hour/meter**3",
    "Btu/ft3": "Btu_it/foot**3",
    "Btu/h": "Btu_it/hour",
    "kJ/mol": "kilojoule/mole",
    "J/mol": "joule/mole",
    "MJ/kg": "megajoule/kilogram",
    "J/kg": "joule/kilogram",
    "kg/kmol": "gram/mole",
    "kg/mol": "kilogram/mole",
    "kg/m3": "kilogram/meter**3",
    "kg": "kilogram",
    "Pa s": "pascal*second",
    "m2/s": "meter**2/second",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "K": "kelvin",
    "degC": "degree_Celsius",
    "V": "volt",
    "mV": "millivolt",
    "ppm": "ppm",
    "%": "percent",
    "1": "dimensionless",
    "1/h": "1/hour",
    "1/s": "1/second",
    "mbar/m": "millibar/meter",
    "Pa/m": "pascal/meter",
    "mbar/K": "millibar/kelvin",
    "Pa/K": "pascal/kelvin",
    "mg/m3": "milligram/meter**3",
    "m/s": "meter/second",
    "m/s2": "meter/second**2",
    "W/(m2 K)": "watt/meter**2/kelvin",
    "J/(kg K)": "joule/kilogram/kelvin",
    "J/(mol K)": "joule/mole/kelvin",
    "m3/(s Pa)": "meter**3/second/pascal",
    "m3/m": "meter**3/meter",
    # Decibels, points and counts are carried as they are, never converted.
    "dB(A)": "dimensionless",
    "dB(C)": "dimensionless",
    "points": "dimensionless",
}

# What a screen prints for a unit that plain text writes with ASCII.
PRINTED_UNITS = {
    "m2": "m²", "cm2": "cm²", "mm2": "mm²", "m3": "m³", "dm3": "dm³", "ft3": "ft³",
    "m3/h": "m³/h", "dm3/h": "dm³/h", "m3/s": "m³/s", "ft3/h": "ft³/h", "MJ/m3": "MJ/m³",
    "J/m3": "J/m³", "kWh/m3": "kWh/m³", "Btu/ft3": "Btu/ft³", "kg/m3": "kg/m³", "mg/m3": "mg/m³",
    "m2/s": "m²/s", "m/s2": "m/s²", "degC": "°C", "1": "", "m3/m": "m³/m",
    "W/(m2 K)": "W/(m² K)",
}  # fmt: skip


class UnitError(ValueError):
    """A unit that gaslab does not list, or two units that do not measure the same thing."""


@functools.cache
def registry() -> Any:
    """Return the one pint registry."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def quantity(value: Any, unit: str) -> Any:
    """Return `value` as a pint quantity in one of `TRADE_UNITS`."""
    return registry().Quantity(value, _pint_name(unit))


def magnitude(value: Any, unit: str) -> Any:
    """Return a pint quantity as a plain number in `unit`, or raise UnitError."""
    from pint.errors import PintError

    try:
        return value.to(_pint_name(unit)).magnitude
    except PintError as error:
        raise UnitError(str(error)) from None


def _pint_name(unit: str) -> str:
    try:
        return TRADE_UNITS[unit]
    except KeyError:
        raise UnitError(f"unit {unit!r} is not on the list; use one of: {', '.join(TRADE_UNITS)}") from None


@functools.cache
def _line(unit: str, target: str) -> tuple[float, float]:
    """Return (factor, offset) of the straight line that turns `unit` into `target`."""
    from pint import DimensionalityError

    try:
        at_zero = quantity(0.0, unit).to(_pint_name(target)).magnitude
        at_one = quantity(1.0, unit).to(_pint_name(target)).magnitude
    except DimensionalityError:
        raise UnitError(f"{unit} cannot be turned into {target}: they measure different things") from None
    return at_one - at_zero, at_zero


def convert(value: Numbers, unit: str, target: str) -> Numbers:
    """Return `value` (number or array) in `unit` as a number in `target`.

    >>> round(convert(21.0, "mbar", "Pa"), 6)
    2100.0
    >>> round(convert(15.0, "degC", "K"), 6)
    288.15
    """
    if unit == target:
        return value
    factor, offset = _line(unit, target)
    return value * factor + offset


@functools.cache
def si_unit(unit: str) -> str:
    """Return the SI text of the base unit that `unit` is carried in inside gaslab.

    >>> si_unit("mbar"), si_unit("m3/h"), si_unit("kW")
    ('Pa', 'm3/s', 'W')
    """
    for candidate in _SI_INSIDE:
        try:
            _line(unit, candidate)
        except UnitError:
            continue
        return candidate
    raise UnitError(f"{unit} has no SI unit in gaslab")


_SI_INSIDE = (
    "Pa", "m", "m2", "m3", "m3/s", "W", "J", "J/m3", "J/mol", "J/kg", "kg/mol", "kg/m3", "kg", "Pa s",
    "m2/s", "s", "K", "V", "1", "1/s", "Pa/m", "Pa/K", "m/s", "m/s2", "W/(m2 K)", "J/(kg K)",
    "J/(mol K)", "m3/(s Pa)",
)  # fmt: skip


def to_si(value: Numbers, unit: str) -> Numbers:
    """Return `value` in `unit` as the SI number gaslab computes with."""
    return convert(value, unit, si_unit(unit))


def from_si(value: Numbers, unit: str) -> Numbers:
    """Return an SI number as a number in `unit`."""
    return convert(value, si_unit(unit), unit)


def printed(unit: str) -> str:
    """Return the text a screen shows for a unit ("m3/h" -> "m³/h")."""
    _pint_name(unit)
    return PRINTED_UNITS.get(unit, unit)


def rounded(value: float, places: int) -> Decimal:
    """Return `value` rounded half-even to `places` decimals (as a Decimal, so zeros stay).

    Negative zero becomes zero. Raises ValueError for a number that is not finite.
    """
    if not math.isfinite(value):
        raise ValueError(f"cannot print {value}: it is not a finite number")
    step = Decimal(1).scaleb(-places)
    # repr gives the shortest decimal that is this float: 0.285 stays 0.285.
    number = Decimal(repr(float(value))).quantize(step, rounding=ROUND_HALF_EVEN)
    return abs(number) if number == 0 else number


def shown(value: float, unit: str, places: int, *, of_si: bool = True) -> str:
    """Return the one text form of a number with its unit, for screen, test and record.

    `value` is SI when `of_si`, else already in `unit`. `places` counts decimals.

    >>> shown(2100.0, "mbar", 1)
    '21.0 mbar'
    >>> shown(0.35, "1", 2)
    '0.35'
    """
    number = from_si(value, unit) if of_si else value
    text = f"{rounded(float(number), places):f}"
    unit_text = printed(unit)
    return f"{text} {unit_text}" if unit_text else text
