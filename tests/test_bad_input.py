"""Every argument of every calculation refuses what it cannot use, in a sentence, whoever wrote it.

The test walks the register of guarded calculations, so a new one is visited without being named here.
"""

import importlib
import inspect
import math
import pkgutil

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import gaslab.physics
from gaslab import units
from gaslab.guard import CALCULATIONS, InputError, Number

for module in pkgutil.iter_modules(gaslab.physics.__path__, "gaslab.physics."):
    importlib.import_module(module.name)

ARGUMENTS = [
    (name, argument) for name, function in sorted(CALCULATIONS.items()) for argument in function.specs
]
QUIET = settings(deadline=None, max_examples=12, derandomize=True)


def good_value(spec: Number) -> float:
    """Return a value inside the declared range."""
    middle = 0.5 * (spec.low + spec.high)
    assert spec.accepts(middle)
    return middle


def call_with(name: str, argument: str, value: object):
    """Call with `value` for one argument and values in range for the others.

    Arguments are read in order before the function runs, so one bad value is met first
    whatever an undeclared argument (a tree, a composition) holds.
    """
    function = CALCULATIONS[name]
    given_values = {}
    for parameter in inspect.signature(function).parameters.values():
        spec = function.specs.get(parameter.name)
        given_values[parameter.name] = good_value(spec) if spec else None
    given_values[argument] = value
    return function(**given_values)


def refused(name: str, argument: str, value: object) -> InputError:
    with pytest.raises(InputError) as caught:
        call_with(name, argument, value)
    error = caught.value
    assert error.function == name and error.argument == argument
    sentence = str(error)
    assert sentence.startswith(f"{name}: {argument} must be {error.need}; got "), sentence
    assert error.need and error.fix and sentence.endswith(error.fix), sentence
    return error


def outside(spec: Number) -> list[float]:
    """Return finite numbers just and far outside the range."""
    values = [
        math.nextafter(spec.low, -math.inf) if not spec.low_open else spec.low,
        math.nextafter(spec.high, math.inf) if not spec.high_open else spec.high,
        -1e300,
        1e300,
    ]
    return values if spec.low < 0 else [*values, -1.0, -1e-9]


def test_every_physics_module_is_visited():
    visited = {name.rpartition(".")[0] for name in CALCULATIONS}
    assert visited >= {
        f"physics.{m}" for m in ("flow", "network", "trapped", "metering", "flame", "purging", "worktop")
    }
    assert len(ARGUMENTS) > 100


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_what_is_no_number_is_refused(name, argument):
    for value in (
        None,
        True,
        False,
        "",
        "21 mbar",
        "21",
        b"21",
        2j,
        {},
        [None],
        ["a", "b"],
        [[1.0], [1.0, 2.0]],
        object(),
    ):
        refused(name, argument, value)


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_nan_and_infinity_are_refused(name, argument):
    inside = good_value(CALCULATIONS[name].specs[argument])
    for value in (math.nan, math.inf, -math.inf, 10**400):
        refused(name, argument, value)
    for value in (math.nan, math.inf, -math.inf):
        refused(name, argument, np.array([inside, value]))
        refused(name, argument, [inside, value])
        refused(name, argument, np.float64(value))


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_what_is_outside_the_range_is_refused(name, argument):
    spec = CALCULATIONS[name].specs[argument]
    for value in outside(spec):
        error = refused(name, argument, value)
        assert f"{spec.low:g}" in error.need and f"{spec.high:g}" in error.need
        refused(name, argument, np.array([good_value(spec), value]))


@pytest.mark.parametrize("name, argument", ARGUMENTS)
@given(data=st.data())
@QUIET
def test_any_number_outside_the_range_is_refused(name, argument, data):
    spec = CALCULATIONS[name].specs[argument]
    above = st.floats(min_value=spec.high, exclude_min=not spec.high_open, allow_nan=False)
    below = st.floats(max_value=spec.low, exclude_max=not spec.low_open, allow_nan=False)
    value = data.draw(above | below | st.just(math.nan))
    row = data.draw(st.booleans())
    refused(name, argument, [good_value(spec), value] if row else value)


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_a_quantity_of_another_kind_is_refused(name, argument):
    """Number in a wrong unit, one element or many; a bare number with a dimension too."""
    unit = CALCULATIONS[name].specs[argument].unit
    own = units.quantity(1.0, unit).dimensionality
    others = [
        u for u in ("Pa", "m", "s", "kg", "V", "K", "1") if units.quantity(1.0, u).dimensionality != own
    ]
    for other in others:
        error = refused(name, argument, units.quantity(1.0, other))
        assert unit in error.need
    refused(name, argument, units.quantity(np.array([1.0, 2.0]), others[0]))
    refused(name, argument, [units.quantity(1.0, others[0])] * 2)  # a list must not strip the units off


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_a_quantity_outside_the_range_is_refused(name, argument):
    spec = CALCULATIONS[name].specs[argument]
    for value in (*outside(spec), math.nan):
        refused(name, argument, units.quantity(value, spec.unit))


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_the_ends_of_the_range_are_what_they_say(name, argument):
    """The door itself: the closed ends pass, the open ends do not."""
    spec = CALCULATIONS[name].specs[argument]
    assert spec.accepts(spec.low) is not spec.low_open
    assert spec.accepts(spec.high) is not spec.high_open
    assert math.isfinite(spec.low) and math.isfinite(spec.high) and spec.low < spec.high and spec.meaning
