"""Instruments: steps, spread, zero and lag, and what they cannot show."""

import math
import re
import statistics

import pytest
from bench_jobs import ALDER, TERN, still_plant

from gaslab.refit import faults, instruments
from gaslab.refit.bench import Bench
from gaslab.refit.flowing import gas_air, wall_air
from gaslab.refit.instruments import number
from gaslab.refit.plant import bench_number, spread


def held(pressure, gauge, seed=0, hidden=()):
    """Return a bench whose gauge stands at a known pressure."""
    bench = Bench(ALDER, plant=still_plant(faults=hidden, seed=seed))
    bench.state.control_open = False
    bench.state.gauge, bench.state.shown = gauge, pressure
    bench.state.amount = bench.plant.volume.amount(pressure, ALDER.temperature, ALDER.barometer)
    return bench


@pytest.mark.parametrize(
    ("gauge", "step", "form"),
    [
        ("water-gauge", 25.0, r"\d+\.(00|25|50|75) mbar"),
        ("electronic-gauge", 10.0, r"\d+\.\d mbar"),
        ("fine-gauge", 1.0, r"\d+\.\d\d mbar"),
    ],
)
def test_a_gauge_reads_in_whole_steps_near_the_truth(gauge, step, form):
    values = []
    for seed in range(300):
        reading = held(2013.0, gauge, seed).read("gauge")
        assert reading.value / step == pytest.approx(round(reading.value / step), abs=1e-9)
        assert re.fullmatch(form, reading.text)
        assert reading.resolution == step
        values.append(reading.value)
    # Steps and spread together: sd of the mean of 300 is well under a tenth of a step.
    allowed = 4.0 * (number(gauge, "spread") ** 2 + step**2 / 12.0) ** 0.5 / 300**0.5
    bias = abs(round(2013.0 / step) * step - 2013.0) if number(gauge, "spread") < step / 4 else 0.0
    assert statistics.mean(values) == pytest.approx(2013.0, abs=allowed + bias)


def test_the_spread_is_a_standard_normal_one():
    drawn = [spread(1, "x", n) for n in range(4000)]
    assert statistics.mean(drawn) == pytest.approx(0.0, abs=4.0 / 4000**0.5)
    assert statistics.stdev(drawn) == pytest.approx(1.0, abs=0.05)


def test_the_same_moment_reads_the_same_and_the_next_may_not():
    bench = held(2013.0, "fine-gauge")
    first = bench.read("gauge").value
    assert bench.read("gauge").value == first
    later = []
    for _ in range(20):
        bench.advance(1.0)
        later.append(bench.read("gauge").value)
    assert len(set(later)) > 1


def test_a_zero_error_shifts_every_reading_until_the_gauge_is_zeroed():
    hidden = (faults.fault(ALDER, "gauge-zero", "obvious"),)
    bench = Bench(ALDER, plant=still_plant(faults=hidden))
    bench.do("connect gauge", kind="fine-gauge", at="air")
    assert bench.read("gauge").value == pytest.approx(100.0, abs=2.0)
    bench.do("zero gauge", kind="fine-gauge")
    assert bench.read("gauge").value == pytest.approx(0.0, abs=2.0)
    assert bench.truth()["left"] == []
    bench.do("connect gauge", kind="fine-gauge", at="meter")
    bench.wait(20)
    assert bench.read("gauge").value == pytest.approx(bench.plant.lock_up, abs=2.0)


def test_zeroing_under_pressure_takes_the_pressure_for_nothing():
    bench = Bench(ALDER, plant=still_plant())
    bench.do("connect gauge", kind="fine-gauge")
    bench.wait(10)
    assert "with pressure on it" in bench.do("zero gauge", kind="fine-gauge").answer
    assert bench.read("gauge").value == pytest.approx(0.0, abs=2.0)


def test_the_index_shows_whole_digits_and_is_never_rounded_up():
    bench = Bench(ALDER, seed=1)
    assert bench.read("index").text == "04812.367 m³"
    bench.state.metered = 4812.3699999
    assert bench.read("index").value == pytest.approx(4812.369)
    assert bench.read("index").resolution == pytest.approx(0.001)


def test_an_imperial_index_reads_cubic_feet():
    """186.42 m3 is 6583.4 ft3 (1 ft3 = 0.028316846592 m3 by definition)."""
    bench = Bench(TERN, seed=1)
    assert bench.read("index").text == "00006583.3 ft³"
    assert pytest.approx(6583.36, abs=0.01) == 186.42 / 0.028316846592


def test_the_stopwatch_waits_for_the_click_and_has_a_hand_at_both_ends():
    late = []
    for seed in range(60):
        bench = Bench(ALDER, seed=seed)
        bench.do("light", ring="rapid")
        bench.wait(30)
        bench.do("blow out", ring="rapid")
        assert "Still hissing" in bench.read("stopwatch", at="rapid").text
        bench.wait(40)
        ring = bench.state.rings["rapid"]
        late.append(bench.read("stopwatch", at="rapid").value - (ring.shut_at - ring.out_at))
    # Two presses of 0.2 s each, and steps of 0.1 s.
    assert statistics.stdev(late) == pytest.approx((2 * 0.2**2 + 0.1**2 / 12) ** 0.5, rel=0.35)
    assert abs(statistics.mean(late)) < 0.15


def test_the_thermometer_follows_the_pipe():
    hidden = (faults.fault(ALDER, "warming", "obvious"),)
    bench = Bench(ALDER, hidden, 0)
    start = bench.read("thermometer")
    assert start.text == "15.0 °C"
    bench.wait(600)
    rise = bench.read("thermometer").value - start.value
    assert rise == pytest.approx(1.5, abs=0.2)


@pytest.mark.parametrize(("key", "way"), [("warming", 1.0), ("cooling", -1.0)])
@pytest.mark.parametrize("after", [0.0, 10.0, 20.0, 47.0, 300.0])
def test_the_pipe_wall_goes_back_slowly_when_the_cause_is_put_right(key, way, after):
    """T(t) = T0 + w t + D exp(-(t - t1)/20 s), D = rate t1: the warmth left at t1 fades; w is the home's own drift.

    The reading is cut to 0.1 K and spreads by 0.02 K: it lies within half a step and five spreads.
    """
    fault = faults.fault(ALDER, key, "obvious")
    bench = Bench(ALDER, (fault,), 4)
    bench.wait(600)
    bench.do("put right", fault=key)
    bench.wait(after)
    own = bench_number("nature", "warming") * spread(4, "nature", "warming") / 60.0
    left = way * fault.size / 60.0 * 600.0
    expected = ALDER.temperature + own * (600.0 + after) + left * math.exp(-after / 20.0)
    assert abs(left) > 1.4
    assert wall_air(bench.plant, bench.state).at(bench.time)[0] == pytest.approx(expected, abs=1e-9)
    assert bench.read("thermometer").value == pytest.approx(expected, abs=0.05 + 5 * 0.02)


def test_gas_squeezed_by_hand_warms_no_pipe_wall_and_another_repair_moves_neither():
    """Raising the pressure warms the gas alone; mending the gauge in mid-fade leaves gas and wall as they were."""
    hidden = (faults.fault(ALDER, "warming", "obvious"), faults.fault(ALDER, "gauge-zero", "obvious"))
    bench = Bench(ALDER, hidden, 4)

    def warmth():
        return [air(bench.plant, bench.state).at(bench.time)[0] for air in (gas_air, wall_air)]

    bench.do("connect gauge", kind="fine-gauge")
    bench.do("close", valve="control")
    bench.do("let pressure out")
    bench.wait(600)
    bench.do("put right", fault="warming")
    bench.wait(7)
    gas, wall = warmth()
    bench.do("put right", fault="gauge-zero")
    assert warmth() == pytest.approx([gas, wall], abs=1e-9)
    took = bench.do("raise pressure", to=2050).took
    own = bench_number("nature", "warming") * spread(4, "nature", "warming") / 60.0
    settled = ALDER.temperature + own * bench.time
    faded = (wall - (settled - own * took)) * math.exp(-took / 20.0)
    gas, wall = warmth()
    assert wall == pytest.approx(settled + faded, abs=1e-9)
    assert gas > wall + 0.05


def test_the_millivolt_meter_shows_the_thermocouple_warm_up():
    bench = Bench(ALDER, seed=1)
    bench.do("light", ring="wok")
    bench.wait(60)
    assert bench.read("millivolt meter", at="wok").value == pytest.approx(0.030, abs=0.0003)


def test_eyes_nose_and_fluid_say_it_in_words():
    bench = Bench(ALDER, seed=1)
    assert bench.read("nose").text == "No smell of gas in the room."
    assert bench.read("flame", at="rapid").text == "No flame."
    bench.do("light", ring="rapid")
    assert bench.read("flame", at="rapid").text == "A steady blue flame, turned high."
    bench.do("blow out", ring="rapid")
    assert bench.read("flame", at="rapid").text == "No flame, and gas is hissing."
    bench.wait(60)
    assert bench.read("nose").value in (0.0, 1.0)


def test_gas_let_into_the_kitchen_is_smelt_and_measured():
    """5 dm3 in 18.2 m3 is 0.027 %: 0.6 % of the lower limit; three times that is smelt at 1 %."""
    bench = Bench(ALDER, seed=1)
    bench.do("part pipe", run="hob")
    assert bench.read("nose").value == 0.0
    bench.state.room_gas *= 3.0
    assert bench.read("nose").text == "You smell gas."
    assert bench.read("gas detector").value == pytest.approx(0.02, abs=0.011)


def test_an_unknown_instrument_or_place_is_unreadable():
    bench = Bench(ALDER)
    for name, at in (("divining rod", ""), ("millivolt meter", "grill"), ("tape", "")):
        with pytest.raises(instruments.Unreadable):
            bench.look(name, at)
