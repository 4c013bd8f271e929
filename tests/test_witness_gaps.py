"""Witnesses from outside for calculations whose own test file had none: libraries that do the same sum another way.

A test is named after its module, so that the mutation run of a module finds it.
"""

import cantera
import CoolProp.CoolProp as coolprop
import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from gaslab import units
from gaslab.physics import air, combustion, flame, flow, purging, trapped

QUIET = settings(deadline=None, max_examples=40, derandomize=True)
ATMOSPHERE, CELSIUS_15 = 101_325.0, 288.15


@given(st.floats(1e-4, 0.1), st.floats(0.1, 50.0), st.floats(1.0, 1.4), st.floats(1.1, 3.0))
@QUIET
def test_air_gap_vent_flow_goes_with_area_and_root_of_pressure(area, pressure, density, times):
    one = air.vent_flow(area, pressure, density)
    assert air.vent_flow(area * times, pressure, density) == pytest.approx(one * times, rel=1e-12)
    assert air.vent_flow(area, pressure * times**2, density) == pytest.approx(one * times, rel=1e-12)
    assert air.vent_flow(area, pressure, density / 1.44) == pytest.approx(one * 1.2, rel=1e-12)


@pytest.mark.parametrize("litres_of_air", [0.5, 2.0, 9.0])
def test_combustion_gap_air_free_co_is_what_cantera_mixed(litres_of_air):
    """Burnt gas without air, 100 ppm of CO in it, is thinned with air by Cantera and read back."""
    burnt, fresh = cantera.Solution("gri30.yaml"), cantera.Solution("gri30.yaml")
    burnt.X = {"CO2": 0.117, "N2": 0.8829, "CO": 0.0001}
    fresh.X = {"O2": 0.2095, "N2": 0.7905}
    mixed = cantera.Quantity(burnt, moles=1.0) + cantera.Quantity(fresh, moles=litres_of_air)
    oxygen, monoxide = (mixed.X[burnt.species_index(name)] for name in ("O2", "CO"))
    assert combustion.co_air_free(float(monoxide), float(oxygen)) == pytest.approx(0.0001, rel=1e-9)


@pytest.mark.parametrize("hot, mark, tau", [(0.030, 0.002, 8.0), (0.024, 0.0035, 15.0), (0.012, 0.008, 40.0)])
def test_flame_gap_times_are_quantiles_of_the_exponential(hot, mark, tau):
    """1 - exp(-t/tau) is the exponential distribution: scipy's quantiles are the times."""
    assert flame.pull_in_time(hot, mark, tau) == pytest.approx(
        stats.expon(scale=tau).ppf(mark / hot), rel=1e-9
    )
    assert flame.drop_out_time(hot, mark, tau) == pytest.approx(
        stats.expon(scale=tau).isf(mark / hot), rel=1e-9
    )


@pytest.mark.parametrize(
    "hourly, bore, metres", [(1.0, 0.0136, 4.0), (6.0, 0.0217, 12.0), (16.0, 0.036, 20.0)]
)
def test_flow_gap_velocity_is_the_one_in_the_librarys_loss(hourly, bore, metres):
    """The library works its speed out from a mass flow; with our speed its two ways must give one loss."""
    rate, density, viscosity = hourly / 3600.0, 0.7353, 1.0877e-5
    from_mass = fluids.one_phase_dP(rate * density, density, viscosity, bore, 0.0, metres, Method="Colebrook")
    speed = flow.velocity(rate, bore)
    number = fluids.Reynolds(V=speed, D=bore, rho=density, mu=viscosity)
    factor = fluids.friction_factor(number, 0.0, Method="Colebrook")
    from_speed = fluids.dP_from_K(fluids.K_from_f(factor, metres, bore), rho=density, V=speed)
    assert from_speed == pytest.approx(from_mass, rel=1e-9)


def methane(pressure: float, temperature: float = CELSIUS_15) -> float:
    """Return the density of methane [kg/m3] by CoolProp."""
    return coolprop.PropsSI("D", "P", pressure, "T", temperature, "Methane")


@pytest.mark.parametrize(
    "litres, pascals, seconds", [(6.888, 400.0, 120.0), (9.386, 800.0, 120.0), (35.0, 100.0, 60.0)]
)
def test_trapped_gap_leak_is_the_mass_that_left(litres, pascals, seconds):
    """The mass lost by CoolProp's methane, at outside density. Ours is ideal: 0.3 % is methane's own departure."""
    volume, start = litres / 1000.0, ATMOSPHERE + 2_050.0
    mass = volume * (methane(start) - methane(start - pascals))
    outside = mass / methane(ATMOSPHERE) / seconds
    assert trapped.leak_from_drop(pascals, volume, seconds) == pytest.approx(outside, rel=3e-3)
    assert trapped.drop_from_leak(outside, volume, seconds) == pytest.approx(pascals, rel=3e-3)


@pytest.mark.parametrize("before, after", [(101_325.0, 100_925.0), (98_000.0, 99_500.0)])
def test_trapped_gap_weather_moves_the_gauge_of_coolprops_methane(before, after):
    """The gas inside keeps its density, so by CoolProp its absolute pressure; the gauge reads the rest."""
    shut_in = methane(before + 2_050.0)
    inside = coolprop.PropsSI("P", "D", shut_in, "T", CELSIUS_15, "Methane")
    assert (inside - after) - (inside - before) == pytest.approx(
        trapped.barometer_change(before, after), abs=1e-6
    )


@pytest.mark.parametrize("litres_an_hour, seconds", [(306.0, 20.0), (167.0, 60.0), (95.3, 90.0)])
def test_flame_gap_gas_passed_by_the_units_library(litres_an_hour, seconds):
    rate, time = units.quantity(litres_an_hour, "dm3/h"), units.quantity(seconds, "s")
    outside = (rate * time).to("m**3").magnitude
    assert flame.gas_passed(litres_an_hour / 3.6e6, seconds) == pytest.approx(outside, rel=1e-9)


@pytest.mark.parametrize("litres, hourly", [(10.0, 0.1668), (14.08, 0.2859), (18.73, 3.0)])
def test_purging_gap_time_by_the_units_library(litres, hourly):
    outside = (units.quantity(litres, "dm3") / units.quantity(hourly, "m3/h")).to("s").magnitude
    assert purging.purge_time(litres / 1000.0, hourly / 3600.0) == pytest.approx(outside, rel=1e-9)


@pytest.mark.parametrize("litres, room", [(10.0, 20.0), (1.7, 24.0)])
def test_purging_gap_room_fraction_by_the_units_library(litres, room):
    outside = (units.quantity(litres, "dm3") / units.quantity(room, "m3")).to("1").magnitude
    assert purging.room_fraction(litres / 1000.0, room) == pytest.approx(outside, rel=1e-9)
