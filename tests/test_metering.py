"""Gas rate and heat input against published worked examples, and what an index can and cannot tell."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from gaslab import units
from gaslab.physics import metering

QUIET = settings(deadline=None, max_examples=80, derandomize=True)
rates = st.floats(1e-6, 2e-3)
times = st.floats(1.0, 3600.0)
volumes = st.floats(0.0, 9999.0)
digits = st.sampled_from([0.001, 0.01, 0.0001, 0.028316846592 / 10])


# Published examples


def test_published_worked_example():
    """Source: rate-note: 8.436 to 8.524 m3, 122 s, 10.76 kWh/m3: 2.597 m3/h, 27.94 kW gross, 25.17 net."""
    rate = metering.gas_rate(8.524 - 8.436, 122.0)
    gross = metering.heat_input_gross(rate, units.to_si(10.76, "kWh/m3"))
    assert rate * 3600 == pytest.approx(2.597, abs=0.0005)
    assert gross / 1000 == pytest.approx(27.94, abs=0.005)
    assert metering.heat_input_net(gross, 1.11) / 1000 == pytest.approx(25.17, abs=0.005)


def test_two_minute_example():
    """Source: trade-facts: 0.040 m3 in 120 s at 39 MJ/m3: 1.200 m3/h, 13.00 kW gross, 11.71 net."""
    rate = metering.gas_rate(0.040, 120.0)
    assert rate * 3600 == pytest.approx(1.2, abs=1e-9)
    assert metering.heat_input_gross(rate, 39e6) / 1000 == pytest.approx(13.00, abs=0.005)
    assert metering.heat_input_net(13_000.0, 1.11) / 1000 == pytest.approx(11.71, abs=0.005)


@pytest.mark.parametrize(
    "feet, turns, seconds, per_hour, kilowatts",
    [(1.0, 1.0, 84.0, 42.86, 13.06), (2.0, 1.0, 54.0, 133.3, 40.64)],
)
def test_imperial_examples(feet, turns, seconds, per_hour, kilowatts):
    """Source: trade-facts (1040 Btu/ft3, 3412.14 Btu/kWh)."""
    rate = metering.imperial_rate(feet, turns, seconds)
    assert units.convert(rate, "m3/s", "ft3/h") == pytest.approx(
        per_hour, abs=0.05 if per_hour > 100 else 0.005
    )
    gross = metering.heat_input_gross(rate, units.to_si(1040.0, "Btu/ft3"))
    assert gross / 1000 == pytest.approx(kilowatts, abs=0.005)


def test_methane_at_three_kilowatts():
    """Source: trade-facts: 3.0 kW gross of G20 (37.78 MJ/m3) is 285.9 dm3/h."""
    assert metering.heat_input_gross(0.2859 / 3600, 37.78e6) == pytest.approx(3000.0, rel=2e-4)


def test_one_digit_on_a_small_hob():
    """Source: trade-facts: 7 kW is 0.0108 m3 in a minute, so one digit is 9 % (4.6 % in two minutes)."""
    rate = 7e3 / 39e6
    assert 0.001 / (rate * 60) == pytest.approx(0.093, abs=0.001)
    one, two = (metering.rate_uncertainty(rate * t, t, 0.001, 0.0, 0.0) for t in (60.0, 120.0))
    assert one * 6**0.5 == pytest.approx(0.09, abs=0.004) and two * 6**0.5 == pytest.approx(0.046, abs=0.0005)


def test_digital_step():
    """Source: jcgm-100 F.2.2.1 (from memory): 0.29 of the step. And by drawing a million readings."""
    assert metering.digital_uncertainty(1.0) == pytest.approx(0.29, abs=0.005)
    true = np.random.default_rng(5).uniform(0, 1000, (2, 1_000_000))
    errors = np.floor(true) + 0.5 - true
    assert np.std(errors[0]) == pytest.approx(metering.digital_uncertainty(1.0), rel=0.005)
    assert np.std(errors[0] - errors[1]) == pytest.approx(metering.drop_uncertainty(1.0), rel=0.005)


def test_difference_of_two_gauge_readings():
    """Source: learning notes after jcgm-100: 0.1 mbar step, sqrt(2) 0.1/sqrt(12) = 0.041 mbar."""
    assert metering.drop_uncertainty(0.1) == pytest.approx(0.041, abs=0.0005)


def test_rate_uncertainty_by_drawing_whole_tests():
    """Index, class and watch drawn two hundred thousand times and put through the gas rate itself."""
    random, count = np.random.default_rng(11), 200_000
    seconds, digit, kind, press = 120.0, 0.001, 0.015, 0.4
    start, volume = random.uniform(0, 1, count), random.uniform(0.025, 0.026, count)
    seen = np.floor((start + volume) / digit) * digit - np.floor(start / digit) * digit
    seen = seen + random.uniform(-kind, kind, count) * volume
    timed = seconds + random.uniform(-press, press, count) - random.uniform(-press, press, count)
    spread = np.std(seen / timed / (volume / seconds))
    assert spread == pytest.approx(metering.rate_uncertainty(0.0255, seconds, digit, kind, press), rel=0.01)


def test_two_presses_of_the_watch():
    """Source: scipy: the difference of two even spreads of +/- 0.5 s is triangular, +/- 1 s."""
    outside = stats.triang(0.5, -1.0, 2.0).std() / 60.0
    assert metering.rate_uncertainty(0.02, 60.0, 0.0, 0.0, 0.5) == pytest.approx(outside, rel=1e-12)


def test_the_class_of_a_meter_is_an_even_spread():
    """Source: scipy: an even spread of +/- 1.5 %."""
    outside = stats.uniform(-0.015, 0.03).std()
    assert metering.rate_uncertainty(0.02, 60.0, 0.0, 0.015, 0.0) == pytest.approx(outside, rel=1e-12)


# What must hold


@given(volumes, rates, digits)
@QUIET
def test_after_the_wait_the_index_has_just_moved(volume, rate, digit):
    wait = metering.seconds_to_next_digit(volume, rate, digit)
    assert 0.0 < wait <= digit / rate * (1 + 1e-5)
    before, after = metering.index_reading(volume, digit), metering.index_reading(volume + wait * rate, digit)
    assert after - before == pytest.approx(digit, rel=1e-6, abs=1e-9)


@given(volumes, digits)
@QUIET
def test_the_index_never_shows_more_than_passed(volume, digit):
    shown = metering.index_reading(volume, digit)
    assert volume - digit < shown <= volume + digit * 2e-6
    assert metering.index_reading(max(shown, 0.0), digit) == pytest.approx(shown, abs=1e-9)


@given(st.integers(0, 9_999_999))
@QUIET
def test_a_whole_number_of_digits_reads_as_itself(count):
    assert metering.index_reading(count / 1000, 0.001) == pytest.approx(count / 1000, abs=1e-9)


def test_a_volume_stored_just_under_a_digit_counts_as_on_it():
    """Numbers are stored a hair off: within a millionth of a digit the index has moved, beyond it has not."""
    assert metering.index_reading(7.0 - 0.98e-6, 1.0) == 7.0
    assert metering.index_reading(7.0 - 1.02e-6, 1.0) == 6.0


@given(rates, times)
@QUIET
def test_rate_times_time_is_the_volume(rate, duration):
    assert metering.gas_rate(rate * duration, duration) == pytest.approx(rate, rel=1e-12)


@given(rates, st.floats(3e7, 4.5e7), st.floats(1.0, 1.2))
@QUIET
def test_net_is_never_above_gross(rate, cv, ratio):
    gross = metering.heat_input_gross(rate, cv)
    assert metering.heat_input_net(gross, ratio) * ratio == pytest.approx(gross)
    assert metering.heat_input_net(gross, ratio) <= gross
    assert metering.heat_input_gross(2 * rate, cv) == pytest.approx(2 * gross)


@given(st.sampled_from([1.0, 2.0, 5.0, 10.0]), st.integers(1, 20), times)
@QUIET
def test_imperial_rate_is_the_metric_rate(feet, turns, duration):
    volume = feet * turns * 0.3048**3  # a foot is 0.3048 m by definition
    assert metering.imperial_rate(feet, turns, duration) == pytest.approx(
        metering.gas_rate(volume, duration), rel=1e-12
    )


@given(st.floats(0.001, 1.0), times, digits, st.floats(0.0, 0.05), st.floats(0.0, 1.0))
@QUIET
def test_uncertainty_adds_squares_and_falls_with_a_longer_test(volume, duration, digit, kind, press):
    whole = metering.rate_uncertainty(volume, duration, digit, kind, press)
    parts = (
        metering.rate_uncertainty(volume, duration, digit, 0.0, 0.0),
        metering.rate_uncertainty(volume, duration, 0.0, kind, 0.0),
        metering.rate_uncertainty(volume, duration, 0.0, 0.0, press),
    )
    assert whole**2 == pytest.approx(sum(part**2 for part in parts))
    assert metering.rate_uncertainty(2 * volume, 2 * duration, digit, kind, press) <= whole


@given(st.floats(0.0, 1e3))
@QUIET
def test_a_difference_is_root_two_less_sure(step):
    assert metering.drop_uncertainty(step) == pytest.approx(2**0.5 * metering.digital_uncertainty(step))
