"""Thermocouple times against worked values, an outside integrator, and inverses."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from gaslab import tables
from gaslab.guard import InputError
from gaslab.physics import flame
from gaslab.refit import criteria

QUIET = settings(deadline=None, max_examples=60, derandomize=True)
voltages = st.floats(0.005, 0.05)
constants = st.floats(1.0, 60.0)


@pytest.mark.parametrize(
    "tau, seconds", [(8.0, 21.7), (10.0, 27.1), (15.0, 40.6), (20.0, 54.2), (25.0, 67.7)]
)
def test_drop_out_from_30_to_2_millivolt(tau, seconds):
    """Source: trade-facts, to the digit given."""
    assert flame.drop_out_time(0.030, 0.002, tau) == pytest.approx(seconds, abs=0.051)


def test_warm_up_to_8_of_30_millivolt():
    """Source: trade-facts: 0.310 tau, 3.1 s at tau 10 s."""
    assert flame.pull_in_time(0.030, 0.008, 10.0) == pytest.approx(3.10, abs=0.005)


@pytest.mark.parametrize("diameter, tau", [(0.002, 20.0), (0.003, 30.0)])
def test_time_constant_of_a_tip(diameter, tau):
    """Source: trade-facts: d 2 mm and 3 mm, h 100, rho 8000, c 500."""
    assert flame.time_constant(diameter, 8000.0, 500.0, 100.0) == pytest.approx(tau)


@pytest.mark.parametrize("seconds, litres", [(20.0, 1.7), (60.0, 5.1), (90.0, 7.6)])
def test_unlit_gas_before_drop_out(seconds, litres):
    """Source: trade-facts: 3.0 kW net burner, 0.306 m3/h."""
    assert flame.gas_passed(0.306 / 3600, seconds) * 1000 == pytest.approx(litres, abs=0.051)


def test_a_healthy_device_shuts_in_about_ten_seconds():
    """Common practice, no source: about 10 s, within 60 s. A 30 mV tip falling to 2 mV does so at tau near 4 s."""
    seconds = flame.drop_out_time(0.030, tables.si("practice", "thermocouple", "emf_release"), 4.0)
    assert seconds == pytest.approx(tables.si("practice", "flame-supervision", "shut_healthy"), abs=1.0)
    assert criteria.judge("supervision-time", seconds, entries=()).outcome == criteria.MEETS


def test_warming_and_cooling_against_an_outside_integrator():
    """Source: scipy: tau dE/dt = E_end - E."""
    at = [1.0, 5.0, 20.0, 60.0]
    for goal, start, ours in ((0.030, 0.0, flame.emf_heating), (0.0, 0.030, flame.emf_cooling)):
        run = solve_ivp(
            lambda _, emf, goal=goal: [(goal - emf[0]) / 12.0],
            (0, 60),
            [start],
            t_eval=at,
            rtol=1e-10,
            atol=1e-14,
        )
        assert [float(ours(t, 0.030, 12.0)) for t in at] == pytest.approx(run.y[0], rel=1e-6)


def test_time_constant_against_a_heat_balance():
    """Source: scipy: m c dT/dt = -h A (T - T0) for a rod; after tau the excess is 1/e."""
    diameter, density, heat, transfer, length = 0.0025, 8000.0, 500.0, 80.0, 0.02
    mass = density * 3.141592653589793 * diameter**2 / 4 * length
    area = 3.141592653589793 * diameter * length
    tau = flame.time_constant(diameter, density, heat, transfer)
    run = solve_ivp(
        lambda _, excess: [-transfer * area * excess[0] / (mass * heat)],
        (0, tau),
        [600.0],
        rtol=1e-10,
        atol=1e-9,
    )
    assert run.y[0, -1] == pytest.approx(600.0 / 2.718281828459045, rel=1e-7)


@given(voltages, st.floats(0.01, 0.99), constants)
@QUIET
def test_drop_out_time_is_when_cooling_reaches_release(emf, part, tau):
    assert flame.emf_cooling(flame.drop_out_time(emf, emf * part, tau), emf, tau) == pytest.approx(
        emf * part, rel=1e-9
    )


@given(voltages, st.floats(0.01, 0.99), constants)
@QUIET
def test_pull_in_time_is_when_heating_reaches_hold(emf, part, tau):
    assert flame.emf_heating(flame.pull_in_time(emf, emf * part, tau), emf, tau) == pytest.approx(
        emf * part, rel=1e-9
    )


@given(voltages, st.floats(0.0, 300.0), constants)
@QUIET
def test_what_is_gained_and_what_is_left_make_the_whole(emf, time, tau):
    assert flame.emf_heating(time, emf, tau) + flame.emf_cooling(time, emf, tau) == pytest.approx(
        emf, rel=1e-12
    )


@given(constants, st.floats(1.1, 4.0))
@QUIET
def test_a_hotter_tip_holds_longer(tau, times):
    assert flame.drop_out_time(0.010 * times, 0.002, tau) > flame.drop_out_time(0.010, 0.002, tau)


@given(st.floats(0.0005, 0.01), st.floats(1.1, 4.0))
@QUIET
def test_a_thicker_tip_is_slower_and_wind_makes_it_quicker(diameter, times):
    tau = flame.time_constant(diameter, 8000.0, 500.0, 100.0)
    assert flame.time_constant(diameter * times, 8000.0, 500.0, 100.0) == pytest.approx(tau * times)
    assert flame.time_constant(diameter, 8000.0, 500.0, 100.0 * times) == pytest.approx(tau / times)


@given(st.floats(0.0, 1e-3), st.floats(0.0, 300.0), st.floats(0.0, 300.0))
@QUIET
def test_unlit_gas_adds_over_time(rate, one, other):
    total = flame.gas_passed(rate, one) + flame.gas_passed(rate, other)
    assert flame.gas_passed(rate, one + other) == pytest.approx(total, rel=1e-12)


def test_a_tip_too_weak_to_hold_is_refused_with_a_sentence():
    with pytest.raises(InputError, match="emf_release must be below the hot voltage"):
        flame.drop_out_time(0.002, 0.002, 10.0)
    with pytest.raises(InputError, match="emf_hold must be below the hot voltage"):
        flame.pull_in_time(0.006, 0.008, 10.0)
