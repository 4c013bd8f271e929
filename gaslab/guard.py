"""The door of every calculation: it reads arguments and refuses what cannot be used.

A physics function declares each numeric argument once, as data. `calculation`
then takes plain SI floats, arrays or pint quantities; it refuses a wrong
dimension, NaN, infinity and anything outside the valid range with a sentence that
names function, argument, need, got and fix. Nothing is clamped or masked.
The bare function stays within reach as `.bare`, for loops that checked already.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol, cast

import numpy as np

from gaslab import units


class InputError(ValueError):
    """A value that a calculation cannot use, told in one sentence."""

    def __init__(self, function: str, argument: str, need: str, got: object, fix: str):
        self.function, self.argument, self.need, self.got, self.fix = function, argument, need, got, fix
        super().__init__(f"{function}: {argument} must be {need}; got {_brief(got)}. {fix}")


def _brief(value: object) -> str:
    if isinstance(value, np.ndarray) and value.size > 4:
        return f"an array of {value.size} values"
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


@dataclass(frozen=True)
class Number:
    """What a numeric argument must be: SI `unit`, range `low`..`high`, and what it means.

    `low_open`/`high_open` leave the end point itself out of the range.
    `hint` is the fix offered when the value is refused.
    """

    unit: str
    low: float
    high: float
    meaning: str
    low_open: bool = False
    high_open: bool = False
    hint: str = ""

    def need(self) -> str:
        left = "above" if self.low_open else "at least"
        right = "below" if self.high_open else "at most"
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"a number {left} {self.low:g} and {right} {self.high:g}{unit} ({self.meaning})"

    def fix(self) -> str:
        if self.hint:
            return self.hint
        return (
            "Check the number and its unit."
            if self.unit == "1"
            else f"Check the number; it is read in {self.unit}."
        )

    def accepts(self, value: Any) -> bool:
        """Return True when every element is finite and inside the range."""
        above = value > self.low if self.low_open else value >= self.low
        below = value < self.high if self.high_open else value <= self.high
        return bool(np.all(above & below)) if isinstance(value, np.ndarray) else bool(above and below)


def positive(unit: str, high: float, meaning: str, hint: str = "") -> Number:
    """Return the declaration of a number above zero and at most `high`."""
    return Number(unit, 0.0, high, meaning, low_open=True, hint=hint)


def zero_or_more(unit: str, high: float, meaning: str, hint: str = "") -> Number:
    """Return the declaration of a number from zero up to `high`."""
    return Number(unit, 0.0, high, meaning, hint=hint)


def between(unit: str, low: float, high: float, meaning: str, hint: str = "") -> Number:
    """Return the declaration of a number from `low` to `high`, ends included."""
    return Number(unit, low, high, meaning, hint=hint)


# Ranges that many calculations share.
PRESSURE_GAUGE = between("Pa", -1_000.0, 20_000.0, "gauge pressure; 100 Pa is 1 mbar")
PRESSURE_ABSOLUTE = between(
    "Pa", 50_000.0, 200_000.0, "absolute pressure; the atmosphere is about 101 325 Pa"
)
TEMPERATURE = between("K", 233.15, 333.15, "temperature; 15 °C is 288.15 K", "Give kelvin: add 273.15 to °C.")
DENSITY_AIR = between("kg/m3", 0.5, 2.0, "density of the air")
FRACTION = between("1", 0.0, 1.0, "a fraction of one, not a per cent")


# float() and numpy would read each of these as a number: True as 1, b"21" and ["21"] as 21.
NOT_NUMBERS = (bool, np.bool_, str, bytes, bytearray)


def _float_array(values) -> np.ndarray:
    """Return a list or array as floats; TypeError for texts, truths, quantities and hidden (masked) values."""
    if isinstance(values, np.ma.MaskedArray):
        raise TypeError("a masked array hides values")
    if not isinstance(values, np.ndarray):
        items = np.asarray(values, dtype=object).ravel()
        if any(isinstance(item, NOT_NUMBERS) or hasattr(item, "dimensionality") for item in items):
            raise TypeError("not every element is a plain number")
    elif values.dtype.kind not in "iuf":
        raise TypeError(f"an array of {values.dtype} is not an array of numbers")
    return np.asarray(values, dtype=float)


def checked(function: str, argument: str, spec: Number, value: Any) -> Any:
    """Return `value` as an SI float or float array, or raise InputError."""
    if hasattr(value, "dimensionality"):  # a pint quantity
        try:
            value = units.magnitude(value, spec.unit)
        except units.UnitError as error:
            raise InputError(function, argument, f"in a unit like {spec.unit}", value, f"{error}.") from None
    if isinstance(value, NOT_NUMBERS) or value is None:
        raise InputError(function, argument, spec.need(), repr(value), spec.fix())
    try:
        value = _float_array(value) if isinstance(value, (list, tuple, np.ndarray)) else float(value)
    except (TypeError, ValueError, OverflowError):
        raise InputError(function, argument, spec.need(), value, spec.fix()) from None
    # NaN fails every comparison and infinity exceeds every range, so both are refused here.
    if not spec.accepts(value):
        raise InputError(function, argument, spec.need(), value, spec.fix())
    return value


class Calculation(Protocol):
    """A guarded physics function: call it with SI numbers or quantities, or reach `bare` for checked numbers."""

    __name__: str
    bare: Callable[..., Any]
    specs: dict[str, Number]
    returns: str | None

    def __call__(self, *args: Any, **kwargs: Any) -> Any: ...


CALCULATIONS: dict[str, Calculation] = {}
"""Every guarded calculation by its full name, so that tests can visit them all."""


def calculation(returns: str | None = None, **specs: Number) -> Callable[[Callable[..., Any]], Calculation]:
    """Guard a physics function.

    `specs` declares each numeric argument. `returns` is the unit text of the
    result: when any argument came as a pint quantity and the result is a number,
    it is handed back as a quantity in that unit. Undeclared arguments pass
    through untouched; the function checks those itself.
    """

    def guard(function: Callable[..., Any]) -> Calculation:
        signature = inspect.signature(function)
        name = f"{function.__module__.removeprefix('gaslab.')}.{function.__name__}"
        missing = set(specs) - set(signature.parameters)
        if missing:
            raise TypeError(f"{name} declares {missing}, which it does not take")

        @functools.wraps(function)
        def guarded(*args, **kwargs):
            bound = signature.bind(*args, **kwargs)
            with_units = False
            for argument, value in bound.arguments.items():
                spec = specs.get(argument)
                if spec is not None:
                    with_units = with_units or hasattr(value, "dimensionality")
                    bound.arguments[argument] = checked(name, argument, spec, value)
            result = function(*bound.args, **bound.kwargs)
            return units.quantity(result, returns) if with_units and returns is not None else result

        made = cast(Calculation, guarded)
        made.bare, made.specs, made.returns = function, specs, returns
        CALCULATIONS[name] = made
        return made

    return guard
