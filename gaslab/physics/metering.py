"""From a meter's index and a watch to gas rate and heat input, and how sure they are."""

from __future__ import annotations

import math

import numpy as np

from gaslab import units
from gaslab.guard import between, calculation, positive, zero_or_more
from gaslab.physics.flow import FLOW

DURATION = positive("s", 86_400.0, "time; 2 minutes is 120 s")
DIGIT = positive("m3", 1.0, "smallest step of the index; 1 dm3 is 0.001 m3")
INDEX = zero_or_more("m3", 1e7, "true volume that has passed the meter")
STEP = zero_or_more("1", 1e9, "smallest step the display shows, in any unit")
# A volume that floats just under a digit (0.3 is stored as 0.29999...) counts as on it.
STORAGE_ERROR = 1e-6  # of a digit


@calculation(
    returns="m3/s",
    volume_metered=zero_or_more("m3", 1e4, "difference of two meter readings"),
    duration=DURATION,
)
def gas_rate(volume_metered, duration):
    """Return the gas rate q = V / t [m3/s].

    V volume metered [m3], t time [s]. Source: gaslab (volume over time).

    >>> round(gas_rate(0.088, 122.0) * 3600, 3)  # published worked example, m3/h
    2.597
    """
    return volume_metered / duration


@calculation(
    returns="W",
    gas_rate=FLOW,
    cv_gross=positive("J/m3", 2e8, "gross calorific value; 39 MJ/m3 is 3.9e7 J/m3"),
)
def heat_input_gross(gas_rate, cv_gross):
    """Return the gross heat input Q = q CV [W].

    q gas rate [m3/s], CV gross calorific value [J/m3]. Source: rating-guide.

    >>> round(heat_input_gross(1.2 / 3600, 39e6) / 1000, 2)  # kW
    13.0
    """
    return gas_rate * cv_gross


@calculation(
    returns="W",
    heat_input_gross=zero_or_more("W", 1e7, "gross heat input; 1 kW is 1000 W"),
    ratio=between("1", 1.0, 1.3, "gross over net calorific value; natural gas 1.11"),
)
def heat_input_net(heat_input_gross, ratio):
    """Return the net heat input [W], gross / ratio.

    ratio: gross over net calorific value. The trade uses 1.11 for natural gas. Source: practice.

    >>> round(heat_input_net(27.94e3, 1.11) / 1000, 2)  # published worked example, kW
    25.17
    """
    return heat_input_gross / ratio


@calculation(
    returns="m3/s",
    feet_per_revolution=positive("ft3", 1_000.0, "cubic feet for one turn of the test dial"),
    revolutions=positive("1", 10_000.0, "turns of the test dial"),
    duration=DURATION,
)
def imperial_rate(feet_per_revolution, revolutions, duration):
    """Return the gas rate of a meter with a test dial, feet x turns / t, in m3/s.

    feet_per_revolution [ft3], as printed on the dial; t time [s]. 1 ft3 is 0.0283168 m3.
    The rate is in SI [m3/s]. Source: gaslab (turns of the dial).

    >>> round(imperial_rate(1.0, 1.0, 84.0) * 3600 / 0.0283168, 2)  # ft3/h
    42.86
    """
    return units.convert(feet_per_revolution, "ft3", "m3") * revolutions / duration


def _digits_passed(volume, digit):
    return np.floor(volume / digit + STORAGE_ERROR)


@calculation(returns="m3", volume=INDEX, digit=DIGIT)
def index_reading(volume, digit):
    """Return what the index shows: the true volume cut down to whole digits [m3].

    volume passed [m3], digit smallest step [m3].
    It is floor(volume / digit) digits. Source: gaslab (a counter shows whole digits).

    >>> round(float(index_reading(8.5247, 0.001)), 9)
    8.524
    """
    return _digits_passed(volume, digit) * digit


@calculation(returns="s", volume=INDEX, rate=positive("m3/s", 1.0, "gas rate"), digit=DIGIT)
def seconds_to_next_digit(volume, rate, digit):
    """Return the time until the index moves [s]: what is missing to the next digit, over the rate.

    Start and stop a test as the digit moves, and the digit's width no longer counts.
    volume passed [m3], rate [m3/s], digit [m3]. Source: gaslab (a counter shows whole digits).

    >>> round(float(seconds_to_next_digit(0.0004, 0.0006 / 60, 0.001)), 6)
    60.0
    """
    return ((_digits_passed(volume, digit) + 1.0) * digit - volume) / rate


@calculation(returns="1", step=STEP)
def digital_uncertainty(step):
    """Return the standard uncertainty of one digital reading, step / sqrt(12), in the step's unit.

    All values within one step are alike to the reader. Source: jcgm-100, F.2.2.1.

    >>> round(digital_uncertainty(1.0), 2)
    0.29
    """
    return step / math.sqrt(12.0)


@calculation(returns="1", step=STEP)
def drop_uncertainty(step):
    """Return the standard uncertainty of a difference of two digital readings, step / sqrt(6).

    Each reading has step / sqrt(12); squares add. In the step's unit. Source: jcgm-100.

    >>> round(drop_uncertainty(0.1), 3)
    0.041
    """
    return step / math.sqrt(6.0)


@calculation(
    returns="1",
    volume=positive("m3", 1e4, "difference of two meter readings"),
    duration=DURATION,
    digit=zero_or_more("m3", 1.0, "smallest step of the index; 0 when timed from digit to digit"),
    class_error=between("1", 0.0, 0.5, "largest error of the meter as a fraction; 1.5 % is 0.015"),
    reaction_time=zero_or_more("s", 60.0, "each press of the watch is within plus or minus this"),
)
def rate_uncertainty(volume, duration, digit, class_error, reaction_time):
    """Return the relative standard uncertainty (k = 1) of a gas rate.

    Three parts, squares added: the index, digit / sqrt(6) of the volume V [m3]; the meter's
    class, class_error / sqrt(3); two presses of the watch, reaction_time sqrt(2/3) of the
    time t [s]. Each is taken as equally likely anywhere in its width. Source: jcgm-100.

    >>> round(rate_uncertainty(0.010, 60.0, 0.001, 0.0, 0.0), 4)
    0.0408
    """
    index = digit / math.sqrt(6.0) / volume
    meter = class_error / math.sqrt(3.0)
    watch = reaction_time * math.sqrt(2.0 / 3.0) / duration
    return (index**2 + meter**2 + watch**2) ** 0.5
