"""Purging against worked values, an outside special function, and what must hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import gammainc

from gaslab import tables
from gaslab.guard import InputError
from gaslab.physics import purging

QUIET = settings(deadline=None, max_examples=60, derandomize=True)
volumes = st.floats(0.001, 0.1)
cells = st.integers(1, 100)


@pytest.mark.parametrize("volume, purge", [(9.386, 14.08), (6.888, 10.33), (12.488, 18.73)])
def test_one_and_a_half_times_the_installation(volume, purge):
    """Source: trade-facts (up1b-3, from memory), dm3 to the digits given."""
    assert purging.purge_volume(volume / 1000, 1.5) * 1000 == pytest.approx(purge, abs=0.0051)


def test_a_small_meter_purges_five_turns():
    """Common practice, no source: 5 x 2 dm3 = 0.010 m3."""
    turns = tables.si("practice", "small-meter-purge", "revolutions")
    volume = turns * tables.si("meters", "u6", "cyclic_volume")
    assert volume == pytest.approx(tables.si("practice", "small-meter-purge", "volume"))


def test_time_on_one_burner():
    """Source: trade-facts: 10 dm3 through a 1.75 kW burner at 0.1668 m3/h takes about 216 s."""
    assert purging.purge_time(0.010, 0.1668 / 3600) == pytest.approx(216.0, abs=0.5)


def test_purge_gas_in_a_room():
    """Source: trade-facts: 10 dm3 in 20 m3 is 0.05 %, about 1 % of the lower limit (5 %, usbm)."""
    fraction = purging.room_fraction(0.010, 20.0)
    assert fraction == pytest.approx(0.0005)
    assert purging.fraction_of_lower_limit(fraction, 0.05) == pytest.approx(0.01)


def test_an_unlit_burner_for_an_hour():
    """Source: trade-facts: 0.306 m3 into a closed 20 m3 room is 1.53 %, 35 % of 4.4 %."""
    fraction = purging.room_fraction(0.306, 20.0)
    assert fraction == pytest.approx(0.0153, abs=5e-5)
    assert purging.fraction_of_lower_limit(fraction, 0.044) == pytest.approx(0.35, abs=0.005)


@pytest.mark.parametrize("count", [1, 2, 5, 20, 100])
def test_stirred_tanks_are_the_incomplete_gamma_function(count):
    """Source: scipy.special.gammainc(N, N v), the same curve by other means."""
    passed = np.linspace(0.0, 4.0, 30)
    assert purging.gas_fraction(passed, 1.0, count) == pytest.approx(
        gammainc(count, count * passed), abs=1e-12
    )


def test_stirred_tanks_against_an_outside_integrator():
    """Source: scipy: four stirred tanks in a row, each fed by the one before."""
    run = solve_ivp(
        lambda _, c: 4 * (np.concatenate(([1.0], c[:-1])) - c), (0, 1.5), np.zeros(4), rtol=1e-10, atol=1e-13
    )
    assert purging.gas_fraction(1.5, 1.0, 4) == pytest.approx(run.y[-1, -1], rel=1e-7)


@given(volumes, st.floats(0.0, 0.5), st.floats(0.0, 0.5), cells)
@QUIET
def test_more_gas_passed_never_leaves_more_air(volume, one, other, count):
    low, high = (purging.gas_fraction(v, volume, count) for v in sorted((one, other)))
    assert 0.0 <= low <= high + 1e-12 <= 1.0 + 1e-12


@pytest.mark.parametrize("count", [1, 5, 20])
def test_air_that_left_is_the_air_that_was_there(count):
    """Conservation: the air fraction leaving, summed over all gas passed, is one pipe volume."""
    passed = np.linspace(0.0, 60.0, 60_001)
    assert np.trapezoid(1.0 - purging.gas_fraction(passed, 1.0, count), passed) == pytest.approx(
        1.0, rel=1e-5
    )


def test_many_cells_push_like_a_plug():
    before, after = purging.gas_fraction(0.5, 1.0, 100), purging.gas_fraction(1.5, 1.0, 100)
    assert before < 1e-6 and after > 0.9999


@given(volumes, st.floats(1.0, 3.0), st.floats(1e-6, 1e-3))
@QUIET
def test_time_times_flow_is_the_volume(volume, factor, flow):
    purge = purging.purge_volume(volume, factor)
    assert purge >= volume
    assert purging.purge_time(purge, flow) * flow == pytest.approx(factor * volume)


@given(st.floats(0.0, 1.0), st.floats(1.0, 100.0), st.floats(0.01, 0.15))
@QUIET
def test_room_fraction_falls_with_a_larger_room(gas, room, limit):
    fraction = purging.room_fraction(gas, room)
    assert fraction * room == pytest.approx(gas, abs=1e-15)
    assert purging.room_fraction(gas, 2 * room) == pytest.approx(fraction / 2)
    assert purging.fraction_of_lower_limit(fraction, limit) * limit == pytest.approx(fraction, abs=1e-15)


def test_half_a_cell_and_more_gas_than_room_are_refused():
    with pytest.raises(InputError, match=r"mixing_cells must be one whole number; got 2\.5"):
        purging.gas_fraction(0.01, 0.01, 2.5)
    with pytest.raises(InputError, match="gas_volume must be at most the volume of the room"):
        purging.room_fraction(30.0, 20.0)
